//! Whether an edited project has a plan: by arithmetic, else by the search; a
//! plan that is found is recorded and audited.

use super::Effort;
use super::arithmetic::shortages;
use crate::audit::{self, Finding};
use crate::fit::Fit;
use crate::input::Input;
use crate::model::{self, Outcome, SolveOptions};
use crate::plan::{self, Bound, Plan, PlanError};
use crate::solve::SolveError;
use std::time::{Duration, Instant};

/// What fits an edited project; none where some end has no set.
pub type Maker<'a> = &'a dyn Fn(&Input) -> Option<Fit>;

/// Why a trial came to nothing.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// The solver broke off.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// The answer makes no record.
    #[error(transparent)]
    Record(#[from] PlanError),
    /// The answer is wrong.
    #[error("a plan failed its audit")]
    Audit(Vec<Finding>),
}

/// Whether there is a plan.
pub(super) enum Verdict {
    /// One of them, audited.
    Feasible(Box<Plan>),
    /// Proven: none.
    Infeasible,
    /// The time ran out.
    Unknown,
}

/// Trials with one way to fit and one end of time.
pub(super) struct Trials<'t> {
    maker: Maker<'t>,
    start: Instant,
    /// No trial begins after this.
    pub(super) until: Instant,
    threads: u32,
    count: usize,
    report: &'t mut dyn FnMut(Effort),
}

impl<'t> Trials<'t> {
    pub(super) fn new(
        maker: Maker<'t>,
        (start, until): (Instant, Instant),
        threads: u32,
        report: &'t mut dyn FnMut(Effort),
    ) -> Self {
        Trials {
            maker,
            start,
            until,
            threads,
            count: 0,
            report,
        }
    }

    pub(super) fn effort(&self) -> Effort {
        Effort {
            trials: self.count,
            elapsed: self.start.elapsed(),
        }
    }

    pub(super) fn fit(&self, input: &Input) -> Option<Fit> {
        (self.maker)(input)
    }

    /// Any plan will do: the search stops at the first.
    pub(super) fn verdict(&mut self, input: &Input) -> Result<Verdict, TrialError> {
        self.count += 1;
        let effort = self.effort();
        (self.report)(effort);
        let left = self.until.saturating_duration_since(Instant::now());
        if left < Duration::from_millis(1) {
            return Ok(Verdict::Unknown);
        }
        let Some(fit) = (self.maker)(input) else {
            return Ok(Verdict::Infeasible);
        };
        if !shortages(input, &fit).is_empty() {
            return Ok(Verdict::Infeasible);
        }
        let options = SolveOptions {
            time_limit: Some(left),
            gap_percent: Some(100.0),
            threads: self.threads,
            ties: false,
            ..SolveOptions::default()
        };
        let (start, trials) = (self.start, self.count);
        let mut report = |_| {
            let elapsed = start.elapsed();
            (self.report)(Effort { trials, elapsed });
        };
        let outcome = model::solve(input, &fit, &options, &mut report)?;
        match outcome {
            Outcome::Infeasible => Ok(Verdict::Infeasible),
            Outcome::Unknown => Ok(Verdict::Unknown),
            Outcome::Found {
                solution,
                bound,
                proven,
            } => {
                let bound = Bound {
                    lower: bound,
                    proven,
                    wanted_gap: None,
                };
                let plan = plan::record(input, &fit, &solution, bound)?;
                let found = audit::audit(input, &plan);
                if !found.is_empty() {
                    return Err(TrialError::Audit(found));
                }
                Ok(Verdict::Feasible(Box::new(plan)))
            }
        }
    }
}
