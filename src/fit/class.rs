//! What fits: classes of ends, and for each the parts that can serve it.

use super::end::End;
use crate::catalog::{Exit, Fitting, Half, OfferId, PartId};
use crate::units::{Gauge, Qty};

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
    /// All pieces on one body are of one part.
    pub options: Vec<(PartId, Qty)>,
}

/// A body that can serve a class.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Choice {
    /// The plug or receptacle.
    pub body: PartId,
    /// Its identity, by place in [`Fit::identities`].
    pub identity: usize,
    /// Two halves of a class can be put together where this is equal. A body stands
    /// once for each way in which it can be: mostly once.
    pub mate: usize,
    /// The places on the body that must be filled, by place in [`Class::slots`].
    pub slots: Vec<usize>,
}

/// Ends that differ in nothing: same machine, location, net, branch, gauge and possible parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Places in [`Fit::ends`], rising; at least one.
    pub ends: Vec<usize>,
    /// The machine of all these ends, by place in `Input::machines`; 0 in a project.
    pub machine: usize,
    /// How often that machine is built.
    pub copies: Qty,
    /// Location of all these ends.
    pub location: String,
    /// Net of all these ends.
    pub net: String,
    /// Branch of all of them; may be empty.
    pub branch: String,
    /// Gauge of all of them.
    pub gauge: Gauge,
    /// Receptacles by id; each has a plug that mates. Empty where the device has its
    /// receptacle already.
    pub receptacles: Vec<Choice>,
    /// Plugs by id; each has a receptacle that mates, or mates with the built-in one.
    pub plugs: Vec<Choice>,
    /// Slots, sorted by half, fitting, code, exit; each slot has at least one option.
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

impl Class {
    /// True if the devices have their receptacles already: plugs alone are chosen.
    pub fn is_built_in(&self) -> bool {
        self.receptacles.is_empty()
    }
}

/// Everything that fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// The ends, in the order of the circuits, then conductors, then `from` before `to`.
    pub ends: Vec<End>,
    /// The classes, in the order of their first ends.
    pub classes: Vec<Class>,
    /// All identities of the bodies that some class can use, sorted.
    pub identities: Vec<Identity>,
    /// Offers that may be used (no exclusion, lead time in reach, stock of at
    /// least the least quantity), rising.
    pub offers: Vec<OfferId>,
}
