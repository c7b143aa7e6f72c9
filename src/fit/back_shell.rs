//! Rule `back shell`: same rear, and the cable goes through. The rules `exit` and
//! `colour` check the exit and the colour of a back shell.

use super::code::OtherCode;
use super::definition::{At, Definition};
use super::diameter::{Diameter, is_of_shell};
use super::fact::Found;
use crate::catalog::{BackShell, Body, Fitting};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    back_shell: Some(check_shell),
    ..Definition::named("back shell")
};

/// Refuses a body whose own limits leave the cable's diameter out. The limits are those
/// of the back shell in the box where no seal is in the box.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (body.min_od, body.max_od);
    let limits = is_of_shell(body).then_some(Diameter { min, max })?;
    limits.against(at.end)
}

/// Refuses a back shell for another rear, and one that is too narrow.
fn check_shell<'a>(shell: &'a BackShell, at: &At<'a>) -> Option<Found<'a>> {
    let (min, max) = (None, Some(shell.max_od));
    OtherCode::against(Fitting::BackShell, &shell.rear, at)
        .or_else(|| Diameter { min, max }.against(at.end))
}
