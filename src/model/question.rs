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
        /// ways: 2, or 1 where the other was not finished; 0 where nothing is proven.
        witnesses: u8,
    },
    /// It is proven that no plan holds all limits.
    Infeasible,
    /// The time ran out before any plan was found.
    Unknown,
}

/// What is asked of a search beside the project, and what is known before it.
#[derive(Debug, Clone)]
pub struct Question {
    /// Plans to start from, one after the other. A plan may come from an earlier
    /// state of the project, or from other limits.
    pub starts: Vec<Given>,
    /// A bound known from before, in the project's currency: no plan costs less.
    pub bound: Option<f64>,
    /// True where it matters which of several cheapest plans is found; false
    /// where only the total matters.
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
