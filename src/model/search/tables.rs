//! What a need of so many pieces costs: worked out when it is asked for, and
//! remembered for a while.
//!
//! How much is remembered does not grow with the pieces that may be needed: a
//! rule of spares can ask for a billion.

use crate::model::problem::{Offer, Part, Problem};
use crate::model::terms;
use crate::units::Qty;
use std::cell::Cell;

/// The cheapest purchase for a need.
#[derive(Debug, Clone, Copy)]
pub struct Buy {
    /// Goods with duty in the project's currency; infinite where the part can't be had.
    pub cost: f64,
    /// Up to two orders; none where packs is 0.
    pub orders: [Lot; 2],
}

/// Packs from one offer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// By place in `Problem::suppliers`.
    pub supplier: u32,
    /// By place in `Problem::offers`.
    pub offer: u32,
    /// Packs.
    pub packs: Qty,
    /// Goods in the supplier's units of money.
    pub goods: f64,
}

const NO_LOT: Lot = Lot {
    supplier: 0,
    offer: 0,
    packs: 0,
    goods: 0.0,
};

impl Default for Buy {
    fn default() -> Self {
        NOTHING
    }
}

/// No purchase.
const NOTHING: Buy = Buy {
    cost: 0.0,
    orders: [NO_LOT; 2],
};

/// So many needs of one part are remembered at the most.
const MOST_SLOTS: usize = 256;

/// So many needs of all parts together.
const ALL_SLOTS: usize = 1 << 18;

/// For each part the cheapest purchase for a need, from the suppliers that are
/// open, each part by itself.
#[derive(Debug, Clone)]
pub struct Tables<'a> {
    problem: &'a Problem,
    /// For each supplier, whether it may be bought from.
    open: Vec<bool>,
    of_part: Vec<Memory>,
}

/// What is remembered of one part: each need has one slot, which it shares with
/// the needs that differ from it by a multiple of the number of slots.
#[derive(Debug, Clone)]
struct Memory {
    /// The most that can be needed.
    most: Qty,
    /// Their number is a power of two. An empty slot says that no pieces cost nothing.
    slots: Vec<Slot>,
}

#[derive(Debug, Clone, Default)]
struct Slot {
    need: Cell<Qty>,
    buy: Cell<Buy>,
}

/// What [`Tables::toggle`] changed.
#[derive(Debug)]
pub struct Before {
    supplier: usize,
    of_part: Vec<(usize, Memory)>,
}

impl<'a> Tables<'a> {
    /// The tables for a set of open suppliers.
    pub fn new(problem: &'a Problem, open: Vec<bool>) -> Tables<'a> {
        let each = slots_of_each(problem.parts.len());
        let known = |part: &Part| {
            let most = part.most_needed();
            Memory::new(most, slots_for(most, each))
        };
        Tables {
            problem,
            open,
            of_part: problem.parts.iter().map(known).collect(),
        }
    }

    /// For each supplier, whether it may be bought from.
    pub fn open(&self) -> &[bool] {
        &self.open
    }

    /// Opens or closes a supplier, which leaves what is known of most parts as it is.
    pub fn toggle(&mut self, supplier: usize) -> Before {
        self.open[supplier] = !self.open[supplier];
        let problem = self.problem;
        let sells =
            |part: &Part| (part.offers.iter()).any(|&o| problem.offers[o].supplier == supplier);
        let of_part = (self.of_part.iter_mut().enumerate())
            .filter(|(p, _)| sells(&problem.parts[*p]))
            .map(|(p, known)| {
                let anew = Memory::new(known.most, known.slots.len());
                (p, std::mem::replace(known, anew))
            })
            .collect();
        Before { supplier, of_part }
    }

    /// Takes a toggle back.
    pub fn restore(&mut self, before: Before) {
        self.open[before.supplier] = !self.open[before.supplier];
        for (part, known) in before.of_part {
            self.of_part[part] = known;
        }
    }

    /// The cheapest purchase for a need of a part.
    pub fn buy(&self, part: usize, need: Qty) -> Buy {
        let known = &self.of_part[part];
        let need = need.min(known.most);
        let slot = &known.slots[need as usize & (known.slots.len() - 1)];
        if slot.need.get() != need {
            slot.buy.set(self.cheapest(&self.problem.parts[part], need));
            slot.need.set(need);
        }
        slot.buy.get()
    }

    /// The cheapest way to buy what is missing: from one offer, or all of one
    /// offer's stock and the rest from another. Where a supplier has several offers of
    /// the part, also whole packs of one offer and the rest from another.
    fn cheapest(&self, part: &Part, need: Qty) -> Buy {
        let missing = need.saturating_sub(part.on_hand);
        if missing == 0 {
            return NOTHING;
        }
        let mut best = self.single(part, missing);
        let supplier = |o: &usize| self.problem.offers[*o].supplier;
        let is_packed = |pair: &[usize]| supplier(&pair[0]) == supplier(&pair[1]);
        let in_packs = part.offers.windows(2).any(is_packed);
        for (o, offer) in self.offers(part) {
            for step in &offer.breaks {
                let packs = match in_packs {
                    true => step.up.min(missing / offer.pack),
                    false => step.up,
                };
                let pieces = packs * offer.pack;
                if pieces >= missing || packs < step.lo {
                    continue;
                }
                let rest = self.single(part, missing - pieces);
                let cost = packs as f64 * terms::pack(step) + rest.cost;
                if rest.orders[0].offer != o && cost < best.cost {
                    best = Buy {
                        cost,
                        orders: [lot(o, offer, packs, step.pack_goods), rest.orders[0]],
                    };
                }
            }
        }
        best
    }

    fn single(&self, part: &Part, missing: Qty) -> Buy {
        let mut best = Buy {
            cost: f64::INFINITY,
            ..NOTHING
        };
        for (o, offer) in self.offers(part) {
            let packs = missing.div_ceil(offer.pack);
            for step in offer.breaks.iter().filter(|b| b.up >= packs) {
                let packs = packs.max(step.lo);
                let cost = packs as f64 * terms::pack(step);
                if cost < best.cost {
                    best.cost = cost;
                    best.orders[0] = lot(o, offer, packs, step.pack_goods);
                }
            }
        }
        best
    }

    /// The offers of a part from suppliers that are open.
    fn offers(&self, part: &Part) -> impl Iterator<Item = (u32, &'a Offer)> {
        let offers = part.offers.iter();
        let offers = offers.map(|&o| (o as u32, &self.problem.offers[o]));
        offers.filter(|(_, offer)| self.open[offer.supplier])
    }
}

impl Memory {
    fn new(most: Qty, slots: usize) -> Memory {
        Memory {
            most,
            slots: vec![Slot::default(); slots],
        }
    }
}

/// How many slots each of so many parts has at the most: a power of two.
fn slots_of_each(parts: usize) -> usize {
    let each = (ALL_SLOTS / parts.max(1)).clamp(1, MOST_SLOTS);
    1 << each.ilog2()
}

/// How many slots a part needs of which `most` pieces can be needed: a power of two.
fn slots_for(most: Qty, each: usize) -> usize {
    match usize::try_from(most) {
        Ok(most) if most < each => (most + 1).next_power_of_two(),
        _ => each,
    }
}

fn lot(o: u32, offer: &Offer, packs: Qty, pack_goods: f64) -> Lot {
    Lot {
        supplier: offer.supplier as u32,
        offer: o,
        packs,
        goods: packs as f64 * pack_goods,
    }
}
