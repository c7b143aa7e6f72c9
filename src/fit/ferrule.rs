//! Rule `ferrule`: same barrel, and the conductor's area within its limits.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{Body, Ferrule};
use crate::project::Settings;

/// Refuses a body whose own limits leave the conductor's area out: those of
/// the ferrule in its box.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let (min, max) = (body.min_mm2, body.max_mm2);
    let fits = min.is_none_or(|min| min <= end.area) && max.is_none_or(|max| end.area <= max);
    (!fits).then(|| Clash::new(Rule::Ferrule, end, Fact::Area(min, max)))
}

/// Refuses a ferrule for another barrel or another area.
pub fn check_ferrule<'a>(ferrule: &'a Ferrule, barrel: &str, end: &'a End) -> Option<Clash<'a>> {
    if ferrule.barrel != barrel {
        return Some(Clash::new(Rule::Ferrule, end, Fact::Code(&ferrule.barrel)));
    }
    area(ferrule, end)
}

/// Refuses a ferrule for another area.
pub fn area<'a>(ferrule: &Ferrule, end: &'a End) -> Option<Clash<'a>> {
    let fits = ferrule.min_mm2 <= end.area && end.area <= ferrule.max_mm2;
    let fact = Fact::Area(Some(ferrule.min_mm2), Some(ferrule.max_mm2));
    (!fits).then(|| Clash::new(Rule::Ferrule, end, fact))
}
