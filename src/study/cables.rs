//! The cables of a project with what a plan puts on their ends.

use crate::fit::{self, Side};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::project::{self, Circuit};

/// A plan that is for other circuits than the project has now.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan is for other ends than circuits.csv has now: {0}")]
pub struct Mismatch(pub String);

/// One cable: a conductor of its own, or a multi-core cable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cable<'a> {
    /// Place of its circuit in `circuits.csv`, from 1.
    pub number: usize,
    /// Its circuit.
    pub circuit: &'a Circuit,
    /// Net; for a multi-core cable all its nets joined by a space.
    pub net: String,
    /// The `from` end, then the `to` end.
    pub ends: [CableEnd<'a>; 2],
}

/// Where a cable arrives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CableEnd<'a> {
    /// Which end.
    pub side: Side,
    /// Location.
    pub location: &'a str,
    /// What the plan puts on the end; none where no connector is wanted.
    pub pair: Option<&'a EndRecord>,
}

/// Every cable, in the order of the circuits and of their conductors.
///
/// # Errors
/// [`Mismatch`] where the plan has an end that the circuits do not have, or the
/// other way round.
pub fn cables<'a>(input: &'a Input, plan: &'a Plan) -> Result<Vec<Cable<'a>>, Mismatch> {
    check(input, plan)?;
    let mut pairs = plan.ends.iter();
    let mut cables = Vec::new();
    for (place, circuit) in input.circuits.iter().enumerate() {
        for net in nets(circuit) {
            let mut end = |side, terminal: &'a project::Terminal| CableEnd {
                side,
                location: &terminal.location,
                pair: terminal.attach.as_ref().and_then(|_| pairs.next()),
            };
            let ends = [end(Side::From, &circuit.from), end(Side::To, &circuit.to)];
            cables.push(Cable {
                number: place + 1,
                circuit,
                net,
                ends,
            });
        }
    }
    Ok(cables)
}

/// Checks that each end of the plan is the end at the same place among the circuits' ends.
fn check(input: &Input, plan: &Plan) -> Result<(), Mismatch> {
    let wanted = fit::ends(&input.circuits);
    for (end, record) in wanted.iter().zip(&plan.ends) {
        let circuit = input.circuits.get(end.circuit).map(|c| c.name.as_str());
        let is_same = circuit == Some(&record.circuit)
            && end.net == record.net
            && end.side.word() == record.end
            && end.location == record.location
            && end.gauge.to_string() == record.gauge;
        if !is_same {
            return Err(Mismatch(format!(
                "circuit {}, net {}, {} {}",
                record.circuit, record.net, record.end, record.location
            )));
        }
    }
    if wanted.len() == plan.ends.len() {
        return Ok(());
    }
    Err(Mismatch(format!(
        "{} ends in the plan, {} in circuits.csv",
        plan.ends.len(),
        wanted.len()
    )))
}

fn nets(circuit: &Circuit) -> Vec<String> {
    match circuit.cable {
        project::Cable::Single => circuit.conductors.clone(),
        project::Cable::Multi => vec![circuit.conductors.join(" ")],
    }
}
