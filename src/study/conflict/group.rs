//! The limits that a user can see and change, and a project without some of them.

use crate::catalog::{PartId, SupplierId};
use crate::fit::Side;
use crate::input::Input;
use crate::project::{Circuit, Distinct, Terminal};
use crate::units::Qty;
use std::collections::BTreeSet;

/// A limit by a name of the user's. The order is that of the tests: what the
/// project sets comes last.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// What a supplier has of a part.
    Stock(PartId, SupplierId),
    /// What is on hand, or ordered, of a part that nobody offers.
    OnHand(PartId),
    /// The least order of a supplier.
    MinOrder(SupplierId),
    /// The keying rule at a location.
    KeyingAt(String),
    /// That the keying rule reaches from one location to another.
    KeyingEverywhere,
    /// `max_variants`.
    MaxVariants,
    /// `max_suppliers`.
    MaxSuppliers,
    /// `max_lead_days`.
    LeadTime,
    /// A part in `exclude_parts`.
    ExcludePart(PartId),
    /// A supplier in `exclude_suppliers`.
    ExcludeSupplier(SupplierId),
    /// `from_key` or `to_key` of a circuit, by its place.
    Pin(usize, Side),
}

impl Group {
    /// Groups of one family are alike.
    pub(super) fn family(&self) -> std::mem::Discriminant<Group> {
        std::mem::discriminant(self)
    }
}

/// Pieces on hand where that is no limit: more than any project can need.
const PLENTY: Qty = Qty::MAX;

/// The groups that a project has.
pub fn groups(input: &Input) -> BTreeSet<Group> {
    let settings = &input.settings;
    let catalog = &input.catalog;
    let mut groups: BTreeSet<Group> = catalog
        .offers
        .iter()
        .filter(|offer| offer.stock.is_some())
        .map(|offer| Group::Stock(offer.part, offer.supplier))
        .collect();
    let on_hand = input.on_hand.iter().filter(|(_, qty)| **qty > 0);
    let ordered = input.ordered.iter().map(|row| row.part);
    let there = on_hand.map(|(part, _)| *part).chain(ordered);
    let unsold = there.filter(|part| catalog.offers_of(*part).next().is_none());
    groups.extend(unsold.map(Group::OnHand));
    let sellers = (0..).map(SupplierId).zip(&catalog.suppliers);
    let least = sellers.filter(|(_, s)| s.min_order.is_some_and(|least| least.is_positive()));
    groups.extend(least.map(|(id, _)| Group::MinOrder(id)));
    groups.extend(keying(input));
    let limits = [
        settings.max_variants.map(|_| Group::MaxVariants),
        settings.max_suppliers.map(|_| Group::MaxSuppliers),
        settings.max_lead_days.map(|_| Group::LeadTime),
    ];
    groups.extend(limits.into_iter().flatten());
    let parts = settings.exclude_parts.iter();
    groups.extend(parts.filter_map(|p| catalog.find(p).map(Group::ExcludePart)));
    let suppliers = settings.exclude_suppliers.iter();
    groups.extend(suppliers.filter_map(|s| catalog.find_supplier(s).map(Group::ExcludeSupplier)));
    groups.extend(input.circuits.iter().enumerate().flat_map(pins));
    groups
}

fn keying(input: &Input) -> BTreeSet<Group> {
    let keying = &input.settings.keying;
    if keying.distinct == Distinct::Off {
        return BTreeSet::new();
    }
    let terminals = input.circuits.iter().flat_map(|c| [&c.from, &c.to]);
    let mut groups: BTreeSet<Group> = terminals
        .filter(|terminal| terminal.attach.is_some())
        .filter(|terminal| !keying.ignore_at.contains(&terminal.location))
        .map(|terminal| Group::KeyingAt(terminal.location.clone()))
        .collect();
    if keying.distinct == Distinct::Everywhere {
        groups.insert(Group::KeyingEverywhere);
    }
    groups
}

fn pins((place, circuit): (usize, &Circuit)) -> impl Iterator<Item = Group> {
    let pinned = |terminal: &Terminal| terminal.attach.is_some() && terminal.key.is_some();
    let sides = [
        (Side::From, pinned(&circuit.from)),
        (Side::To, pinned(&circuit.to)),
    ];
    sides
        .into_iter()
        .filter(|(_, pinned)| *pinned)
        .map(move |(side, _)| Group::Pin(place, side))
}

/// The project without these limits.
pub fn relaxed(input: &Input, lifted: &BTreeSet<Group>) -> Input {
    let mut input = input.clone();
    for group in lifted {
        lift(&mut input, group);
    }
    input
}

fn lift(input: &mut Input, group: &Group) {
    let settings = &mut input.settings;
    match group {
        Group::Stock(part, supplier) => set_stock(input, *part, *supplier, None),
        Group::OnHand(part) => {
            input.on_hand.insert(*part, PLENTY);
        }
        Group::MinOrder(supplier) => {
            if let Some(supplier) = input.catalog.suppliers.get_mut(supplier.0 as usize) {
                supplier.min_order = None;
            }
        }
        Group::KeyingAt(location) => {
            settings.keying.ignore_at.insert(location.clone());
        }
        Group::KeyingEverywhere => settings.keying.distinct = Distinct::ByLocation,
        Group::MaxVariants => settings.max_variants = None,
        Group::MaxSuppliers => settings.max_suppliers = None,
        Group::LeadTime => settings.max_lead_days = None,
        Group::ExcludePart(part) => {
            let code = &input.catalog.part(*part).code;
            settings.exclude_parts.remove(code);
        }
        Group::ExcludeSupplier(supplier) => {
            let name = &input.catalog.supplier(*supplier).name;
            settings.exclude_suppliers.remove(name);
        }
        Group::Pin(circuit, side) => set_pin(input, *circuit, *side, None),
    }
}

/// Changes what a supplier has of a part.
pub(super) fn set_stock(input: &mut Input, part: PartId, supplier: SupplierId, stock: Option<Qty>) {
    let offers = input.catalog.offers.iter_mut();
    for offer in offers.filter(|offer| (offer.part, offer.supplier) == (part, supplier)) {
        offer.stock = stock;
    }
}

/// Changes the key that an end of a circuit is pinned to.
pub(super) fn set_pin(input: &mut Input, circuit: usize, side: Side, key: Option<String>) {
    if let Some(circuit) = input.circuits.get_mut(circuit) {
        match side {
            Side::From => circuit.from.key = key,
            Side::To => circuit.to.key = key,
        }
    }
}
