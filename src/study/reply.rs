//! What a solve of a study comes to.

use crate::model::Solution;
use crate::plan::{Bound, Plan, Status};
use crate::units::Money;

/// A plan with what it was read from.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Sets and purchases.
    pub solution: Solution,
    /// The record, audited.
    pub plan: Plan,
    /// What the solver says of the total.
    pub bound: Bound,
}

impl Answer {
    /// Total of the plan, in the project's currency.
    pub fn total(&self) -> Money {
        self.plan.cost.total
    }

    /// True if it is proven that nothing is cheaper.
    pub fn is_proven(&self) -> bool {
        self.plan.status == Status::Optimal
    }
}

/// What a solve comes to.
#[derive(Debug, Clone)]
pub enum Reply {
    /// A plan.
    Found(Box<Answer>),
    /// It is proven that there is no plan.
    Infeasible,
    /// The search was stopped before any plan was found.
    Unknown,
}

impl Reply {
    /// The plan, if there is one.
    pub fn found(self) -> Option<Answer> {
        match self {
            Reply::Found(answer) => Some(*answer),
            Reply::Infeasible | Reply::Unknown => None,
        }
    }
}
