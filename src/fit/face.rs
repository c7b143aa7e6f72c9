//! Rule `interface`: both halves have the mating face that the end asks for.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::Body;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("interface")
};

/// Refuses a body of another mating face.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.interface.as_deref()?;
    let has = body.interface.as_str();
    let is_built_in = at.end.is_built_in();
    (has != wanted).then(|| {
        Box::new(OtherFace {
            has,
            wanted,
            is_built_in,
        }) as Found<'a>
    })
}

/// Mating face of the body, and the one that the end asks for.
#[derive(Debug)]
struct OtherFace<'a> {
    has: &'a str,
    wanted: &'a str,
    is_built_in: bool,
}

impl Fact for OtherFace<'_> {
    fn has(&self, _: &End) -> String {
        format!("has interface {}", self.has)
    }

    fn wants(&self, _: &End) -> String {
        match self.is_built_in {
            true => format!(
                "has a built-in receptacle of interface {} there",
                self.wanted
            ),
            false => format!("needs interface {} there", self.wanted),
        }
    }

    fn reason(&self, _: &End) -> String {
        format!("interface {} is not {}", self.has, self.wanted)
    }

    fn group(&self, _: &End) -> String {
        format!("not interface {}", self.wanted)
    }
}
