//! Whether an answer can be true, by what is known of its program.

use super::answer::{Pulse, SolveError, Solved};
use super::doubts::Fault;
use super::engine::Task;
use super::program::{Program, Var};
use std::time::Instant;

/// How far a row may be off: whole values are rounded, and the solver's own
/// tolerance is 1e-6. `OFF` is less than what is missing to any threshold of money.
const OFF: f64 = 1e-5;

/// How far the sum of a row may be off by binary rounding, as a share of the
/// sum of the sizes of its terms.
const ROUNDING: f64 = 1e-13;

/// How far two objectives may be apart that are called equal: a share of their
/// size, and at least the solver's own gap.
pub fn near(objective: f64) -> f64 {
    2e-6_f64.max(objective.abs() * 1e-12)
}

/// Solves the program. An answer that can't be true is thrown away, and the run
/// made once more, without presolve and start. Where that answer is wrong too,
/// nothing is known. A solution that does not hold the rows is not handed on. Where the solver breaks off, the cause is rarely more than
/// its presolve or a start.
///
/// # Errors
/// [`SolveError`] if the solver breaks off twice.
pub fn run(
    program: &Program,
    task: &Task,
    report: &mut dyn FnMut(Pulse),
) -> Result<Solved, SolveError> {
    let report = &mut |mut pulse: Pulse| {
        pulse.found = pulse.found.filter(|values| holds(program, values));
        report(pulse);
    };
    let until = Until::new(task);
    if let Some(solved) = tried(program, task, &until, report)? {
        return Ok(solved);
    }
    let plain = task.plain();
    let answer = plain.solver.engine.solve(program, &plain, report)?;
    match fault(program, task, &until, &answer) {
        None => Ok(answer),
        Some(why) => {
            task.solver.doubts.add(program, why);
            Ok(Solved::Unknown {
                bound: f64::NEG_INFINITY,
            })
        }
    }
}

/// An answer that can be true; none where it can't.
fn tried(
    program: &Program,
    task: &Task,
    until: &Until,
    report: &mut dyn FnMut(Pulse),
) -> Result<Option<Solved>, SolveError> {
    let why = match task.solver.engine.solve(program, task, report) {
        Ok(answer) => match fault(program, task, until, &answer) {
            None => return Ok(Some(answer)),
            Some(why) => why,
        },
        // The solver was not asked, so it did not err.
        Err(crowded @ SolveError::Crowded(_)) => return Err(crowded),
        Err(SolveError::Failed(_)) => Fault::Broken,
    };
    task.solver.doubts.add(program, why);
    Ok(None)
}

/// Why an answer can't be true.
fn fault(program: &Program, task: &Task, until: &Until, answer: &Solved) -> Option<Fault> {
    let start = task.start.as_ref().filter(|start| holds(program, start));
    let known = start.map(|start| program.objective(start));
    let is_off = |values: &[f64], objective: f64| {
        if !holds(program, values) {
            return Some(Fault::Rows);
        }
        let apart = (program.objective(values) - objective).abs();
        let is_near = apart <= near(objective);
        (!is_near).then_some(Fault::Objective)
    };
    match answer {
        Solved::Infeasible if known.is_some() && task.cutoff.is_none() => Some(Fault::Infeasible),
        Solved::Infeasible => None,
        Solved::Optimal { values, objective } => is_off(values, *objective).or_else(|| {
            let room = (task.absolute_gap).max(near(*objective));
            let is_above = known.is_some_and(|known| known < objective - room);
            is_above.then_some(Fault::NotBest)
        }),
        Solved::Feasible {
            values,
            objective,
            bound,
        } => is_off(values, *objective).or_else(|| {
            let least = known.map_or(*objective, |known| known.min(*objective));
            let is_above = *bound > least + near(least);
            is_above.then_some(Fault::Bound).or(until.unexplained(task))
        }),
        Solved::Unknown { bound } => known
            .filter(|known| *bound > known + near(*known))
            .map(|_| Fault::Bound)
            .or(until.unexplained(task)),
    }
}

/// How long a solve may take.
struct Until {
    begun: Instant,
    seconds: f64,
}

impl Until {
    fn new(task: &Task) -> Until {
        Until {
            begun: Instant::now(),
            seconds: task.seconds(),
        }
    }

    fn left(&self) -> f64 {
        (self.seconds - self.begun.elapsed().as_secs_f64()).max(0.0)
    }

    /// A fault where a run did not end, though nothing stopped the run.
    fn unexplained(&self, task: &Task) -> Option<Fault> {
        let is_asked = task.limit.stop.is_asked()
            || task.nodes.is_some()
            || task.target.is_some()
            || task.relative_gap() > 0.0;
        // The solver's clock is not ours.
        let is_late = self.left() <= 0.1 + self.seconds * 0.02;
        (!is_asked && !is_late).then_some(Fault::Broken)
    }
}

/// True if values hold all bounds, whole numbers and rows, but for the solver's
/// tolerance.
pub fn holds(program: &Program, values: &[f64]) -> bool {
    let fits = |(var, &x): (&Var, &f64)| {
        let off = OFF * x.abs().max(1.0);
        x >= var.lo - off && x <= var.up + off && (!var.integer || (x - x.round()).abs() <= OFF)
    };
    values.len() == program.vars.len()
        && program.vars.iter().zip(values).all(fits)
        && program.rows.iter().all(|row| {
            let parts = || {
                row.terms
                    .iter()
                    .map(|&(var, factor)| factor * values[var.0])
            };
            let size: f64 = parts().map(f64::abs).sum();
            let sum: f64 = parts().sum();
            let off = OFF + ROUNDING * size;
            sum >= row.lo - off && sum <= row.up + off
        })
}

#[cfg(test)]
mod tests {
    use super::super::engine::{Engine, Solver};
    use super::super::program::VarId;
    use super::*;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    /// 2 x + y ≥ 7, 3 x + 2 y least: 11 at (3, 1).
    fn program() -> Program {
        let mut p = Program::default();
        let x = p.integer(0.0, 10.0, 3.0);
        let y = p.integer(0.0, 10.0, 2.0);
        p.at_least(vec![(x, 2.0), (y, 1.0)], 7.0);
        p
    }

    /// Says one thing at first, and then the truth.
    #[derive(Debug)]
    struct Once(Result<Solved, ()>, AtomicUsize);

    impl Engine for Once {
        fn solve(
            &self,
            program: &Program,
            task: &Task,
            report: &mut dyn FnMut(Pulse),
        ) -> Result<Solved, SolveError> {
            match self.1.fetch_add(1, Ordering::Relaxed) {
                0 => (self.0.clone()).map_err(|()| SolveError::new("gone")),
                _ => super::super::highs::run(program, task, report),
            }
        }
    }

    fn asked(first: Result<Solved, ()>) -> Solver {
        Solver {
            engine: Arc::new(Once(first, AtomicUsize::new(0))),
            ..Solver::default()
        }
    }

    fn after(first: Result<Solved, ()>, start: Option<Vec<f64>>) -> (Solved, Vec<Fault>) {
        let task = Task {
            solver: asked(first),
            start,
            ..Task::default()
        };
        let solved = run(&program(), &task, &mut |_| {}).expect("an answer");
        let doubts = task
            .solver
            .doubts
            .list()
            .iter()
            .map(|doubt| doubt.why)
            .collect();
        (solved, doubts)
    }

    #[test]
    fn an_answer_that_cannot_be_true_is_thrown_away() {
        let truth = Solved::Optimal {
            values: vec![3.0, 1.0],
            objective: 11.0,
        };
        let optimal = |values: [f64; 2], objective: f64| {
            Ok(Solved::Optimal {
                values: values.to_vec(),
                objective,
            })
        };
        let feasible = |bound: f64| {
            Ok(Solved::Feasible {
                values: vec![4.0, 0.0],
                objective: 12.0,
                bound,
            })
        };
        let start = || Some(vec![3.0, 1.0]);
        for (lie, start, why) in [
            (Err(()), None, Fault::Broken),
            (optimal([3.0, 0.0], 9.0), None, Fault::Rows),
            (optimal([3.0, 1.5], 12.0), None, Fault::Rows),
            (optimal([3.0, 11.0], 31.0), None, Fault::Rows),
            (optimal([3.0, 1.0], 10.9), None, Fault::Objective),
            (optimal([3.0, 1.0], f64::NAN), None, Fault::Objective),
            (optimal([4.0, 0.0], 12.0), start(), Fault::NotBest),
            (Ok(Solved::Infeasible), start(), Fault::Infeasible),
            (feasible(12.01), None, Fault::Bound),
            (feasible(11.01), start(), Fault::Bound),
            (Ok(Solved::Unknown { bound: 11.01 }), start(), Fault::Bound),
            (Ok(Solved::Unknown { bound: 10.0 }), None, Fault::Broken),
            (feasible(11.0), None, Fault::Broken),
        ] {
            assert_eq!(
                after(lie.clone(), start),
                (truth.clone(), vec![why]),
                "{lie:?}"
            );
        }
    }

    #[test]
    fn what_can_be_true_stands() {
        let optimal = Solved::Optimal {
            values: vec![4.0, 0.0],
            objective: 12.0,
        };
        for (said, start) in [
            // Not the best, but nothing here shows it.
            (optimal.clone(), None),
            (optimal, Some(vec![4.0, 0.0])),
            // A start that breaks a row shows nothing.
            (Solved::Infeasible, Some(vec![3.0, 0.0])),
            (Solved::Infeasible, None),
        ] {
            assert_eq!(after(Ok(said.clone()), start), (said, Vec::new()));
        }
    }

    #[test]
    fn a_run_that_was_stopped_need_not_end() {
        let said = Solved::Unknown { bound: 10.0 };
        let stopped = |change: fn(&mut Task)| {
            let mut task = Task {
                solver: asked(Ok(said.clone())),
                ..Task::default()
            };
            change(&mut task);
            let solved = run(&program(), &task, &mut |_| {}).expect("an answer");
            (solved == said, task.solver.doubts.count())
        };
        assert_eq!(stopped(|_| {}), (false, 1));
        assert_eq!(
            stopped(|task| task.limit = task.limit.within(Duration::ZERO)),
            (true, 0)
        );
        assert_eq!(stopped(|task| task.nodes = Some(1)), (true, 0));
        assert_eq!(stopped(|task| task.target = Some(1.0)), (true, 0));
        assert_eq!(
            stopped(|task| task.limit = task.limit.with_gap(10.0)),
            (true, 0)
        );
        assert_eq!(stopped(|task| task.limit.stop.ask()), (true, 0));
    }

    #[test]
    fn a_row_may_be_off_by_the_tolerance_of_the_solver() {
        let mut p = Program::default();
        let x = p.continuous(0.0, 2000.0, 1.0);
        p.equal(vec![(x, 1.0)], 1000.0);
        assert_eq!(x, VarId(0));
        assert!(holds(&p, &[1_000.000_009]) && !holds(&p, &[1_000.000_011]));
        assert!(holds(&p, &[999.999_991]) && !holds(&p, &[999.999_989]));
        assert!(!holds(&p, &[]) && !holds(&p, &[f64::NAN]));
    }
}
