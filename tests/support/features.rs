//! Which features a project has, and which matter to its best plan.

use super::brute::{self, Best};
use couplet::catalog::{CRIMP, Fitting, Kind, PartId, Spec};
use couplet::input::Input;
use couplet::project::{Cable, Distinct, Per};
use couplet::units::{Money, Qty};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// A feature by name, and whether it is there.
pub type Feature = (&'static str, bool);

/// All features, of the input and of the plan.
pub fn all(input: &Input, best: Option<&Best>) -> Vec<Feature> {
    let mut all = in_project(input);
    all.extend(in_catalog(input));
    all.extend(in_plan(input, best));
    all
}

fn in_project(input: &Input) -> Vec<Feature> {
    let settings = &input.settings;
    let circuits = &input.circuits;
    let rules = || settings.spares.values();
    let kind = |kind| settings.spares.contains_key(&kind);
    let mut terminals = circuits.iter().flat_map(|c| [&c.from, &c.to]);
    let ends = brute::ends(input);
    let keyed = settings.keying.distinct == Distinct::ByLocation;
    let ignored = |location: &String| settings.keying.ignore_at.contains(location);
    vec![
        (
            "multi-core",
            circuits
                .iter()
                .any(|c| c.cable == Cable::Multi && c.conductors.len() > 1),
        ),
        (
            "three conductors",
            circuits.iter().any(|c| c.conductors.len() == 3),
        ),
        (
            "joint",
            terminals.any(|t| t.attach.as_deref() == Some(CRIMP)),
        ),
        (
            "exit wanted",
            circuits.iter().any(|c| c.from.exit.or(c.to.exit).is_some()),
        ),
        ("protection wanted", circuits.iter().any(|c| c.ip.is_some())),
        ("colour wanted", circuits.iter().any(|c| c.colour.is_some())),
        (
            "two gauges",
            circuits.iter().any(|c| c.gauge != circuits[0].gauge),
        ),
        ("four ends or more", ends.len() >= 4),
        ("ambient", settings.ambient.is_some()),
        ("line cost", settings.line_cost > Money::ZERO),
        ("most variants", settings.max_variants.is_some()),
        ("most suppliers", settings.max_suppliers.is_some()),
        ("most lead days", settings.max_lead_days.is_some()),
        ("excluded part", !settings.exclude_parts.is_empty()),
        ("excluded supplier", !settings.exclude_suppliers.is_empty()),
        ("keying off", !keyed),
        (
            "keying ignored",
            keyed && ends.iter().any(|e| ignored(&e.location)),
        ),
        ("spares per gauge", rules().any(|r| r.per == Per::Gauge)),
        ("spares per part", rules().any(|r| r.per == Per::Part)),
        ("plug spares", kind(Kind::Plug)),
        ("receptacle spares", kind(Kind::Receptacle)),
        ("ferrule spares", kind(Kind::Ferrule)),
        ("seal spares", kind(Kind::Seal)),
        ("back shell spares", kind(Kind::BackShell)),
    ]
}

fn in_catalog(input: &Input) -> Vec<Feature> {
    let catalog = &input.catalog;
    let bodies = || catalog.parts.iter().filter_map(|p| p.body());
    let has = |fitting| bodies().any(|b| b.includes.contains(&fitting));
    let mut barrels: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for body in bodies() {
        if let Some(barrel) = &body.barrel {
            barrels.entry(barrel).or_default().insert(&body.interface);
        }
    }
    let offers = || catalog.offers.iter();
    let suppliers = || catalog.suppliers.iter();
    vec![
        ("ferrule in the box", has(Fitting::Ferrule)),
        ("seal in the box", has(Fitting::Seal)),
        ("back shell in the box", has(Fitting::BackShell)),
        (
            "shared barrel",
            barrels.values().any(|faces| faces.len() > 1),
        ),
        ("two poles or more", bodies().any(|b| b.poles > 1)),
        ("breaks", offers().any(|o| o.breaks.len() > 1)),
        ("packs", offers().any(|o| o.pack > 1)),
        ("least quantity", offers().any(|o| o.breaks[0].min_qty > 1)),
        ("stock", offers().any(|o| o.stock.is_some())),
        ("three suppliers", catalog.suppliers.len() == 3),
        ("one supplier", catalog.suppliers.len() == 1),
        (
            "duty",
            suppliers().any(|s| s.duty_percent.0 > Decimal::ZERO),
        ),
        (
            "currency",
            suppliers().any(|s| s.currency != input.settings.currency),
        ),
        ("minimum order", suppliers().any(|s| s.min_order.is_some())),
        ("free shipping", suppliers().any(|s| s.free_over.is_some())),
    ]
}

/// What the best plan makes use of.
fn in_plan(input: &Input, best: Option<&Best>) -> Vec<Feature> {
    let names = [
        "feasible",
        "infeasible",
        "surplus",
        "split over suppliers",
        "two suppliers bought from",
        "ships free",
        "at a higher break",
        "limited by stock",
        "from on hand",
        "die bought",
        "owned die used",
        "ordered die used",
        "two pieces of back shell",
        "fittings on a receptacle",
        "two keys of a face",
    ];
    let there = best.map_or([false; 15], |best| of_plan(input, best));
    let mut there = names.into_iter().zip(there).collect::<Vec<_>>();
    there[0].1 = best.is_some();
    there[1].1 = best.is_none();
    there
}

fn of_plan(input: &Input, best: &Best) -> [bool; 15] {
    let catalog = &input.catalog;
    let lines = || best.lines.iter().map(|&(id, qty)| (catalog.offer(id), qty));
    let uses = || best.sets.iter().flat_map(|set| &set.uses);
    let parts: BTreeSet<PartId> = uses().map(|u| u.part).collect();
    let sold: BTreeSet<PartId> = lines().map(|(offer, _)| offer.part).collect();
    let sellers: BTreeSet<_> = lines().map(|(offer, _)| offer.supplier).collect();
    let dies = || {
        parts
            .iter()
            .filter_map(|&part| match &catalog.part(part).spec {
                Spec::Ferrule(f) => f.die,
                _ => None,
            })
    };
    let is_ordered = |die| input.dies_ordered.iter().any(|row| row.die == die);
    let keys: BTreeSet<_> = best.sets.iter().map(|set| &set.identity).collect();
    let faces: BTreeSet<_> = keys.iter().map(|identity| &identity.0).collect();
    [
        true,
        false,
        best.surplus > Decimal::ZERO,
        sold.len() < best.lines.len(),
        sellers.len() > 1,
        sellers.iter().any(|&seller| {
            let own = lines().filter(|(offer, _)| offer.supplier == seller);
            let goods: Decimal = own.map(|(offer, qty)| goods(offer, qty)).sum();
            let supplier = catalog.supplier(seller);
            supplier.free_over.is_some_and(|over| goods >= over.0)
        }),
        lines().any(|(offer, qty)| offer.breaks.get(1).is_some_and(|b| b.min_qty <= qty)),
        lines().any(|(o, qty)| o.stock.is_some_and(|stock| qty + o.pack > stock)),
        parts.iter().any(|part| input.on_hand.contains_key(part)),
        dies().any(|die| !catalog.die(die).owned && !is_ordered(die)),
        dies().any(|die| catalog.die(die).owned),
        dies().any(is_ordered),
        uses().any(|u| u.qty == 2 && catalog.part(u.part).kind() == Kind::BackShell),
        best.sets.iter().any(|set| {
            let receptacle = set.receptacle.and_then(|id| catalog.part(id).body());
            receptacle.is_some_and(|b| b.needs(Fitting::Ferrule).is_some())
        }),
        faces.len() < keys.len(),
    ]
}

fn goods(offer: &couplet::catalog::Offer, qty: Qty) -> Decimal {
    let price = offer.break_at(qty).map(|b| b.unit_price.0);
    price.unwrap_or_default() * Decimal::from(qty)
}
