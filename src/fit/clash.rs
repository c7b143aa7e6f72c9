//! One rule that refuses one part at one end.

use super::end::End;
use super::fact::{Extreme, Found};
use super::rules::Rule;

/// What a rule finds when it refuses a part at an end.
#[derive(Debug)]
pub(crate) struct Clash<'a> {
    /// The rule that refuses.
    pub rule: Rule,
    /// The end in question.
    pub end: &'a End,
    /// What the rule has against the part.
    pub fact: Found<'a>,
}

impl Clash<'_> {
    /// [`Fact::has`](super::fact::Fact::has) at this end.
    pub fn has(&self) -> String {
        self.fact.has(self.end)
    }

    /// [`Fact::wants`](super::fact::Fact::wants) at this end.
    pub fn wants(&self) -> String {
        self.fact.wants(self.end)
    }

    /// [`Fact::reason`](super::fact::Fact::reason) at this end.
    pub fn reason(&self) -> String {
        self.fact.reason(self.end)
    }

    /// [`Fact::group`](super::fact::Fact::group) at this end.
    pub fn group(&self) -> String {
        self.fact.group(self.end)
    }

    /// [`Fact::extreme`](super::fact::Fact::extreme) at this end.
    pub fn extreme(&self) -> Option<Extreme> {
        self.fact.extreme(self.end)
    }
}
