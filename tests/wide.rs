//! Projects whose whole program is too large to be solved at once, or to be
//! proven soon.

#[path = "../benches/generate/mod.rs"]
#[allow(dead_code)]
mod generate;

use couplet::input::{self, Input, LoadOptions};
use couplet::limit::apart::{MOST_LEFT, left};
use couplet::limit::{Limit, Progress};
use couplet::model::{Outcome, Question, worth};
use couplet::plan::Bound;
use couplet::solve::{Engine, Highs, Program, Pulse, SolveError, Solved, Solver, Task};
use rust_decimal::prelude::ToPrimitive;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex};
use std::thread::{ThreadId, current};
use std::time::Duration;

fn generated(circuits: usize) -> Input {
    let folder = tempfile::tempdir().expect("a folder");
    generate::write_project(folder.path(), 3, circuits).expect("written");
    let loaded = input::load(folder.path(), &LoadOptions::default());
    loaded.input.expect("a project")
}

/// Plans within a limit, and holds what comes out to what it must be.
fn planned(input: &Input, question: &Question, limit: &Limit) -> (f64, f64) {
    let fit = couplet::fit::fit(input).expect("a set for every end");
    let seen: Arc<Mutex<Vec<Progress>>> = Arc::default();
    let list = Arc::clone(&seen);
    let limit = limit.told_to(move |now| list.lock().unwrap().push(now.clone()));
    let outcome = couplet::model::solve(input, &fit, question, &limit);
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
    let seen = seen.lock().unwrap();
    for pair in seen.windows(2) {
        if let [Some(before), Some(after)] = [pair[0].best, pair[1].best] {
            assert!(after <= before, "the best rose from {before} to {after}");
        }
        if let [Some(before), Some(after)] = [pair[0].bound, pair[1].bound] {
            assert!(after >= before, "the bound fell from {before} to {after}");
        }
        let [before, after] = [&pair[0], &pair[1]];
        assert!(after.nodes >= before.nodes, "{before:?}, {after:?}");
        assert!(after.building >= before.building, "{before:?}, {after:?}");
    }
    let last = seen.last().expect("progress");
    assert!(last.building > Duration::ZERO && last.building < last.elapsed * 2);
    (bound, total)
}

#[test]
fn search_and_pooled_program_side_by_side_give_a_plan_and_a_bound() {
    let input = generated(60);
    for threads in [1, 2] {
        let limit = Limit::default().within(Duration::from_secs(6));
        let limit = limit.with_threads(threads);
        let (bound, total) = planned(&input, &Question::default(), &limit);
        // On a quiet machine it is within 4 %; this is for a busy one.
        assert!(total - bound < 0.15 * total, "{bound} of {total}");
    }
}

#[test]
fn other_ways_beside_the_whole_program_give_a_plan_and_a_bound() {
    let input = generated(20);
    for threads in [1, 2] {
        let limit = Limit::default().within(Duration::from_secs(5));
        let limit = limit.with_threads(threads);
        let (bound, total) = planned(&input, &Question::default(), &limit);
        // On a quiet machine it is within 2 %; this is for a busy one.
        assert!(total - bound < 0.1 * total, "{bound} of {total}");
    }
}

#[test]
fn a_stop_gives_the_best_of_all_ways() {
    let input = generated(20);
    let limit = Limit::default().with_threads(2);
    let stop = limit.stop.clone();
    // Without the stop the proof would take far longer than a test may.
    let alarm = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_secs(3));
        stop.ask();
    });
    let (bound, total) = planned(&input, &Question::default(), &limit);
    assert!(total - bound < 0.2 * total, "{bound} of {total}");
    // The proof may be where the solver hears no stop: then it is left, and counted.
    assert!(left() <= MOST_LEFT, "{} are left", left());
    alarm.join().expect("the alarm went off");
}

#[test]
fn a_wanted_gap_ends_it_and_a_plan_that_is_given_is_not_lost() {
    let input = generated(60);
    let fit = couplet::fit::fit(&input).expect("a set for every end");
    let rough = Limit::default().with_gap(30.0);
    let outcome = couplet::model::solve(&input, &fit, &Question::default(), &rough);
    let outcome = outcome.expect("solves");
    let Outcome::Found { solution, .. } = outcome else {
        panic!("{outcome:?}");
    };
    let first = worth(&input, &fit, &solution).total;
    let again = Question {
        starts: vec![solution.given()],
        ..Question::default()
    };
    let (_, total) = planned(&input, &again, &rough);
    assert!(total <= first.0.to_f64().expect("money") + 1e-9);
}

/// Plan and bound may come from different ways.
#[test]
fn a_wanted_gap_ends_all_ways_once_plan_and_bound_are_so_near() {
    let input = generated(20);
    let limit = Limit::default().with_gap(2.0).with_threads(2);
    // To its end the proof would take far longer than a test may.
    let (bound, total) = planned(&input, &Question::default(), &limit);
    assert!(total - bound <= 0.02 * total, "{bound} of {total}");
}

/// Answers on the thread that made it, and breaks on any other.
#[derive(Debug)]
struct OneThread(ThreadId);

impl Engine for OneThread {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        assert_eq!(current().id(), self.0, "asked on another thread");
        Highs.solve(program, task, report)
    }
}

/// One of 20 circuits has other ways beside the whole program, one of 60 the search
/// beside the pooled program.
#[test]
fn a_panic_on_another_thread_is_told() {
    for circuits in [20, 60] {
        let input = generated(circuits);
        let fit = couplet::fit::fit(&input).expect("a set for every end");
        let question = Question {
            solver: Solver {
                engine: Arc::new(OneThread(current().id())),
                ..Solver::default()
            },
            ..Question::default()
        };
        let limit = Limit::default().within(Duration::from_secs(6));
        let limit = limit.with_threads(2);
        let told = catch_unwind(AssertUnwindSafe(|| {
            couplet::model::solve(&input, &fit, &question, &limit)
        }));
        let panic = told.expect_err("the panic goes on");
        let text = panic.downcast_ref::<String>().expect("its text");
        assert!(text.contains("asked on another thread"), "{text}");
    }
}
