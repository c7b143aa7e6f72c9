//! The program's optimum against enumeration, on random projects.
//!
//! The reference shares nothing with the program but plain types, so a total
//! that agrees on all of them is right by two ways.

mod support;

use couplet::catalog::{Body, PartId, Spec, SupplierId};
use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{Outcome, Question};
use couplet::plan::{Bound, Plan};
use couplet::project::Ordered;
use couplet::units::{Currency, Money, Percent, Qty};
use jiff::civil::date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use support::brute::purchase::Market;
use support::brute::{Best, best, ends, sets};
use support::build::{self, Shop, circuit, list, plug, receptacle};
use support::codes::{Settled, out_of_order};
use support::dec;
use support::machines::{PURCHASES, purchase};
use support::random::{FACTS, SEEDS, WORLDLY, project, with_facts};

/// What both sides must agree on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Figures {
    total: Decimal,
    variants: usize,
    keys: usize,
    surplus: Decimal,
}

impl From<&Best> for Figures {
    fn from(best: &Best) -> Figures {
        Figures {
            total: best.total,
            variants: best.variants,
            keys: best.keys,
            surplus: best.surplus,
        }
    }
}

#[test]
fn random_projects_equal_enumeration() {
    let settled = equal_enumeration(0..SEEDS);
    assert!(settled.keys > 20 && settled.ends > 20, "{settled:?}");
}

/// Currencies at 0.002 and at 500, prices from a cent to near a million,
/// thresholds that a few pieces more would reach.
#[test]
fn projects_with_money_as_the_world_has_it_equal_enumeration() {
    let settled = equal_enumeration(WORLDLY..WORLDLY + SEEDS);
    assert!(settled.keys > 5 && settled.ends > 5, "{settled:?}");
}

/// Attributes, ratings by gauge, built-in receptacles, interfaces and keys wanted, keys
/// of nets, branches, several offers of one part and supplier.
#[test]
fn projects_with_what_users_add_equal_enumeration() {
    let settled = equal_each((0..FACTS).map(|seed| (seed, with_facts(seed))));
    assert!(settled.keys > 20 && settled.ends > 10, "{settled:?}");
}

/// Machines with rules of their own, each built one to five times alike.
#[test]
fn purchases_equal_enumeration() {
    let settled = equal_each((0..PURCHASES).map(|seed| (seed, purchase(seed))));
    assert!(settled.keys > 10 && settled.ends > 5, "{settled:?}");
}

#[track_caller]
fn equal_enumeration(seeds: std::ops::Range<u64>) -> Settled {
    equal_each(seeds.map(|seed| (seed, project(seed))))
}

#[track_caller]
fn equal_each(projects: impl Iterator<Item = (u64, (Input, Option<Best>))>) -> Settled {
    let (mut wrong, mut settled) = (Vec::new(), Settled::default());
    for (seed, (input, best)) in projects {
        let want = best.as_ref().map(Figures::from);
        let plan = plan_of(&input);
        let got = plan.as_ref().map(|plan| figures(&input, plan));
        if got != want {
            wrong.push((seed, got, want));
        }
        if let Some(plan) = plan {
            let out = out_of_order(&input, &plan, &mut settled);
            assert!(out.is_empty(), "seed {seed}: {out:#?}");
        }
    }
    assert!(
        wrong.is_empty(),
        "{} differ; (seed, program, reference): {wrong:#?}",
        wrong.len()
    );
    settled
}

/// What is ordered serves as what is on hand does, and keys that are ordered are
/// not like those that are not.
#[test]
fn projects_with_orders_equal_enumeration() {
    let (mut changed, mut settled) = (0, Settled::default());
    for seed in 0..SEEDS / 2 {
        let (mut input, before) = project(seed);
        let mut rng = fastrand::Rng::with_seed(seed);
        for place in 0..input.catalog.parts.len() {
            if rng.u32(..100) < 30 {
                let qty = rng.u64(1..=3);
                input.ordered.push(ordered(PartId(place as u32), qty));
            }
        }
        let best = best(&input);
        let want = best.as_ref().map(Figures::from);
        let plan = plan_of(&input);
        let got = plan.as_ref().map(|plan| figures(&input, plan));
        assert_eq!(got, want, "seed {seed}");
        if let Some(plan) = plan {
            let out = out_of_order(&input, &plan, &mut settled);
            assert!(out.is_empty(), "seed {seed}: {out:#?}");
        }
        changed += usize::from(want != before.as_ref().map(Figures::from));
    }
    assert!(changed > 50, "{changed}");
    assert!(settled.keys > 5, "{settled:?}");
}

fn ordered(part: PartId, qty: Qty) -> Ordered {
    Ordered {
        sku: String::new(),
        note: String::new(),
        part,
        supplier: SupplierId(0),
        qty,
        unit_price: Money::ZERO,
        ordered_on: date(2026, 3, 1),
        received: 0,
        charges: Money::ZERO,
        row: build::row("ordered.csv", 0),
    }
}

/// Keys A and B are alike but for three pairs of B that are ordered. The net with
/// three ends has B, so that nothing is bought for it.
#[test]
fn keys_of_which_some_are_ordered_are_not_alike() {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for key in ["A", "B"] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, "5")]));
        }
    }
    for (name, net) in [("a", "N1"), ("b", "N1"), ("c", "N1"), ("d", "N2")] {
        shop.circuits.push(circuit(name, net, "pack"));
    }
    let mut input = shop.finish();
    for code in ["PB", "RB"] {
        let part = build::id_of(&input.catalog, code);
        input.ordered.push(ordered(part, 3));
    }
    let plan = plan_of(&input).expect("a plan");
    let keys: Vec<&str> = plan.ends.iter().map(|end| end.key.as_str()).collect();
    assert_eq!(keys, ["B", "B", "B", "A"]);
    assert_eq!(plan.cost.total, build::money("10"));
}

/// Two ends with a plug at 30.00 and a ferrule at 0.60 each, and no more plugs to
/// be had; from 15 ferrules on, where there is a break, 0.48. All of Nord's money
/// is in a currency of which a unit is worth `rate`.
fn scarce_plugs(rate: &str, has_break: bool) -> Shop {
    let mut shop = Shop::new();
    let price = |euros: &str| (dec(euros) / dec(rate)).normalize().to_string();
    shop.supplier("Nord", "0", None, None);
    let nord = shop.suppliers.get_mut("Nord").expect("its own");
    nord.currency = Currency("XNN".to_owned());
    let rates = &mut shop.settings.rates;
    rates.insert(Currency("XNN".to_owned()), dec(rate));
    let plug = build::plug("F", "A");
    shop.body(
        "P",
        Body {
            barrel: Some("B".to_owned()),
            ..plug
        },
    );
    shop.body("R", build::receptacle("F", "A"));
    shop.on_hand.insert("R".to_owned(), 2);
    shop.part("E", Spec::Ferrule(build::ferrule("B", None)));
    shop.offer("P", "Nord", list(&[(1, &price("30"))]).stock(2));
    let breaks = [(1, &*price("0.60")), (15, &*price("0.48"))];
    let breaks = if has_break { &breaks[..] } else { &breaks[..1] };
    shop.offer("E", "Nord", list(breaks));
    for n in 0..2 {
        shop.circuits
            .push(build::circuit(&format!("C{n}"), "HV+", "pack"));
    }
    shop
}

/// What enumeration and the program both come to.
#[track_caller]
fn agreed(shop: Shop) -> Decimal {
    let input = shop.finish();
    let want = best(&input).as_ref().map(Figures::from);
    assert_eq!(planned(&input), want);
    want.expect("a plan").total
}

#[test]
fn cheap_ferrules_fill_an_order_up_in_any_currency() {
    for rate in ["0.002", "0.006", "1", "500"] {
        let amount = |euros: &str| Some(Money((dec(euros) / dec(rate)).normalize()));
        for has_break in [false, true] {
            // 60 + 1.20 + 36, or 72 with 20 or 25 ferrules and nothing for shipping.
            for (fee, total) in [("36", "72"), ("10.80", "72"), ("10.74", "71.94")] {
                let mut shop = scarce_plugs(rate, has_break);
                let nord = shop.suppliers.get_mut("Nord").expect("its own");
                nord.free_over = amount("72");
                nord.shipping = amount(fee).expect("a fee");
                assert_eq!(agreed(shop), dec(total), "{rate} {has_break} {fee}");
            }
            // 2 × 48 + 1.20 from Sued, or 72 with as many ferrules as above.
            for (least, total) in [("72", "72"), ("97.20", "97.2"), ("97.26", "97.2")] {
                let mut shop = scarce_plugs(rate, has_break);
                let nord = shop.suppliers.get_mut("Nord").expect("its own");
                nord.min_order = amount(least);
                shop.supplier("Sued", "0", None, None);
                shop.offer("P", "Sued", list(&[(1, "48")]));
                shop.offer("E", "Sued", list(&[(1, "0.60")]));
                assert_eq!(agreed(shop), dec(total), "{rate} {has_break} {least}");
            }
        }
    }
}

/// One plug at 4.00 and a ferrule: 9 at 0.70 come to 10.30 with it, 16 at 0.375 to
/// 10.00 just so. 15 at 0.70 come to as much without the plug.
#[test]
fn a_break_that_fills_an_order_up_just_so_is_kept_in_any_currency() {
    for rate in ["0.002", "1", "500"] {
        let price = |euros: &str| (dec(euros) / dec(rate)).normalize();
        for is_least in [true, false] {
            let mut shop = build::ends(1);
            let plug = build::plug("F", "A");
            shop.body(
                "P",
                Body {
                    barrel: Some("B".to_owned()),
                    ..plug
                },
            );
            shop.part("E", Spec::Ferrule(build::ferrule("B", None)));
            let nord = shop.suppliers.get_mut("Nord").expect("its own");
            nord.currency = Currency("XNN".to_owned());
            let threshold = Some(Money(price("10")));
            match is_least {
                true => nord.min_order = threshold,
                false => (nord.free_over, nord.shipping) = (threshold, Money(price("7"))),
            }
            let rates = &mut shop.settings.rates;
            rates.insert(Currency("XNN".to_owned()), dec(rate));
            let text = |euros: &str| price(euros).to_string();
            shop.offer("P", "Nord", list(&[(1, &text("4"))]).stock(1));
            let breaks = [(1, &*text("0.70")), (16, &*text("0.375"))];
            shop.offer("E", "Nord", list(&breaks));
            assert_eq!(agreed(shop), dec("10"), "{rate} {is_least}");
        }
    }
}

/// One plug at 1.00 is needed, and 20 come to the threshold.
#[test]
fn one_cheap_part_alone_fills_an_order_up_in_any_currency() {
    for rate in ["0.002", "1", "500"] {
        let price = |euros: &str| (dec(euros) / dec(rate)).normalize();
        for is_least in [true, false] {
            let mut shop = build::ends(1);
            let nord = shop.suppliers.get_mut("Nord").expect("its own");
            nord.currency = Currency("XNN".to_owned());
            let threshold = Some(Money(price("20")));
            match is_least {
                true => nord.min_order = threshold,
                false => (nord.free_over, nord.shipping) = (threshold, Money(price("19.50"))),
            }
            let rates = &mut shop.settings.rates;
            rates.insert(Currency("XNN".to_owned()), dec(rate));
            shop.offer("P", "Nord", list(&[(1, &price("1").to_string())]));
            assert_eq!(agreed(shop), dec("20"), "{rate} {is_least}");
        }
    }
}

#[test]
fn a_break_is_kept_where_no_lower_one_comes_to_the_least_order() {
    // 9 × 10 is too little, and 11 × 9.50 with a quarter of duty the least.
    let mut shop = build::ends(1);
    shop.supplier("Nord", "0", None, Some("100"));
    let nord = shop.suppliers.get_mut("Nord").expect("its own");
    nord.duty_percent = Percent(dec("25"));
    shop.offer("P", "Nord", list(&[(1, "10"), (10, "9.50")]));
    assert_eq!(agreed(shop), dec("130.625"));
    // A price that goes up: 7 × 1 is too little, 8 × 1.40 is not.
    let mut shop = build::ends(1);
    shop.supplier("Nord", "0", None, Some("10"));
    shop.offer("P", "Nord", list(&[(1, "1"), (8, "1.40")]));
    assert_eq!(agreed(shop), dec("11.2"));
    // Nor does stock come to it.
    let mut shop = build::ends(1);
    shop.supplier("Nord", "0", None, Some("10"));
    shop.offer("P", "Nord", list(&[(1, "1"), (8, "1.40")]).stock(7));
    assert_eq!(best(&shop.finish()), None);
}

/// One plug at a price and a ferrule: at a tenth of the fee from Nord, who has a
/// threshold, or for a cent from Sued.
fn one_plug(price: &str, fee: &str, rate: &str) -> Shop {
    let mut shop = build::ends(1);
    shop.supplier("Nord", fee, None, None);
    let nord = shop.suppliers.get_mut("Nord").expect("its own");
    nord.currency = Currency("XNN".to_owned());
    let rates = &mut shop.settings.rates;
    rates.insert(Currency("XNN".to_owned()), dec(rate));
    let plug = build::plug("F", "A");
    shop.body(
        "P",
        Body {
            barrel: Some("B".to_owned()),
            ..plug
        },
    );
    shop.part("E", Spec::Ferrule(build::ferrule("B", None)));
    shop.offer("P", "Nord", list(&[(1, price)]));
    shop.offer(
        "E",
        "Nord",
        list(&[(1, &(dec(fee) / dec("10")).to_string())]),
    );
    shop.supplier("Sued", "0", None, None);
    shop.offer("E", "Sued", list(&[(1, "0.01")]));
    shop
}

#[test]
fn a_threshold_that_is_missed_by_the_least_is_missed() {
    for (rate, price, threshold, fee) in [
        ("1", "0.143999", "0.144", "0.01"),
        ("500", "0.143999", "0.144", "0.01"),
        ("1", "99.999999", "100", "5"),
        ("1", "999.99999", "1000", "50"),
        ("1", "999999.99", "1000000", "50000"),
        ("0.002", "499999990", "500000000", "20000000"),
    ] {
        let of = |over: bool, least: bool, price: &str| {
            let mut shop = one_plug(price, fee, rate);
            let nord = shop.suppliers.get_mut("Nord").expect("its own");
            nord.free_over = over.then(|| build::money(threshold));
            nord.min_order = least.then(|| build::money(threshold));
            agreed(shop)
        };
        // The ferrule of Nord comes to the threshold, and saves the fee.
        let (fee, price, rate) = (dec(fee), dec(price), dec(rate));
        let with_ferrule = price + fee / dec("10");
        let name = threshold;
        assert_eq!(
            of(true, false, &price.to_string()),
            with_ferrule * rate,
            "{name}"
        );
        assert_eq!(
            of(true, true, &price.to_string()),
            with_ferrule * rate,
            "{name}"
        );
        assert_eq!(
            of(false, true, &price.to_string()),
            (with_ferrule + fee) * rate,
            "{name}"
        );
        // The plug alone does.
        let ferrule = dec("0.01").min(fee / dec("10") * rate);
        let alone = dec(threshold) * rate + ferrule;
        assert_eq!(of(true, true, threshold), alone, "{name}");
        assert_eq!(of(false, true, threshold), alone + fee * rate, "{name}");
    }
}

/// 13 plugs: a bag of ten at 0.50 and three pieces at 1.00, where two bags are dearer,
/// and no bag too. Both offers are of one supplier, so shipping is paid once.
#[test]
fn a_bag_and_single_pieces_of_one_supplier_are_bought_together() {
    for (shipping, free_over, total) in [("0", None, "8"), ("4", None, "12"), ("4", Some("8"), "8")]
    {
        let mut shop = build::ends(13);
        shop.supplier("Nord", shipping, free_over, None);
        shop.settings.line_cost = build::money("0");
        shop.offer("P", "Nord", list(&[(1, "1")]));
        shop.offer_as("P", "Nord", "bag", list(&[(1, "0.50")]).pack(10));
        let input = shop.finish();
        assert!(
            input
                .catalog
                .has_several(build::id_of(&input.catalog, "P"), SupplierId(0))
        );
        let want = best(&input).as_ref().map(Figures::from);
        let plan = plan_of(&input).expect("a plan");
        assert_eq!(Some(figures(&input, &plan)), want);
        assert_eq!(plan.cost.total, build::money(total));
        let lines = &plan.orders[0].lines;
        let told: Vec<(&str, Qty)> = lines.iter().map(|l| (l.sku.as_str(), l.qty)).collect();
        assert_eq!(told, [("Nord-P", 3), ("bag", 10)]);
    }
}

/// A part that is there to be bought and brings an order to its least goods is not
/// bought unless it is fitted.
#[test]
fn only_what_is_fitted_is_bought() {
    let mut shop = build::ends(1);
    shop.supplier("Nord", "0", None, Some("10"));
    shop.offer("P", "Nord", list(&[(1, "8")]));
    shop.body("Q", plug("G", "A"));
    shop.offer("Q", "Nord", list(&[(1, "2")]));
    // Two plugs, though a plug and a stranger would be 10.
    assert_eq!(agreed(shop), dec("16"));
}

/// Where most is on hand the objective is near zero, and tolerances weigh more.
#[test]
fn nearly_free_projects_equal_enumeration() {
    let (mut free, mut cheap) = (0, 0);
    for seed in 0..SEEDS / 2 {
        let (mut input, _) = project(seed);
        let mut rng = fastrand::Rng::with_seed(seed);
        let percent = [60, 80, 90, 95, 100][rng.usize(..5)];
        for part in &input.catalog.parts {
            if rng.u32(..100) < percent {
                let id = input.catalog.find(&part.code).expect("its own");
                input.on_hand.insert(id, 60);
            }
        }
        let best = best(&input);
        let want = best.as_ref().map(Figures::from);
        assert_eq!(planned(&input), want, "seed {seed}");
        match want {
            Some(figures) if figures.total.is_zero() => free += 1,
            Some(figures) if figures.total < Decimal::from(20) => cheap += 1,
            _ => {}
        }
    }
    assert!(free > 0 && cheap > 0, "{free} free, {cheap} cheap");
}

#[test]
fn the_audit_passes_what_enumeration_finds() {
    let drawn = (0..SEEDS).map(project);
    let with_facts = (0..FACTS).map(with_facts);
    for (seed, (input, best)) in drawn.chain(with_facts).enumerate() {
        let Some(best) = best else { continue };
        let fit = fit(&input).unwrap_or_else(|e| panic!("seed {seed}: {e:?}"));
        let solution = support::answer::solution(&input, &best);
        let plan = couplet::plan::record(&input, &fit, &solution, PROVEN).expect("a plan");
        assert_eq!(couplet::audit::audit(&input, &plan), [], "seed {seed}");
        assert_eq!(figures(&input, &plan), Figures::from(&best), "seed {seed}");
    }
}

#[test]
fn an_end_without_a_set_has_none_by_enumeration() {
    let (mut without, mut conflicts) = (0, 0);
    let drawn = (0..SEEDS).map(project);
    let with_facts = (0..FACTS).map(with_facts);
    for (seed, (input, best)) in drawn.chain(with_facts).enumerate() {
        if fit(&input).is_err() {
            assert_eq!(best, None, "seed {seed}");
            without += 1;
        } else {
            conflicts += usize::from(best.is_none());
            let served = ends(&input).iter().all(|end| !sets(&input, end).is_empty());
            assert!(served, "seed {seed}");
        }
    }
    assert!(without > 20 && conflicts > 30, "{without}, {conflicts}");
}

/// What the program comes to, audited; none where it proves that there is no plan.
fn planned(input: &Input) -> Option<Figures> {
    plan_of(input).map(|plan| figures(input, &plan))
}

/// The program's plan, audited; none where it proves that there is none.
fn plan_of(input: &Input) -> Option<Plan> {
    let fit = fit(input).ok()?;
    let outcome = couplet::model::solve(input, &fit, &Question::default(), &Limit::default())
        .expect("the solver runs");
    let solution = match outcome {
        Outcome::Infeasible => return None,
        Outcome::Found {
            solution,
            witnesses: 1..,
            ..
        } => solution,
        other => panic!("not proven: {other:?}"),
    };
    let plan = couplet::plan::record(input, &fit, &solution, PROVEN).expect("a plan");
    assert_eq!(couplet::audit::audit(input, &plan), []);
    Some(plan)
}

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

fn figures(input: &Input, plan: &Plan) -> Figures {
    Figures {
        total: plan.cost.total.0.normalize(),
        variants: plan.parts.len(),
        keys: extra_keys(plan),
        surplus: surplus_money(input, plan),
    }
}

/// Keys of an interface that a net of a machine has beyond the first, by the record alone.
fn extra_keys(plan: &Plan) -> usize {
    let mut keys: BTreeMap<(&str, &str, &str), BTreeSet<&str>> = BTreeMap::new();
    for end in &plan.ends {
        let net = (&*end.machine, &*end.net, &*end.interface);
        let of_net = keys.entry(net).or_default();
        of_net.insert(&end.key);
    }
    keys.values().map(|keys| keys.len() - 1).sum()
}

/// Surplus pieces of each part at the lowest price that it is offered at, in
/// the project's currency, before duty.
fn surplus_money(input: &Input, plan: &Plan) -> Decimal {
    let market = Market::new(input);
    let parts = plan.parts.iter().map(|part| {
        let id = input.catalog.find(&part.part).expect("a part");
        Decimal::from(part.surplus) * market.surplus_value(id)
    });
    parts.sum::<Decimal>().normalize()
}
