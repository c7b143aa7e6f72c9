//! Rule `ferrule`: same barrel, and the conductor's area within its limits.

use super::code::OtherCode;
use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Extreme, Fact, Found};
use super::phrase::{area, outside, range};
use crate::catalog::{Body, Ferrule, Fitting};
use crate::units::Mm2;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ferrule: Some(check_ferrule),
    ..Definition::named("ferrule")
};

/// Refuses a body whose own limits leave the conductor's area out. The limits are those
/// of the ferrule in the box.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (body.min_mm2, body.max_mm2);
    Area { min, max }.against(at.end)
}

/// Refuses a ferrule for another barrel or another area.
fn check_ferrule<'a>(ferrule: &'a Ferrule, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (Some(ferrule.min_mm2), Some(ferrule.max_mm2));
    OtherCode::against(Fitting::Ferrule, &ferrule.barrel, at)
        .or_else(|| Area { min, max }.against(at.end))
}

/// Smallest and largest conductor area.
#[derive(Debug)]
struct Area {
    min: Option<Mm2>,
    max: Option<Mm2>,
}

impl Area {
    fn against<'a>(self, end: &End) -> Option<Found<'a>> {
        let is_within = self.min.is_none_or(|min| min <= end.area)
            && self.max.is_none_or(|max| end.area <= max);
        (!is_within).then(|| Box::new(self) as Found<'a>)
    }
}

impl Fact for Area {
    fn has(&self, _: &End) -> String {
        format!("takes {}", range(self.min, self.max))
    }

    fn wants(&self, end: &End) -> String {
        format!("needs {}", area(end))
    }

    fn reason(&self, end: &End) -> String {
        outside(end.area, self.min, self.max)
    }

    fn group(&self, end: &End) -> String {
        format!("not for a conductor of {}", area(end))
    }

    fn extreme(&self, end: &End) -> Option<Extreme> {
        let (value, word, limit) = match (self.min, self.max) {
            (_, Some(max)) if max < end.area => (max.0, "highest", max),
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
