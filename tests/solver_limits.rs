//! What a solve asks of the solver: every program has the time that is left and
//! the word that stops it, and goes to the engine that was given.

mod support;

use couplet::catalog::Body;
use couplet::fit::{Fit, fit};
use couplet::input::Input;
use couplet::limit::{Limit, Stop};
use couplet::model::{Outcome, Question, Solution, solve, worth};
use couplet::solve::{Engine, Highs, Program, Pulse, SolveError, Solved, Solver, Task};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use support::build::{circuit, ends, list, money, plug, receptacle};

/// What one call was given: seconds, and what stops it.
type Call = (f64, Stop);

/// Answers as ever, notes what it was given, and says stop at one of the calls.
#[derive(Debug)]
struct Watched {
    stop: Stop,
    /// At which call it says stop.
    stops_at: Option<usize>,
    calls: Mutex<Vec<Call>>,
}

impl Watched {
    fn new(stops_at: Option<usize>) -> Arc<Watched> {
        Arc::new(Watched {
            stop: Stop::default(),
            stops_at,
            calls: Mutex::default(),
        })
    }

    fn question(self: &Arc<Watched>) -> Question {
        asked_of(Arc::clone(self) as Arc<dyn Engine>)
    }

    fn limit(&self) -> Limit {
        Limit::default().within(HOUR).with_stop(&self.stop)
    }

    /// Of each call the seconds, and whether the run's own stop stops it.
    fn calls(&self) -> Vec<(f64, bool)> {
        self.stop.ask();
        let calls = self.calls.lock().unwrap();
        calls
            .iter()
            .map(|(s, stop)| (*s, stop.is_asked()))
            .collect()
    }
}

impl Engine for Watched {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        let left = task
            .limit
            .left()
            .map_or(f64::INFINITY, |left| left.as_secs_f64());
        let call = (left, task.limit.stop.clone());
        let place = {
            let mut calls = self.calls.lock().unwrap();
            calls.push(call);
            calls.len()
        };
        if self.stops_at == Some(place) {
            self.stop.ask();
        }
        Highs.solve(program, task, report)
    }
}

const HOUR: Duration = Duration::from_secs(3600);

/// What a plan that is given may still be bought for after the end, with room for
/// how the program words it.
const GRACE: f64 = 2.0;

fn projects() -> impl Iterator<Item = (u64, Input, Fit)> {
    (0..24).filter_map(|seed| {
        let (input, best) = support::random::project(seed);
        best?;
        let fit = fit(&input).ok()?;
        Some((seed, input, fit))
    })
}

/// A question to this engine.
fn asked_of(engine: Arc<dyn Engine>) -> Question {
    Question {
        solver: Solver {
            engine,
            ..Solver::default()
        },
        ..Question::default()
    }
}

fn planned(input: &Input, fit: &Fit, question: &Question, limit: &Limit) -> Option<Solution> {
    match solve(input, fit, question, limit).expect("it solves") {
        Outcome::Found { solution, .. } => Some(solution),
        Outcome::Infeasible | Outcome::Unknown => None,
    }
}

#[test]
fn every_program_has_the_time_that_is_left_and_the_stop() {
    let mut calls = 0;
    for (seed, input, fit) in projects() {
        let first = planned(&input, &fit, &Question::default(), &Limit::default()).expect("a plan");
        // The sets of each end in turn: a start that is perhaps no plan.
        let mut turned = first.given();
        turned.rotate_left(1);
        for starts in [vec![], vec![first.given()], vec![turned, first.given()]] {
            for threads in [1, 2] {
                let watched = Watched::new(None);
                let question = Question {
                    starts: starts.clone(),
                    ..watched.question()
                };
                let limit = watched.limit().with_threads(threads);
                planned(&input, &fit, &question, &limit).expect("a plan");
                for (place, (seconds, has_stop)) in watched.calls().into_iter().enumerate() {
                    let what = format!("seed {seed}, {threads} threads, call {place}");
                    assert!(seconds <= HOUR.as_secs_f64(), "{what}: {seconds} s");
                    assert!(has_stop, "{what}: without the stop");
                    calls += 1;
                }
            }
        }
    }
    assert!(calls > 500, "{calls}");
}

/// Only a plan that is given is bought for after a stop, and that not for long.
#[test]
fn after_a_stop_nothing_is_begun_that_takes_long() {
    let (mut stopped, mut graced) = (0, 0);
    for (seed, input, fit) in projects() {
        let first = planned(&input, &fit, &Question::default(), &Limit::default()).expect("a plan");
        let total = worth(&input, &fit, &first).total;
        for stops_at in [0, 1, 2, 4] {
            let watched = Watched::new(Some(stops_at));
            if stops_at == 0 {
                watched.stop.ask();
            }
            let question = Question {
                starts: vec![first.given()],
                ..watched.question()
            };
            let kept = planned(&input, &fit, &question, &watched.limit()).expect("what was given");
            // A stop in the midst of it may leave it bought part by part.
            if stops_at == 0 {
                assert_eq!(worth(&input, &fit, &kept).total, total, "seed {seed}");
            }
            for (place, (seconds, has_stop)) in watched.calls().into_iter().enumerate() {
                let what = format!("seed {seed}, stop at {stops_at}, call {place}");
                assert!(has_stop || seconds <= GRACE, "{what}: {seconds} s");
                stopped += usize::from(has_stop);
                graced += usize::from(!has_stop);
            }
        }
    }
    assert!(stopped > 50 && graced > 10, "{stopped} {graced}");
}

/// Knows no answer to anything.
#[derive(Debug, Default)]
struct Mute(AtomicUsize);

impl Engine for Mute {
    fn solve(&self, _: &Program, _: &Task, _: &mut dyn FnMut(Pulse)) -> Result<Solved, SolveError> {
        self.0.fetch_add(1, Ordering::Relaxed);
        let bound = f64::NEG_INFINITY;
        Ok(Solved::Unknown { bound })
    }
}

/// An order that must be filled up takes a solver: where it knows nothing, no
/// other one is asked behind its back.
#[test]
fn all_programs_go_to_the_engine_that_is_given() {
    let mut shop = ends(3);
    shop.supplier("Nord", "0", None, Some("20"));
    shop.offer("P", "Nord", list(&[(1, "5")]));
    let input = shop.finish();
    let fit = fit(&input).expect("a set for every end");
    let first = planned(&input, &fit, &Question::default(), &Limit::default()).expect("a plan");
    for starts in [vec![], vec![first.given()]] {
        let mute = Arc::new(Mute::default());
        let question = Question {
            starts,
            ..asked_of(Arc::clone(&mute) as Arc<dyn Engine>)
        };
        assert_eq!(planned(&input, &fit, &question, &Limit::default()), None);
        assert!(mute.0.load(Ordering::Relaxed) > 0);
    }
}

/// One variant too many saves four plugs: the search alone leaves that plan for
/// one with all plugs alike, be they as dear as they may.
#[test]
fn what_must_not_be_counts_before_any_money() {
    for price in ["1", "40000000", "900000000"] {
        let mut shop = ends(1);
        shop.body("Q", plug("G", "A"));
        for (code, interface) in [("RF", "F"), ("RG", "G")] {
            let attach = "panel".to_owned();
            let body = receptacle(interface, "A");
            shop.body(code, Body { attach, ..body });
            shop.on_hand.insert(code.to_owned(), 100);
        }
        for n in 1..5 {
            let mut circuit = circuit(&format!("C{n}"), "HV+", "pack");
            circuit.from.attach = Some("panel".to_owned());
            shop.circuits.push(circuit);
        }
        shop.offer("P", "Nord", list(&[(1, price)]));
        shop.offer("Q", "Nord", list(&[(1, "0.01")]));
        shop.settings.max_variants = Some(3);
        let input = shop.finish();
        let fit = fit(&input).expect("a set for every end");
        let question = asked_of(Arc::new(Mute::default()));
        let found =
            planned(&input, &fit, &question, &Limit::default()).expect("what the search finds");
        let total = worth(&input, &fit, &found).total;
        assert_eq!(total, money(price).times(5));
    }
}

/// Breaks on the second witness.
#[derive(Debug)]
struct NoWitness;

impl Engine for NoWitness {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        assert!(!task.proof, "no second witness");
        Highs.solve(program, task, report)
    }
}

#[test]
fn a_panic_of_a_witness_is_told() {
    let (_, input, fit) = projects().next().expect("a project");
    for threads in [1, 2] {
        let limit = Limit::default().with_threads(threads);
        let question = asked_of(Arc::new(NoWitness));
        let told = catch_unwind(AssertUnwindSafe(|| {
            planned(&input, &fit, &question, &limit)
        }));
        let panic = told.expect_err("the panic goes on");
        assert_eq!(panic.downcast_ref::<&str>(), Some(&"no second witness"));
    }
}
