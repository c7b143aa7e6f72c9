//! The project with keys that the catalog does not have.

use super::group::{Machine, of_machine};
use crate::catalog::{Body, Catalog, Part, PartId, Spec};
use crate::fit::{Class, Fit, Identity};
use crate::input::Input;
use std::collections::BTreeMap;

/// For each interface that fits somewhere, the key with the most bodies: what
/// a further key would be like.
pub(super) fn models(fit: &Fit, sees: impl Fn(&Class) -> bool) -> Vec<Identity> {
    let mut bodies: BTreeMap<usize, usize> = BTreeMap::new();
    for class in fit.classes.iter().filter(|class| sees(class)) {
        for choice in class.receptacles.iter().chain(&class.plugs) {
            *bodies.entry(choice.identity).or_default() += 1;
        }
    }
    let mut best: BTreeMap<&str, (usize, &Identity)> = BTreeMap::new();
    for (place, count) in bodies {
        let Some(identity) = fit.identities.get(place) else {
            continue;
        };
        let entry = best.entry(&identity.interface).or_insert((count, identity));
        if count > entry.0 {
            *entry = (count, identity);
        }
    }
    best.into_values().map(|(_, id)| id.clone()).collect()
}

/// The project with so many more keys, each with the bodies and prices of the model,
/// and with these keys in the lists of these nets of a machine.
pub(super) fn with_keys(
    base: &Input,
    model: &Identity,
    more: usize,
    (machine, nets): (Machine, &[String]),
) -> Input {
    let is_model = |b: &Body| (&b.interface, &b.key) == (&model.interface, &model.key);
    let bodies: Vec<(PartId, Part)> = (base.catalog.iter())
        .filter(|(_, part)| part.body().is_some_and(is_model))
        .filter(|(_, part)| !base.excludes(machine, &part.code))
        .map(|(id, part)| (id, part.clone()))
        .collect();
    let mut input = base.clone();
    for n in 0..more {
        let key = key_name(&base.catalog, n);
        for (id, part) in &bodies {
            let code = add_like(&mut input.catalog, *id, part, &key);
            // A machine that does without the model does without what is like it.
            for own in &mut input.machines {
                if own.settings.exclude_parts.contains(&part.code) {
                    own.settings.exclude_parts.insert(code.clone());
                }
            }
        }
        of_machine(&mut input, machine, |settings| {
            let lists = settings.keying.keys.iter_mut();
            for (_, keys) in lists.filter(|(net, _)| nets.contains(net)) {
                keys.insert(key.clone());
            }
        });
    }
    input
}

/// Adds a part like `part` but with another key, and its offers; gives its code. The new
/// code sorts last, so that the ids of all other parts stay.
fn add_like(catalog: &mut Catalog, id: PartId, part: &Part, key: &str) -> String {
    let mut part = part.clone();
    if let Spec::Body(body) = &mut part.spec {
        body.key = key.to_owned();
    }
    let code = format!("{}{:06}", char::MAX, catalog.parts.len());
    part.code = code.clone();
    let new = PartId(catalog.parts.len() as u32);
    let offers: Vec<_> = catalog.offers_of(id).map(|(_, o)| o.clone()).collect();
    catalog.parts.push(part);
    for mut offer in offers {
        offer.part = new;
        catalog.offers.push(offer);
    }
    code
}

/// A key that no body has.
fn key_name(catalog: &Catalog, n: usize) -> String {
    let bodies = || catalog.parts.iter().filter_map(Part::body);
    let longest = bodies().map(|b| b.key.chars().count()).max().unwrap_or(0);
    format!("{}{n}", "+".repeat(longest + 1))
}
