//! The limits that a user can see and change, and a project without some of them.

use crate::catalog::{OfferId, PartId, SupplierId};
use crate::fit::Side;
use crate::input::Input;
use crate::project::{Circuit, Distinct, Terminal};
use crate::units::Qty;
use std::collections::BTreeSet;

/// A limit by a name that the user knows. The order of the variants is the order of
/// the tests: what the project sets comes last.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// What a supplier has of a part, by one offer.
    Stock(OfferId),
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
    /// The list of a net in `keying.keys`.
    NetKeys(String),
    /// `from_interface` or `to_interface` of a circuit, by its place.
    Face(usize, Side),
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
    let offers = (0..).map(OfferId).zip(&catalog.offers);
    let mut groups: BTreeSet<Group> = offers
        .filter(|(_, offer)| offer.stock.is_some())
        .map(|(id, _)| Group::Stock(id))
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
    let nets = input.circuits.iter().flat_map(Circuit::nets);
    let listed = nets.filter(|net| settings.keying.keys.contains_key(net));
    groups.extend(listed.map(Group::NetKeys));
    groups.extend(input.circuits.iter().enumerate().flat_map(wanted));
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

/// The interfaces and keys that the ends of a circuit ask for. What a device has built
/// in is a fact, no limit.
fn wanted((place, circuit): (usize, &Circuit)) -> impl Iterator<Item = Group> {
    let sides = [(Side::From, &circuit.from), (Side::To, &circuit.to)];
    let open =
        |(_, terminal): &(Side, &Terminal)| terminal.attach.is_some() && !terminal.is_built_in();
    let of_one = move |(side, terminal): (Side, &Terminal)| {
        let face = (terminal.interface.as_ref()).map(|_| Group::Face(place, side));
        let pin = terminal.key.as_ref().map(|_| Group::Pin(place, side));
        [face, pin].into_iter().flatten()
    };
    sides.into_iter().filter(open).flat_map(of_one)
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
        Group::Stock(offer) => set_stock(input, *offer, None),
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
        Group::NetKeys(net) => {
            settings.keying.keys.remove(net);
        }
        Group::Face(circuit, side) => set_face(input, *circuit, *side, None),
        Group::Pin(circuit, side) => set_pin(input, *circuit, *side, None),
    }
}

/// Changes what a supplier has by an offer.
pub(super) fn set_stock(input: &mut Input, offer: OfferId, stock: Option<Qty>) {
    if let Some(offer) = input.catalog.offers.get_mut(offer.0 as usize) {
        offer.stock = stock;
    }
}

/// Changes the key that an end of a circuit is pinned to.
pub(super) fn set_pin(input: &mut Input, circuit: usize, side: Side, key: Option<String>) {
    if let Some(terminal) = terminal(input, circuit, side) {
        terminal.key = key;
    }
}

/// Changes the interface that an end of a circuit asks for.
pub(super) fn set_face(input: &mut Input, circuit: usize, side: Side, face: Option<String>) {
    if let Some(terminal) = terminal(input, circuit, side) {
        terminal.interface = face;
    }
}

fn terminal(input: &mut Input, circuit: usize, side: Side) -> Option<&mut Terminal> {
    let circuit = input.circuits.get_mut(circuit)?;
    Some(match side {
        Side::From => &mut circuit.from,
        Side::To => &mut circuit.to,
    })
}
