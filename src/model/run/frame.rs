//! What all ways of one solve share: the project, the question, the limit.

use super::known::News;
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::{Limit, Stop, apart};
use crate::model::decode;
use crate::model::order;
use crate::model::problem::Problem;
use crate::model::program::Built;
use crate::model::question::Question;
use crate::model::solution::{Set, Solution};
use crate::model::start;
use crate::model::tie::Incumbent;
use crate::model::worth::worth;
use crate::solve::{SolveError, Task};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// One call of [`crate::model::solve`].
#[derive(Clone)]
pub struct Run<'a> {
    pub(super) input: &'a Input,
    pub(super) fit: &'a Fit,
    pub(super) question: &'a Question,
    pub(super) limit: Limit,
    /// How long the run may take from its beginning.
    pub(super) length: Option<Duration>,
    pub(super) problem: Arc<Problem>,
    pub(super) begun: Instant,
    /// Set once plan and bound of another way are as near as is asked for.
    pub(super) met: Stop,
}

/// A plan as values of all variables.
pub(super) struct Start {
    pub(super) values: Vec<f64>,
    pub(super) objective: f64,
}

impl<'a> Run<'a> {
    /// Gathers what the program is made from.
    pub fn new(input: &'a Input, fit: &'a Fit, question: &'a Question, limit: &Limit) -> Run<'a> {
        let begun = Instant::now();
        Run {
            input,
            fit,
            question,
            limit: limit.clone(),
            length: limit.left(),
            problem: Arc::new(Problem::new(input, fit)),
            begun,
            met: limit.stop.below(),
        }
    }

    /// Does work that does not end at once on a thread of its own. There is no
    /// answer where a stop comes first.
    pub(super) fn apart<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<Option<T>, SolveError> {
        match apart::begin(&self.limit, work) {
            Ok(apart) => Ok(apart.unless_stopped(&self.limit)),
            Err(_) if self.limit.is_over() => Ok(None),
            Err(crowded) => Err(crowded.into()),
        }
    }

    /// A plan with these sets as values of all variables.
    pub(super) fn as_start(
        &self,
        built: &Built,
        given: &[Set],
    ) -> Result<Option<Start>, SolveError> {
        self.as_start_within(built, given, &self.exact_task())
    }

    /// The same, with the purchase held to `task`.
    pub(super) fn as_start_within(
        &self,
        built: &Built,
        given: &[Set],
        task: &Task,
    ) -> Result<Option<Start>, SolveError> {
        let Some(counts) = start::of_sets(self.fit, &self.problem, built, given) else {
            return Ok(None);
        };
        let values = start::complete(built, &counts, task)?;
        Ok(values.map(|values| Start {
            objective: built.program.objective(&values),
            values,
        }))
    }

    /// The plan with keys and ends in order, where ties matter.
    pub(super) fn in_order(&self, solution: Solution) -> Result<Solution, SolveError> {
        match self.question.ties {
            true => order::in_order(self.input, self.fit, solution, &self.task()),
            false => Ok(solution),
        }
    }

    /// The plan that values of all variables mean.
    pub(super) fn read(&self, built: &Built, values: Vec<f64>) -> Incumbent {
        let solution = decode::solution(self.fit, &self.problem, built, &values);
        Incumbent {
            worth: worth(self.input, self.fit, &solution),
            values,
            solution,
        }
    }

    /// True where two witnesses can be heard at the same time.
    pub(super) fn is_double(&self) -> bool {
        self.limit.threads > 1
    }

    /// True where what is found beside the whole program changes no proven plan.
    pub(super) fn may_vary(&self) -> bool {
        self.limit.until.is_some() || self.limit.threads > 1
    }

    /// The limit with a part of the time that there was at first.
    pub(super) fn part(&self, share: f64) -> Limit {
        match self.length {
            Some(length) => self.limit.up_to(self.begun + length.mul_f64(share)),
            None => self.limit.clone(),
        }
    }

    /// Tells what is known of this solve.
    pub(super) fn tell(&self, news: News) {
        self.limit.tell(|progress| {
            progress.best = news.best;
            progress.bound = news.bound;
            progress.nodes = news.nodes;
            progress.building = news.building;
            progress.doubts = self.question.solver.doubts.count();
        });
    }

    /// True once the best plan is as near to the bound as is asked for.
    pub(super) fn is_near(&self, best: Option<f64>, bound: f64) -> bool {
        let wanted = self.limit.gap_percent.unwrap_or(0.0) / 100.0;
        best.is_some_and(|best| best - bound <= (wanted * best).max(1e-6))
    }

    /// Ends the proof once a plan in hand and the bound are near enough. A plan is in
    /// hand once the solver has handed it out. Without a limit on time and a gap the
    /// proof goes on, since ties are then to be settled as with one thread.
    pub(super) fn meet(&self, best: Option<f64>, bound: f64) {
        let may_end = self.limit.until.is_some() || self.limit.gap_percent.is_some();
        if may_end && self.is_near(best, bound) {
            self.met.ask();
        }
    }

    /// What a solve is held to.
    pub(super) fn task(&self) -> Task {
        Task::new(&self.limit, &self.question.solver)
    }

    /// The same, with no gap near enough.
    pub(super) fn exact_task(&self) -> Task {
        self.task().exact()
    }
}
