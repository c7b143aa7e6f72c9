//! Rule `keying`: two ends never have the same interface and key at one location, or
//! anywhere in the machine, unless their net and their branch are both equal. So no plug
//! can go where it must not. All empty branches are one branch.
//!
//! Each machine has its own locations, nets and branches, so the rule binds the ends of
//! one machine alone.
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
    let is_one_line = one.net == other.net && one.branch == other.branch;
    reaches && one.machine == other.machine && !is_one_line && !ignored(one) && !ignored(other)
}

/// Why the rule refuses them, in one sentence:
/// `nets HV+ and HV- at motor would both have interface I, key A`; of one net,
/// `net HV+ of branch drive and of no branch at hub would both have interface I, key A`.
pub fn reason(one: &End, other: &End, shared: &Identity) -> String {
    let shared = identity_words(&shared.interface, &shared.key);
    let (a, b) = (&one.net, &other.net);
    if a == b {
        let (one_branch, other_branch) = (branch(one), branch(other));
        return match (&one.location, &other.location) {
            (at, there) if at == there => format!(
                "net {a} of {one_branch} and of {other_branch} at {at} would both have {shared}"
            ),
            (at, there) => format!(
                "net {a} of {one_branch} at {at} and of {other_branch} at {there} would both have {shared}"
            ),
        };
    }
    match (&one.location, &other.location) {
        (at, there) if at == there => format!("nets {a} and {b} at {at} would both have {shared}"),
        (at, there) => format!("net {a} at {at} and net {b} at {there} would both have {shared}"),
    }
}

/// `branch drive`, `no branch`.
fn branch(end: &End) -> String {
    match end.branch.as_str() {
        "" => "no branch".to_owned(),
        branch => format!("branch {branch}"),
    }
}
