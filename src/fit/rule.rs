//! The names of the rules, and what each finds when it refuses.

use super::End;
use super::place::Place;
use super::supply::Lack;
use crate::catalog::{Body, Exit, Fitting, Part};
use crate::units::{Celsius, Mm, Mm2, Protection};
use std::fmt;

/// A rule of fit. The order is that in which an explanation tells them: what
/// settles most parts first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// What the body fixes to.
    Attach,
    /// Contacts and conductors.
    Poles,
    /// Rated voltage.
    Voltage,
    /// Rated current at the ambient temperature.
    Current,
    /// How the cable leaves.
    Exit,
    /// Colour wanted.
    Colour,
    /// Protection wanted.
    Protection,
    /// Keying position that the end is pinned to.
    Pin,
    /// Crimp barrel and conductor area.
    Ferrule,
    /// Rear fitting and cable diameter.
    Seal,
    /// Rear fitting and cable diameter.
    BackShell,
    /// Whether the part can be had at all.
    Supply,
    /// One plug, one receptacle, equal interface and key.
    Mate,
    /// Different nets at one location, or anywhere.
    Keying,
}

impl Rule {
    /// All rules, in their order.
    pub const ALL: [Rule; 14] = [
        Rule::Attach,
        Rule::Poles,
        Rule::Voltage,
        Rule::Current,
        Rule::Exit,
        Rule::Colour,
        Rule::Protection,
        Rule::Pin,
        Rule::Ferrule,
        Rule::Seal,
        Rule::BackShell,
        Rule::Supply,
        Rule::Mate,
        Rule::Keying,
    ];

    /// Its short name.
    pub fn name(self) -> &'static str {
        match self {
            Rule::Attach => "attach",
            Rule::Poles => "poles",
            Rule::Voltage => "voltage",
            Rule::Current => "current",
            Rule::Exit => "exit",
            Rule::Colour => "colour",
            Rule::Protection => "protection",
            Rule::Pin => "pin",
            Rule::Ferrule => "ferrule",
            Rule::Seal => "seal",
            Rule::BackShell => "back shell",
            Rule::Supply => "supply",
            Rule::Mate => "mate",
            Rule::Keying => "keying",
        }
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

/// What a rule finds when it refuses a part at an end: both facts, unworded.
#[derive(Debug, Clone, PartialEq)]
pub struct Clash<'a> {
    /// The rule that refuses.
    pub rule: Rule,
    /// The end in question.
    pub end: &'a End,
    /// What it has against the part.
    pub fact: Fact<'a>,
}

/// The part's fact that does not go with the end's.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact<'a> {
    /// What the body fixes to, and what it should.
    Attach(&'a str, &'a str),
    /// The body's contacts.
    Poles(u32),
    /// Rated voltage of this body.
    Voltage(&'a Body),
    /// Current that this body carries at the ambient temperature.
    Current(&'a Body, Option<Celsius>),
    /// The body's limit is not above the ambient temperature.
    Hot(Celsius, Celsius),
    /// Exit of the part, and the one it should have (of the end, or of the body).
    Exit(Option<Exit>, Option<Exit>),
    /// Colour of the part, and the one wanted.
    Colour(Option<&'a str>, &'a str),
    /// Protection of the part, and the one wanted.
    Protection(Option<&'a Protection>, &'a Protection),
    /// Keying position of the body, and the one that the end is pinned to.
    Key(&'a str, &'a str),
    /// Smallest and largest conductor area.
    Area(Option<Mm2>, Option<Mm2>),
    /// Smallest and largest cable diameter.
    Diameter(Option<Mm>, Option<Mm>),
    /// Barrel or rear code of the part, where the body has another.
    Code(&'a str),
    /// A place on the body that nothing fills, the fittings of its code, and one of
    /// them that the diameter or area does not rule out, with what does.
    Unfilled(Place<'a>, Vec<&'a Part>, Option<(&'a Part, Box<Clash<'a>>)>),
    /// It cannot be had.
    Supply(Lack),
    /// No body of the other half with this interface and key fits.
    Partner(&'a Body),
    /// No body that fits takes this fitting's code.
    Unused(&'a str),
}

impl<'a> Clash<'a> {
    pub(crate) fn new(rule: Rule, end: &'a End, fact: Fact<'a>) -> Self {
        Clash { rule, end, fact }
    }
}
