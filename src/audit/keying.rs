//! The keying rule: different nets, and branches of one net, never share a mating face
//! and keying position, at one location or anywhere.

use super::ends::Served;
use super::finding::{Finding, NetName};
use crate::catalog::Half;
use crate::input::Input;
use crate::project::Distinct;
use std::collections::{BTreeMap, BTreeSet};

/// Where a key may stand for one net alone.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Within<'a> {
    /// Empty in a project.
    machine: &'a str,
    /// None where the rule holds for the whole machine.
    location: Option<&'a str>,
}

pub(super) fn check(input: &Input, served: &[Served], found: &mut Vec<Finding>) {
    let mut nets: BTreeMap<(Within, &str, &str), BTreeSet<NetName>> = BTreeMap::new();
    for end in served {
        let keying = &end.wanted.rules.keying;
        let location = end.wanted.terminal.location.as_str();
        if keying.distinct == Distinct::Off || keying.ignore_at.contains(location) {
            continue;
        }
        let within = (keying.distinct == Distinct::ByLocation).then_some(location);
        for half in [Half::Plug, Half::Receptacle] {
            if let Some(body) = end.body(input, half) {
                // Circuits without a branch are all of one.
                let within = Within {
                    machine: end.wanted.machine,
                    location: within,
                };
                nets.entry((within, &body.interface, &body.key))
                    .or_default()
                    .insert(NetName {
                        net: end.wanted.name.net.clone(),
                        branch: end.wanted.circuit.branch.clone(),
                    });
            }
        }
    }
    let clashes = nets.into_iter().filter(|(_, nets)| nets.len() > 1);
    found.extend(
        clashes.map(|((within, interface, key), nets)| Finding::KeyingClash {
            machine: within.machine.to_owned(),
            location: within.location.map(str::to_owned),
            interface: interface.to_owned(),
            key: key.to_owned(),
            nets: nets.into_iter().collect(),
        }),
    );
}
