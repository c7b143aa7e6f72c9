//! Which parts can serve which end: the rules of fit, each in a file of its own.
//!
//! The outcome is a list of classes: ends that differ in nothing that a rule
//! or a price can see, with every body that can serve them and, for each code
//! that a body brings, the ferrules, seals and back shells that go with it.

mod checks;
mod classes;
mod ends;
mod explain;
mod force;
mod missing;
mod place;
mod rule;
mod shelf;
mod survey;
mod words;

pub mod attach;
pub mod back_shell;
pub mod colour;
pub mod current;
pub mod exit;
pub mod ferrule;
pub mod keying;
pub mod mate;
pub mod pin;
pub mod poles;
pub mod protection;
pub mod seal;
pub mod supply;
pub mod voltage;

pub use classes::fit;
pub use ends::ends;
pub use explain::{EndName, Group, Kept, Near, NoSet, NoSetAt, Refusal, refusals};
pub use force::{force, halves};
pub use missing::Missing;
pub use place::{FITTINGS, Place, places};
pub use rule::{Clash, Fact, Rule};

use crate::catalog::{Exit, Fitting, Half, OfferId, PartId};
use crate::units::{Ampere, Gauge, Mm, Mm2, Protection, Qty, Volt};

/// Which end of a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// At the circuit's `from`.
    From,
    /// At the circuit's `to`.
    To,
}

impl Side {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Side::From => "from",
            Side::To => "to",
        }
    }
}

/// Where one conductor, or one multi-core cable, arrives and needs a mated pair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct End {
    /// Place of its circuit in `Input::circuits`.
    pub circuit: usize,
    /// Net; for a multi-core cable all its nets joined by a space.
    pub net: String,
    /// Which end.
    pub side: Side,
    /// Location.
    pub location: String,
    /// Conductor gauge.
    pub gauge: Gauge,
    /// Conductor area.
    pub area: Mm2,
    /// Cable outer diameter.
    pub cable_od: Mm,
    /// Continuous current per contact.
    pub current: Ampere,
    /// Working voltage.
    pub voltage: Volt,
    /// Conductors that arrive here together.
    pub poles: u32,
    /// What the receptacle attaches to.
    pub attach: String,
    /// Exit wanted of the plug.
    pub exit: Option<Exit>,
    /// Protection wanted.
    pub ip: Option<Protection>,
    /// Colour wanted.
    pub colour: Option<String>,
    /// Keying position that both halves must have.
    pub key: Option<String>,
}

/// Parts that can fill one place on a body: the fittings of one kind for one code.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slot {
    /// On which half.
    pub half: Half,
    /// What kind.
    pub fitting: Fitting,
    /// Barrel code for a ferrule, rear code for a seal or back shell.
    pub code: String,
    /// For back shells, the exit of the bodies in question.
    pub exit: Option<Exit>,
    /// Each part that fits and can be had, by id, with the pieces that one body takes.
    /// All the pieces on one body are of one part.
    pub options: Vec<(PartId, Qty)>,
}

/// A body that can serve a class.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Choice {
    /// The plug or receptacle.
    pub body: PartId,
    /// Its identity, by place in [`Fit::identities`].
    pub identity: usize,
    /// The places on it that must be filled, by place in [`Class::slots`].
    pub slots: Vec<usize>,
}

/// Ends that differ in nothing: same location, net, gauge and possible parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Places in [`Fit::ends`], rising; at least one.
    pub ends: Vec<usize>,
    /// Location of all of them.
    pub location: String,
    /// Net of all of them.
    pub net: String,
    /// Gauge of all of them.
    pub gauge: Gauge,
    /// Receptacles by id; each has a plug that mates.
    pub receptacles: Vec<Choice>,
    /// Plugs by id; each has a receptacle that mates.
    pub plugs: Vec<Choice>,
    /// Sorted by half, fitting, code, exit; each has at least one option.
    pub slots: Vec<Slot>,
}

/// Mating face and keying position.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Identity {
    /// Mating face.
    pub interface: String,
    /// Keying position; empty where the interface has none.
    pub key: String,
}

/// Everything that fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// In the order of the circuits, then conductors, then from before to.
    pub ends: Vec<End>,
    /// In the order of their first ends.
    pub classes: Vec<Class>,
    /// Sorted; all identities of the bodies that some class can use.
    pub identities: Vec<Identity>,
    /// Offers that may be used (no exclusion, lead time in reach, stock of at
    /// least the least quantity), rising.
    pub offers: Vec<OfferId>,
}
