//! Which ends need a set, and which record serves each.

use super::finding::{EndName, Finding, differs};
use crate::catalog::{BUILT_IN, Body, Half};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::project::{Cable, Circuit, Settings, Terminal};
use std::collections::BTreeMap;

/// An end that needs a set.
pub(super) struct Wanted<'a> {
    pub(super) name: EndName,
    pub(super) circuit: &'a Circuit,
    /// Name of its machine; empty in a project.
    pub(super) machine: &'a str,
    /// How many of its machine are built.
    pub(super) copies: u64,
    /// The settings of its machine, or of the project.
    pub(super) rules: &'a Settings,
    pub(super) terminal: &'a Terminal,
    /// What the receptacle fixes to.
    pub(super) attach: &'a str,
    /// True where the device has its receptacle already.
    pub(super) is_built_in: bool,
    /// Conductors that arrive together.
    pub(super) poles: usize,
}

/// An end with the record that serves it.
pub(super) struct Served<'a> {
    pub(super) wanted: &'a Wanted<'a>,
    pub(super) record: &'a EndRecord,
}

impl<'a> Served<'a> {
    /// The half's part code as recorded; none for a receptacle that is not bought.
    pub(super) fn code(&self, half: Half) -> Option<&'a str> {
        match half {
            Half::Plug => Some(&self.record.plug),
            Half::Receptacle => self.record.receptacle.as_deref(),
        }
    }

    /// The halves that are to be chosen here.
    pub(super) fn halves(&self) -> &'static [Half] {
        match self.wanted.is_built_in {
            true => &[Half::Plug],
            false => &[Half::Receptacle, Half::Plug],
        }
    }

    /// The half's body, if the catalog has one of that half under that code.
    pub(super) fn body<'i>(&self, input: &'i Input, half: Half) -> Option<&'i Body> {
        let id = input.catalog.find(self.code(half)?)?;
        let body = input.catalog.part(id).body()?;
        (body.half == half).then_some(body)
    }
}

/// Every end that needs a set: by circuit, then conductor, from before to.
pub(super) fn wanted(input: &Input) -> Vec<Wanted<'_>> {
    let mut wanted = Vec::new();
    for circuit in &input.circuits {
        let machine = input.machines.get(circuit.machine);
        let (nets, poles) = match circuit.cable {
            Cable::Single => (circuit.conductors.clone(), 1),
            Cable::Multi => (vec![circuit.conductors.join(" ")], circuit.conductors.len()),
        };
        for net in nets {
            for (side, terminal) in [("from", &circuit.from), ("to", &circuit.to)] {
                let Some(attach) = terminal.attach.as_deref() else {
                    continue;
                };
                wanted.push(Wanted {
                    name: EndName {
                        circuit: circuit.name.clone(),
                        net: net.clone(),
                        side: side.to_owned(),
                    },
                    circuit,
                    machine: machine.map_or("", |machine| &machine.name),
                    copies: machine.map_or(1, |machine| machine.count),
                    rules: machine.map_or(&input.settings, |machine| &machine.settings),
                    terminal,
                    attach,
                    is_built_in: attach == BUILT_IN,
                    poles,
                });
            }
        }
    }
    wanted
}

/// The records that serve an end that is wanted; tells of all others, of ends
/// without a record, and of a wrong order.
pub(super) fn served<'a>(
    wanted: &'a [Wanted<'a>],
    plan: &'a Plan,
    found: &mut Vec<Finding>,
) -> Vec<Served<'a>> {
    let by_name: BTreeMap<&EndName, usize> = wanted
        .iter()
        .enumerate()
        .map(|(place, end)| (&end.name, place))
        .collect();
    let mut seen = vec![false; wanted.len()];
    let mut served = Vec::new();
    let mut last = 0;
    let mut out_of_order = None;
    for record in &plan.ends {
        let name = name_of(record);
        let Some((&place, end)) = by_name
            .get(&name)
            .and_then(|place| Some((place, wanted.get(*place)?)))
        else {
            found.push(Finding::UnknownEnd(name));
            continue;
        };
        if place < last && out_of_order.is_none() {
            out_of_order = Some(name.clone());
        }
        last = place.max(last);
        match seen.get_mut(place) {
            Some(seen) if !*seen => *seen = true,
            _ => found.push(Finding::DoubledEnd(name)),
        }
        served.push(Served {
            wanted: end,
            record,
        });
    }
    let missing = wanted.iter().zip(&seen).filter(|(_, seen)| !**seen);
    found.extend(missing.map(|(end, _)| Finding::MissingEnd(end.name.clone())));
    found.extend(out_of_order.map(Finding::EndsOutOfOrder));
    for end in &served {
        facts(end, found);
        receptacle(end, found);
    }
    served
}

/// A receptacle stands in the record just where the device has none.
fn receptacle(end: &Served, found: &mut Vec<Finding>) {
    let name = end.wanted.name.clone();
    match (end.wanted.is_built_in, &end.record.receptacle) {
        (true, Some(_)) => found.push(Finding::UnneededReceptacle(name)),
        (false, None) => found.push(Finding::MissingReceptacle(name)),
        (true, None) | (false, Some(_)) => {}
    }
}

/// In a purchase the machine stands before the circuit.
pub(super) fn name_of(record: &EndRecord) -> EndName {
    let circuit = &record.circuit;
    EndName {
        circuit: match record.machine.is_empty() {
            true => circuit.clone(),
            false => format!("{}/{circuit}", record.machine),
        },
        net: record.net.clone(),
        side: record.end.clone(),
    }
}

fn facts(end: &Served, found: &mut Vec<Finding>) {
    let Served { wanted, record } = end;
    let name = &wanted.name;
    let facts = [
        differs(name, "machine", &record.machine, wanted.machine),
        differs(
            name,
            "location",
            &record.location,
            &wanted.terminal.location,
        ),
        differs(name, "gauge", &record.gauge, wanted.circuit.gauge),
    ];
    let facts = facts.into_iter().flatten();
    found.extend(facts.map(|fact| Finding::End(name.clone(), fact)));
}
