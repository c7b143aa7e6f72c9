//! Projects whose whole program is too large to be solved at once, or to be
//! proven soon.

#[path = "../benches/generate/mod.rs"]
#[allow(dead_code)]
mod generate;

use couplet::input::{self, Input, LoadOptions};
use couplet::model::{Outcome, Progress, SolveOptions, worth};
use couplet::plan::Bound;
use rust_decimal::prelude::ToPrimitive;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

fn generated(circuits: usize) -> Input {
    let folder = tempfile::tempdir().expect("a folder");
    generate::write_project(folder.path(), 3, circuits).expect("written");
    let loaded = input::load(folder.path(), &LoadOptions::default());
    loaded.input.expect("a project")
}

/// Plans within a limit, and holds what comes out to what it must be.
fn planned(input: &Input, options: &SolveOptions) -> (f64, f64) {
    let fit = couplet::fit::fit(input).expect("a set for every end");
    let mut seen: Vec<Progress> = Vec::new();
    let outcome = couplet::model::solve(input, &fit, options, &mut |p| seen.push(p));
    let Ok(Outcome::Found {
        solution, bound, ..
    }) = outcome
    else {
        panic!("{outcome:?}");
    };
    let record = Bound {
        lower: bound,
        witnesses: 0,
        wanted_gap: None,
    };
    let plan = couplet::plan::record(input, &fit, &solution, record).expect("a plan");
    assert_eq!(couplet::audit::audit(input, &plan), []);
    let total = worth(input, &fit, &solution)
        .total
        .0
        .to_f64()
        .expect("money");
    assert!(bound > 0.0 && bound <= total, "{bound} of {total}");
    for pair in seen.windows(2) {
        if let [Some(before), Some(after)] = [pair[0].best, pair[1].best] {
            assert!(after <= before, "the best rose from {before} to {after}");
        }
        if let [Some(before), Some(after)] = [pair[0].bound, pair[1].bound] {
            assert!(after >= before, "the bound fell from {before} to {after}");
        }
        let [before, after] = [pair[0].work, pair[1].work];
        assert!(after.nodes >= before.nodes, "{before:?}, {after:?}");
        assert!(after.building >= before.building, "{before:?}, {after:?}");
    }
    let last = seen.last().expect("progress");
    assert!(last.work.building > Duration::ZERO && last.work.building < last.elapsed * 2);
    (bound, total)
}

#[test]
fn search_and_pooled_program_side_by_side_give_a_plan_and_a_bound() {
    let input = generated(60);
    for threads in [1, 2] {
        let options = SolveOptions {
            time_limit: Some(Duration::from_secs(6)),
            threads,
            ..SolveOptions::default()
        };
        let (bound, total) = planned(&input, &options);
        // On a quiet machine it is within 4 %; this is for a busy one.
        assert!(total - bound < 0.15 * total, "{bound} of {total}");
    }
}

#[test]
fn other_ways_beside_the_whole_program_give_a_plan_and_a_bound() {
    let input = generated(20);
    for threads in [1, 2] {
        let options = SolveOptions {
            time_limit: Some(Duration::from_secs(5)),
            threads,
            ..SolveOptions::default()
        };
        let (bound, total) = planned(&input, &options);
        // On a quiet machine it is within 2 %; this is for a busy one.
        assert!(total - bound < 0.1 * total, "{bound} of {total}");
    }
}

#[test]
fn a_stop_gives_the_best_of_all_ways() {
    let input = generated(20);
    let stop = Arc::new(AtomicBool::new(false));
    let options = SolveOptions {
        threads: 2,
        stop: Some(stop.clone()),
        ..SolveOptions::default()
    };
    // Without the stop the proof would take far longer than a test may.
    let alarm = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_secs(3));
        stop.store(true, Ordering::Relaxed);
    });
    let (bound, total) = planned(&input, &options);
    assert!(total - bound < 0.2 * total, "{bound} of {total}");
    alarm.join().expect("the alarm went off");
}

#[test]
fn a_wanted_gap_ends_it_and_a_plan_that_is_given_is_not_lost() {
    let input = generated(60);
    let fit = couplet::fit::fit(&input).expect("a set for every end");
    let rough = SolveOptions {
        gap_percent: Some(30.0),
        ..SolveOptions::default()
    };
    let outcome = couplet::model::solve(&input, &fit, &rough, &mut |_| {}).expect("solves");
    let Outcome::Found { solution, .. } = outcome else {
        panic!("{outcome:?}");
    };
    let first = worth(&input, &fit, &solution).total;
    let again = SolveOptions {
        gap_percent: Some(30.0),
        starts: vec![solution.given()],
        ..SolveOptions::default()
    };
    let (_, total) = planned(&input, &again);
    assert!(total <= first.0.to_f64().expect("money") + 1e-9);
}

/// Plan and bound may come from different ways.
#[test]
fn a_wanted_gap_ends_all_ways_once_plan_and_bound_are_so_near() {
    let input = generated(20);
    let options = SolveOptions {
        gap_percent: Some(2.0),
        threads: 2,
        ..SolveOptions::default()
    };
    // To its end the proof would take far longer than a test may.
    let (bound, total) = planned(&input, &options);
    assert!(total - bound <= 0.02 * total, "{bound} of {total}");
}
