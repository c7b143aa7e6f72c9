//! Rule `colour`: both bodies have the colour wanted; a back shell has it or none.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::{BackShell, Body};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    back_shell: Some(check_shell),
    ..Definition::named("colour")
};

/// Refuses a body of another colour, and a body without a colour where a colour is wanted.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.colour.as_deref()?;
    let has = body.colour.as_deref();
    (has != Some(wanted)).then(|| Box::new(OtherColour { has, wanted }) as Found<'a>)
}

/// Refuses a back shell of another colour; a back shell without colour goes with any.
fn check_shell<'a>(shell: &'a BackShell, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.colour.as_deref()?;
    let has = Some(shell.colour.as_deref()?);
    (has != Some(wanted)).then(|| Box::new(OtherColour { has, wanted }) as Found<'a>)
}

/// Colour of the part, and the colour wanted.
#[derive(Debug)]
struct OtherColour<'a> {
    has: Option<&'a str>,
    wanted: &'a str,
}

impl Fact for OtherColour<'_> {
    fn has(&self, _: &End) -> String {
        match self.has {
            Some(colour) => format!("is {colour}"),
            None => "states no colour".to_owned(),
        }
    }

    fn wants(&self, _: &End) -> String {
        format!("needs {}", self.wanted)
    }

    fn reason(&self, _: &End) -> String {
        match self.has {
            Some(has) => format!("{has} is not {}", self.wanted),
            None => format!("states no colour, {} is wanted", self.wanted),
        }
    }

    fn group(&self, _: &End) -> String {
        match self.has {
            Some(_) => format!("not {}", self.wanted),
            None => format!("no colour stated, {} is wanted", self.wanted),
        }
    }
}
