//! Kits: what is packed is what is there, to the piece.

use crate::any_plan::generated;
use crate::full::{ALL, full};
use crate::support::answer;
use crate::support::machines::{PURCHASES, purchase};
use crate::support::random::{SEEDS, project};
use couplet::fit::fit;
use couplet::plan::{Bound, Plan, record};
use couplet::report::kit::rows;
use couplet::study::kit::{KitError, kits};
use std::collections::BTreeMap;

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

/// Pieces of each part that are taken from stock on hand, from what is ordered
/// already, or bought: those from the orders themselves.
fn there(plan: &Plan) -> BTreeMap<String, u64> {
    let mut there = BTreeMap::new();
    for line in plan.orders.iter().flat_map(|order| &order.lines) {
        *there.entry(line.part.clone()).or_insert(0) += line.qty;
    }
    for part in &plan.parts {
        *there.entry(part.part.clone()).or_insert(0) += part.on_hand_used + part.ordered_used;
    }
    there
}

/// Pieces of each part by the CSV that a reader adds up.
fn packed(input: &couplet::input::Input, plan: &Plan) -> BTreeMap<String, u64> {
    let kits = kits(plan).expect("kits");
    let csv = rows(&kits, &super::documents::of_all(plan), &input.catalog)
        .csv()
        .expect("csv");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let mut packed = BTreeMap::new();
    for row in reader.deserialize::<BTreeMap<String, String>>() {
        let row = row.expect("a row");
        let qty: u64 = row["qty"].parse().expect("a number");
        if row["bag"] == "circuit" {
            let at = |end: &str| row[end].parse::<u64>().expect("a number");
            assert_eq!(at("from") + at("to"), qty, "{row:?}");
        }
        *packed.entry(row["part"].clone()).or_insert(0) += qty;
    }
    packed
}

#[test]
fn all_bags_hold_what_is_on_hand_and_ordered() {
    let (mut spares, mut surplus, mut stock) = (0, 0, 0);
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
        let Some(best) = best else { continue };
        let fit = fit(&input).unwrap_or_else(|e| panic!("seed {seed}: {e:?}"));
        let solution = answer::solution(&input, &best);
        let plan = record(&input, &fit, &solution, PROVEN).expect("a plan");
        assert_eq!(packed(&input, &plan), there(&plan), "seed {seed}");
        spares += plan.parts.iter().map(|p| p.spare).sum::<u64>();
        surplus += plan.parts.iter().map(|p| p.surplus).sum::<u64>();
        stock += plan.parts.iter().map(|p| p.on_hand_used).sum::<u64>();
    }
    // The projects have some of each, or this would show nothing.
    assert!(spares > 0 && surplus > 0 && stock > 0);
}

/// Each copy of each machine has its bags.
#[test]
fn all_bags_of_a_purchase_hold_what_is_on_hand_and_ordered() {
    let mut built = 0;
    for seed in 0..PURCHASES {
        let (input, best) = purchase(seed);
        let Some(best) = best else { continue };
        let fit = fit(&input).unwrap_or_else(|e| panic!("seed {seed}: {e:?}"));
        let solution = answer::solution(&input, &best);
        let plan = record(&input, &fit, &solution, PROVEN).expect("a plan");
        assert_eq!(packed(&input, &plan), there(&plan), "seed {seed}");
        let copies = super::documents::of_all(&plan).all.len() as u64;
        assert_eq!(
            copies,
            input.machines.iter().map(|of| of.count).sum::<u64>()
        );
        built += copies;
    }
    assert!(built > 2 * PURCHASES);
}

#[test]
fn a_large_project_adds_up_too() {
    let (input, plan) = generated(5, 40);
    assert_eq!(packed(&input, &plan), there(&plan));
}

#[test]
fn what_is_ordered_already_is_packed_too() {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        assert!(plan.parts.iter().any(|part| part.ordered_used > 0));
        assert_eq!(packed(&input, &plan), there(&plan), "seed {seed}");
    }
}

#[test]
fn a_record_that_contradicts_itself_is_refused() {
    let (_, plan) = generated(6, 2);
    assert!(kits(&plan).is_ok());
    let mut more = plan.clone();
    more.parts[0].surplus += 1;
    assert!(matches!(kits(&more), Err(KitError::Sum { .. })));
    let mut fewer = plan.clone();
    let lost = fewer.parts.remove(0).part;
    assert_eq!(kits(&fewer), Err(KitError::Uncounted(lost)));
    let mut odd = plan;
    odd.parts[0].kind = "gland".into();
    assert_eq!(kits(&odd), Err(KitError::Kind("gland".into())));
}
