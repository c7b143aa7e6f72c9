//! The integer program: from what fits and what it costs to the cheapest plan.
//! Knows no file format.

mod cells;
mod decode;
mod market;
mod net_keys;
mod order;
mod probe;
mod program;
mod search;
mod sets;
mod start;
mod tie;
mod worth;

use crate::catalog::{Fitting, Half, OfferId, PartId};
use crate::fit::Fit;
use crate::input::Input;
use crate::solve::{Limits, SolveError, Solved};
use crate::units::Qty;
use program::Built;
use sets::Sets;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};
use tie::{Incumbent, Ties};
pub use worth::{Worth, worth};

/// What serves one end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Set {
    /// The receptacle.
    pub receptacle: PartId,
    /// The plug.
    pub plug: PartId,
    /// Receptacle's first, then the plug's; ferrule, seal, back shell.
    pub fittings: Vec<Fitted>,
}

/// A fitting on one body of a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fitted {
    /// On which half.
    pub half: Half,
    /// What kind.
    pub fitting: Fitting,
    /// Which part.
    pub part: PartId,
    /// Pieces on this body.
    pub qty: Qty,
}

/// A compatible set for every end and what to buy for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// One per end, in the order of `Fit::ends`.
    pub sets: Vec<Set>,
    /// Packs from each offer that is used, by offer; never zero.
    pub purchases: Vec<(OfferId, Qty)>,
}

/// What the search for the cheapest plan came to.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A plan, and the total that no plan can go below, in the project's currency.
    Found {
        /// The plan.
        solution: Solution,
        /// Lower bound on the total.
        bound: f64,
        /// True if the solver proved that nothing is cheaper.
        proven: bool,
    },
    /// Proven: no plan holds all limits.
    Infeasible,
    /// The time ran out before any plan was found.
    Unknown,
}

/// How long and how exactly to search.
#[derive(Debug, Clone)]
pub struct SolveOptions {
    /// Stop after this time with the best plan so far.
    pub time_limit: Option<Duration>,
    /// Stop once the plan is within this many percent of the bound.
    pub gap_percent: Option<f64>,
    /// Threads for the solver.
    pub threads: u32,
    /// A plan to start from, perhaps of an earlier state of the project.
    pub start: Option<Solution>,
    /// Which of several cheapest plans matters; false where only the total does.
    pub ties: bool,
    /// Set from elsewhere to stop with the best plan so far.
    pub stop: Option<Arc<AtomicBool>>,
}

impl Default for SolveOptions {
    fn default() -> Self {
        Self {
            time_limit: None,
            gap_percent: None,
            threads: 1,
            start: None,
            ties: true,
            stop: None,
        }
    }
}

/// What is known while the search runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Least total so far, in the project's currency.
    pub best: Option<f64>,
    /// No plan costs less.
    pub bound: Option<f64>,
    /// Since the start.
    pub elapsed: Duration,
}

/// Finds the cheapest compatible plan.
///
/// A local search gives a plan early, the relaxation a bound and what no
/// cheapest plan can contain, the solver the proof; then ties are settled.
///
/// # Errors
/// [`SolveError`] if the solver itself breaks off.
pub fn solve(
    input: &Input,
    fit: &Fit,
    options: &SolveOptions,
    report: &mut dyn FnMut(Progress),
) -> Result<Outcome, SolveError> {
    let sets = Sets::new(input, fit);
    let built = Built::new(&sets);
    let run = Run {
        input,
        fit,
        options,
        sets: &sets,
        built: &built,
        begun: Instant::now(),
    };
    run.go(report)
}

/// One call of [`solve`].
struct Run<'a> {
    input: &'a Input,
    fit: &'a Fit,
    options: &'a SolveOptions,
    sets: &'a Sets,
    built: &'a Built,
    begun: Instant,
}

impl Run<'_> {
    fn go(&self, report: &mut dyn FnMut(Progress)) -> Result<Outcome, SolveError> {
        let start = self.begin()?;
        let total = start.as_ref().map(|s| s.objective);
        let mut tell = |best: Option<f64>, bound: Option<f64>| {
            report(Progress {
                best: best.into_iter().chain(total).reduce(f64::min),
                bound,
                elapsed: self.begun.elapsed(),
            });
        };
        tell(None, None);
        let mut built = self.built.clone();
        let mut bound = f64::NEG_INFINITY;
        if let Some(total) = total.filter(|_| !self.is_over()) {
            bound = probe::tighten(&mut built, total, 0, self.until())?;
            tell(None, Some(bound));
        }
        let limits = Limits {
            start: start.as_ref().map(|s| s.values.clone()),
            ..self.limits()
        };
        let solved = match self.is_over() {
            true => Solved::Unknown { bound },
            false => crate::solve::run(&built.program, &limits, &mut |pulse| {
                tell(pulse.best, pulse.bound.map(|b| b.max(bound)));
            })?,
        };
        let (found, proven) = match solved {
            Solved::Optimal { values, objective } => {
                bound = objective;
                (Some(Start { values, objective }), true)
            }
            Solved::Feasible {
                values,
                objective,
                bound: reached,
            } => {
                bound = bound.max(reached);
                (Some(Start { values, objective }), false)
            }
            // The start is a plan, so only the solver's tolerance can say this.
            Solved::Infeasible if start.is_none() => return Ok(Outcome::Infeasible),
            Solved::Infeasible => (None, false),
            Solved::Unknown { bound: reached } => {
                bound = bound.max(reached);
                (None, false)
            }
        };
        let best = [found, start]
            .into_iter()
            .flatten()
            .min_by(|a, b| a.objective.total_cmp(&b.objective));
        let Some(best) = best else {
            return Ok(Outcome::Unknown);
        };
        let mut incumbent = self.read(best.values);
        if proven && self.options.ties {
            let ties = Ties {
                sets: self.sets,
                built: self.built,
                read: &|values| self.read(values),
                until: self.until(),
                limits: &self.limits(),
                input: self.input,
                fit: self.fit,
            };
            incumbent = ties.first(incumbent)?;
        }
        let solution = match self.options.ties {
            true => order::in_order(self.input, self.fit, incumbent.solution, &self.limits())?,
            false => incumbent.solution,
        };
        Ok(Outcome::Found {
            solution,
            bound: bound.max(0.0),
            proven,
        })
    }

    /// Values to start from: the better of a search and of the plan that is given.
    fn begin(&self) -> Result<Option<Start>, SolveError> {
        let ground = search::Ground::new(self.sets, self.fit);
        let mut local = search::Search::new(&ground, 1);
        // A third of the time at the most, and less where there is little to do.
        let until = self.options.time_limit.map(|limit| self.begun + limit / 3);
        let steps = (ground.nodes.len() * 500).clamp(500, 20_000);
        let rounds = if ground.nodes.len() < 12 { 1 } else { 6 };
        for _ in 0..rounds {
            if self.limits().stopped() {
                break;
            }
            local.round(steps, until);
            local.back_to_best();
        }
        let found = (local.best()).map(|found| start::of_search(&ground, self.built, found));
        let given = (self.options.start.as_ref())
            .filter(|given| given.sets.len() == self.fit.ends.len())
            .and_then(|given| start::of_solution(self.fit, self.sets, self.built, given));
        let mut best: Option<Start> = None;
        for counts in [given, found].into_iter().flatten() {
            if let Some(values) = start::complete(self.built, &counts, 10.0)? {
                let objective = self.built.program.objective(&values);
                if best.as_ref().is_none_or(|b| objective < b.objective) {
                    best = Some(Start { values, objective });
                }
            }
        }
        Ok(best)
    }

    fn read(&self, values: Vec<f64>) -> Incumbent {
        let solution = decode::solution(self.fit, self.sets, self.built, &values);
        Incumbent {
            worth: worth(self.input, self.fit, &solution),
            values,
            solution,
        }
    }

    fn until(&self) -> Option<Instant> {
        self.options.time_limit.map(|limit| self.begun + limit)
    }

    fn is_over(&self) -> bool {
        self.limits().stopped() || self.until().is_some_and(|t| Instant::now() >= t)
    }

    /// What is left of the limits.
    fn limits(&self) -> Limits {
        let left = |t: Instant| t.saturating_duration_since(Instant::now()).as_secs_f64();
        Limits {
            seconds: self.until().map_or(1e9, left),
            relative_gap: self.options.gap_percent.unwrap_or(0.0) / 100.0,
            threads: self.options.threads,
            stop: self.options.stop.clone(),
            ..Limits::default()
        }
    }
}

/// A plan as values of all variables.
struct Start {
    values: Vec<f64>,
    objective: f64,
}

/// The integer program whose least objective is the least total, as a value
/// for another solver.
pub fn program(input: &Input, fit: &Fit) -> crate::solve::Program {
    Built::new(&Sets::new(input, fit)).program
}
