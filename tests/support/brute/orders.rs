//! The orders of one part: pieces from each offer.

use super::exact;
use super::purchase::{Market, Mode, Need};
use couplet::catalog::{Offer, OfferId, SupplierId};
use couplet::units::Qty;
use rust_decimal::Decimal;

/// An offer that may be used. A mask has the bit of each open supplier.
pub struct Stall<'a> {
    pub id: OfferId,
    pub offer: &'a Offer,
    pub bit: u32,
    /// Cost of one unit of the supplier's money, duty included, and without.
    pub landed: Decimal,
    pub rate: Decimal,
}

/// One way to buy one part.
#[derive(Clone)]
pub struct Order {
    pub cost: i128,
    pub surplus: i128,
    /// In suppliers' currencies.
    pub goods: Vec<(SupplierId, i128)>,
    pub lines: Vec<(OfferId, Qty)>,
}

/// The orders of one part that cost no more than a limit.
pub struct Orders<'m> {
    need: Need,
    stalls: Vec<&'m Stall<'m>>,
    mode: &'m Mode,
    /// None where only the cheapest is wanted.
    limit: Option<i128>,
    /// What a piece of surplus counts.
    value: Decimal,
    pub found: Vec<Order>,
    /// True if the limit left something out.
    pub cut: bool,
    /// How many were looked at, in part or as a whole.
    pub tried: u64,
    /// The most that may be; beyond, the orders found are not all.
    most_tried: u64,
}

/// Pieces, price of a piece, and from where.
type Line<'m> = (&'m Stall<'m>, Qty, Decimal);

impl<'m> Orders<'m> {
    /// All that cost no more than the limit.
    pub fn of(market: &'m Market, need: Need, mode: &'m Mode, limit: Option<i128>) -> Orders<'m> {
        let stalls = market.stalls(need.part);
        let mut orders = Orders {
            need,
            stalls: stalls.filter(|s| mode.mask & s.bit != 0).collect(),
            mode,
            limit,
            value: market.surplus_value(need.part),
            found: Vec::new(),
            cut: false,
            tried: 0,
            most_tried: market.most_steps.saturating_sub(market.steps),
        };
        orders.go(0, 0, 0, &mut Vec::new());
        orders
    }

    fn go(&mut self, at: usize, qty: Qty, cost: i128, lines: &mut Vec<Line<'m>>) {
        self.tried += 1;
        let Some(&stall) = self.stalls.get(at) else {
            if qty >= self.need.qty {
                self.keep(order(self.need, self.value, cost, lines));
            }
            return;
        };
        self.go(at + 1, qty, cost, lines);
        let pack = stall.offer.pack;
        let mut pieces = stall.offer.breaks[0].min_qty.div_ceil(pack).max(1) * pack;
        while self.pays(stall, pieces) && self.tried <= self.most_tried {
            let price = stall
                .offer
                .break_at(pieces)
                .expect("above the least")
                .unit_price
                .0;
            let more = cost + exact(price * stall.landed * Decimal::from(pieces));
            if self.limit().is_none_or(|limit| more <= limit) {
                lines.push((stall, pieces, price));
                self.go(at + 1, qty + pieces, more, lines);
                lines.pop();
            } else {
                self.cut = true;
                if pieces >= stall.offer.breaks.last().expect("a break").min_qty {
                    return; // dearer with every pack from here on
                }
            }
            pieces += pack;
        }
    }

    fn limit(&self) -> Option<i128> {
        self.limit.or(self.found.first().map(|o| o.cost))
    }

    fn keep(&mut self, order: Order) {
        if self.limit.is_none() {
            self.found.retain(|o| o.cost < order.cost);
            if !self.found.is_empty() {
                return;
            }
        }
        self.found.push(order);
    }

    /// False from where a pack less is always cheaper and still enough: one
    /// pack beyond the need, every break and the goal of the supplier. In the
    /// same break, a pack less costs less, covers the need alone, and reaches
    /// the goal alone, so no cheapest plan has it.
    fn pays(&self, stall: &Stall, pieces: Qty) -> bool {
        if stall.offer.stock.is_some_and(|stock| pieces > stock) {
            return false;
        }
        let last = stall.offer.breaks.last().expect("a break");
        let goal = self.mode.goal(stall.offer.supplier);
        let pack = i128::from(stall.offer.pack);
        let lowest = stall.offer.breaks.iter().map(|b| b.unit_price.0).min();
        let lowest = exact(lowest.expect("a break"));
        assert!(lowest > 0, "the reference is for prices above zero");
        let enough = i128::from(self.need.qty.max(last.min_qty));
        let to_goal = goal.div_euclid(lowest) + 1;
        i128::from(pieces) < enough.max(to_goal) + pack
    }
}

fn order(need: Need, value: Decimal, cost: i128, lines: &[Line]) -> Order {
    let pieces: Qty = lines.iter().map(|(_, qty, _)| qty).sum();
    let surplus = Decimal::from(pieces - need.qty) * value;
    Order {
        cost,
        surplus: exact(surplus),
        goods: lines
            .iter()
            .map(|(stall, qty, price)| (stall.offer.supplier, exact(price * Decimal::from(*qty))))
            .collect(),
        lines: lines
            .iter()
            .map(|(stall, qty, _)| (stall.id, *qty))
            .collect(),
    }
}
