//! Why no plan may exist although every end has a set: the limits that bind
//! ends and parts to one another, and what arithmetic alone can say of them.

use super::wording::{counted, list, plain};
use crate::fit::{Class, Fit, Identity};
use crate::input::Input;
use crate::project::Distinct;
use std::collections::{BTreeMap, BTreeSet};

/// The limits in force, one sentence each; where some can be shown to fail, those alone.
pub fn in_force(input: &Input, fit: &Fit) -> Vec<String> {
    let mut limits = short_of_keys(input, fit);
    if !limits.is_empty() {
        // What arithmetic shows needs no suspicion of the others.
        return limits;
    }
    let settings = &input.settings;
    if settings.keying.distinct == Distinct::ByLocation {
        limits.push(
            "keying: at one location, ends of different nets never share interface and key"
                .to_owned(),
        );
    }
    if let Some(most) = settings.max_variants {
        limits.push(format!(
            "max_variants: at most {}",
            counted(most.into(), "distinct part")
        ));
    }
    if let Some(most) = settings.max_suppliers {
        limits.push(format!(
            "max_suppliers: at most {}",
            counted(most.into(), "supplier")
        ));
    }
    limits.extend(of_suppliers(input));
    limits
}

/// Locations with more nets than there are keys for them.
fn short_of_keys(input: &Input, fit: &Fit) -> Vec<String> {
    let keying = &input.settings.keying;
    if keying.distinct == Distinct::Off {
        return Vec::new();
    }
    let mut places: BTreeMap<&str, (BTreeSet<&str>, BTreeSet<usize>)> = BTreeMap::new();
    for class in &fit.classes {
        if !keying.ignore_at.contains(&class.location) {
            let (nets, keys) = places.entry(&class.location).or_default();
            nets.insert(&class.net);
            keys.extend(identities(class));
        }
    }
    places
        .into_iter()
        .filter(|(_, (nets, keys))| keys.len() < nets.len())
        .map(|(location, (nets, keys))| {
            let nets: Vec<String> = nets.iter().map(|n| plain(n)).collect();
            let keys: Vec<String> = keys
                .iter()
                .filter_map(|&i| fit.identities.get(i))
                .map(name)
                .collect();
            format!(
                "keying at {}: {} ({}), but only {} fit there ({})",
                plain(location),
                counted(nets.len() as u64, "net"),
                list(&nets),
                counted(keys.len() as u64, "key"),
                list(&keys),
            )
        })
        .collect()
}

/// What both halves of a pair for this class can have.
fn identities(class: &Class) -> BTreeSet<usize> {
    let plugs: BTreeSet<usize> = class.plugs.iter().map(|c| c.identity).collect();
    class
        .receptacles
        .iter()
        .map(|c| c.identity)
        .filter(|i| plugs.contains(i))
        .collect()
}

fn name(identity: &Identity) -> String {
    plain(format!("{} {}", identity.interface, identity.key).trim())
}

fn of_suppliers(input: &Input) -> Vec<String> {
    let minimum: Vec<String> = input
        .catalog
        .suppliers
        .iter()
        .filter_map(|s| {
            let least = s.min_order?;
            Some(format!("{} {least} {}", plain(&s.name), s.currency))
        })
        .collect();
    let is_limited = input.catalog.offers.iter().any(|o| o.stock.is_some());
    let mut limits = Vec::new();
    if !minimum.is_empty() {
        limits.push(format!("min_order: {}", list(&minimum)));
    }
    if is_limited {
        limits.push("stock: no more is ordered than a supplier has".to_owned());
    }
    limits
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::PartId;
    use crate::fit::Choice;
    use crate::report::sample::{self, money};
    use crate::units::Gauge;

    /// One class for each net at the location `motor`, each of which can have
    /// either of two keys.
    fn fit(nets: &[&str]) -> Fit {
        let choice = |body: u32, identity| Choice {
            body: PartId(body),
            identity,
            slots: Vec::new(),
        };
        let identity = |key: &str| Identity {
            interface: "M8".into(),
            key: key.into(),
        };
        Fit {
            ends: Vec::new(),
            classes: nets
                .iter()
                .map(|net| Class {
                    ends: Vec::new(),
                    location: "motor".into(),
                    net: (*net).to_owned(),
                    gauge: Gauge::Awg(1),
                    plugs: vec![choice(3, 0), choice(4, 1)],
                    receptacles: vec![choice(5, 0), choice(6, 1)],
                    slots: Vec::new(),
                })
                .collect(),
            identities: vec![identity("A"), identity("B")],
            offers: Vec::new(),
        }
    }

    #[test]
    fn more_nets_than_keys_at_a_location() {
        let input = sample::input();
        assert_eq!(
            short_of_keys(&input, &fit(&["U", "V", "W"])),
            ["keying at motor: 3 nets (U, V and W), but only 2 keys fit there (M8 A and M8 B)"]
        );
        assert!(short_of_keys(&input, &fit(&["U", "V"])).is_empty());
    }

    #[test]
    fn the_keying_rule_can_be_off_or_leave_a_location_out() {
        let mut input = sample::input();
        input.settings.keying.ignore_at.insert("motor".into());
        assert!(short_of_keys(&input, &fit(&["U", "V", "W"])).is_empty());
        input.settings.keying.ignore_at.clear();
        input.settings.keying.distinct = Distinct::Off;
        assert!(in_force(&input, &fit(&["U", "V", "W"])).is_empty());
    }

    #[test]
    fn what_is_shown_to_fail_stands_alone() {
        let mut input = sample::input();
        input.settings.max_variants = Some(7);
        assert_eq!(in_force(&input, &fit(&["U", "V", "W"])).len(), 1);
        assert_eq!(in_force(&input, &fit(&["U", "V"])).len(), 2);
    }

    #[test]
    fn only_limits_that_are_given_are_named() {
        let mut input = sample::input();
        let plain = in_force(&input, &fit(&["U"]));
        assert_eq!(plain.len(), 1);
        assert!(plain[0].starts_with("keying:"));
        input.settings.max_variants = Some(7);
        input.settings.max_suppliers = Some(1);
        input.catalog.suppliers[1].min_order = Some(money("50"));
        input.catalog.offers[0].stock = Some(3);
        assert_eq!(
            in_force(&input, &fit(&["U"]))[1..],
            [
                "max_variants: at most 7 distinct parts",
                "max_suppliers: at most 1 supplier",
                "min_order: West & Co 50.00 USD",
                "stock: no more is ordered than a supplier has",
            ]
        );
    }
}
