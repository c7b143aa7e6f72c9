//! The line between a run of HiGHS and who waits for it.

use super::answer::{Pulse, Solved};
use super::callback::Ear;
use super::engine::Task;
use super::gifts::Gifts;
use super::program::{Program, Var};
use crate::limit::{Limit, Stop};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What a run says, kept until it is asked for; and what the run is to hear.
pub(super) struct Line {
    limit: Limit,
    given: Gifts,
    /// Only objectives below this are those of solutions.
    cutoff: f64,
    vars: Vec<Var>,
    said: Mutex<Said>,
}

/// What a run has said so far.
#[derive(Default)]
struct Said {
    /// The latest, without a solution.
    pulse: Pulse,
    /// True where that was not passed on yet.
    is_new: bool,
    /// Solutions that were not passed on yet.
    found: Vec<Pulse>,
    /// The best solution, with its objective.
    best: Option<(Arc<[f64]>, f64)>,
}

impl Line {
    /// A line to a run of the program that ends with the limit of the task, or once
    /// `quit` is asked.
    pub fn new(program: &Program, task: &Task, quit: &Stop) -> Line {
        Line {
            limit: task.limit.with_stop(quit),
            given: task.given.clone(),
            cutoff: task.cutoff.unwrap_or(f64::INFINITY),
            vars: program.vars.clone(),
            said: Mutex::default(),
        }
    }

    fn locked(&self) -> MutexGuard<'_, Said> {
        self.said.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Passes on what was said since this was last called.
    pub fn pass_on(&self, report: &mut dyn FnMut(Pulse)) {
        let (found, pulse) = {
            let mut said = self.locked();
            let is_new = std::mem::take(&mut said.is_new);
            let pulse = is_new.then(|| said.pulse.clone());
            (std::mem::take(&mut said.found), pulse)
        };
        found.into_iter().chain(pulse).for_each(report);
    }

    /// The answer of a run that was not waited for.
    pub fn so_far(&self) -> Solved {
        let bound = self.locked().pulse.bound.unwrap_or(f64::NEG_INFINITY);
        self.with_best(Solved::Unknown { bound })
    }

    /// The answer, with the best solution that was handed out, where an answer that
    /// proves nothing lacks it.
    pub fn with_best(&self, answer: Solved) -> Solved {
        let (bound, reached) = match &answer {
            Solved::Feasible {
                bound, objective, ..
            } => (*bound, *objective),
            Solved::Unknown { bound } => (*bound, f64::INFINITY),
            Solved::Optimal { .. } | Solved::Infeasible => return answer,
        };
        match &self.locked().best {
            Some((values, objective)) if *objective < reached => Solved::Feasible {
                values: values.to_vec(),
                objective: *objective,
                bound,
            },
            _ => answer,
        }
    }
}

impl Ear for Line {
    fn is_enough(&self) -> bool {
        self.limit.is_over()
    }

    fn pulse(&self, best: f64, bound: f64, nodes: u64) {
        let mut said = self.locked();
        let highest = said.pulse.bound.unwrap_or(f64::NEG_INFINITY).max(bound);
        let pulse = Pulse {
            best: (best.is_finite() && best < self.cutoff).then_some(best),
            bound: highest.is_finite().then_some(highest),
            nodes,
            found: None,
        };
        if pulse != said.pulse {
            said.pulse = pulse;
            said.is_new = true;
        }
    }

    fn found(&self, values: &[f64]) {
        let values: Arc<[f64]> = in_bounds(values, &self.vars);
        let costs = self.vars.iter().zip(values.iter());
        let objective: f64 = costs.map(|(var, x)| var.cost * x).sum();
        let mut said = self.locked();
        if said.best.as_ref().is_none_or(|best| objective < best.1) {
            said.best = Some((Arc::clone(&values), objective));
        }
        let pulse = Pulse {
            best: Some(objective),
            found: Some(values),
            ..said.pulse.clone()
        };
        said.found.push(pulse);
    }

    fn given(&self) -> Option<Arc<[f64]>> {
        self.given.take()
    }
}

/// Values as the solver gives them, within their bounds, and whole where they must be.
pub(super) fn in_bounds<T: FromIterator<f64>>(values: &[f64], vars: &[Var]) -> T {
    let within = |(&x, var): (&f64, &Var)| {
        let x = x.clamp(var.lo, var.up);
        if var.integer { x.round() } else { x }
    };
    values.iter().zip(vars).map(within).collect()
}
