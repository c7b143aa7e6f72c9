//! Rule `net keys`: a body with a key has one of those that the project gives to the
//! net (`[keying.keys]`), also where the keying rule is off or leaves a location out.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::Body;
use crate::diag::joined;
use crate::project::Keying;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("net keys")
};

/// Refuses a body whose key is none of its net's; a body without a key passes.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let keying = &at.settings.keying;
    if keying.allows(&at.end.net, &body.key) {
        return None;
    }
    let keys = keying.keys.get(&at.end.net)?;
    let keys = keys.iter().map(String::as_str).collect();
    let has = body.key.as_str();
    Some(Box::new(OtherNetKey { has, keys }))
}

/// What the end wants by the keys of its net: `key 1 or 2 by its net`.
pub(super) fn wanted(keying: &Keying, end: &End) -> Option<String> {
    let keys = keying.keys.get(&end.net)?.iter();
    let keys: Vec<&str> = keys.map(String::as_str).collect();
    Some(format!("key {} by its net", joined(&keys, "or")))
}

/// Keying position of the body, and the keys of the net.
#[derive(Debug)]
struct OtherNetKey<'a> {
    has: &'a str,
    keys: Vec<&'a str>,
}

impl OtherNetKey<'_> {
    /// `key 1 or 2`.
    fn keys(&self) -> String {
        format!("key {}", joined(&self.keys, "or"))
    }
}

impl Fact for OtherNetKey<'_> {
    fn has(&self, _: &End) -> String {
        format!("has key {}", self.has)
    }

    fn wants(&self, end: &End) -> String {
        format!("has net {}, which keeps to {}", end.net, self.keys())
    }

    fn reason(&self, end: &End) -> String {
        format!(
            "key {} is none of net {}, which has {}",
            self.has,
            end.net,
            self.keys()
        )
    }

    fn group(&self, end: &End) -> String {
        format!("not {} of net {}", self.keys(), end.net)
    }
}
