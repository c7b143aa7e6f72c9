//! Rule `seal`: same rear, and the cable's diameter within its limits.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{Body, Fitting, Seal};
use crate::project::Settings;

/// Refuses a body whose own limits leave the cable's diameter out: those of
/// the seal in its box. Where a back shell alone is in the box, they are its.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let (min, max) = (body.min_od, body.max_od);
    let fits =
        min.is_none_or(|min| min <= end.cable_od) && max.is_none_or(|max| end.cable_od <= max);
    let boxed = |fitting| body.includes.contains(&fitting);
    let rule = match boxed(Fitting::BackShell) && !boxed(Fitting::Seal) {
        true => Rule::BackShell,
        false => Rule::Seal,
    };
    (!fits).then(|| Clash::new(rule, end, Fact::Diameter(min, max)))
}

/// Refuses a seal for another rear or another diameter.
pub fn check_seal<'a>(seal: &'a Seal, rear: &str, end: &'a End) -> Option<Clash<'a>> {
    if seal.rear != rear {
        return Some(Clash::new(Rule::Seal, end, Fact::Code(&seal.rear)));
    }
    diameter(seal, end)
}

/// Refuses a seal for another diameter.
pub fn diameter<'a>(seal: &Seal, end: &'a End) -> Option<Clash<'a>> {
    let fits = seal.min_od <= end.cable_od && end.cable_od <= seal.max_od;
    let fact = Fact::Diameter(Some(seal.min_od), Some(seal.max_od));
    (!fits).then(|| Clash::new(Rule::Seal, end, fact))
}
