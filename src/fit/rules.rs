//! The rules of fit, one line each. All else about a rule stands in a file of its own.

use super::definition::Definition;
use super::{
    attach, back_shell, colour, current, exit, ferrule, keying, mate, pin, poles, protection, seal,
    supply, voltage,
};
use crate::catalog::Fitting;
use std::fmt;

/// Makes the names of the rules and the way from a name to its file.
macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident => $file:ident,)+) => {
        /// A rule of fit. An explanation tells the rules in this order: what settles
        /// most parts comes first.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule {
            $($(#[$doc])* $name,)+
        }

        impl Rule {
            /// All rules, in their order.
            pub const ALL: [Rule; [$(Rule::$name),+].len()] = [$(Rule::$name),+];

            /// What the rule checks.
            pub(super) fn definition(self) -> &'static Definition {
                match self {
                    $(Rule::$name => &$file::RULE,)+
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
    /// Short name of the rule.
    pub fn name(self) -> &'static str {
        self.definition().name
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
