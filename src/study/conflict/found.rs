//! What is found where no plan holds all limits.

use super::arithmetic::Shortage;
use super::group::Group;
use crate::fit::Fit;
use crate::input::Input;
use crate::units::{Money, Qty};
use std::time::Duration;

/// Limits that cannot all hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The limits, in their fixed order.
    pub members: Vec<Member>,
    /// What arithmetic says of these limits, without all others.
    pub shortages: Vec<Shortage>,
    /// The project with all other limits lifted. The shortages are about its facts
    /// and about what fits it.
    pub alone: Input,
    /// What fits the project with all other limits lifted.
    pub fit: Fit,
    /// True if it is proven that leaving out any one limit gives a plan.
    pub is_minimal: bool,
    /// What the search took.
    pub took: Took,
}

/// One of the limits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// The limit.
    pub group: Group,
    /// The smallest change to it that helps.
    pub easing: Easing,
}

/// What a search took; no part of what it found.
#[derive(Debug, Clone, Copy, Default)]
pub struct Took {
    /// Projects that were tried.
    pub trials: usize,
    /// Time.
    pub elapsed: Duration,
    /// True if the search was told to stop, and did not end with its time.
    pub is_stopped: bool,
}

/// Two searches with the same finding are equal, however long they took.
impl PartialEq for Took {
    fn eq(&self, _: &Took) -> bool {
        true
    }
}

impl Eq for Took {}

/// What was found of changes to one limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Easing {
    /// A change that helps.
    Found {
        /// The change.
        change: Change,
        /// True if the whole project has a plan then; false if only this
        /// conflict is settled and another is left.
        is_enough: bool,
        /// True if it is proven that no smaller change helps.
        is_least: bool,
    },
    /// Nothing of this limit helps but to switch the rule off, and another limit of the
    /// conflict can be eased.
    Elsewhere,
    /// The time ran out first.
    OutOfTime,
}

/// A change to a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// So many more keys of an interface.
    Keys {
        /// The interface.
        interface: String,
        /// How many more.
        more: usize,
        /// Nets whose lists of keys have to have them too; mostly none.
        nets: Vec<String>,
    },
    /// No more keys of one interface help: the location has to be left out of
    /// the rule, or the rule to end at each location. It switches a rule off, so it is
    /// found only where no other change of any limit helps.
    NoKeying,
    /// These keys more in the list of a net.
    NetKeys(Vec<String>),
    /// So many pieces in stock, or on hand.
    Pieces(Qty),
    /// A least order of so much, in the supplier's currency.
    Least(Money),
    /// A higher number.
    Number(u64),
    /// The exclusion taken out.
    Allow,
    /// Another key, or none where the ends at this side need different keys.
    Key(Option<String>),
    /// Another interface, or none where the ends at this side need different ones.
    Face(Option<String>),
}
