//! What a plan comes to: against the limit, by machine, circuit, kind, supplier and
//! gauge; what would save most; what rising prices would do.

mod apart;
mod rise;
mod savings;
mod shares;

pub use apart::{Alone, Apart, Stock, apart};
pub use rise::{Rise, RiseOf, Rising, rise};
pub use savings::{Ease, Saving, Savings, savings};
pub use shares::{Breakdown, Group, Key, OfMachine, Term, Terms, breakdown, share};

use crate::plan::Plan;
use crate::project::Settings;
use crate::units::Money;

/// A total against the project's limit, both before tax.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Against {
    /// `budget.limit`.
    pub limit: Money,
    /// What is kept back of the limit, to the cent.
    pub contingency: Money,
    /// What may be spent: the limit less the contingency.
    pub available: Money,
    /// `available` less what is spent and the total; below zero where these are more.
    pub left: Money,
}

/// The plan against the limit; none where the project has no limit.
pub fn against(settings: &Settings, plan: &Plan) -> Option<Against> {
    let budget = settings.budget?;
    let limit = budget.limit.cents();
    let contingency = budget.limit.percent(budget.contingency_percent.0).cents();
    let available = limit - contingency;
    Some(Against {
        limit,
        contingency,
        available,
        left: available - plan.altogether().cents(),
    })
}

impl Against {
    /// True if the total is more than may be spent.
    pub fn is_over(&self) -> bool {
        self.left < Money::ZERO
    }
}
