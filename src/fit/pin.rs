//! Rule `pin`: both halves have the keying position that the end is pinned to. A built-in
//! receptacle without a key takes only plugs without one.

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
    let none = at.end.is_built_in().then_some("");
    let wanted = at.end.key.as_deref().or(none)?;
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
        match (end.is_built_in(), self.wanted) {
            (true, "") => "has a built-in receptacle without keying there".to_owned(),
            (true, key) => format!("has a built-in receptacle of key {key} there"),
            (false, key) => format!("is pinned to key {key} there"),
        }
    }

    fn reason(&self, _: &End) -> String {
        match (self.has, self.wanted) {
            ("", wanted) => format!("it has no keying, key {wanted} is wanted"),
            (has, "") => format!("it has key {has}, none is wanted"),
            (has, wanted) => format!("key {has} is not {wanted}"),
        }
    }

    fn group(&self, _: &End) -> String {
        match (self.has, self.wanted) {
            ("", wanted) => format!("no keying, key {wanted} is wanted"),
            (_, "") => "a key, none is wanted".to_owned(),
            (_, wanted) => format!("not key {wanted}"),
        }
    }
}
