//! Rule `seal`: same rear, and the cable's diameter within its limits.

use super::code::OtherCode;
use super::definition::{At, Definition};
use super::diameter::{Diameter, is_of_shell};
use super::fact::Found;
use crate::catalog::{Body, Fitting, Seal};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    seal: Some(check_seal),
    ..Definition::named("seal")
};

/// Refuses a body whose own limits leave the cable's diameter out. The limits are those
/// of the seal in the box. Where a back shell alone is in the box, the limits are those
/// of the back shell, and the rule `back shell` checks them.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (body.min_od, body.max_od);
    let limits = (!is_of_shell(body)).then_some(Diameter { min, max })?;
    limits.against(at.end)
}

/// Refuses a seal for another rear or another diameter.
fn check_seal<'a>(seal: &'a Seal, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (Some(seal.min_od), Some(seal.max_od));
    OtherCode::against(Fitting::Seal, &seal.rear, at)
        .or_else(|| Diameter { min, max }.against(at.end))
}
