//! Rule `keying`: two ends of different nets never have the same interface and
//! key at one location, or anywhere in the machine, so that no plug can go
//! where it must not.
//!
//! The rule binds ends to one another, so it is no part of a class. The search for
//! the cheapest plan holds the rule.

use super::class::Identity;
use super::definition::Definition;
use super::end::End;
use super::phrase::identity_words;
use crate::project::{Distinct, Keying};

pub(super) const RULE: Definition = Definition::named("keying");

/// True if the rule refuses these two ends with these identities.
pub fn refuses(keying: &Keying, one: (&End, &Identity), other: (&End, &Identity)) -> bool {
    binds(keying, one.0, other.0) && one.1 == other.1
}

/// True if the two ends must have different identities.
pub fn binds(keying: &Keying, one: &End, other: &End) -> bool {
    let reaches = match keying.distinct {
        Distinct::Off => false,
        Distinct::ByLocation => one.location == other.location,
        Distinct::Everywhere => true,
    };
    let ignored = |end: &End| keying.ignore_at.contains(&end.location);
    reaches && one.net != other.net && !ignored(one) && !ignored(other)
}

/// Why the rule refuses the two ends, in one sentence:
/// `nets HV+ and HV- at motor would both have interface I, key A`.
pub fn reason(one: &End, other: &End, shared: &Identity) -> String {
    let shared = identity_words(&shared.interface, &shared.key);
    let (a, b) = (&one.net, &other.net);
    match (&one.location, &other.location) {
        (at, there) if at == there => format!("nets {a} and {b} at {at} would both have {shared}"),
        (at, there) => format!("net {a} at {at} and net {b} at {there} would both have {shared}"),
    }
}
