//! What a rule of fit is made of.

use super::end::End;
use super::fact::Found;
use super::place::Place;
use crate::catalog::Catalog;
use crate::catalog::{BackShell, Body, Ferrule, Seal};
use crate::input::Input;
use crate::project::Settings;

/// A rule: its name, and its check for each kind of part that it looks at. What
/// a check finds brings its own words, so that no rule can lack words.
///
/// A rule without any check sees more than one part, and has a function of its
/// own.
pub(super) struct Definition {
    /// Short name of the rule.
    pub name: &'static str,
    /// The check of plugs and receptacles.
    pub body: Option<Check<Body>>,
    /// The check of ferrules.
    pub ferrule: Option<Check<Ferrule>>,
    /// The check of seals.
    pub seal: Option<Check<Seal>>,
    /// The check of back shells.
    pub back_shell: Option<Check<BackShell>>,
}

impl Definition {
    /// A rule that looks at nothing yet.
    pub const fn named(name: &'static str) -> Self {
        Definition {
            name,
            body: None,
            ferrule: None,
            seal: None,
            back_shell: None,
        }
    }
}

/// What a rule has against a part; none where the part holds the rule.
pub(super) type Check<P> = for<'a> fn(&'a P, &At<'a>) -> Option<Found<'a>>;

/// Where a part is looked at.
#[derive(Clone, Copy)]
pub(super) struct At<'a> {
    /// The end in question.
    pub end: &'a End,
    /// What the machine asks of its parts.
    pub settings: &'a Settings,
    /// Where the attributes stand.
    pub catalog: &'a Catalog,
    /// For a fitting, the place on a body that the fitting should fill. None where no
    /// body is in question: then only the fitting's own limits count.
    pub place: Option<Place<'a>>,
}

impl<'a> At<'a> {
    /// An end, and the place on a body there if a fitting is in question.
    pub fn new(input: &'a Input, end: &'a End, place: Option<Place<'a>>) -> Self {
        At {
            end,
            settings: input.rules(end.machine),
            catalog: &input.catalog,
            place,
        }
    }
}
