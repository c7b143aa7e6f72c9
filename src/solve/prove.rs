//! Two witnesses for one answer.
//!
//! A solver can err, and err every time on the same program. So what is to be
//! called proven has two runs behind it that can hardly make the same mistake:
//! one as ever; one without presolve, heuristics and restarts, held below what
//! the best known solution costs, with rows and columns in another order. Where
//! the two contradict each other, or a solution that is known, a third run decides.

use super::answer::{Pulse, SolveError, Solved};
use super::check::{self, holds, near};
use super::doubts::Fault;
use super::engine::Task;
use super::gifts::Gifts;
use super::program::{Program, Row, VarId};
use crate::limit::Stop;

/// An answer, and how many runs say so.
#[derive(Debug, Clone, PartialEq)]
pub struct Proved {
    /// The answer. It is [`Solved::Optimal`] or [`Solved::Infeasible`] only where
    /// two runs say so, or one says so and no run that ended says otherwise.
    pub solved: Solved,
    /// Runs behind the answer: 2, or 1 where the other was not finished; 0 for an answer
    /// that proves nothing.
    pub witnesses: u8,
}

impl Proved {
    /// Nothing but a bound.
    pub fn nothing(bound: f64) -> Proved {
        Proved {
            solved: Solved::Unknown { bound },
            witnesses: 0,
        }
    }
}

/// Solves the program by two witnesses, at the same time where `beside`. `enough` is
/// a stop below that of the task: once it is asked, the first run ends, and nothing
/// is proven. Where a gap is asked for, there is one run.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn prove(
    program: &Program,
    task: &Task,
    beside: bool,
    enough: Option<&Stop>,
    report: &mut dyn FnMut(Pulse),
) -> Result<Proved, SolveError> {
    // What makes the first run needless says nothing of the second.
    let first_task = match enough {
        Some(enough) => task.within(&task.limit.with_stop(enough)),
        None => task.clone(),
    };
    if task.nodes.is_some() {
        let solved = check::run(program, &first_task, report)?;
        return Ok(Proved {
            solved,
            witnesses: 0,
        });
    }
    // Who is content with a gap waits for no second proof.
    let is_loose = task.relative_gap() > 0.0;
    let mut case = Case::new(program, task);
    if beside && !is_loose {
        let halt = task.limit.stop.below();
        let held = task.within(&task.limit.with_stop(&halt));
        let cutoff = case.least();
        let mixed = Mixed::new(program, ORDER);
        let gifts = Gifts::default();
        let (first, second) = std::thread::scope(|scope| {
            let second = scope.spawn(|| mixed.solved(&held, cutoff, gifts.clone()));
            let _guard = halt.on_panic();
            // The second run is held below what the first finds. It gives nothing back,
            // so the solution is that of the first run alone.
            let first = check::run(program, &first_task, &mut |pulse| {
                if let Some(values) = &pulse.found {
                    gifts.put(&mixed.forth(values));
                }
                report(pulse);
            });
            if !first.as_ref().is_ok_and(is_end) {
                halt.ask();
            }
            (first, second.join())
        });
        case.hear(first?, None);
        match second {
            Ok(second) => case.hear(second.unwrap_or(NOTHING), cutoff),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    } else {
        let first = check::run(program, &first_task, report)?;
        let ends = match is_loose {
            true => first == Solved::Infeasible,
            false => is_end(&first),
        };
        case.hear(first, None);
        if ends {
            let cutoff = case.least();
            let second = other_way(program, task, cutoff, ORDER);
            case.hear(second.unwrap_or(NOTHING), cutoff);
        }
    }
    if case.is_disputed() {
        let third = other_way(program, &task.plain(), None, THIRD_ORDER);
        case.hear(third.unwrap_or(NOTHING), None);
    }
    Ok(case.close(task))
}

/// Whether nothing is below what a solution costs, by the second way alone: for
/// what one run has proven before. `task.start` is that solution.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn confirm(program: &Program, task: &Task) -> Result<Proved, SolveError> {
    let mut case = Case::new(program, task);
    let cutoff = case.least();
    case.hear(other_way(program, task, cutoff, ORDER)?, cutoff);
    Ok(case.close(task))
}

/// Whether there is a solution below a cutoff, by the second way alone; where
/// there is none, [`Solved::Infeasible`].
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn none_below(program: &Program, cutoff: f64, task: &Task) -> Result<Solved, SolveError> {
    other_way(program, task, Some(cutoff), ORDER)
}

/// Nothing is known.
const NOTHING: Solved = Solved::Unknown {
    bound: f64::NEG_INFINITY,
};

/// Seeds of the orders of rows and columns.
const ORDER: u64 = 1;
const THIRD_ORDER: u64 = 2;

/// True for an answer that says how the program ends.
fn is_end(answer: &Solved) -> bool {
    matches!(answer, Solved::Optimal { .. } | Solved::Infeasible)
}

/// What is known of a program.
struct Case<'p> {
    program: &'p Program,
    /// The best solution, and what it costs.
    best: Option<(Vec<f64>, f64)>,
    /// What each run that ended says that no solution is below.
    claims: Vec<f64>,
    /// The highest bound of a run that did not end.
    bound: f64,
}

impl Case<'_> {
    fn new<'p>(program: &'p Program, task: &Task) -> Case<'p> {
        let start = task.start.clone().filter(|start| holds(program, start));
        Case {
            program,
            best: start.map(|start| (start.clone(), program.objective(&start))),
            claims: Vec::new(),
            bound: f64::NEG_INFINITY,
        }
    }

    /// What the best solution costs.
    fn least(&self) -> Option<f64> {
        self.best.as_ref().map(|best| best.1)
    }

    /// Takes an answer in. That nothing is below a cutoff says nothing of what is
    /// above the cutoff.
    fn hear(&mut self, answer: Solved, cutoff: Option<f64>) {
        match &answer {
            Solved::Infeasible => self.claims.push(cutoff.unwrap_or(f64::INFINITY)),
            Solved::Optimal { objective, .. } => self.claims.push(*objective),
            Solved::Feasible { bound, .. } | Solved::Unknown { bound } => {
                self.bound = self.bound.max(*bound);
            }
        }
        let objective = |values: &[f64]| self.program.objective(values);
        if let Some(values) = answer.into_values() {
            let cost = objective(&values);
            // The first of equals stays, so the solution depends on no second run.
            if self.least().is_none_or(|least| cost < least - near(least)) {
                self.best = Some((values, cost));
            }
        }
    }

    /// How many runs say that nothing is below the best, and how many the best
    /// shows wrong.
    fn count(&self) -> (usize, usize) {
        let Some(least) = self.least() else {
            return (self.claims.len(), 0);
        };
        let room = near(least);
        let wrong = self.claims.iter().filter(|claim| **claim > least + room);
        let right = (self.claims.iter()).filter(|claim| (*claim - least).abs() <= room);
        (right.count(), wrong.count())
    }

    fn is_disputed(&self) -> bool {
        self.count().1 > 0
    }

    /// What the case comes to.
    fn close(self, task: &Task) -> Proved {
        let (right, wrong) = self.count();
        let why = match self.claims.iter().any(|claim| claim.is_infinite()) {
            true => Fault::Infeasible,
            false => Fault::NotBest,
        };
        (0..wrong).for_each(|_| task.solver.doubts.add(self.program, why));
        let is_proven = right >= 2 || (right == 1 && wrong == 0);
        let solved = match (self.best, is_proven) {
            (Some((values, objective)), true) => Solved::Optimal { values, objective },
            (None, true) => Solved::Infeasible,
            (Some((values, objective)), false) => Solved::Feasible {
                values,
                objective,
                bound: match wrong {
                    0 => self.bound.min(objective),
                    // One of the runs erred, so the word of none is enough.
                    _ => f64::NEG_INFINITY,
                },
            },
            (None, false) => Solved::Unknown { bound: self.bound },
        };
        Proved {
            solved,
            witnesses: if is_proven { right.min(2) as u8 } else { 0 },
        }
    }
}

/// The program by another way: no presolve, no heuristics, no restarts, nothing
/// above the cutoff, rows and columns in an order by `seed`.
fn other_way(
    program: &Program,
    task: &Task,
    cutoff: Option<f64>,
    seed: u64,
) -> Result<Solved, SolveError> {
    Mixed::new(program, seed).solved(task, cutoff, Gifts::default())
}

/// A program with its rows and columns in another order.
struct Mixed {
    program: Program,
    /// The new place of each variable.
    place: Vec<usize>,
}

impl Mixed {
    fn new(program: &Program, seed: u64) -> Mixed {
        let mut random = fastrand::Rng::with_seed(seed);
        let mut order: Vec<usize> = (0..program.vars.len()).collect();
        random.shuffle(&mut order);
        let mut place = vec![0; order.len()];
        for (to, &from) in order.iter().enumerate() {
            place[from] = to;
        }
        let mut rows: Vec<&Row> = program.rows.iter().collect();
        random.shuffle(&mut rows);
        let moved = |row: &Row| Row {
            terms: (row.terms.iter())
                .map(|&(var, factor)| (VarId(place[var.0]), factor))
                .collect(),
            ..*row
        };
        let mixed = Program {
            vars: order.iter().map(|&from| program.vars[from]).collect(),
            rows: rows.into_iter().map(moved).collect(),
        };
        Mixed {
            program: mixed,
            place,
        }
    }

    /// The answer of this way. `given` are solutions in the order of this program.
    fn solved(&self, task: &Task, cutoff: Option<f64>, given: Gifts) -> Result<Solved, SolveError> {
        let task = Task {
            presolve: false,
            proof: true,
            // The known solution is not below its own cost; it is no loss to find it again.
            cutoff: cutoff.map(|cutoff| cutoff + near(cutoff) / 4.0),
            start: None,
            target: None,
            given,
            ..task.clone()
        };
        let answer = check::run(&self.program, &task, &mut |_| {})?;
        Ok(self.back(answer))
    }

    /// Values in the order of this program.
    fn forth(&self, values: &[f64]) -> Vec<f64> {
        let mut forth = vec![0.0; values.len()];
        for (&to, &value) in self.place.iter().zip(values) {
            forth[to] = value;
        }
        forth
    }

    /// The answer in the order of the program that this one was made from.
    fn back(&self, answer: Solved) -> Solved {
        let back = |values: Vec<f64>| self.place.iter().map(|&to| values[to]).collect();
        match answer {
            Solved::Optimal { values, objective } => Solved::Optimal {
                values: back(values),
                objective,
            },
            Solved::Feasible {
                values,
                objective,
                bound,
            } => Solved::Feasible {
                values: back(values),
                objective,
                bound,
            },
            other => other,
        }
    }
}
