//! Where a mated pair is needed, and what is asked of it there.

use crate::catalog::{BUILT_IN, Exit, Value, Values};
use crate::input::Input;
use crate::project::Settings;
use crate::units::{Ampere, Celsius, Gauge, Implied, Mm, Mm2, Protection, Qty, Volt};
use std::collections::BTreeSet;

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
    /// Place of its machine in `Input::machines`; 0 in a project.
    pub machine: usize,
    /// How often its machine is built, each time with the same set here.
    pub copies: Qty,
    /// Net; for a multi-core cable all its nets joined by a space.
    pub net: String,
    /// The fused branch of its circuit; may be empty.
    pub branch: String,
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
    /// What the receptacle attaches to, or [`BUILT_IN`].
    pub attach: String,
    /// Exit wanted of the plug.
    pub exit: Option<Exit>,
    /// Protection wanted.
    pub ip: Option<Protection>,
    /// Colour wanted.
    pub colour: Option<String>,
    /// Mating face that both halves must have.
    pub interface: Option<String>,
    /// Keying position that both halves must have.
    pub key: Option<String>,
    /// What is wanted of each attribute of the catalog.
    pub wants: Values,
}

impl End {
    /// True if the device has its receptacle already: a plug alone is chosen.
    pub fn is_built_in(&self) -> bool {
        self.attach == BUILT_IN
    }
}

/// What a rule can see of an end. Ends with equal needs have the same
/// possible parts.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Need<'a> {
    area: Mm2,
    cable_od: Mm,
    current: Ampere,
    voltage: Volt,
    poles: u32,
    attach: &'a str,
    exit: Option<Exit>,
    ip: Option<&'a Protection>,
    colour: Option<&'a str>,
    interface: Option<&'a str>,
    key: Option<&'a str>,
    /// The keys of its net, where the project gives it some.
    net_keys: Option<&'a BTreeSet<String>>,
    wants: &'a [Option<Value>],
    /// What its machine lays down for all its ends.
    ambient: Option<Celsius>,
    protection: Implied,
    excluded: &'a BTreeSet<String>,
}

impl<'a> Need<'a> {
    /// Names every field of an end, so that a new one is either left out on
    /// purpose or needed.
    pub fn new(input: &'a Input, end: &'a End) -> Self {
        let Settings {
            keying,
            ambient,
            protection,
            exclude_parts,
            ..
        } = input.rules(end.machine);
        let End {
            circuit: _,
            machine: _,
            copies: _,
            net,
            branch: _,
            side: _,
            location: _,
            gauge: _,
            area,
            cable_od,
            current,
            voltage,
            poles,
            attach,
            exit,
            ip,
            colour,
            interface,
            key,
            wants,
        } = end;
        Need {
            area: *area,
            cable_od: *cable_od,
            current: *current,
            voltage: *voltage,
            poles: *poles,
            attach,
            exit: *exit,
            ip: ip.as_ref(),
            colour: colour.as_deref(),
            interface: interface.as_deref(),
            key: key.as_deref(),
            net_keys: keying.keys.get(net),
            wants,
            ambient: *ambient,
            protection: *protection,
            excluded: exclude_parts,
        }
    }
}
