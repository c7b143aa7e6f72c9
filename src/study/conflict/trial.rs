//! Whether an edited project has a plan: by arithmetic, else by the search; a
//! plan that is found is recorded and audited.

use super::arithmetic::shortages;
use super::{Bounds, Doing, Effort, Pulse};
use crate::fit::Fit;
use crate::input::Input;
use crate::model::SolveOptions;
use crate::plan::Plan;
use crate::solve::{Stop, is_stopped};
use crate::study::answer::{self, Reply, StudyError};
use crate::study::recall::Recalled;
use std::time::{Duration, Instant};

/// What fits an edited project; none where some end has no set.
pub type Maker<'a> = &'a dyn Fn(&Input) -> Option<Fit>;

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
    /// What the trials are for.
    pub(super) doing: Doing,
    threads: u32,
    stop: Option<Stop>,
    count: usize,
    report: &'t mut dyn FnMut(Pulse),
}

impl<'t> Trials<'t> {
    pub(super) fn new(
        maker: Maker<'t>,
        (start, until): (Instant, Instant),
        bounds: &Bounds,
        report: &'t mut dyn FnMut(Pulse),
    ) -> Self {
        Trials {
            maker,
            start,
            until,
            doing: Doing::Filter { group: 0, of: 0 },
            threads: bounds.threads,
            stop: bounds.stop.clone(),
            count: 0,
            report,
        }
    }

    pub(super) fn effort(&self) -> Effort {
        Effort {
            trials: self.count,
            elapsed: self.start.elapsed(),
            is_stopped: self.is_stopped(),
        }
    }

    fn is_stopped(&self) -> bool {
        is_stopped(self.stop.as_slice())
    }

    pub(super) fn fit(&self, input: &Input) -> Option<Fit> {
        (self.maker)(input)
    }

    /// Any plan will do: the search stops at the first.
    pub(super) fn verdict(&mut self, input: &Input) -> Result<Verdict, StudyError> {
        self.count += 1;
        let (effort, doing) = (self.effort(), self.doing);
        (self.report)(Pulse { effort, doing });
        let left = self.until.saturating_duration_since(Instant::now());
        if left < Duration::from_millis(1) || self.is_stopped() {
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
            stop: self.stop.clone(),
            ..SolveOptions::default()
        };
        let (start, trials) = (self.start, self.count);
        let mut report = |_| {
            let elapsed = start.elapsed();
            let effort = Effort {
                trials,
                elapsed,
                is_stopped: false,
            };
            (self.report)(Pulse { effort, doing });
        };
        let from = (&options, &Recalled::default());
        Ok(match answer::planned(input, &fit, from, &mut report)? {
            Reply::Infeasible => Verdict::Infeasible,
            Reply::Unknown => Verdict::Unknown,
            Reply::Found(answer) => Verdict::Feasible(Box::new(answer.plan)),
        })
    }
}
