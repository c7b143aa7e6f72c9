//! Where mated pairs are needed.

use super::{End, Side};
use crate::project::{Cable, Circuit, Terminal};

/// The ends of all circuits: of each conductor, or of each multi-core cable,
/// `from` before `to`. A side that wants no connector has none.
pub fn ends(circuits: &[Circuit]) -> Vec<End> {
    let mut ends = Vec::new();
    for (place, circuit) in circuits.iter().enumerate() {
        for (net, poles) in cores(circuit) {
            let sides = [(Side::From, &circuit.from), (Side::To, &circuit.to)];
            for (side, terminal) in sides {
                ends.extend(end((place, circuit), (&net, poles), side, terminal));
            }
        }
    }
    ends
}

/// Each cable of a circuit: its net or nets, and how many conductors it has.
fn cores(circuit: &Circuit) -> Vec<(String, u32)> {
    match circuit.cable {
        Cable::Single => circuit.conductors.iter().map(|n| (n.clone(), 1)).collect(),
        Cable::Multi => {
            let poles = u32::try_from(circuit.conductors.len()).unwrap_or(u32::MAX);
            vec![(circuit.conductors.join(" "), poles)]
        }
    }
}

fn end(
    (place, circuit): (usize, &Circuit),
    (net, poles): (&str, u32),
    side: Side,
    terminal: &Terminal,
) -> Option<End> {
    Some(End {
        circuit: place,
        net: net.to_owned(),
        side,
        location: terminal.location.clone(),
        gauge: circuit.gauge,
        area: circuit.gauge.area(),
        cable_od: circuit.cable_od,
        current: circuit.current,
        voltage: circuit.voltage,
        poles,
        attach: terminal.attach.clone()?,
        exit: terminal.exit,
        ip: circuit.ip.clone(),
        colour: circuit.colour.clone(),
        key: terminal.key.clone(),
    })
}
