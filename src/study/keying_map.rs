//! Which interface and key each net has at each location.

use crate::plan::Plan;
use std::collections::{BTreeMap, BTreeSet};

/// The pairs of one net at one location that have the same interface and key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keyed {
    /// Location.
    pub location: String,
    /// Net; for a multi-core cable all its nets joined by a space.
    pub net: String,
    /// Mating face.
    pub interface: String,
    /// Keying position; empty for an interface without keying.
    pub key: String,
    /// Mated pairs.
    pub pairs: u64,
    /// Circuits that arrive there, in the order of the plan.
    pub circuits: Vec<String>,
    /// Other nets at the location that mate with the same halves: possible only
    /// where the keying rule is off.
    pub shared_with: Vec<String>,
}

type Place<'p> = (&'p str, &'p str, &'p str, &'p str);

/// By location, net, interface and key.
pub fn keying_map(plan: &Plan) -> Vec<Keyed> {
    let mut places: BTreeMap<Place, (u64, Vec<String>)> = BTreeMap::new();
    let mut nets: BTreeMap<(&str, &str, &str), BTreeSet<&str>> = BTreeMap::new();
    for end in &plan.ends {
        let place = (&*end.location, &*end.net, &*end.interface, &*end.key);
        let (pairs, circuits) = places.entry(place).or_default();
        *pairs += 1;
        if !circuits.contains(&end.circuit) {
            circuits.push(end.circuit.clone());
        }
        let mating = (&*end.location, &*end.interface, &*end.key);
        nets.entry(mating).or_default().insert(&end.net);
    }
    let keyed = places.into_iter();
    keyed
        .map(|((location, net, interface, key), (pairs, circuits))| {
            let others = nets.get(&(location, interface, key)).into_iter().flatten();
            let others = others.filter(|other| **other != net);
            Keyed {
                location: location.to_owned(),
                net: net.to_owned(),
                interface: interface.to_owned(),
                key: key.to_owned(),
                pairs,
                circuits,
                shared_with: others.map(|other| (*other).to_owned()).collect(),
            }
        })
        .collect()
}
