//! Rule `mate`: one plug and one receptacle of equal interface and key. The rule sees
//! two bodies, so whoever puts pairs together holds the rule.

use super::class::Identity;
use super::definition::Definition;
use super::end::End;
use super::fact::Fact;
use super::phrase::identity_words;
use crate::catalog::{Body, Half};

pub(super) const RULE: Definition = Definition::named("mate");

/// True if the two bodies mate.
pub fn mates(one: &Body, other: &Body) -> bool {
    one.half != other.half && one.interface == other.interface && one.key == other.key
}

/// What must be equal for two halves to mate.
pub fn identity(body: &Body) -> Identity {
    Identity {
        interface: body.interface.clone(),
        key: body.key.clone(),
    }
}

/// No body of the other half with the interface and key of this one fits.
#[derive(Debug)]
pub(super) struct NoMate<'a>(pub &'a Body);

impl NoMate<'_> {
    /// What mates with the body.
    fn other_half(&self) -> Half {
        match self.0.half {
            Half::Plug => Half::Receptacle,
            Half::Receptacle => Half::Plug,
        }
    }
}

impl Fact for NoMate<'_> {
    fn has(&self, end: &End) -> String {
        format!("has no mate: {}", self.reason(end))
    }

    fn wants(&self, _: &End) -> String {
        "needs both halves".to_owned()
    }

    fn reason(&self, _: &End) -> String {
        let identity = identity_words(&self.0.interface, &self.0.key);
        format!("no {} with {identity} fits here", self.other_half())
    }

    fn group(&self, _: &End) -> String {
        let half = self.other_half();
        format!("no {half} of the same interface and key fits here")
    }
}
