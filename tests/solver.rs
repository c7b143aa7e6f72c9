//! What the solver says, and what becomes of it: programs that some versions of
//! it answer wrongly, two witnesses, bounds that hold whatever it did.

#[allow(dead_code)]
#[path = "../benches/generate/mod.rs"]
mod generate;
mod support;

use couplet::audit::audit;
use couplet::fit::{Fit, fit};
use couplet::input::{Input, LoadOptions, load};
use couplet::limit::Limit;
use couplet::model::{Outcome, Question, solve, worth};
use couplet::plan::{Bound, record};
use couplet::solve::{
    Doubts, Engine, Highs, Program, Proved, Pulse, Row, Safe, Shared, SolveError, Solved, Solver,
    Task, VarId, confirm, holds, mps, prove, run,
};
use fastrand::Rng;
use flate2::read::GzDecoder;
use rust_decimal::prelude::ToPrimitive;
use std::fs::File;
use std::io::Read;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// Programs of small invented projects, made by a straightforward model, with
/// their optima: HiGHS 1.16.0 calls the first infeasible (presolve on), and two
/// plans of the others optimal that are not (presolve off, two threads). The
/// optima are those of SCIP 10 and of HiGHS 1.11 to 1.15.
const PROGRAMS: [(&str, f64); 3] = [
    ("false-infeasible", 777.72),
    ("false-optimum-1018", 1018.3796),
    ("false-optimum-1255", 1255.92),
];

fn program(name: &str) -> Program {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/solver_programs");
    let file = File::open(folder.join(format!("{name}.mps.gz"))).unwrap();
    let mut text = String::new();
    GzDecoder::new(file).read_to_string(&mut text).unwrap();
    support::mps::read(&text)
}

fn optimum(solved: &Solved) -> Option<f64> {
    match solved {
        Solved::Optimal { objective, .. } => Some(*objective),
        _ => None,
    }
}

#[test]
fn programs_that_a_solver_answered_wrongly_are_answered_rightly() {
    for (name, right) in PROGRAMS {
        let program = program(name);
        for (presolve, threads) in [(true, 1), (false, 1), (true, 2), (false, 2)] {
            let task = Task {
                presolve,
                limit: Limit::default().with_threads(threads),
                ..Task::default()
            };
            let solved = run(&program, &task, &mut |_| {}).unwrap();
            let found = optimum(&solved).unwrap_or(f64::NAN);
            assert!(
                (found - right).abs() < 1e-4,
                "{name}, presolve {presolve}, {threads} threads: {found}"
            );
            assert_eq!(task.solver.doubts.count(), 0, "{name}");
        }
        let task = Task::default();
        let proved = prove(&program, &task, true, None, &mut |_| {}).unwrap();
        assert_eq!(proved.witnesses, 2, "{name}");
        assert!((optimum(&proved.solved).unwrap() - right).abs() < 1e-4);
    }
}

/// Programs with large factors that the solver calls infeasible by one way, or
/// answers with what breaks a row, and what they cost at best.
const EDGES: [(&str, f64); 2] = [("edge-44635", 44_635.567), ("edge-4032141", 4_032_141.72)];

#[test]
fn programs_at_the_edge_of_numbers_are_never_proven_wrongly() {
    for (name, right) in EDGES {
        let program = program(name);
        let task = Task::default();
        let proved = prove(&program, &task, true, None, &mut |_| {}).unwrap();
        match proved.solved {
            Solved::Optimal { objective, .. } if proved.witnesses > 0 => {
                assert!((objective - right).abs() < 1e-2, "{name}: {objective}");
            }
            Solved::Infeasible => assert!(proved.witnesses < 2, "{name}"),
            _ => {}
        }
    }
}

#[test]
fn a_program_is_the_same_after_writing_and_reading() {
    for (name, _) in PROGRAMS {
        let program = program(name);
        assert_eq!(support::mps::read(&mps(&program)), program, "{name}");
    }
    for seed in 0..200 {
        let program = small(&mut Rng::with_seed(seed));
        assert_eq!(support::mps::read(&mps(&program)), program, "seed {seed}");
    }
}

/// A random program of a few variables, some whole, with rows of all kinds.
fn small(rng: &mut Rng) -> Program {
    let mut program = Program::default();
    let vars: Vec<VarId> = (0..rng.usize(2..6))
        .map(|_| {
            let lo = f64::from(rng.i32(-2..2));
            let cost = f64::from(rng.i32(-60..100)) / 8.0;
            program.integer(lo, lo + f64::from(rng.i32(0..4)), cost)
        })
        .collect();
    for _ in 0..rng.usize(1..5) {
        let mut terms = Vec::new();
        for &var in &vars {
            if rng.u32(..100) < 60 {
                terms.push((var, f64::from(rng.i32(-9..10)) / 2.0));
            }
        }
        terms.retain(|term| term.1 != 0.0);
        let side = f64::from(rng.i32(-8..9));
        match rng.u32(..4) {
            0 => program.equal(terms, side),
            1 => program.at_least(terms, side),
            2 => program.rows.push(Row {
                terms,
                lo: side,
                up: side + 3.0,
            }),
            _ => program.at_most(terms, side),
        }
    }
    program
}

/// The least objective by trying every point; none where no point holds all rows.
fn enumerated(program: &Program) -> Option<f64> {
    let mut points = vec![Vec::new()];
    for var in &program.vars {
        let longer = |point: &Vec<f64>| {
            let point = point.clone();
            let values = (0..).map(move |k| var.lo + f64::from(k));
            let values = values.take_while(move |x| *x <= var.up);
            values
                .map(move |x| [point.clone(), vec![x]].concat())
                .collect::<Vec<_>>()
        };
        points = points.iter().flat_map(longer).collect();
    }
    let costs = points.iter().filter(|point| holds(program, point));
    costs.map(|point| program.objective(point)).reduce(f64::min)
}

#[test]
fn two_witnesses_agree_with_enumeration() {
    let mut none = 0;
    for seed in 0..200 {
        let program = small(&mut Rng::with_seed(seed));
        let want = enumerated(&program);
        for beside in [false, true] {
            let task = Task::default();
            let proved = prove(&program, &task, beside, None, &mut |_| {}).unwrap();
            assert_eq!(proved.witnesses, 2, "seed {seed}");
            assert_eq!(task.solver.doubts.count(), 0, "seed {seed}");
            match want {
                Some(want) => assert!(
                    optimum(&proved.solved).is_some_and(|found| (found - want).abs() < 1e-6),
                    "seed {seed}: {:?}, {want}",
                    proved.solved
                ),
                None => assert_eq!(proved.solved, Solved::Infeasible, "seed {seed}"),
            }
        }
        none += usize::from(want.is_none());
    }
    assert!((20..180).contains(&none), "{none} without a solution");
}

/// Duals made up or spoilt give a bound all the same, and the solver's own give
/// a good one.
#[test]
fn a_safe_bound_holds_whatever_the_duals_are() {
    let mut tight = 0;
    for seed in 0..2_000 {
        let mut rng = Rng::with_seed(seed);
        let program = small(&mut rng);
        let Some(least) = enumerated(&program) else {
            continue;
        };
        for round in 0..8 {
            let size = [0.1, 1.0, 10.0, 1e12][round % 4];
            let dual = |rng: &mut Rng| match rng.u32(..12) {
                0 => 0.0,
                1 => f64::NAN,
                2 => f64::INFINITY,
                _ => (rng.f64() - 0.5) * size,
            };
            let duals: Vec<f64> = program.rows.iter().map(|_| dual(&mut rng)).collect();
            let safe = Safe::new(&program.vars, &program.rows, &duals);
            assert!(safe.bound <= least, "seed {seed}: {} {least}", safe.bound);
            tight += usize::from(safe.bound > least - 3.0);
            // What is struck is in no solution that costs as little.
            for (place, var) in program.vars.iter().enumerate() {
                let (lo, up) = safe.tightened(place, var, least);
                assert!(lo >= var.lo && up <= var.up);
                let mut left = program.clone();
                (left.vars[place].lo, left.vars[place].up) = (lo, up);
                let found = enumerated(&left);
                assert!(
                    lo <= up && found.is_some_and(|found| (found - least).abs() < 1e-9),
                    "seed {seed}: {lo} to {up} of {var:?}"
                );
            }
        }
    }
    assert!(tight > 100, "only {tight} of the bounds say much");
}

/// Lies on one of the ways to an answer, or breaks off there.
#[derive(Debug)]
struct Liar {
    seed: u64,
    calls: AtomicUsize,
    /// Which of the calls are lies.
    at: fn(usize) -> bool,
}

impl Engine for Liar {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        let call = self.calls.fetch_add(1, Ordering::SeqCst);
        let truth = Highs.solve(program, task, report)?;
        match (self.at)(call) {
            true => Ok(lie(truth, program, &mut Rng::with_seed(self.seed))),
            false => Ok(truth),
        }
    }
}

/// Something that is not so.
fn lie(truth: Solved, program: &Program, rng: &mut Rng) -> Solved {
    let any: Vec<f64> = (program.vars.iter())
        .map(|var| var.lo + f64::from(rng.i32(0..=(var.up - var.lo) as i32)))
        .collect();
    let worse = (0..40).find_map(|_| {
        let point: Vec<f64> = (program.vars.iter())
            .map(|var| var.lo + f64::from(rng.i32(0..=(var.up - var.lo) as i32)))
            .collect();
        holds(program, &point).then_some(point)
    });
    match rng.u32(..4) {
        0 => Solved::Infeasible,
        1 => Solved::Optimal {
            objective: program.objective(&any),
            values: any,
        },
        2 => worse.map_or(Solved::Infeasible, |values| Solved::Optimal {
            objective: program.objective(&values),
            values,
        }),
        _ => Solved::Unknown {
            bound: truth.bound() + 1.0,
        },
    }
}

/// Whichever one of the first three runs lies, and however, nothing false is
/// called proven.
#[test]
fn one_lie_is_never_believed() {
    let lies: [fn(usize) -> bool; 3] = [|call| call == 0, |call| call == 1, |call| call == 2];
    let (mut proven, mut doubts) = (0, 0);
    for seed in 0..120 {
        let program = small(&mut Rng::with_seed(seed));
        let want = enumerated(&program);
        for at in &lies {
            for with_start in [false, true] {
                let engine: Shared = Arc::new(Liar {
                    seed,
                    calls: AtomicUsize::new(0),
                    at: *at,
                });
                let start = with_start.then(|| solution(&program)).flatten();
                let task = Task {
                    start,
                    solver: Solver {
                        engine,
                        doubts: Doubts::default(),
                    },
                    ..Task::default()
                };
                let proved = prove(&program, &task, false, None, &mut |_| {}).unwrap();
                doubts += task.solver.doubts.count();
                proven += usize::from(proved.witnesses == 2);
                believed(&proved, want, seed);
            }
        }
    }
    assert!(proven > 300 && doubts > 100, "{proven} {doubts}");
}

/// What two witnesses stand for is so.
fn believed(proved: &Proved, want: Option<f64>, seed: u64) {
    if proved.witnesses < 2 {
        return;
    }
    match (&proved.solved, want) {
        (Solved::Infeasible, None) => {}
        (Solved::Optimal { objective, .. }, Some(want)) => {
            assert!(
                (objective - want).abs() < 1e-6,
                "seed {seed}: {objective}, {want}"
            );
        }
        other => panic!("seed {seed}: {other:?}"),
    }
}

/// Any point that holds all rows.
fn solution(program: &Program) -> Option<Vec<f64>> {
    let mut program = program.clone();
    program.vars.iter_mut().for_each(|var| var.cost = 0.0);
    run(&program, &Task::default(), &mut |_| {})
        .unwrap()
        .into_values()
}

/// Tells the truth on one of the two ways and often lies on the other.
#[derive(Debug)]
struct Sided {
    seed: u64,
    calls: AtomicUsize,
    /// Whether it lies on the way without presolve and heuristics.
    second: bool,
}

impl Engine for Sided {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        let call = self.calls.fetch_add(1, Ordering::SeqCst) as u64;
        let truth = Highs.solve(program, task, report)?;
        let mut rng = Rng::with_seed(self.seed * 1_000 + call);
        match task.proof == self.second && rng.u32(..100) < 40 {
            true => Ok(lie(truth, program, &mut rng)),
            false => Ok(truth),
        }
    }
}

/// Projects for the witnesses, unless `COUPLET_WITNESSES` says how many.
const WITNESSED: u64 = 100;

/// Two witnesses that tell the truth seldom contradict each other, and seldom
/// does one of them not come to an end. Every second project has money as the
/// world has it.
#[test]
fn two_witnesses_of_whole_projects_seldom_disagree() {
    let asked = std::env::var("COUPLET_WITNESSES").ok();
    let projects = asked.map_or(WITNESSED, |n| n.parse().expect("a number"));
    let (mut planned, mut impossible, mut once, mut disputed) = (0, 0, Vec::new(), Vec::new());
    for seed in 0.. {
        if planned + impossible >= projects {
            break;
        }
        let mut rng = Rng::with_seed(seed);
        let mut input = support::random::any(&mut rng, 1 + seed as usize % 6);
        if seed % 2 == 1 {
            support::money::exchange(&mut rng, &mut input);
        }
        let Ok(fit) = fit(&input) else { continue };
        let limit = Limit::default().with_threads(1 + seed as u32 / 2 % 2);
        let question = Question::default();
        match solve(&input, &fit, &question, &limit).expect("the solver runs") {
            Outcome::Found { witnesses: 0, .. } | Outcome::Unknown => panic!("seed {seed}"),
            Outcome::Found { witnesses, .. } => {
                planned += 1;
                once.extend((witnesses == 1).then_some(seed));
            }
            Outcome::Infeasible => impossible += 1,
        }
        disputed.extend((question.solver.doubts.count() > 0).then_some(seed));
    }
    println!("{planned} planned, {impossible} impossible; once {once:?}, disputed {disputed:?}");
    assert!(once.len() as u64 * 20 <= projects, "{once:?}");
    assert!(disputed.len() as u64 * 20 <= projects, "{disputed:?}");
    assert!(planned > projects / 2 && impossible > 0);
}

/// So many projects, unless `COUPLET_LIES` says how many.
const LIED_TO: u64 = 150;

/// Whole projects with a solver that lies: nothing false is called proven or
/// impossible, no bound is above the least total, and every record passes its audit.
#[test]
fn no_wrong_word_of_a_lying_solver_reaches_the_user() {
    let asked = std::env::var("COUPLET_LIES").ok();
    let projects = asked.map_or(LIED_TO, |n| n.parse().expect("a number"));
    let mut seen = Seen::default();
    for seed in 0..projects {
        let (mut input, mut best) = support::random::project(seed);
        let Ok(fit) = fit(&input) else { continue };
        if seed % 4 == 0 {
            // Too few for most.
            input.settings.max_variants = Some(5);
            best = support::brute::best(&input);
        }
        let least = best.as_ref().and_then(|best| best.total.to_f64());
        for second in [false, true] {
            let doubts = Doubts::default();
            let question = Question {
                solver: Solver {
                    engine: Arc::new(Sided {
                        seed,
                        calls: AtomicUsize::new(0),
                        second,
                    }),
                    doubts: doubts.clone(),
                },
                ..Question::default()
            };
            let outcome = solve(&input, &fit, &question, &Limit::default());
            seen.lies += doubts.count() as u64;
            match outcome {
                Ok(found @ Outcome::Found { .. }) => {
                    seen.plan(&input, &fit, found, least.expect("there is none"));
                }
                Ok(Outcome::Infeasible) => {
                    seen.none += 1;
                    assert_eq!(least, None, "seed {seed}");
                }
                Ok(Outcome::Unknown) | Err(_) => seen.open += 1,
            }
        }
    }
    println!("{projects} projects, two ways: {seen:?}");
    assert!(
        seen.lies > projects && seen.proven > projects / 4 && seen.none > 0,
        "{seen:?}"
    );
}

/// How many answers were thrown away, and what came of the projects.
#[derive(Debug, Default)]
struct Seen {
    lies: u64,
    proven: u64,
    open: u64,
    none: u64,
}

impl Seen {
    fn plan(&mut self, input: &Input, fit: &Fit, found: Outcome, least: f64) {
        let Outcome::Found {
            solution,
            bound,
            witnesses,
        } = found
        else {
            return;
        };
        let known = Bound {
            lower: bound,
            witnesses,
            wanted_gap: None,
        };
        let plan = record(input, fit, &solution, known).expect("a plan");
        assert_eq!(audit(input, &plan), []);
        assert!(bound <= least + 1e-5, "{bound}, {least}");
        if witnesses == 0 {
            self.open += 1;
            return;
        }
        self.proven += 1;
        let total = plan.cost.total.0.to_f64().expect("money");
        assert!((total - least).abs() < 1e-6, "{total}, {least}");
    }
}

#[test]
fn what_was_proven_once_is_confirmed_or_shown_wrong() {
    let (mut right, mut wrong) = (0, 0);
    for seed in 0..300 {
        let program = small(&mut Rng::with_seed(seed));
        let (Some(want), Some(start)) = (enumerated(&program), solution(&program)) else {
            continue;
        };
        let at = program.objective(&start);
        let task = Task {
            start: Some(start),
            ..Task::default()
        };
        let proved = confirm(&program, &task).unwrap();
        let found = optimum(&proved.solved).expect("an optimum");
        assert!((found - want).abs() < 1e-6, "seed {seed}: {found}, {want}");
        assert_eq!(proved.witnesses, 1);
        match (at - want).abs() < 1e-6 {
            true => right += 1,
            false => wrong += 1,
        }
    }
    assert!(right > 10 && wrong > 10, "{right} right, {wrong} wrong");
}

/// Many knapsacks over the same things: easy to have a solution of, which gets better
/// many times, and hopeless to prove.
fn hopeless() -> Program {
    let mut rng = Rng::with_seed(5);
    let mut program = Program::default();
    let vars: Vec<VarId> = (0..200)
        .map(|_| program.binary(-f64::from(rng.i32(500..1000))))
        .collect();
    for _ in 0..30 {
        let terms: Vec<_> = (vars.iter())
            .map(|&var| (var, f64::from(rng.i32(1..1000))))
            .collect();
        let most = terms.iter().map(|term| term.1).sum::<f64>() / 3.0;
        program.at_most(terms, most.floor());
    }
    program
}

#[test]
fn a_stop_loses_nothing_that_the_solver_alone_had_found() {
    let program = hopeless();
    for after in 1..4 {
        let task = Task::default();
        let mut found: Vec<Vec<f64>> = Vec::new();
        let solved = run(&program, &task, &mut |pulse| {
            let Some(values) = pulse.found else { return };
            assert!(holds(&program, &values));
            assert_eq!(pulse.best, Some(program.objective(&values)));
            found.push(values.to_vec());
            if found.len() == after {
                task.limit.stop.ask();
            }
        });
        let Ok(Solved::Feasible {
            values,
            objective,
            bound,
        }) = solved
        else {
            panic!("{solved:?}");
        };
        assert!(found.len() >= after);
        let best = found.iter().map(|values| program.objective(values));
        assert_eq!(Some(objective), best.reduce(f64::min));
        assert!(found.contains(&values) && bound < objective);
        assert_eq!(task.solver.doubts.count(), 0);
    }
}

#[test]
fn nodes_bound_and_best_are_told_while_the_solver_runs() {
    let program = hopeless();
    let task = Task::default();
    let mut told: Vec<Pulse> = Vec::new();
    run(&program, &task, &mut |pulse| {
        told.push(pulse);
        let nodes = told.iter().filter(|pulse| pulse.nodes > 0).count();
        if nodes > 3 {
            task.limit.stop.ask();
        }
    })
    .expect("it runs");
    let known = told
        .iter()
        .filter_map(|pulse| Some((pulse.best?, pulse.bound?)));
    let known: Vec<(f64, f64)> = known.collect();
    assert!(known.len() > 3, "{told:?}");
    let nearer = |pair: &[(f64, f64)]| pair[1].0 <= pair[0].0 && pair[1].1 >= pair[0].1;
    assert!(known.windows(2).all(nearer), "{known:?}");
    assert!(known.iter().all(|(best, bound)| bound <= best));
    assert!(told.windows(2).all(|pair| pair[1].nodes >= pair[0].nodes));
}

#[test]
fn a_panic_of_who_listens_goes_on_and_the_solver_ends() {
    let program = hopeless();
    let task = Task::default();
    let mut heard = 0;
    let told = catch_unwind(AssertUnwindSafe(|| {
        run(&program, &task, &mut |_| {
            heard += 1;
            assert!(heard < 3, "no third word");
        })
    }));
    let panic = told.expect_err("the panic goes on");
    assert_eq!(panic.downcast_ref::<&str>(), Some(&"no third word"));
    assert_eq!(heard, 3);
    // The other witness is not waited for to its end.
    let told = catch_unwind(AssertUnwindSafe(|| {
        prove(&program, &task, true, None, &mut |pulse| {
            assert!(pulse.found.is_none(), "no solution");
        })
    }));
    let panic = told.expect_err("the panic goes on");
    assert_eq!(panic.downcast_ref::<&str>(), Some(&"no solution"));
    // Nobody waits for it, and it does not go on for ever.
    while couplet::limit::apart::left() > 0 {
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(!task.limit.stop.is_asked());
}

/// Hands out a solution that breaks a row, and then answers as ever.
#[derive(Debug)]
struct Boastful;

impl Engine for Boastful {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        let most = program.vars.iter().map(|var| var.up).collect();
        report(Pulse {
            best: Some(0.0),
            found: Some(most),
            ..Pulse::default()
        });
        Highs.solve(program, task, report)
    }
}

#[test]
fn a_solution_that_breaks_a_row_is_not_handed_on() {
    let mut program = Program::default();
    let x = program.integer(0.0, 10.0, -1.0);
    program.at_most(vec![(x, 2.0)], 7.0);
    let task = Task {
        solver: Solver {
            engine: Arc::new(Boastful),
            ..Solver::default()
        },
        ..Task::default()
    };
    let mut found: Vec<Vec<f64>> = Vec::new();
    let solved = run(&program, &task, &mut |pulse| {
        found.extend(pulse.found.map(|values| values.to_vec()));
    });
    assert_eq!(optimum(&solved.expect("an answer")), Some(-3.0));
    assert!(
        found.iter().all(|values| holds(&program, values)),
        "{found:?}"
    );
}

/// Says of the first run what it finds, and waits in the second until it has it.
#[derive(Debug)]
struct Giving {
    told: Vec<f64>,
    heard: Mutex<Vec<(bool, f64)>>,
}

impl Engine for Giving {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        if !task.proof {
            report(Pulse {
                found: Some(self.told.as_slice().into()),
                ..Pulse::default()
            });
            assert_eq!(task.given.take(), None, "the first is given nothing");
            return Highs.solve(program, task, report);
        }
        for _ in 0..1_000 {
            if let Some(values) = task.given.take() {
                let word = (holds(program, &values), program.objective(&values));
                self.heard.lock().unwrap().push(word);
                task.given.put(&values);
                break;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        Highs.solve(program, task, report)
    }
}

#[test]
fn the_second_witness_is_given_what_the_first_finds() {
    let mut shown = 0;
    for seed in 0..200 {
        let program = small(&mut Rng::with_seed(seed));
        let alone = run(&program, &Task::default(), &mut |_| {}).unwrap();
        let Some((best, values)) = optimum(&alone).zip(alone.into_values()) else {
            continue;
        };
        let giving = Arc::new(Giving {
            told: values,
            heard: Mutex::default(),
        });
        let task = Task {
            solver: Solver {
                engine: Arc::clone(&giving) as Shared,
                ..Solver::default()
            },
            ..Task::default()
        };
        let proved = prove(&program, &task, true, None, &mut |_| {}).unwrap();
        assert_eq!(proved.witnesses, 2, "seed {seed}");
        let found = optimum(&proved.solved).expect("an optimum");
        assert!((found - best).abs() < 1e-6, "seed {seed}: {found}, {best}");
        let heard = giving.heard.lock().unwrap();
        let [(true, cost)] = heard[..] else {
            panic!("seed {seed}: {heard:?}");
        };
        assert!((cost - best).abs() < 1e-6, "seed {seed}: {cost}, {best}");
        shown += 1;
    }
    assert!(shown > 20, "{shown}");
}

/// Hands out solutions of the whole program, and then knows nothing of it.
#[derive(Debug)]
struct Forgetful {
    whole: usize,
    /// What it hands out; none where it looks for something better than its start.
    known: Option<Vec<f64>>,
    /// The start and what was handed out last.
    last: Mutex<Option<[Vec<f64>; 2]>>,
}

impl Forgetful {
    fn look(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<(), SolveError> {
        let Some(start) = &task.start else {
            return Ok(());
        };
        let enough = task.limit.stop.below();
        let held = task.within(&task.limit.with_stop(&enough));
        let mut note = |pulse: Pulse| {
            let better = (pulse.found.as_ref())
                .filter(|values| program.objective(values) < program.objective(start) - 1.0);
            if let Some(values) = better {
                *self.last.lock().unwrap() = Some([start.clone(), values.to_vec()]);
                enough.ask();
            }
            report(pulse);
        };
        match &self.known {
            Some(known) => note(Pulse {
                found: Some(known.as_slice().into()),
                ..Pulse::default()
            }),
            None => {
                Highs.solve(program, &held, &mut note)?;
            }
        }
        Ok(())
    }
}

impl Engine for Forgetful {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        if program.vars.len() != self.whole || task.proof || task.nodes.is_some() {
            return Highs.solve(program, task, report);
        }
        self.look(program, task, report)?;
        Ok(Solved::Unknown {
            bound: f64::NEG_INFINITY,
        })
    }
}

/// The total of a plan by two threads, and what the engine had as a start and handed
/// out last.
fn forgotten(input: &Input, fit: &Fit, known: Option<Vec<f64>>) -> (f64, [Vec<f64>; 2]) {
    let engine = Arc::new(Forgetful {
        whole: couplet::model::program(input, fit).vars.len(),
        known,
        last: Mutex::default(),
    });
    let question = Question {
        solver: Solver {
            engine: Arc::clone(&engine) as Shared,
            ..Solver::default()
        },
        ..Question::default()
    };
    let limit = Limit::default().within(Duration::from_secs(600));
    let outcome = solve(input, fit, &question, &limit.with_threads(2));
    let Ok(Outcome::Found { solution, .. }) = outcome else {
        panic!("{outcome:?}");
    };
    let total = worth(input, fit, &solution).total.0.to_f64().unwrap();
    let last = engine.last.lock().unwrap().take();
    (total, last.expect("something better than the start"))
}

#[test]
fn what_the_solver_alone_has_found_is_with_the_search_as_well() {
    let folder = tempfile::tempdir().unwrap();
    generate::write_project(folder.path(), 1, 20).unwrap();
    let loaded = load(folder.path(), &LoadOptions::default());
    let input = loaded.input.expect("no errors");
    let fit = fit(&input).expect("a set for every end");
    let program = couplet::model::program(&input, &fit);
    let (_, [_, better]) = forgotten(&input, &fit, None);
    // The same again, where the solver has it at once and gives nothing back.
    let (total, [start, found]) = forgotten(&input, &fit, Some(better.clone()));
    assert_eq!(found, better);
    let (before, after) = (program.objective(&start), program.objective(&found));
    assert!(
        after < before && total <= after + 1e-6,
        "{before} {after} {total}"
    );
}

/// Waits in the whole program until the search is better than the start of the proof,
/// and notes what the proof is given by then.
#[derive(Debug)]
struct Patient {
    whole: usize,
    /// The least total that was told, as its bits.
    told: Arc<AtomicU64>,
    /// True where a gift is waited for.
    is_given: bool,
    noted: Mutex<Option<(f64, Option<f64>)>>,
}

impl Engine for Patient {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        let first = self.noted.lock().unwrap().is_none();
        if program.vars.len() != self.whole || task.proof || task.nodes.is_some() || !first {
            return Highs.solve(program, task, report);
        }
        let start = task.start.as_ref().expect("a start");
        let cost = program.objective(start);
        *self.noted.lock().unwrap() = Some((cost, None));
        let mut more = 100;
        // Many times as long as the search takes, lest a fault hangs the test.
        for _ in 0..20_000 {
            if more == 0 {
                break;
            }
            // Whoever listens passes on what the search has told.
            report(Pulse::default());
            if let Some(values) = task.given.take() {
                assert!(holds(program, &values));
                *self.noted.lock().unwrap() = Some((cost, Some(program.objective(&values))));
                break;
            }
            let best = f64::from_bits(self.told.load(Ordering::Relaxed));
            more -= usize::from(best < cost - 0.01 && !self.is_given);
            std::thread::sleep(Duration::from_millis(10));
        }
        task.limit.stop.ask();
        Ok(Solved::Unknown {
            bound: f64::NEG_INFINITY,
        })
    }
}

#[test]
fn the_proof_is_given_plans_only_where_a_gap_is_near_enough() {
    let folder = tempfile::tempdir().unwrap();
    generate::write_project(folder.path(), 1, 20).unwrap();
    let loaded = load(folder.path(), &LoadOptions::default());
    let input = loaded.input.expect("no errors");
    let fit = fit(&input).expect("a set for every end");
    for is_given in [true, false] {
        let told = Arc::new(AtomicU64::new(f64::INFINITY.to_bits()));
        let engine = Arc::new(Patient {
            whole: couplet::model::program(&input, &fit).vars.len(),
            told: Arc::clone(&told),
            is_given,
            noted: Mutex::default(),
        });
        let question = Question {
            solver: Solver {
                engine: Arc::clone(&engine) as Shared,
                ..Solver::default()
            },
            ..Question::default()
        };
        let limit = Limit::default().with_threads(2).told_to(move |now| {
            let best = now.best.unwrap_or(f64::INFINITY);
            told.store(best.to_bits(), Ordering::Relaxed);
        });
        let limit = match is_given {
            true => limit.with_gap(0.001),
            false => limit,
        };
        let outcome = solve(&input, &fit, &question, &limit);
        assert!(matches!(outcome, Ok(Outcome::Found { .. })), "{outcome:?}");
        let noted = engine.noted.lock().unwrap().expect("the proof was asked");
        let (start, given) = noted;
        assert_eq!(given.is_some(), is_given, "{noted:?}");
        assert!(given.is_none_or(|given| given < start), "{noted:?}");
    }
}
