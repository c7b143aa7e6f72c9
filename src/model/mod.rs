//! The integer program: from what fits and what it costs to the cheapest plan.
//! Knows no file format.

mod cells;
mod decode;
mod market;
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
/// # Errors
/// [`SolveError`] if the solver itself breaks off.
pub fn solve(
    input: &Input,
    fit: &Fit,
    options: &SolveOptions,
    report: &mut dyn FnMut(Progress),
) -> Result<Outcome, SolveError> {
    let start = Instant::now();
    let sets = Sets::new(input, fit);
    let built = Built::new(&sets);
    let begin = begin(input, fit, options, (&sets, &built))?;
    let limits = Limits {
        seconds: options.time_limit.map_or(1e9, |t| t.as_secs_f64()),
        relative_gap: options.gap_percent.unwrap_or(0.0) / 100.0,
        threads: options.threads,
        start: begin,
        ..Limits::default()
    };
    let solved = crate::solve::run(&built.program, &limits, &mut |pulse| {
        report(Progress {
            best: pulse.best,
            bound: pulse.bound,
            elapsed: start.elapsed(),
        });
    })?;
    let read = |values: Vec<f64>| {
        let solution = decode::solution(fit, &sets, &built, &values);
        Incumbent {
            worth: worth(input, fit, &solution),
            values,
            solution,
        }
    };
    Ok(match solved {
        Solved::Optimal { values, objective } if !options.ties => Outcome::Found {
            solution: read(values).solution,
            bound: objective,
            proven: true,
        },
        Solved::Optimal { values, objective } => {
            let ties = Ties {
                sets: &sets,
                built: &built,
                read: &read,
                until: options.time_limit.map(|t| start + t),
                threads: options.threads,
            };
            Outcome::Found {
                solution: ties.first(read(values))?.solution,
                bound: objective,
                proven: true,
            }
        }
        Solved::Feasible { values, bound, .. } => Outcome::Found {
            solution: read(values).solution,
            bound,
            proven: false,
        },
        Solved::Infeasible => Outcome::Infeasible,
        Solved::Unknown { .. } => Outcome::Unknown,
    })
}

/// Values to start from: the better of a search and of the plan that is given.
fn begin(
    input: &Input,
    fit: &Fit,
    options: &SolveOptions,
    (sets, built): (&Sets, &Built),
) -> Result<Option<Vec<f64>>, SolveError> {
    let ground = search::Ground::new(sets, fit);
    let mut local = search::Search::new(&ground, 1);
    for _ in 0..6 {
        local.round(20000, None);
        local.back_to_best();
    }
    let found = local
        .best()
        .map(|found| start::of_search(&ground, built, found));
    let given = (options.start.as_ref())
        .filter(|given| given.sets.len() == fit.ends.len())
        .and_then(|given| start::of_solution(fit, sets, built, given));
    let mut best: Option<(f64, Vec<f64>)> = None;
    for counts in [given, found].into_iter().flatten() {
        if let Some(values) = start::complete(built, &counts, 5.0)? {
            let total = built.program.objective(&values);
            if best.as_ref().is_none_or(|b| total < b.0) {
                best = Some((total, values));
            }
        }
    }
    let _ = input;
    Ok(best.map(|b| b.1))
}

/// The integer program whose least objective is the least total, as a value
/// for another solver.
pub fn program(input: &Input, fit: &Fit) -> crate::solve::Program {
    Built::new(&Sets::new(input, fit)).program
}
