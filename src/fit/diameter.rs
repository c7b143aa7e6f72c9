//! Limits of a cable's diameter, which two rules ask for: `seal` and `back shell`.

use super::end::End;
use super::fact::{Extreme, Fact, Found};
use super::phrase::{outside, range};
use crate::catalog::{Body, Fitting};
use crate::units::Mm;

/// True if a body's own limits are those of the back shell in its box, since no
/// seal is there.
pub(super) fn is_of_shell(body: &Body) -> bool {
    let boxed = |fitting| body.includes.contains(&fitting);
    boxed(Fitting::BackShell) && !boxed(Fitting::Seal)
}

/// Smallest and largest cable diameter.
#[derive(Debug)]
pub(super) struct Diameter {
    pub min: Option<Mm>,
    pub max: Option<Mm>,
}

impl Diameter {
    /// What these limits have against the end's cable.
    pub fn against<'a>(self, end: &End) -> Option<Found<'a>> {
        let is_within = self.min.is_none_or(|min| min <= end.cable_od)
            && self.max.is_none_or(|max| end.cable_od <= max);
        (!is_within).then(|| Box::new(self) as Found<'a>)
    }
}

impl Fact for Diameter {
    fn has(&self, _: &End) -> String {
        format!("takes cables of {}", range(self.min, self.max))
    }

    fn wants(&self, end: &End) -> String {
        format!("has a cable of {}", end.cable_od)
    }

    fn reason(&self, end: &End) -> String {
        outside(end.cable_od, self.min, self.max)
    }

    fn group(&self, end: &End) -> String {
        format!("not for a cable of {}", end.cable_od)
    }

    fn extreme(&self, end: &End) -> Option<Extreme> {
        let (value, word, limit) = match (self.min, self.max) {
            (_, Some(max)) if max < end.cable_od => (max.0, "highest", max),
            (Some(min), _) => (-min.0, "lowest", min),
            _ => return None,
        };
        Some(Extreme {
            value,
            word,
            amount: limit.to_string(),
        })
    }
}
