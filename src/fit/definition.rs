//! What a rule of fit is made of.

use super::end::End;
use super::fact::Found;
use super::place::Place;
use crate::catalog::Catalog;
use crate::catalog::{BackShell, Body, Ferrule, Seal};
use crate::input::Input;
use crate::project::Settings;

/// A rule: its name, and its check for each kind of part that it looks at. What
/// a check finds brings its own words, so that no rule can lack them.
///
/// A rule without any check is one that sees more than one part: it has a
/// function of its own.
pub(super) struct Definition {
    /// Its short name.
    pub name: &'static str,
    /// Looks at plugs and receptacles.
    pub body: Option<Check<Body>>,
    /// Looks at ferrules.
    pub ferrule: Option<Check<Ferrule>>,
    /// Looks at seals.
    pub seal: Option<Check<Seal>>,
    /// Looks at back shells.
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

/// What a rule has against a part; none where the part holds it.
pub(super) type Check<P> = for<'a> fn(&'a P, &At<'a>) -> Option<Found<'a>>;

/// Where a part is looked at.
#[derive(Clone, Copy)]
pub(super) struct At<'a> {
    /// The end in question.
    pub end: &'a End,
    /// The project's.
    pub settings: &'a Settings,
    /// Where the attributes stand.
    pub catalog: &'a Catalog,
    /// For a fitting, the place on a body that it should fill; none where no
    /// body is in question, so that only its own limits count.
    pub place: Option<Place<'a>>,
}

impl<'a> At<'a> {
    /// An end, and the place on a body there if a fitting is in question.
    pub fn new(input: &'a Input, end: &'a End, place: Option<Place<'a>>) -> Self {
        At {
            end,
            settings: &input.settings,
            catalog: &input.catalog,
            place,
        }
    }
}
