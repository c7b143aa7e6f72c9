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
use crate::limit::Limit;
use crate::solve::{SolveError, Solver};
use crate::units::Qty;
pub use claims::{Claim, Scope, Verdict, refute};
use program::Built;
use sets::Sets;
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

/// What is asked of a search beside the project, and what is known before it.
#[derive(Debug, Clone)]
pub struct Question {
    /// What to start from, one after the other; perhaps of an earlier state of
    /// the project, or of other limits.
    pub starts: Vec<Given>,
    /// No plan costs less than this, as is known from before, in the project's
    /// currency.
    pub bound: Option<f64>,
    /// Which of several cheapest plans matters; false where only the total does.
    pub ties: bool,
    /// Who answers the programs.
    pub solver: Solver,
}

impl Default for Question {
    fn default() -> Self {
        Self {
            starts: Vec::new(),
            bound: None,
            ties: true,
            solver: Solver::default(),
        }
    }
}

/// Finds the cheapest compatible plan.
///
/// A local search gives a plan early; the pooled program gives a bound and
/// prices that guide the search; then the whole program proves the optimum
/// where it is small, and pooled program and search go on side by side where
/// it is not. Ties are settled last.
///
/// From two threads on, search and solver work side by side where the whole program
/// is too large.
///
/// # Errors
/// [`SolveError`] if the solver itself breaks off.
pub fn solve(
    input: &Input,
    fit: &Fit,
    question: &Question,
    limit: &Limit,
) -> Result<Outcome, SolveError> {
    run::Run::new(input, fit, question, limit).go()
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
    pooled.root(&sets, &Limit::default())?;
    Ok(pooled.program)
}
