//! What a need of so many pieces costs, looked up.

use crate::model::sets::{Offer, Sets};
use crate::units::Qty;

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
    /// First entry of each part, and the end.
    start: Vec<usize>,
    buys: Vec<Buy>,
}

impl Tables {
    /// The tables for a set of open suppliers.
    pub fn new(sets: &Sets, open: &[bool]) -> Tables {
        let mut start = Vec::with_capacity(sets.parts.len() + 1);
        let mut buys = Vec::new();
        for part in &sets.parts {
            start.push(buys.len());
            let offers: Vec<(u32, &Offer)> = (part.offers.iter())
                .map(|&o| (o as u32, &sets.offers[o]))
                .filter(|(_, offer)| open[offer.supplier])
                .collect();
            for need in 0..=part.most_needed() {
                let missing = need.saturating_sub(part.on_hand);
                buys.push(cheapest(&offers, missing));
            }
        }
        start.push(buys.len());
        Tables { start, buys }
    }

    /// The cheapest purchase for a need of a part.
    pub fn buy(&self, part: usize, need: Qty) -> &Buy {
        let at = self.start[part] + need as usize;
        &self.buys[at.min(self.start[part + 1] - 1)]
    }
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
