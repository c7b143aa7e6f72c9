//! Price ranges against fresh plans and enumeration at changed prices, on
//! random projects.

mod support;

use couplet::catalog::PartId;
use couplet::fit::fit;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::study::answer::{Answer, Effort, cheapest};
use couplet::study::breakeven::{Breakeven, Edge, HIGHEST, Range, breakeven, priced};
use couplet::units::Money;
use rust_decimal::Decimal;
use support::brute;
use support::build::{self, Shop, list};
use support::dec;
use support::random::project;

/// Seeds below this.
const SEEDS: u64 = 60;

fn solved(input: &Input, cores: usize) -> Breakeven {
    breakeven(input, None, &Effort::new(cores, &|_| {}), None).expect("ranges")
}

/// What the order costs with the prices of a part multiplied; none where it is
/// below a minimum order. Written from the record alone.
fn kept(input: &Input, plan: &Plan, part: &str, factor: Decimal) -> Option<Decimal> {
    let mut total = plan.cost.dies.0 + plan.cost.lines.0;
    for order in &plan.orders {
        let id = input
            .catalog
            .find_supplier(&order.supplier)
            .expect("a supplier");
        let supplier = input.catalog.supplier(id);
        let goods: Decimal = (order.lines.iter())
            .map(|l| l.line_total.0 * if l.part == part { factor } else { Decimal::ONE })
            .sum();
        if supplier.min_order.is_some_and(|least| goods < least.0) {
            return None;
        }
        let shipping = match supplier.free_over {
            Some(over) if goods >= over.0 => Decimal::ZERO,
            _ => supplier.shipping.0,
        };
        let duty = goods * supplier.duty_percent.0 / dec("100");
        total += (goods + duty + shipping) * input.settings.rate(&order.currency).expect("a rate");
    }
    Some(total)
}

/// The least total at a factor, by a fresh plan, and by enumeration where the
/// factor has few enough decimals for it to count in whole numbers.
fn least(input: &Input, part: PartId, factor: Decimal) -> Option<Decimal> {
    let there = priced(input, part, factor);
    let fresh = fit(&there).ok().and_then(|fit| {
        let effort = Effort::new(1, &|_| {});
        let answer: Option<Answer> = cheapest(&there, &fit, &effort, None).ok();
        answer.map(|a| a.total().0)
    });
    // The reference is for prices above zero.
    if factor.normalize().scale() <= DECIMALS && !factor.is_zero() {
        let best = brute::best(&there).map(|best| best.total);
        let off = fresh.zip(best).map(|(fresh, best)| (fresh - best).abs());
        assert!(
            off.is_none_or(|off| off < dec("0.00001")),
            "{fresh:?} {best:?}"
        );
        assert_eq!(fresh.is_some(), best.is_some());
    }
    fresh
}

/// Of a factor that enumeration takes.
const DECIMALS: u32 = 4;

/// True if the order as it is is among the cheapest at a factor.
fn stays(input: &Input, plan: &Plan, part: &str, factor: Decimal) -> bool {
    let id = input.catalog.find(part).expect("a part");
    match (kept(input, plan, part, factor), least(input, id, factor)) {
        (Some(kept), Some(least)) => kept - least < dec("0.0001"),
        (None, _) => false,
        (Some(kept), None) => panic!("a plan at {kept} that enumeration has not"),
    }
}

/// Both sides of both edges of a range, a hundredth away; how many edges.
fn check(input: &Input, plan: &Plan, range: &Range, name: &str) -> usize {
    let hundredth = dec("0.01");
    let stays = |factor| stays(input, plan, &range.part, factor);
    let mut edges = 0;
    for (edge, reach, sign) in [
        (&range.up, HIGHEST, Decimal::ONE),
        (&range.down, Decimal::ZERO, -Decimal::ONE),
    ] {
        let turn = match edge {
            Edge::Untold => panic!("{name}: untold"),
            Edge::Holds => {
                assert!(stays(reach), "{name}: does not hold to {reach}");
                continue;
            }
            Edge::Turns(turn) => turn,
        };
        edges += 1;
        let is_exact = turn.last == turn.first;
        assert!(is_exact || !range.thresholds.is_empty(), "{name}");
        let inside = (turn.last - sign * hundredth * turn.last).round_dp(DECIMALS);
        if (inside - Decimal::ONE) * sign > Decimal::ZERO {
            assert!(
                stays(inside),
                "{name}: not the cheapest at {inside}, before {}",
                turn.last
            );
        }
        assert!(
            stays(turn.last),
            "{name}: not the cheapest at {}",
            turn.last
        );
        let outside = (turn.first + sign * hundredth * turn.first).round_dp(DECIMALS);
        if (outside - reach) * sign < Decimal::ZERO {
            assert!(
                !stays(outside),
                "{name}: still the cheapest at {outside}, beyond {}",
                turn.first
            );
        }
        let id = input.catalog.find(&range.part).expect("a part");
        let there = least(input, id, turn.first);
        let off = turn
            .total
            .map(|t| t.0)
            .zip(there)
            .map(|(a, b)| (a - b).abs());
        assert!(
            off.is_none_or(|off| off < dec("0.0001")),
            "{name}: the total there is off"
        );
        assert_eq!(turn.total.is_some(), there.is_some(), "{name}");
    }
    edges
}

#[test]
fn a_hundredth_before_and_beyond_each_edge() {
    let (mut exact, mut bracketed) = (0, 0);
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
        if best.is_none() {
            continue;
        }
        let found = solved(&input, 2);
        for range in &found.ranges {
            let name = format!("seed {seed}: {}", range.part);
            let edges = check(&input, &found.plan, range, &name);
            match range.thresholds.is_empty() {
                true => exact += edges,
                false => bracketed += edges,
            }
        }
    }
    assert!(
        exact >= 3 && bracketed >= 3,
        "{exact} exact, {bracketed} bracketed"
    );
}

/// One end that takes PA or PB.
fn two_plugs() -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (code, key, price) in [("PA", "A", "8"), ("PB", "B", "10")] {
        shop.body(code, build::plug("F", key));
        shop.body(&code.replace('P', "R"), build::receptacle("F", key));
        shop.on_hand.insert(code.replace('P', "R"), 9);
        shop.offer(code, "Nord", list(&[(1, price)]));
    }
    shop.circuits.push(build::circuit("C1", "HV+", "pack"));
    shop
}

fn turn(edge: &Edge) -> &couplet::study::breakeven::Turn {
    match edge {
        Edge::Turns(turn) => turn,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_edge_is_where_the_other_plug_costs_the_same() {
    let found = solved(&two_plugs().finish(), 1);
    let [range] = found.ranges.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(range.part, "PA");
    let up = turn(&range.up);
    // 8 × 1.25 = 10.
    assert_eq!((up.last, up.first), (dec("1.25"), dec("1.25")));
    assert_eq!(up.total, Some(Money(dec("10"))));
    assert_eq!(
        (&up.parts_out[..], &up.parts_in[..]),
        (
            &["PA".to_owned(), "RA".to_owned()][..],
            &["PB".to_owned(), "RB".to_owned()][..]
        )
    );
    assert!(matches!(range.down, Edge::Holds));
}

#[test]
fn an_edge_beyond_the_reach_is_none() {
    let mut shop = two_plugs();
    shop.offer("PB", "Nord", list(&[(1, "24")]));
    assert!(matches!(
        solved(&shop.finish(), 1).ranges[0].up,
        Edge::Holds
    ));
    let mut shop = two_plugs();
    shop.offer("PB", "Nord", list(&[(1, "23.99")]));
    let found = solved(&shop.finish(), 1);
    assert_eq!(turn(&found.ranges[0].up).last, dec("2.99875"));
}

#[test]
fn a_minimum_order_is_bracketed_to_the_cent() {
    let mut shop = two_plugs();
    shop.supplier("Nord", "0", None, Some("7"));
    let found = solved(&shop.finish(), 1);
    let range = &found.ranges[0];
    assert_eq!(range.thresholds, ["Nord"]);
    // Below 7 the one plug is not sold alone: another joins it, or PB is taken.
    let down = turn(&range.down);
    assert!(
        down.first < dec("0.875") && dec("0.875") <= down.last,
        "{down:?}"
    );
    assert!(
        (down.last - down.first) * dec("8") <= dec("0.011"),
        "{down:?}"
    );
    let up = turn(&range.up);
    assert!(up.last <= dec("1.25") && dec("1.25") <= up.first);
    assert!((up.first - up.last) * dec("8") <= dec("0.011"));
}

#[test]
fn the_least_that_it_takes_comes_first_on_any_number_of_cores() {
    for seed in (1..14).filter(|seed| seed % 6 != 0) {
        let (input, _) = project(seed);
        let [one, three] = [1, 3].map(|cores| solved(&input, cores));
        let text = |found: &Breakeven| format!("{:?}", found.ranges);
        assert_eq!(text(&one), text(&three), "seed {seed}");
        let least = |range: &Range| {
            let edges = [&range.down, &range.up].map(Edge::distance);
            edges.into_iter().flatten().min().unwrap_or(Decimal::MAX)
        };
        assert!(one.ranges.is_sorted_by_key(least), "seed {seed}");
    }
}

#[test]
fn one_part_alone_has_the_edges_that_it_has_among_all() {
    let input = two_plugs().finish();
    let part = input.catalog.find("PA");
    let alone = breakeven(&input, part, &Effort::new(1, &|_| {}), None).expect("ranges");
    assert_eq!(alone.ranges.len(), 1);
    let none = input.catalog.find("PB");
    let none = breakeven(&input, none, &Effort::new(1, &|_| {}), None).expect("ranges");
    assert!(none.ranges.is_empty());
}
