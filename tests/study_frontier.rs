//! The frontier against enumeration, on random projects.

mod support;

use couplet::audit::audit;
use couplet::catalog::Spec;
use couplet::input::Input;
use couplet::limit::{Limit, Progress, Stop};
use couplet::plan::Status;
use couplet::study::failure::Failure;
use couplet::study::frontier::{By, Frontier, frontier};
use couplet::units::Money;
use rust_decimal::Decimal;
use support::brute::{self, Best};
use support::build::{self, Shop, list, money};
use support::random::project;

/// Seeds below this.
const SEEDS: u64 = 180;

fn solved(input: &Input, by: By, cores: u32) -> Frontier {
    frontier(input, by, &Limit::default().with_threads(cores), None).expect("a frontier")
}

/// The least total with at most so many, by enumeration.
fn least(input: &Input, by: By, most: u32) -> Option<Decimal> {
    match by {
        By::Variants | By::Suppliers => brute::best(&by.limited(input, most)).map(|b| b.total),
        By::Dies => with_dies(input, most).into_iter().map(|b| b.total).min(),
    }
}

/// The best plans with each choice of so many dies to buy: ferrules of all
/// others are left out.
fn with_dies(input: &Input, most: u32) -> Vec<Best> {
    let bought: Vec<usize> = (0..input.catalog.dies.len())
        .filter(|&d| !input.catalog.dies[d].owned)
        .filter(|&d| input.dies_ordered.iter().all(|row| row.die.0 as usize != d))
        .collect();
    let mut plans = Vec::new();
    for choice in 0..1u32 << bought.len() {
        if choice.count_ones() > most {
            continue;
        }
        let kept = |d: usize| {
            let place = bought.iter().position(|&b| b == d);
            place.is_none_or(|place| choice >> place & 1 == 1)
        };
        let mut input = input.clone();
        for part in &input.catalog.parts {
            if let Spec::Ferrule(ferrule) = &part.spec
                && ferrule.die.is_some_and(|die| !kept(die.0 as usize))
            {
                input.settings.exclude_parts.insert(part.code.clone());
            }
        }
        plans.extend(brute::best(&input));
    }
    plans
}

fn check(input: &Input, by: By, name: &str) -> usize {
    let frontier = solved(input, by, 2);
    assert!(frontier.is_whole, "{name}");
    let mut before: Option<(u32, Money)> = None;
    for point in &frontier.points {
        let total = point.plan.cost.total;
        let want = least(input, by, point.at_most);
        assert_eq!(
            Some(total.0.normalize()),
            want.map(|t| t.normalize()),
            "{name}: {}",
            point.at_most
        );
        assert_eq!(point.plan.status, Status::Optimal, "{name}");
        let kept = frontier.kept(point).expect("a plan");
        // Without the limit it is a plan too, but the cheapest only if it costs as little.
        assert_eq!(audit(input, &kept), [], "{name}");
        let cheapest = frontier.points[0].plan.cost.total;
        let status = match total == cheapest {
            true => Status::Optimal,
            false => Status::WithinGap,
        };
        assert_eq!(kept.status, status, "{name}");
        assert!(
            (kept.total_bound.0 - cheapest.0).abs() < Decimal::new(1, 3),
            "{name}"
        );
        assert_eq!(
            by.used(input, &point.plan).len() as u32,
            point.uses,
            "{name}"
        );
        assert!(point.uses <= point.at_most, "{name}");
        assert_eq!(
            audit(&by.limited(input, point.at_most), &point.plan),
            [],
            "{name}"
        );
        if let Some((at_most, dearer)) = before {
            assert_eq!(point.at_most + 1, at_most, "{name}: every number once");
            assert!(total >= dearer, "{name}: more allowed costs more");
        }
        before = Some((point.at_most, total));
    }
    let bottom = frontier.points.last().expect("a point").at_most;
    assert_eq!(bottom, frontier.least, "{name}");
    if bottom > 0 {
        assert_eq!(
            least(input, by, bottom - 1),
            None,
            "{name}: less is possible"
        );
    }
    frontier.points.len()
}

#[test]
fn every_point_equals_enumeration() {
    for (by, wanted) in [(By::Variants, 6), (By::Suppliers, 2), (By::Dies, 0)] {
        let mut several = 0;
        for seed in 0..SEEDS {
            let (input, best) = project(seed);
            if best.is_none() {
                continue;
            }
            let points = check(&input, by, &format!("seed {seed} by {}", by.word()));
            several += usize::from(points > 1);
        }
        assert!(
            several >= wanted,
            "{several} with several points by {}",
            by.word()
        );
    }
}

#[test]
fn the_number_of_cores_changes_nothing() {
    for seed in (1..20).filter(|seed| seed % 6 != 0) {
        let (input, _) = project(seed);
        let [one, three] = [1, 3].map(|cores| solved(&input, By::Variants, cores));
        let told = |frontier: &Frontier| -> Vec<_> {
            let points = frontier.points.iter();
            points
                .map(|p| (p.at_most, p.plan.clone(), p.change.clone()))
                .collect()
        };
        assert_eq!(told(&one), told(&three), "seed {seed}");
    }
}

/// Two ends; a plug of each of two keys from one supplier each, or both of one
/// kind that is dearer.
fn choice() -> Input {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    shop.supplier("Sued", "0", None, None);
    for (code, key) in [("PA", "A"), ("PB", "B")] {
        shop.body(code, build::plug("F", key));
        shop.body(&code.replace('P', "R"), build::receptacle("F", key));
    }
    shop.on_hand.insert("RA".to_owned(), 9);
    shop.on_hand.insert("RB".to_owned(), 9);
    shop.offer("PA", "Nord", list(&[(1, "5")]).stock(1));
    shop.offer("PA", "Sued", list(&[(1, "9")]));
    shop.offer("PB", "Sued", list(&[(1, "6")]));
    shop.circuits.push(build::circuit("C1", "HV+", "pack"));
    shop.circuits.push(build::circuit("C2", "HV+", "motor"));
    shop.finish()
}

#[test]
fn each_step_says_what_leaves_and_what_comes_in() {
    // PA from Nord 5 + PB from Sued 6 = 11; two of PB 12.
    let input = choice();
    let by_variants = solved(&input, By::Variants, 2);
    let totals: Vec<String> = (by_variants.points.iter())
        .map(|p| p.plan.cost.total.to_string())
        .collect();
    assert_eq!(totals, ["11.00", "12.00", "12.00"]);
    assert_eq!(by_variants.least, 2);
    let step = &by_variants.points[1].change;
    assert_eq!(step.parts_out, ["PA", "RA"]);
    assert!(step.parts_in.is_empty() && step.out.is_empty());
    let by_suppliers = solved(&input, By::Suppliers, 2);
    let step = &by_suppliers.points[1].change;
    assert_eq!(step.out, ["Nord"]);
    assert_eq!(by_suppliers.points[1].extra, money("1"));
}

#[test]
fn no_plan_at_all_is_told() {
    let mut input = choice();
    input.settings.max_variants = Some(1);
    let result = frontier(&input, By::Variants, &Limit::default(), None);
    assert!(matches!(result, Err(Failure::Limits(None))), "{result:?}");
}

#[test]
fn a_search_that_is_stopped_keeps_what_it_has() {
    let input = choice();
    // Stopped once the two ends of the range are solved.
    let stop = Stop::default();
    let asked = stop.clone();
    let tell = move |now: &Progress| {
        if now.best.is_none() && now.solves >= 2 {
            asked.ask();
        }
    };
    let limit = Limit::default().with_stop(&stop).told_to(tell);
    let found = frontier(&input, By::Variants, &limit, None).expect("a part of it");
    assert!(!found.is_whole);
    assert_eq!(found.points.len(), 1);
    assert_eq!(found.points[0].extra, Money::ZERO);
    assert_eq!(found.least, 2);
}
