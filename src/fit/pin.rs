//! Rule `pin`: both halves have the keying position that the end is pinned to.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::Body;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("pin")
};

/// Refuses a body of another key, and a body without keying where a key is wanted.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.key.as_deref()?;
    let has = body.key.as_str();
    (has != wanted).then(|| Box::new(OtherKey { has, wanted }) as Found<'a>)
}

/// Keying position of the body, and the position that the end is pinned to.
#[derive(Debug)]
struct OtherKey<'a> {
    has: &'a str,
    wanted: &'a str,
}

impl Fact for OtherKey<'_> {
    fn has(&self, _: &End) -> String {
        match self.has {
            "" => "has no keying".to_owned(),
            key => format!("has key {key}"),
        }
    }

    fn wants(&self, end: &End) -> String {
        match end.is_built_in() {
            true => format!("has a built-in receptacle of key {} there", self.wanted),
            false => format!("is pinned to key {} there", self.wanted),
        }
    }

    fn reason(&self, _: &End) -> String {
        match self.has {
            "" => format!("it has no keying, key {} is wanted", self.wanted),
            key => format!("key {key} is not {}", self.wanted),
        }
    }

    fn group(&self, _: &End) -> String {
        match self.has {
            "" => format!("no keying, key {} is wanted", self.wanted),
            _ => format!("not key {}", self.wanted),
        }
    }
}
