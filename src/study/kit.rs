//! Kits: what goes into the bag of each circuit, and what is left over. A machine that is
//! built several times has its bags for each copy.

use super::copies::{Built, Copies};
use crate::catalog::Kind;
use crate::plan::{EndRecord, Plan};
use crate::units::Qty;
use std::collections::BTreeMap;

/// All bags of a plan. Together they hold what is bought and used of the stock
/// on hand and of what is ordered, to the piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kits {
    /// A bag for each circuit that takes a part, in the order of the plan. In a purchase
    /// each stands once, see [`Kits::bags`].
    pub circuits: Vec<Bag>,
    /// Spares by the project's rules; by kind, then part code.
    pub spares: Vec<Item>,
    /// Pieces bought beyond need and spares; by kind, then part code.
    pub surplus: Vec<Item>,
}

impl Kits {
    /// The bags to pack for these machines, by machine, copy and circuit.
    pub fn bags<'k>(
        &'k self,
        copies: &'k Copies,
    ) -> impl Iterator<Item = (Option<&'k Built>, &'k Bag)> {
        copies.all.iter().flat_map(|copy| {
            let machine = copy.as_ref().map_or("", |built| built.machine.as_str());
            let own = self
                .circuits
                .iter()
                .filter(move |bag| bag.machine == machine);
            own.map(move |bag| (copy.as_ref(), bag))
        })
    }
}

/// The bag of one circuit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bag {
    /// Machine by name; empty in the plan of a project.
    pub machine: String,
    /// So many of these bags are packed: one for each copy of the machine.
    pub copies: Qty,
    /// Circuit by name.
    pub circuit: String,
    /// Where its ends are: `from` location, `to` location; none without a connector.
    pub locations: [Option<String>; 2],
    /// The parts, by kind, then part code.
    pub picks: Vec<Pick>,
}

/// One part of a bag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pick {
    /// Kind of the part.
    pub kind: Kind,
    /// Part code.
    pub part: String,
    /// The nets that the part is for, in the order of the plan.
    pub nets: Vec<String>,
    /// Pieces for the `from` end, then for the `to` end.
    pub at: [Qty; 2],
}

impl Pick {
    /// Pieces in the bag.
    pub fn qty(&self) -> Qty {
        self.at.iter().sum()
    }
}

/// Some pieces of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Kind of the part.
    pub kind: Kind,
    /// Part code.
    pub part: String,
    /// Pieces.
    pub qty: Qty,
}

/// A record that can't be put into bags.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum KitError {
    /// The record's own counts contradict one another.
    #[error(
        "the plan does not add up: {part} has {packed} to pack (fitted, spare and surplus), \
         but {there} from stock on hand and orders"
    )]
    Sum {
        /// Part code.
        part: String,
        /// Pieces that the ends take, with spares and surplus.
        packed: u128,
        /// Pieces that are bought, and used of the stock on hand and of what is ordered.
        there: u128,
    },
    /// An end takes a part that the plan does not count.
    #[error("the plan does not count {0}, which one of its ends takes")]
    Uncounted(String),
    /// A kind of part that is none of the five.
    #[error("{0:?} is no kind of part")]
    Kind(String),
}

/// Puts everything that the plan buys and takes from stock or from what is
/// ordered into bags.
///
/// # Errors
/// [`KitError`] where the record contradicts itself.
pub fn kits(plan: &Plan) -> Result<Kits, KitError> {
    let kits = Kits {
        circuits: bags(plan)?,
        spares: left(plan, |part| part.spare)?,
        surplus: left(plan, |part| part.surplus)?,
    };
    check(plan, &kits)?;
    Ok(kits)
}

type Picks = BTreeMap<(Kind, String), Pick>;

fn bags(plan: &Plan) -> Result<Vec<Bag>, KitError> {
    let mut bags: Vec<(Bag, Picks)> = Vec::new();
    for end in &plan.ends {
        let is_of = |bag: &Bag| (&bag.machine, &bag.circuit) == (&end.machine, &end.circuit);
        let at = bags.iter().position(|(bag, _)| is_of(bag));
        let at = at.unwrap_or_else(|| {
            let bag = Bag {
                machine: end.machine.clone(),
                copies: plan.copies(end),
                circuit: end.circuit.clone(),
                locations: [None, None],
                picks: Vec::new(),
            };
            bags.push((bag, Picks::new()));
            bags.len() - 1
        });
        if let Some((bag, picks)) = bags.get_mut(at) {
            let [from, to] = &mut bag.locations;
            let location = if end.end == "to" { to } else { from };
            *location = Some(end.location.clone());
            add(picks, end)?;
        }
    }
    let filled = bags.into_iter().map(|(bag, picks)| Bag {
        picks: picks.into_values().collect(),
        ..bag
    });
    Ok(filled.collect())
}

/// Both halves and all fittings of one end.
fn add(picks: &mut Picks, end: &EndRecord) -> Result<(), KitError> {
    let mut parts = Vec::new();
    parts.extend(
        end.receptacle
            .iter()
            .map(|part| (Kind::Receptacle, part, 1)),
    );
    parts.push((Kind::Plug, &end.plug, 1));
    for fitting in &end.fittings {
        parts.push((kind(&fitting.kind)?, &fitting.part, fitting.qty));
    }
    for (kind, part, qty) in parts {
        let pick = picks.entry((kind, part.clone())).or_insert_with(|| Pick {
            kind,
            part: part.clone(),
            nets: Vec::new(),
            at: [0, 0],
        });
        let [from, to] = &mut pick.at;
        let count = if end.end == "to" { to } else { from };
        *count = count.saturating_add(qty);
        if !pick.nets.contains(&end.net) {
            pick.nets.push(end.net.clone());
        }
    }
    Ok(())
}

fn kind(word: &str) -> Result<Kind, KitError> {
    Kind::from_word(word).ok_or_else(|| KitError::Kind(word.to_owned()))
}

fn left(plan: &Plan, count: fn(&crate::plan::PartRecord) -> Qty) -> Result<Vec<Item>, KitError> {
    let mut items = Vec::new();
    for part in plan.parts.iter().filter(|part| count(part) > 0) {
        items.push(Item {
            kind: kind(&part.kind)?,
            part: part.part.clone(),
            qty: count(part),
        });
    }
    items.sort_by(|a, b| (a.kind, &a.part).cmp(&(b.kind, &b.part)));
    Ok(items)
}

/// Pieces of each part over all bags of all copies.
fn packed(kits: &Kits) -> BTreeMap<&str, u128> {
    let picks = kits.circuits.iter().flat_map(|bag| {
        let copies = u128::from(bag.copies);
        bag.picks
            .iter()
            .map(move |pick| (&*pick.part, pick.at, copies))
    });
    let items = kits.spares.iter().chain(&kits.surplus);
    let items = items.map(|item| (&*item.part, [item.qty, 0], 1));
    let mut packed: BTreeMap<&str, u128> = BTreeMap::new();
    for (part, counts, copies) in picks.chain(items) {
        let count: u128 = counts.into_iter().map(u128::from).sum();
        *packed.entry(part).or_default() += count.saturating_mul(copies);
    }
    packed
}

fn check(plan: &Plan, kits: &Kits) -> Result<(), KitError> {
    let mut packed = packed(kits);
    for part in &plan.parts {
        let from = [part.on_hand_used, part.ordered_used, part.bought];
        let there: u128 = from.into_iter().map(u128::from).sum();
        let packed = packed.remove(part.part.as_str()).unwrap_or(0);
        if packed != there {
            return Err(KitError::Sum {
                part: part.part.clone(),
                packed,
                there,
            });
        }
    }
    match packed.keys().next() {
        Some(part) => Err(KitError::Uncounted((*part).to_owned())),
        None => Ok(()),
    }
}
