//! The reference against still plainer ways on small projects, and whether the
//! random projects have in them what they are for.

mod support;

use couplet::input::Input;
use rust_decimal::Decimal;
use std::collections::BTreeMap;
use support::brute::{self, Best, best};
use support::build::{ends, list};
use support::{dec, facts, money, price, random};

/// Every order of two parts from two suppliers, piece by piece, without a
/// thought about which can pay.
fn piece_by_piece(input: &Input, needs: &[u64]) -> Option<(Decimal, Decimal)> {
    const MOST: u64 = 24;
    let offers = &input.catalog.offers;
    let allowed = |place: usize| {
        let offer = &offers[place];
        (0..=MOST).filter(move |&qty| {
            let least = offer.breaks[0].min_qty;
            let known = qty <= offer.stock.unwrap_or(MOST) && qty >= least;
            qty == 0 || (known && qty.is_multiple_of(offer.pack))
        })
    };
    let price = |place: usize, qty| offers[place].break_at(qty).map(|b| b.unit_price.0);
    // The lowest unit price of a supplier whose stock holds the least order.
    let offered = |place: usize| {
        let least = allowed(place).find(|&qty| qty > 0);
        least.and_then(|_| offers[place].breaks.iter().map(|b| b.unit_price.0).min())
    };
    let mut found: Option<(Decimal, Decimal)> = None;
    let pairs = |a: usize, b: usize, need: u64| -> Vec<[(usize, u64); 2]> {
        let all = allowed(a).flat_map(|x| allowed(b).map(move |y| (x, y)));
        let all = all.filter(|(x, y)| x + y >= need);
        all.map(|(x, y)| [(a, x), (b, y)]).collect()
    };
    for first in pairs(0, 1, needs[0]) {
        'orders: for second in pairs(2, 3, needs[1]) {
            let mut goods = BTreeMap::new();
            let mut surplus = Decimal::ZERO;
            for (lines, need) in [(&first, needs[0]), (&second, needs[1])] {
                let bought = lines.iter().filter(|(_, qty)| *qty > 0);
                for &(place, qty) in bought {
                    let unit = price(place, qty).expect("above the least");
                    *goods.entry(offers[place].supplier).or_insert(Decimal::ZERO) +=
                        unit * Decimal::from(qty);
                }
                let over: u64 = lines.iter().map(|(_, qty)| qty).sum::<u64>() - need;
                let lowest = lines.iter().filter_map(|&(place, _)| offered(place)).min();
                surplus += lowest.unwrap_or_default() * Decimal::from(over);
            }
            let mut cost = Decimal::ZERO;
            for (supplier, goods) in goods {
                let supplier = input.catalog.supplier(supplier);
                if supplier.min_order.is_some_and(|least| goods < least.0) {
                    continue 'orders;
                }
                let free = supplier.free_over.is_some_and(|over| goods >= over.0);
                cost += goods
                    + if free {
                        Decimal::ZERO
                    } else {
                        supplier.shipping.0
                    };
            }
            let key = (cost, surplus);
            found = Some(found.map_or(key, |best| best.min(key)));
        }
    }
    found
}

#[test]
fn purchases_equal_piece_by_piece() {
    let mut rng = fastrand::Rng::with_seed(7);
    for _ in 0..24 {
        let count = rng.usize(1..=5);
        let mut shop = ends(count);
        shop.on_hand.clear();
        for name in ["Nord", "Sued"] {
            let over = rng.bool().then(|| rng.u32(20..90).to_string());
            let least = rng.bool().then(|| rng.u32(10..50).to_string());
            let shipping = rng.u32(0..15).to_string();
            shop.supplier(name, &shipping, over.as_deref(), least.as_deref());
        }
        for part in ["P", "R"] {
            let base = rng.u32(6..12);
            for name in ["Nord", "Sued"] {
                let from = rng.u64(1..=3);
                let prices = [base + 2, base].map(|p| p.to_string());
                let breaks = [(from, &*prices[0]), (from + rng.u64(1..=5), &*prices[1])];
                let offer = list(&breaks).pack(rng.u64(1..=3));
                let stock = rng.bool().then(|| rng.u64(3..=8));
                shop.offer(part, name, support::build::List { stock, ..offer });
            }
        }
        let input = shop.finish();
        let plain = piece_by_piece(&input, &[count as u64, count as u64]);
        let found = best(&input).map(|b| (b.total, b.surplus));
        assert_eq!(found, plain, "{:?}", input.catalog);
    }
}

#[test]
fn plans_cost_what_the_reference_says() {
    let drawn = (0..random::SEEDS).map(random::project);
    let with_facts = (0..random::FACTS).map(random::with_facts);
    let all = drawn.chain(with_facts);
    for (input, best) in all.filter_map(|(input, best)| Some((input, best?))) {
        let figures = (best.total, best.variants, best.surplus);
        assert_eq!(support::price::figures(&input, &best), figures);
    }
}

#[test]
fn nothing_is_left_out_that_could_be_best() {
    let mut looked_at = 0;
    let drawn = (0..random::SEEDS).map(random::project);
    let with_facts = (0..random::FACTS).map(random::with_facts);
    for (seed, (input, found)) in drawn.chain(with_facts).enumerate() {
        if brute::size(&input) > 400 {
            continue;
        }
        looked_at += 1;
        let figures = |b: Best| (b.total, b.variants, b.surplus);
        let all = brute::best_of_all(&input).map(figures);
        assert_eq!(found.map(figures), all, "seed {seed}");
    }
    assert!(looked_at >= 400, "{looked_at}");
}

#[test]
fn every_feature_turns_up_often() {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for seed in 0..random::SEEDS {
        let (input, best) = random::project(seed);
        for (feature, there) in support::features::all(&input, best.as_ref()) {
            *counts.entry(feature).or_default() += usize::from(there);
        }
    }
    println!("{counts:#?}");
    let rare: Vec<_> = counts.iter().filter(|(_, n)| **n < 10).collect();
    assert!(rare.is_empty(), "too rare: {rare:?}");
    let seeds = random::SEEDS as usize;
    let feasible = counts["feasible"];
    assert!(feasible * 10 >= seeds * 8, "{feasible} of {seeds} feasible");
}

/// How often each thing that users add refuses a set or lets one fit, and how often the
/// best plan, or whether there is one, is another for one who overlooks it.
#[test]
fn each_thing_that_users_add_matters() {
    let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for seed in 0..random::FACTS {
        let (input, best) = random::with_facts(seed);
        let sets = |input: &Input| -> Vec<Vec<brute::Set>> {
            let ends = brute::ends(input);
            ends.iter().map(|end| brute::sets(input, end)).collect()
        };
        let own = sets(&input);
        let total = best.map(|best| (best.total, best.variants));
        for (name, other) in facts::overlooked(&input) {
            let count = counts.entry(name).or_default();
            count.0 += usize::from(sets(&other) != own);
            let found = match brute::size(&other) {
                0..=2_000 => brute::best_within(&other, random::STEPS / 5),
                _ => None,
            };
            let found = found.map(|best| best.map(|best| (best.total, best.variants)));
            count.1 += usize::from(found.is_some_and(|found| found != total));
        }
    }
    println!("{counts:#?}");
    let by_plans = ["branches", "several offers"];
    let is_rare = |name: &str, count: (usize, usize)| {
        count.1 < 5 || (count.0 < 12 && !by_plans.contains(&name))
    };
    let rare: Vec<_> = counts
        .iter()
        .filter(|(name, n)| is_rare(name, **n))
        .collect();
    assert!(rare.is_empty(), "too rare: {rare:?}");
    assert_eq!(counts.len(), 15);
}

/// How often a kind of money is there, and how often the plan of one who
/// overlooks it can't be ordered, or costs more than the best.
#[test]
fn each_kind_of_money_changes_the_answer() {
    let mut counts: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    let mut tell = |name, matters: bool| {
        let count = counts.entry(name).or_default();
        *count = (count.0 + 1, count.1 + usize::from(matters));
    };
    for seed in random::WORLDLY..random::WORLDLY + random::SEEDS {
        let (input, best) = random::project(seed);
        let Some(best) = best else { continue };
        for (name, other) in money::overlooked(&input, &best) {
            let found = brute::best_within(&other, random::STEPS);
            let there = found
                .flatten()
                .map(|found| price::total_here(&input, &found));
            let matters = there.is_some_and(|total| total.is_none_or(|t| t > best.total));
            tell(name, matters);
            if name == "thresholds" && money::lines_add_up(&input, &best) {
                tell("lines that come to a threshold together", matters);
            }
        }
        let prices = input.catalog.offers.iter().flat_map(|o| &o.breaks);
        let prices: Vec<Decimal> = prices.map(|b| b.unit_price.0).collect();
        tell("a cent or less", prices.iter().any(|p| *p <= dec("0.01")));
        tell("near a million", prices.iter().any(|p| *p >= dec("700000")));
    }
    println!("{counts:#?}");
    let rare: Vec<_> = counts.iter().filter(|(_, n)| n.1 < 12).collect();
    assert!(rare.is_empty(), "too rare: {rare:?}");
    assert_eq!(counts.len(), 12);
}
