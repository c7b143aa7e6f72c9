//! Rule `colour`: both bodies have the colour wanted; a back shell has it or none.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{BackShell, Body};
use crate::project::Settings;

/// Refuses a body of another colour, and one whose row gives none where one is wanted.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let wanted = end.colour.as_deref()?;
    let colour = body.colour.as_deref();
    (colour != Some(wanted)).then(|| Clash::new(Rule::Colour, end, Fact::Colour(colour, wanted)))
}

/// Refuses a back shell of another colour; one without colour goes with any.
pub fn check_shell<'a>(shell: &'a BackShell, end: &'a End) -> Option<Clash<'a>> {
    let wanted = end.colour.as_deref()?;
    let colour = shell.colour.as_deref()?;
    (colour != wanted).then(|| Clash::new(Rule::Colour, end, Fact::Colour(Some(colour), wanted)))
}
