//! Where a mated pair is needed, and what is asked of it there.

use crate::catalog::Exit;
use crate::units::{Ampere, Gauge, Mm, Mm2, Protection, Volt};

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
    key: Option<&'a str>,
}

impl<'a> From<&'a End> for Need<'a> {
    /// Names every field of an end, so that a new field is either left out on
    /// purpose or needed.
    fn from(end: &'a End) -> Self {
        let End {
            circuit: _,
            net: _,
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
            key,
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
            key: key.as_deref(),
        }
    }
}
