//! The limits that a user can see and change, and a project without some of them.

use crate::catalog::{OfferId, PartId, SupplierId};
use crate::fit::Side;
use crate::input::Input;
use crate::project::{Circuit, Distinct, Settings, Terminal};
use crate::units::Qty;
use std::collections::BTreeSet;

/// A machine by its place, and all machines of the same project with it: what their files
/// say holds for all of them, so it can only be changed for all. The first of them stands
/// for all. In a project 0.
pub type Machine = usize;

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
    /// The keying rule at a location of a machine.
    KeyingAt(Machine, String),
    /// That the keying rule of a machine reaches from one location to another.
    KeyingEverywhere(Machine),
    /// `max_variants`.
    MaxVariants,
    /// `max_suppliers`.
    MaxSuppliers,
    /// `max_lead_days`.
    LeadTime,
    /// A part in `exclude_parts`; of a purchase as a whole, or of one of its machines.
    ExcludePart(Option<Machine>, PartId),
    /// A supplier in `exclude_suppliers`.
    ExcludeSupplier(SupplierId),
    /// The list of a net of a machine in `keying.keys`.
    NetKeys(Machine, String),
    /// `from_interface` or `to_interface` of a circuit, by its place; of machines with one
    /// project the circuit of the first.
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
    groups.extend(excluded(input, None, &settings.exclude_parts));
    for machine in first_of_each(input) {
        let own = &input.rules(machine).exclude_parts;
        groups.extend(excluded(input, Some(machine), own));
    }
    let suppliers = settings.exclude_suppliers.iter();
    groups.extend(suppliers.filter_map(|s| catalog.find_supplier(s).map(Group::ExcludeSupplier)));
    let circuits = || (input.circuits.iter().enumerate()).filter(|(_, c)| is_first(input, c));
    for (_, circuit) in circuits() {
        let lists = &input.rules(circuit.machine).keying.keys;
        let listed = circuit.nets().into_iter();
        let listed = listed.filter(|net| lists.contains_key(net));
        groups.extend(listed.map(|net| Group::NetKeys(circuit.machine, net)));
    }
    groups.extend(circuits().flat_map(wanted));
    groups
}

/// The first machine of each project of a purchase; none in a project.
fn first_of_each(input: &Input) -> impl Iterator<Item = Machine> {
    let all = 0..input.machines.len();
    all.filter(|machine| input.first_sharing(*machine) == *machine)
}

/// True for a circuit of a machine that stands for all machines of its project.
fn is_first(input: &Input, circuit: &Circuit) -> bool {
    input.first_sharing(circuit.machine) == circuit.machine
}

fn excluded<'a>(
    input: &'a Input,
    machine: Option<Machine>,
    codes: &'a BTreeSet<String>,
) -> impl Iterator<Item = Group> {
    let parts = codes.iter().filter_map(|code| input.catalog.find(code));
    parts.map(move |part| Group::ExcludePart(machine, part))
}

fn keying(input: &Input) -> BTreeSet<Group> {
    let mut groups = BTreeSet::new();
    for circuit in input.circuits.iter().filter(|c| is_first(input, c)) {
        let machine = circuit.machine;
        let keying = &input.rules(machine).keying;
        if keying.distinct == Distinct::Off {
            continue;
        }
        let ends = [&circuit.from, &circuit.to].into_iter();
        let ends = ends.filter(|terminal| terminal.attach.is_some());
        let seen = ends.filter(|terminal| !keying.ignore_at.contains(&terminal.location));
        groups.extend(seen.map(|end| Group::KeyingAt(machine, end.location.clone())));
        if keying.distinct == Distinct::Everywhere {
            groups.insert(Group::KeyingEverywhere(machine));
        }
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
        Group::KeyingAt(machine, location) => of_machine(input, *machine, |settings| {
            settings.keying.ignore_at.insert(location.clone());
        }),
        Group::KeyingEverywhere(machine) => of_machine(input, *machine, |settings| {
            settings.keying.distinct = Distinct::ByLocation;
        }),
        Group::MaxVariants => settings.max_variants = None,
        Group::MaxSuppliers => settings.max_suppliers = None,
        Group::LeadTime => settings.max_lead_days = None,
        Group::ExcludePart(machine, part) => {
            let code = input.catalog.part(*part).code.clone();
            match machine {
                Some(machine) => of_machine(input, *machine, |settings| {
                    settings.exclude_parts.remove(&code);
                }),
                None => {
                    settings.exclude_parts.remove(&code);
                }
            }
        }
        Group::ExcludeSupplier(supplier) => {
            let name = &input.catalog.supplier(*supplier).name;
            settings.exclude_suppliers.remove(name);
        }
        Group::NetKeys(machine, net) => of_machine(input, *machine, |settings| {
            settings.keying.keys.remove(net);
        }),
        Group::Face(circuit, side) => set_face(input, *circuit, *side, None),
        Group::Pin(circuit, side) => set_pin(input, *circuit, *side, None),
    }
}

/// Changes what is asked of the parts of a machine, and of all machines of its project.
pub(super) fn of_machine(input: &mut Input, machine: Machine, mut edit: impl FnMut(&mut Settings)) {
    for machine in input.sharing(machine) {
        edit(input.rules_mut(machine));
    }
}

/// Changes what a supplier has by an offer.
pub(super) fn set_stock(input: &mut Input, offer: OfferId, stock: Option<Qty>) {
    if let Some(offer) = input.catalog.offers.get_mut(offer.0 as usize) {
        offer.stock = stock;
    }
}

/// Changes the key that an end of a circuit is pinned to.
pub(super) fn set_pin(input: &mut Input, circuit: usize, side: Side, key: Option<&String>) {
    terminals(input, circuit, side, |terminal| terminal.key = key.cloned());
}

/// Changes the interface that an end of a circuit asks for.
pub(super) fn set_face(input: &mut Input, circuit: usize, side: Side, face: Option<&String>) {
    terminals(input, circuit, side, |terminal| {
        terminal.interface = face.cloned()
    });
}

/// Changes an end of a circuit, and that of the like circuits of machines with the same
/// project.
fn terminals(input: &mut Input, circuit: usize, side: Side, edit: impl Fn(&mut Terminal)) {
    for place in twins(input, circuit) {
        if let Some(circuit) = input.circuits.get_mut(place) {
            edit(match side {
                Side::From => &mut circuit.from,
                Side::To => &mut circuit.to,
            });
        }
    }
}

/// The circuits, by place, that are one row of one file.
pub(super) fn twins(input: &Input, circuit: usize) -> Vec<usize> {
    let Some(of) = input.circuits.get(circuit) else {
        return Vec::new();
    };
    let machines = input.sharing(of.machine);
    let name = of.own_name(&input.machines);
    let is_twin =
        |c: &Circuit| machines.contains(&c.machine) && c.own_name(&input.machines) == name;
    let all = input.circuits.iter().enumerate();
    all.filter(|(place, other)| *place == circuit || (machines.len() > 1 && is_twin(other)))
        .map(|(place, _)| place)
        .collect()
}
