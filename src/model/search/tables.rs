//! What a need of so many pieces costs, looked up.

use crate::model::sets::{Offer, Part, Sets};
use crate::units::Qty;
use std::sync::Arc;

/// The cheapest purchase for a need.
#[derive(Debug, Clone, Copy)]
pub struct Buy {
    /// Goods with duty in the project's currency; infinite where it can't be had.
    pub cost: f64,
    /// Up to two orders; none where packs is 0.
    pub orders: [Lot; 2],
}

/// Packs from one offer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// By place in `Sets::suppliers`.
    pub supplier: u32,
    /// By place in `Sets::offers`.
    pub offer: u32,
    /// Packs.
    pub packs: u32,
    /// Goods in the supplier's currency.
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

/// For each part, for each need from 0 to the most, the cheapest purchase from
/// the suppliers that are open, each part by itself.
#[derive(Debug, Clone)]
pub struct Tables {
    of_part: Vec<Arc<Vec<Buy>>>,
}

impl Tables {
    /// The tables for a set of open suppliers.
    pub fn new(sets: &Sets, open: &[bool]) -> Tables {
        let of_part = (sets.parts.iter())
            .map(|part| Arc::new(buys(sets, part, open)))
            .collect();
        Tables { of_part }
    }

    /// The tables once supplier `k` alone is opened or closed, which leaves
    /// those of most parts as they are.
    pub fn toggled(&self, sets: &Sets, open: &[bool], k: usize) -> Tables {
        let sells = |part: &Part| part.offers.iter().any(|&o| sets.offers[o].supplier == k);
        let of_part = (sets.parts.iter().zip(&self.of_part))
            .map(|(part, old)| match sells(part) {
                true => Arc::new(buys(sets, part, open)),
                false => Arc::clone(old),
            })
            .collect();
        Tables { of_part }
    }

    /// The cheapest purchase for a need of a part.
    pub fn buy(&self, part: usize, need: Qty) -> &Buy {
        let buys = &self.of_part[part];
        &buys[(need as usize).min(buys.len() - 1)]
    }
}

/// For each need of a part, from 0 to the most.
fn buys(sets: &Sets, part: &Part, open: &[bool]) -> Vec<Buy> {
    let offers: Vec<(u32, &Offer)> = (part.offers.iter())
        .map(|&o| (o as u32, &sets.offers[o]))
        .filter(|(_, offer)| open[offer.supplier])
        .collect();
    (0..=part.most_needed())
        .map(|need| cheapest(&offers, need.saturating_sub(part.on_hand)))
        .collect()
}

/// The cheapest way to `missing` pieces from one offer, or from all of one
/// offer's stock and the rest from another.
fn cheapest(offers: &[(u32, &Offer)], missing: Qty) -> Buy {
    if missing == 0 {
        return NOTHING;
    }
    let mut best = single(offers, missing);
    for &(o, offer) in offers {
        for step in &offer.breaks {
            let pieces = step.up * offer.pack;
            if pieces >= missing {
                continue;
            }
            let rest = single(offers, missing - pieces);
            let cost = step.up as f64 * step.pack_cost + rest.cost;
            if rest.orders[0].offer != o && cost < best.cost {
                best = Buy {
                    cost,
                    orders: [lot(o, offer, step.up, step.pack_goods), rest.orders[0]],
                };
            }
        }
    }
    best
}

fn single(offers: &[(u32, &Offer)], missing: Qty) -> Buy {
    let mut best = Buy {
        cost: f64::INFINITY,
        ..NOTHING
    };
    for &(o, offer) in offers {
        let packs = missing.div_ceil(offer.pack);
        for step in offer.breaks.iter().filter(|b| b.up >= packs) {
            let packs = packs.max(step.lo);
            let cost = packs as f64 * step.pack_cost;
            if cost < best.cost {
                best.cost = cost;
                best.orders[0] = lot(o, offer, packs, step.pack_goods);
            }
        }
    }
    best
}

fn lot(o: u32, offer: &Offer, packs: Qty, pack_goods: f64) -> Lot {
    Lot {
        supplier: offer.supplier as u32,
        offer: o,
        packs: packs as u32,
        goods: packs as f64 * pack_goods,
    }
}
