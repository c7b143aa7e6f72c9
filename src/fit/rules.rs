//! The rules of fit, one line each. All else about a rule stands in a file of its own.

use super::definition::Definition;
use super::{
    attach, back_shell, colour, current, exit, face, ferrule, keying, mate, net_keys, pin, poles,
    protection, seal, supply, voltage,
};
use crate::catalog::Fitting;
use std::fmt;
use std::sync::Arc;

/// The rule of an attribute of the catalog.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AttributeRule {
    /// Its place among the attributes.
    pub place: usize,
    /// Its name, which is that of the rule.
    pub name: Arc<str>,
}

/// Makes the names of the rules and the way from a name to its file. The attributes of
/// the catalog, each a rule, stand between the first rules and the others.
macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident => $file:ident,)+ ;
     $($(#[$late_doc:meta])* $late:ident => $late_file:ident,)+) => {
        /// A rule of fit. The order is that in which an explanation tells them: what
        /// settles most parts first.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule {
            $($(#[$doc])* $name,)+
            /// An attribute of the catalog holds.
            Attribute(AttributeRule),
            $($(#[$late_doc])* $late,)+
        }

        impl Rule {
            /// The rules before those of the attributes, in their order.
            pub const EARLY: &'static [Rule] = &[$(Rule::$name),+];

            /// The rules after those of the attributes, in their order.
            pub const LATE: &'static [Rule] = &[$(Rule::$late),+];

            /// What the rule checks; none for an attribute, which the catalog defines.
            pub(super) fn definition(&self) -> Option<&'static Definition> {
                match self {
                    $(Rule::$name => Some(&$file::RULE),)+
                    Rule::Attribute(_) => None,
                    $(Rule::$late => Some(&$late_file::RULE),)+
                }
            }
        }
    };
}

rules! {
    /// What the body fixes to.
    Attach => attach,
    /// Contacts and conductors.
    Poles => poles,
    /// Rated voltage.
    Voltage => voltage,
    /// Rated current at the ambient temperature.
    Current => current,
    /// How the cable leaves.
    Exit => exit,
    /// Colour wanted.
    Colour => colour,
    /// Protection wanted.
    Protection => protection,
    /// Keying position that the end is pinned to.
    Pin => pin,
    /// Mating face that the end asks for.
    Interface => face,
    /// Keys of the end's net.
    NetKeys => net_keys,
    ;
    /// Crimp barrel and conductor area.
    Ferrule => ferrule,
    /// Rear fitting and cable diameter.
    Seal => seal,
    /// Rear fitting and cable diameter.
    BackShell => back_shell,
    /// Whether the part can be had at all.
    Supply => supply,
    /// One plug, one receptacle, equal interface and key.
    Mate => mate,
    /// Different nets at one location, or anywhere.
    Keying => keying,
}

impl Rule {
    /// Its short name.
    pub fn name(&self) -> &str {
        match self {
            Rule::Attribute(rule) => &rule.name,
            rule => rule.definition().map_or("", |definition| definition.name),
        }
    }

    /// All rules that are the same for every catalog, in their order.
    pub fn own() -> impl Iterator<Item = &'static Rule> {
        Rule::EARLY.iter().chain(Rule::LATE)
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl From<Fitting> for Rule {
    fn from(fitting: Fitting) -> Rule {
        match fitting {
            Fitting::Ferrule => Rule::Ferrule,
            Fitting::Seal => Rule::Seal,
            Fitting::BackShell => Rule::BackShell,
        }
    }
}
