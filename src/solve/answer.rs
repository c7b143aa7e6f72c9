//! What the solver says, on the way and at the end.

use crate::limit::apart::Crowded;
use std::sync::Arc;

/// What the solver says.
#[derive(Debug, Clone, PartialEq)]
pub enum Solved {
    /// A solution that is proven best.
    Optimal {
        /// Value of each variable; whole ones are whole.
        values: Vec<f64>,
        /// Objective at the values.
        objective: f64,
    },
    /// A solution, and a bound that no solution is below.
    Feasible {
        /// Value of each variable; whole ones are whole.
        values: Vec<f64>,
        /// Objective at the values.
        objective: f64,
        /// Lower bound.
        bound: f64,
    },
    /// It is proven that there is no solution; with a cutoff, no solution below it.
    Infeasible,
    /// A limit came first; the bound holds if there is any solution.
    Unknown {
        /// Lower bound.
        bound: f64,
    },
}

impl Solved {
    /// What no objective is below; minus infinity where nothing is known.
    pub fn bound(&self) -> f64 {
        match self {
            Solved::Optimal { objective, .. } => *objective,
            Solved::Feasible { bound, .. } | Solved::Unknown { bound } => *bound,
            Solved::Infeasible => f64::NEG_INFINITY,
        }
    }

    /// Value of each variable, proven best or not; none where no
    /// solution is known.
    pub fn into_values(self) -> Option<Vec<f64>> {
        match self {
            Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => Some(values),
            Solved::Infeasible | Solved::Unknown { .. } => None,
        }
    }
}

/// What is known while the solver runs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pulse {
    /// Best objective so far.
    pub best: Option<f64>,
    /// Lower bound so far.
    pub bound: Option<f64>,
    /// Nodes of the search tree so far.
    pub nodes: u64,
    /// A solution that is better than all before it: the value of each variable. Each
    /// such solution comes once.
    pub found: Option<Arc<[f64]>>,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum SolveError {
    /// The solver broke off.
    #[error("the solver failed: {0}")]
    Failed(String),
    /// The solver was not asked.
    #[error(transparent)]
    Crowded(#[from] Crowded),
}

impl SolveError {
    pub(super) fn new(why: impl Into<String>) -> SolveError {
        SolveError::Failed(why.into())
    }
}
