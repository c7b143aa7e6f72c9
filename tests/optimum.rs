//! The program's optimum against enumeration, on random projects.
//!
//! The reference shares nothing with the program but plain types, so a total
//! that agrees on all of them is right by two ways.

mod support;

use couplet::catalog::{PartId, SupplierId};
use couplet::fit::fit;
use couplet::input::Input;
use couplet::model::{Outcome, SolveOptions};
use couplet::plan::{Bound, Plan};
use couplet::project::Ordered;
use couplet::units::{Money, Qty};
use jiff::civil::date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use support::brute::purchase::Market;
use support::brute::{Best, best, ends, sets};
use support::build::{self, Shop, circuit, list, plug, receptacle};
use support::codes::{Settled, out_of_order};
use support::random::{SEEDS, project};

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
    let (mut wrong, mut settled) = (Vec::new(), Settled::default());
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
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
    assert!(settled.keys > 20 && settled.ends > 20, "{settled:?}");
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
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
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
    let mut without = 0;
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
        if fit(&input).is_err() {
            assert_eq!(best, None, "seed {seed}");
            without += 1;
        } else {
            let served = ends(&input).iter().all(|end| !sets(&input, end).is_empty());
            assert!(served, "seed {seed}");
        }
    }
    assert!(without > 0);
}

/// What the program comes to, audited; none where it proves that there is no plan.
fn planned(input: &Input) -> Option<Figures> {
    plan_of(input).map(|plan| figures(input, &plan))
}

/// The program's plan, audited; none where it proves that there is none.
fn plan_of(input: &Input) -> Option<Plan> {
    let fit = fit(input).ok()?;
    let outcome = couplet::model::solve(input, &fit, &SolveOptions::default(), &mut |_| {})
        .expect("the solver runs");
    let solution = match outcome {
        Outcome::Infeasible => return None,
        Outcome::Found {
            solution,
            witnesses: 2,
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

/// Keys of an interface that a net has beyond the first, by the record alone.
fn extra_keys(plan: &Plan) -> usize {
    let mut keys: BTreeMap<(&str, &str), BTreeSet<&str>> = BTreeMap::new();
    for end in &plan.ends {
        let of_net = keys.entry((&end.net, &end.interface)).or_default();
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
