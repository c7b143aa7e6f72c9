//! Rule `poles`: a body has one contact for each conductor that arrives.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use super::phrase::count;
use crate::catalog::Body;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("poles")
};

/// Refuses a body with fewer or more contacts than the end has conductors.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    (body.poles != at.end.poles).then(|| Box::new(Contacts(body.poles)) as Found<'a>)
}

/// The body's contacts.
#[derive(Debug)]
struct Contacts(u32);

impl Fact for Contacts {
    fn has(&self, _: &End) -> String {
        format!("has {}", count(self.0.into(), "pole"))
    }

    fn wants(&self, end: &End) -> String {
        format!("needs {}", count(end.poles.into(), "pole"))
    }

    fn reason(&self, end: &End) -> String {
        format!("it has {}, not {}", count(self.0.into(), "pole"), end.poles)
    }

    fn group(&self, end: &End) -> String {
        format!("not {}", count(end.poles.into(), "pole"))
    }
}
