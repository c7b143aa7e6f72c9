//! What is asked of a search, and what it comes to.

use super::solution::{Given, Solution};
use crate::solve::Solver;

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
