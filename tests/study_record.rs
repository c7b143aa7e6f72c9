//! What a search takes from a plan on record, on random projects: nothing that
//! changes a proven answer, and no search at all where nothing has changed.

mod support;

use couplet::audit::audit_since;
use couplet::catalog::{PartId, Spec};
use couplet::fit::{Fit, fit};
use couplet::input::{Input, InputFile};
use couplet::limit::Limit;
use couplet::model::{Outcome, Question, Set, solve, worth};
use couplet::plan::{Bound, Plan, Status, record};
use couplet::study::answer::{Answer, cheapest};
use couplet::study::breakeven::breakeven;
use couplet::study::frontier::{By, frontier};
use couplet::study::recall::Recalled;
use couplet::units::Money;
use fastrand::Rng;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use support::brute;
use support::random::project;

/// Seeds below this.
const SEEDS: u64 = 120;

/// Seeds with a plan, and its least total by enumeration.
fn projects() -> impl Iterator<Item = (u64, Input, f64)> {
    (0..SEEDS).filter_map(|seed| {
        let (mut input, best) = project(seed);
        input.files = vec![file("made up")];
        Some((seed, input, best?.total.to_f64().expect("money")))
    })
}

fn file(content: &str) -> InputFile {
    InputFile {
        file: "circuits.csv".to_owned(),
        sha256: content.to_owned(),
    }
}

fn planned(input: &Input, record: Option<&Plan>) -> (Option<Answer>, usize) {
    let limit = Limit::default();
    let found = (fit(input).ok()).and_then(|fit| cheapest(input, &fit, &limit, record).ok());
    (found, limit.solves())
}

/// The plan as it would be on record had the search been stopped at half the total.
fn unproven(input: &Input, answer: &Answer) -> Plan {
    let bound = Bound {
        lower: answer.bound.lower / 2.0,
        witnesses: 0,
        wanted_gap: None,
    };
    let fit = fit(input).expect("fits");
    record(input, &fit, &answer.solution, bound).expect("a plan")
}

#[test]
fn a_record_of_the_project_as_it_is_stands_proven_or_not() {
    for (seed, input, _) in projects() {
        let first = planned(&input, None).0.expect("a plan");
        for record in [first.plan.clone(), unproven(&input, &first)] {
            let (again, solves) = planned(&input, Some(&record));
            assert_eq!(solves, 0, "seed {seed}");
            assert_eq!(again.expect("a plan").plan, record, "seed {seed}");
        }
    }
}

/// A change of one file, by its name, that leaves the record what it was.
type Change = (&'static str, fn(&mut Input, &mut Rng));

const CHANGES: &[Change] = &[
    ("prices.csv", |input, rng| {
        for offer in &mut input.catalog.offers {
            for step in &mut offer.breaks {
                step.unit_price = Money(step.unit_price.0 * Decimal::new(rng.i64(50..200), 2));
            }
            offer.stock = rng.bool().then(|| rng.u64(1..20)).or(offer.stock);
        }
    }),
    ("suppliers.csv", |input, _| {
        for supplier in &mut input.catalog.suppliers {
            supplier.shipping += Money(Decimal::ONE);
            supplier.free_over = None;
            supplier.min_order = Some(Money(Decimal::from(1_000_000)));
        }
    }),
    ("on_hand.csv", |input, rng| {
        let parts = input.catalog.parts.len() as u32;
        input.on_hand = (0..parts).map(|p| (PartId(p), rng.u64(0..9))).collect();
    }),
    ("dies.csv", |input, _| {
        for die in &mut input.catalog.dies {
            die.owned = !die.owned;
        }
    }),
    ("circuits.csv", |input, rng| {
        let last = input.circuits.pop().expect("a circuit");
        if rng.bool() {
            input.circuits.insert(0, last);
        }
        for circuit in &mut input.circuits {
            circuit.current.0 *= Decimal::from(100);
        }
    }),
    ("ferrules.csv", |input, _| {
        for part in &mut input.catalog.parts {
            if let Spec::Ferrule(ferrule) = &mut part.spec {
                ferrule.barrel.push('x');
            }
        }
    }),
    ("project.toml", |input, _| {
        input.settings.spares.clear();
        input.settings.tax_percent.0 += Decimal::ONE;
        input.settings.max_variants = Some(1);
        input.settings.line_cost += Money(Decimal::ONE);
    }),
];

/// A right record is not refused for what has changed since, and the same change
/// unsaid is found in most: so the audit does look.
#[test]
fn a_changed_file_makes_no_record_wrong() {
    let mut noticed = vec![0; CHANGES.len()];
    for (seed, input, _) in projects() {
        let plan = planned(&input, None).0.expect("a plan").plan;
        let mut rng = Rng::with_seed(seed);
        for (place, (file, change)) in CHANGES.iter().enumerate() {
            let mut later = input.clone();
            change(&mut later, &mut rng);
            let changed = [(*file).to_owned()];
            let (found, unchecked) = audit_since(&later, &plan, &changed);
            assert_eq!(found, [], "seed {seed}, {file}");
            assert!(!unchecked.is_empty());
            if !audit_since(&later, &plan, &[]).0.is_empty() {
                noticed[place] += 1;
            }
        }
    }
    let few = |(place, times): (usize, &usize)| (*times < 10).then(|| CHANGES[place].0);
    let few: Vec<&str> = noticed.iter().enumerate().filter_map(few).collect();
    assert!(few.is_empty(), "seldom noticed: {few:?} of {noticed:?}");
}

#[test]
fn studies_begin_at_the_record() {
    for (seed, input, _) in projects().take(20) {
        let first = planned(&input, None).0.expect("a plan");
        let stopped = unproven(&input, &first);
        let limit = Limit::default();
        // Nothing is left to search with, but the record is there.
        limit.stop.ask();
        let found = frontier(&input, By::Variants, &limit, Some(&stopped)).expect("a point");
        assert_eq!(found.points[0].plan, stopped, "seed {seed}");
        let ranges = breakeven(&input, None, &limit, Some(&stopped)).expect("a plan");
        assert_eq!(ranges.plan, stopped, "seed {seed}");
        assert_eq!(limit.solves(), 0);
        // Edges are those of a proven plan, so with time for it one is searched for.
        let limit = Limit::default();
        let proven = breakeven(&input, None, &limit, Some(&stopped)).expect("a plan");
        assert_eq!(proven.plan.status, Status::Optimal, "seed {seed}");
        assert_eq!(proven.plan.cost, first.plan.cost, "seed {seed}");
    }
}

#[test]
fn a_record_of_other_files_or_another_day_or_that_is_wrong_does_not_stand() {
    let (_, input, _) = projects().next().expect("one has a plan");
    let good = planned(&input, None).0.expect("a plan").plan;
    let stands = |plan: &Plan| {
        let fit = fit(&input).expect("fits");
        Recalled::new(&input, &fit, Some(plan)).answer.is_some()
    };
    assert!(stands(&good));
    let mut of_others = good.clone();
    of_others.inputs = vec![file("other")];
    assert!(!stands(&of_others));
    let mut of_another_day = good.clone();
    of_another_day.as_of = Some(jiff::civil::date(2031, 1, 1));
    assert!(!stands(&of_another_day));
    let mut wrong = good.clone();
    wrong.cost.total += Money(1.into());
    assert!(!stands(&wrong));
    let mut short = good.clone();
    short.ends.pop();
    assert!(!stands(&short));
}

/// The project with a circuit less, with one more, or at other prices.
fn changed(input: &Input, rng: &mut Rng) -> Input {
    let mut input = input.clone();
    input.files = vec![file("changed")];
    match rng.u8(0..3) {
        0 if input.circuits.len() > 1 => {
            input.circuits.remove(rng.usize(0..input.circuits.len()));
        }
        1 => {
            let mut more = input.circuits[rng.usize(0..input.circuits.len())].clone();
            more.name = format!("{}-more", more.name);
            input
                .circuits
                .insert(rng.usize(0..=input.circuits.len()), more);
        }
        _ => {
            for offer in &mut input.catalog.offers {
                let percent = [70, 100, 100, 140][rng.usize(0..4)].into();
                for step in &mut offer.breaks {
                    step.unit_price = Money(step.unit_price.percent(percent).0.round_dp(2));
                }
            }
        }
    }
    input
}

/// Whatever is left of an earlier plan, the cheapest is the cheapest, and as good
/// in all that the order of plans counts.
#[test]
fn a_changed_project_is_planned_from_the_record_to_as_good_a_plan() {
    let (mut compared, mut from_part, mut from_all) = (0, 0, 0);
    for (seed, input, _) in projects() {
        let old = planned(&input, None).0.expect("a plan").plan;
        let new = changed(&input, &mut Rng::with_seed(seed));
        let (anew, _) = planned(&new, None);
        let (on, solves) = planned(&new, Some(&old));
        assert_eq!(solves, 1, "seed {seed}");
        let (Some(anew), Some(on)) = (&anew, &on) else {
            assert!(anew.is_none() && on.is_none(), "seed {seed}");
            continue;
        };
        let fit = fit(&new).expect("fits");
        let worth_of = |answer: &Answer| worth(&new, &fit, &answer.solution);
        assert_eq!(worth_of(on), worth_of(anew), "seed {seed}");
        assert!(on.is_proven(), "seed {seed}");
        if let Some(best) = brute::best(&new) {
            assert_eq!(on.total().0, best.total, "seed {seed}");
            compared += 1;
        }
        let start = Recalled::new(&new, &fit, Some(&old)).start;
        assert_eq!(start.len(), fit.ends.len());
        match start.iter().filter(|set| set.is_some()).count() {
            known if known == start.len() => from_all += 1,
            known if known > 0 => from_part += 1,
            _ => {}
        }
    }
    assert!(compared > 60, "{compared}");
    assert!(from_part > 10 && from_all > 30, "{from_part}, {from_all}");
}

fn outcome(input: &Input, fit: &Fit, question: &Question, limit: &Limit) -> (f64, f64, bool) {
    let found = solve(input, fit, question, limit).expect("the solver runs");
    let Outcome::Found {
        solution,
        bound,
        witnesses,
    } = found
    else {
        panic!("{found:?}");
    };
    let total = worth(input, fit, &solution).total.0;
    (total.to_f64().expect("money"), bound, witnesses > 0)
}

/// A bound that is known from before: up to the least total it changes nothing.
#[test]
fn a_bound_from_before_is_kept_and_changes_no_total() {
    for (seed, input, least) in projects() {
        let fit = fit(&input).expect("fits");
        for known in [0.0, least / 2.0, least] {
            let question = Question {
                bound: Some(known),
                ..Question::default()
            };
            let (total, bound, proven) = outcome(&input, &fit, &question, &Limit::default());
            assert!(
                (total - least).abs() < 1e-6,
                "seed {seed}: {total}, {least}"
            );
            assert!(proven, "seed {seed}");
            assert!(bound >= known && bound <= least + 1e-6, "seed {seed}");
        }
    }
}

/// Sets that break every rule are no start, and do no harm.
#[test]
fn a_start_that_is_no_plan_does_no_harm() {
    let mut mixed = 0;
    for (seed, input, least) in projects() {
        let fit = fit(&input).expect("fits");
        let mut rng = Rng::with_seed(seed);
        let good = planned(&input, None).0.expect("a plan").solution;
        // Each end gets the set of some other end, or none.
        let of = |_| {
            let other = rng.usize(0..=good.sets.len());
            good.sets.get(other).cloned()
        };
        let start: Vec<Option<Set>> = (0..good.sets.len()).map(of).collect();
        mixed += usize::from(start != good.given());
        let question = Question {
            starts: vec![start],
            ..Question::default()
        };
        let (total, _, proven) = outcome(&input, &fit, &question, &Limit::default());
        assert!(proven && (total - least).abs() < 1e-6, "seed {seed}");
    }
    assert!(mixed > 50, "{mixed}");
}

/// What an unproven plan says is known, its bound among it, and a plan that is
/// found again is no dearer.
#[test]
fn a_stopped_search_goes_on_where_it_was() {
    for (seed, input, least) in projects().take(30) {
        let first = planned(&input, None).0.expect("a plan");
        let stopped = unproven(&input, &first);
        assert_eq!(stopped.status, Status::TimeLimit);
        let fit = fit(&input).expect("fits");
        let recalled = Recalled::new(&input, &fit, Some(&stopped));
        let bound = recalled.bound().expect("it is of this project");
        assert!(
            (bound - first.bound.lower / 2.0).abs() < 1e-3,
            "seed {seed}"
        );
        let question = Question {
            starts: vec![recalled.start.clone()],
            bound: recalled.bound(),
            ..Question::default()
        };
        // Stopped before it begins, it has what is on record.
        let limit = Limit::default();
        limit.stop.ask();
        let (total, lower, _) = outcome(&input, &fit, &question, &limit);
        assert!(total <= least + 1e-6, "seed {seed}: {total}, {least}");
        assert!(lower >= bound, "seed {seed}");
    }
}
