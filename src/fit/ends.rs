//! Where mated pairs are needed.

use super::end::{End, Side};
use crate::project::{Cable, Circuit};

/// The ends of all circuits: of each conductor, or of each multi-core cable,
/// `from` before `to`. A side that wants no connector has no end.
pub fn ends(circuits: &[Circuit]) -> Vec<End> {
    let mut ends = Vec::new();
    for (place, circuit) in circuits.iter().enumerate() {
        for core in cores(circuit) {
            for side in [Side::From, Side::To] {
                ends.extend(end(place, circuit, &core, side));
            }
        }
    }
    ends
}

/// A conductor with a cable of its own, or all conductors that share a cable.
struct Core {
    /// Net; for a multi-core cable all its nets joined by a space.
    net: String,
    /// Conductors.
    poles: u32,
}

fn cores(circuit: &Circuit) -> Vec<Core> {
    let single = |net: &String| Core {
        net: net.clone(),
        poles: 1,
    };
    match circuit.cable {
        Cable::Single => circuit.conductors.iter().map(single).collect(),
        Cable::Multi => vec![Core {
            net: circuit.conductors.join(" "),
            poles: u32::try_from(circuit.conductors.len()).unwrap_or(u32::MAX),
        }],
    }
}

/// One end of a core; none where that side wants no connector. `place` is the place of
/// the circuit among all circuits.
fn end(place: usize, circuit: &Circuit, core: &Core, side: Side) -> Option<End> {
    let terminal = match side {
        Side::From => &circuit.from,
        Side::To => &circuit.to,
    };
    Some(End {
        circuit: place,
        machine: circuit.machine,
        copies: circuit.copies,
        net: core.net.clone(),
        branch: circuit.branch.clone(),
        side,
        location: terminal.location.clone(),
        gauge: circuit.gauge,
        area: circuit.gauge.area(),
        cable_od: circuit.cable_od,
        current: circuit.current,
        voltage: circuit.voltage,
        poles: core.poles,
        attach: terminal.attach.clone()?,
        exit: terminal.exit,
        ip: circuit.ip.clone(),
        colour: circuit.colour.clone(),
        interface: terminal.interface.clone(),
        key: terminal.key.clone(),
        wants: terminal.wants.clone(),
    })
}
