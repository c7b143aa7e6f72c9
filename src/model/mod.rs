//! The integer program: from what fits and what it costs to the cheapest plan.
//! Knows no file format.

mod cells;
mod claims;
mod decode;
mod hunt;
mod market;
mod net_keys;
mod order;
mod pooled;
mod probe;
mod program;
mod rows;
mod run;
mod search;
mod sets;
mod start;
mod tie;
mod worth;

use crate::catalog::{Fitting, Half, OfferId, PartId};
use crate::fit::Fit;
use crate::input::Input;
use crate::solve::{self, Doubts, Shared, SolveError, Stop};
use crate::units::Qty;
pub use claims::{Claim, Scope, Verdict, refute};
use program::Built;
use sets::Sets;
use std::time::Duration;
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

/// For each end, in the order of `Fit::ends`, the set that another plan has for
/// it; none where it has none.
pub type Given = Vec<Option<Set>>;

impl Solution {
    /// Its sets, for another search to start from.
    pub fn given(&self) -> Given {
        self.sets.iter().cloned().map(Some).collect()
    }
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
        /// Runs of the solver that prove that nothing is cheaper, by different
        /// ways: 2, or 1 where the other was not finished; 0 where it is not proven.
        witnesses: u8,
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
    /// Threads; from two on, search and solver work side by side where the
    /// whole program is too large.
    pub threads: u32,
    /// What to start from, one after the other; perhaps of an earlier state of
    /// the project, or of other limits.
    pub starts: Vec<Given>,
    /// No plan costs less than this, as is known from before, in the project's
    /// currency.
    pub bound: Option<f64>,
    /// Which of several cheapest plans matters; false where only the total does.
    pub ties: bool,
    /// Set from elsewhere to stop with the best plan so far.
    pub stop: Option<Stop>,
    /// What answers the programs.
    pub engine: Shared,
    /// Where answers are noted that were found wrong.
    pub doubts: Doubts,
}

impl Default for SolveOptions {
    fn default() -> Self {
        Self {
            time_limit: None,
            gap_percent: None,
            threads: 1,
            starts: Vec::new(),
            bound: None,
            ties: true,
            stop: None,
            engine: solve::built_in(),
            doubts: Doubts::default(),
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
    /// What it took.
    pub work: Work,
}

/// What a search took so far.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Work {
    /// Nodes of all search trees, as far as the solver has told.
    pub nodes: u64,
    /// Making the programs, all threads together.
    pub building: Duration,
    /// Answers of the solver that were found wrong and thrown away.
    pub doubts: usize,
}

/// Finds the cheapest compatible plan.
///
/// A local search gives a plan early; the pooled program gives a bound and
/// prices that guide the search; then the whole program proves the optimum
/// where it is small, and pooled program and search go on side by side where
/// it is not. Ties are settled last.
///
/// # Errors
/// [`SolveError`] if the solver itself breaks off.
pub fn solve(
    input: &Input,
    fit: &Fit,
    options: &SolveOptions,
    report: &mut dyn FnMut(Progress),
) -> Result<Outcome, SolveError> {
    run::Run::new(input, fit, options).go(report)
}

/// The integer program whose least objective is the least total, as a value
/// for another solver.
pub fn program(input: &Input, fit: &Fit) -> crate::solve::Program {
    Built::new(&Sets::new(input, fit)).program
}

/// A smaller program whose least objective no plan's total is below, with the
/// rows that its relaxation violates; ends told apart by cell or only by kind.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn pooled_program(
    input: &Input,
    fit: &Fit,
    by_cell: bool,
) -> Result<crate::solve::Program, SolveError> {
    let sets = Sets::new(input, fit);
    let grain = match by_cell {
        true => pooled::Grain::Cell,
        false => pooled::Grain::Kind,
    };
    let mut pooled = pooled::Pooled::new(&sets, &input.settings, fit, grain);
    pooled.root(&sets, None)?;
    Ok(pooled.program)
}
