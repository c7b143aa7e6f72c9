//! All documents of a plan.

use couplet::input::Input;
use couplet::plan::Plan;
use couplet::report::page::{self, Frontier, Point, Report};
use couplet::report::{kit, labels, order};
use couplet::study::cables::cables;
use couplet::study::compare::{Compared, compare};
use couplet::study::copies::{Copies, copies};
use couplet::study::keys::key_maps;
use couplet::study::kit::kits;
use couplet::units::Money;
use rust_decimal::Decimal;

/// Pages by name.
pub fn pages(input: &Input, plan: &Plan) -> Vec<(&'static str, String)> {
    let cables = cables(input, plan).expect("a plan of this project");
    let catalog = &input.catalog;
    let changed = ["circuits.csv".to_owned()];
    let frontier = frontier(plan);
    let report = Report {
        plan,
        input,
        cables: &cables,
        changed: &changed,
        keys: &key_maps(input, plan).expect("a plan of this catalog"),
        frontier: Some(&frontier),
    };
    let kits = kits(plan).expect("kits");
    let copies = of_all(plan);
    let two = labels::labels(&cables, &copies);
    vec![
        ("report", page::report(&report).expect("a page")),
        (
            "kit",
            page::kit(&kits, &copies, (plan, catalog, &cables), &changed).expect("a page"),
        ),
        (
            "cards",
            page::cards(&cables, &copies, (plan, input), &[]).expect("a page"),
        ),
        ("labels", page::labels(two, plan, &[]).expect("a page")),
        ("compare", page::compare(&beside(plan)).expect("a page")),
    ]
}

/// The plan beside one that differs in terms, parts, order lines and ends, and beside itself.
fn beside(plan: &Plan) -> Compared {
    let mut other = plan.clone();
    other.cost.shipping = Money(other.cost.shipping.0 + Decimal::TEN);
    for order in other.orders.iter_mut() {
        drop(order.lines.pop());
    }
    for part in other.parts.iter_mut().step_by(2) {
        part.bought += 1;
    }
    for end in other.ends.iter_mut().step_by(3) {
        end.key.push('x');
        end.fittings.clear();
    }
    drop(other.ends.pop());
    let names = ["now", "before_now", plan.project.as_str()];
    let plans = names.into_iter().zip([plan.clone(), other, plan.clone()]);
    let plans = plans.map(|(name, plan)| (name.to_owned(), plan)).collect();
    compare(plans, |_| None).expect("one currency")
}

/// Every copy of every machine.
pub fn of_all(plan: &Plan) -> Copies {
    copies(plan, None, None).expect("nothing is chosen")
}

/// CSV files by name.
pub fn csv(input: &Input, plan: &Plan) -> Vec<(&'static str, String)> {
    let cables = cables(input, plan).expect("a plan of this project");
    let (kits, copies) = (kits(plan).expect("kits"), of_all(plan));
    let tables = [
        ("orders", order::lines(&plan.orders, &input.catalog)),
        ("kit", kit::rows(&kits, &copies, &input.catalog)),
        (
            "labels",
            labels::rows(&labels::labels(&cables, &copies), &cables),
        ),
    ];
    tables
        .map(|(name, table)| (name, table.csv().expect("csv")))
        .to_vec()
}

/// Some points about the plan.
pub fn frontier(plan: &Plan) -> Frontier {
    let variants = plan.parts.len() as u64;
    let more = |n: u64| Money(plan.cost.total.0 + Decimal::from(40 * n * n));
    let points = (0..5).filter(|n| *n < variants).rev().map(|n| Point {
        variants: variants - n,
        total: more(n),
        gap_percent: (n % 2 == 1).then(|| Decimal::new(125, 2)),
    });
    Frontier {
        points: points.collect(),
        least: variants.saturating_sub(6),
        is_whole: false,
    }
}

#[test]
fn the_frontier_is_shown_where_there_is_one() {
    let (input, plan) = super::any_plan::generated(1, 2);
    let cables = cables(&input, &plan).unwrap();
    let frontier = frontier(&plan);
    let keys = key_maps(&input, &plan).unwrap();
    let page = |frontier| {
        let report = Report {
            plan: &plan,
            input: &input,
            cables: &cables,
            changed: &[],
            keys: &keys,
            frontier,
        };
        page::report(&report).unwrap()
    };
    let (with, without) = (page(Some(&frontier)), page(None));
    assert!(with.contains("Least total by number of variants"));
    assert!(with.contains("class=\"dot here\""));
    assert!(!without.contains("Least total by number of variants"));
    assert!(with.contains("<td>within 1.25 %</td>") && with.contains("<td>proven</td>"));
    assert!(with.contains("The search was stopped before"));
    assert!(with.contains("dot open") && with.contains("a dashed dot is not proven"));
    let mut alone = frontier.clone();
    alone.points = frontier.points.last().copied().into_iter().collect();
    assert!(page(Some(&alone)).contains("before it found a plan with fewer variants"));
    let whole = Frontier {
        is_whole: true,
        ..alone.clone()
    };
    let alone = page(Some(&whole));
    assert!(alone.contains("No compatible plan does with fewer variants than this plan"));
    assert!(!alone.contains("Least total by number of variants"));
    let mut empty = frontier.clone();
    empty.points.clear();
    assert_eq!(page(Some(&empty)), without);
    assert!(!without.contains("Out of date"));
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let (input, plan) = super::any_plan::generated(2, 12);
    assert_eq!(pages(&input, &plan), pages(&input, &plan));
    assert_eq!(csv(&input, &plan), csv(&input, &plan));
}

#[test]
fn a_plan_of_other_circuits_is_refused() {
    let (mut input, mut plan) = super::any_plan::generated(3, 3);
    assert!(cables(&input, &plan).is_ok());
    let end = plan.ends.pop().unwrap();
    assert!(
        cables(&input, &plan)
            .unwrap_err()
            .to_string()
            .contains("ends in the plan")
    );
    plan.ends.push(end);
    input.circuits[0].to.location.push('x');
    input.circuits[0].from.location.push('x');
    assert!(
        cables(&input, &plan)
            .unwrap_err()
            .to_string()
            .contains(&input.circuits[0].name)
    );
}

#[test]
fn without_circuits_there_are_still_documents() {
    let (mut input, _) = super::any_plan::generated(3, 3);
    input.circuits.clear();
    let plan = super::any_plan::any_plan(&input);
    let pages = pages(&input, &plan);
    assert!(pages[0].1.contains("There are no circuits."));
    assert!(pages[1].1.contains("Nothing to pack."));
    assert!(pages[3].1.contains("There are no circuits."));
}

#[test]
fn both_ends_of_every_cable_have_a_label_of_their_own() {
    let (input, plan) = super::any_plan::generated(4, 15);
    let cables = cables(&input, &plan).unwrap();
    let copies = of_all(&plan);
    let labels = labels::labels(&cables, &copies);
    assert_eq!(labels.len(), 2 * cables.len());
    let mut codes: Vec<String> = labels.iter().map(labels::Label::code).collect();
    codes.sort();
    codes.dedup();
    assert_eq!(codes.len(), labels.len());
    let with_pair = labels.iter().filter(|l| l.here.pair.is_some()).count();
    assert_eq!(with_pair, plan.ends.len());
}
