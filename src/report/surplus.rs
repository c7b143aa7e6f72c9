//! Why a plan buys more of a part than it fits and keeps as spare.

use crate::catalog::{Catalog, Offer, Supplier};
use crate::plan::{Order, OrderLine, PartRecord, Plan, Status};
use crate::study::offers;
use crate::units::{Money, Qty};
use std::fmt;

/// One reason why the surplus of a part pays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// The part is sold only in packs of so many pieces.
    Pack(Qty),
    /// The part is sold from so many pieces on.
    Least(Qty),
    /// A better price for more pieces.
    Break {
        /// Pieces that are bought.
        bought: (Qty, Money),
        /// The fewest pieces that would have done.
        fewest: (Qty, Money),
        /// True if the whole costs less, false if it costs the same.
        cheaper: bool,
    },
    /// With the surplus the goods reach free shipping at this supplier.
    FreeShipping(String),
    /// With the surplus the goods reach the minimum order of this supplier.
    MinOrder(String),
    /// No reason above holds alone: the plan as a whole is cheapest with the surplus.
    Whole,
    /// No reason above holds, and the plan is not proven cheapest.
    Unproven,
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::Pack(pack) => write!(f, "packs of {pack}"),
            Reason::Least(least) => write!(f, "sold from {least} on"),
            Reason::Break {
                bought: (qty, price),
                fewest: (fewer, dearer),
                cheaper,
            } => {
                let verb = if *cheaper {
                    "less than"
                } else {
                    "no more than"
                };
                write!(f, "{qty} at {price} cost {verb} {fewer} at {dearer}")
            }
            Reason::FreeShipping(name) => write!(f, "reaches free shipping at {name}"),
            Reason::MinOrder(name) => write!(f, "reaches the minimum order at {name}"),
            Reason::Whole => write!(f, "cheapest for the plan as a whole"),
            Reason::Unproven => write!(f, "not proven: fewer may be cheaper"),
        }
    }
}

/// Why the surplus of `part` pays, in the order of the suppliers; empty
/// without surplus.
pub fn why(catalog: &Catalog, plan: &Plan, part: &PartRecord) -> Vec<Reason> {
    if part.surplus == 0 {
        return Vec::new();
    }
    let mut reasons = Vec::new();
    for order in &plan.orders {
        for line in order.lines.iter().filter(|l| l.part == part.part) {
            for reason in of_line(catalog, order, line, part.surplus) {
                if !reasons.contains(&reason) {
                    reasons.push(reason);
                }
            }
        }
    }
    if reasons.is_empty() {
        reasons.push(match plan.status {
            Status::Optimal => Reason::Whole,
            Status::WithinGap | Status::TimeLimit => Reason::Unproven,
        });
    }
    reasons
}

/// The reasons that one order line gives: against the fewest pieces that this
/// supplier would have sold for what is needed.
fn of_line(catalog: &Catalog, order: &Order, line: &OrderLine, surplus: Qty) -> Vec<Reason> {
    let Some((supplier, offer)) = offer(catalog, order, line) else {
        return Vec::new();
    };
    let needed = line.qty.saturating_sub(surplus);
    let fewest = fewest(offer, needed);
    if fewest >= line.qty {
        return held_up(offer, needed).into_iter().collect();
    }
    let fewer_price = offer.break_at(fewest).map_or(Money::ZERO, |b| b.unit_price);
    let fewer_total = fewer_price.times(fewest);
    let mut reasons = Vec::new();
    if fewest > 0 && line.line_total <= fewer_total {
        reasons.push(Reason::Break {
            bought: (line.qty, line.unit_price),
            fewest: (fewest, fewer_price),
            cheaper: line.line_total < fewer_total,
        });
    }
    let goods_without = order.goods - line.line_total + fewer_total;
    reasons.extend(thresholds(supplier, order.goods, goods_without));
    reasons
}

fn offer<'c>(
    catalog: &'c Catalog,
    order: &Order,
    line: &OrderLine,
) -> Option<(&'c Supplier, &'c Offer)> {
    let (_, offer) = offers::offer(catalog, &order.supplier, &line.part, &line.sku)?;
    Some((catalog.supplier(offer.supplier), offer))
}

/// The fewest pieces, at least `needed`, that can be ordered; 0 where none are needed.
fn fewest(offer: &Offer, needed: Qty) -> Qty {
    if needed == 0 {
        return 0;
    }
    let pack = offer.pack.max(1);
    needed.max(least(offer)).div_ceil(pack) * pack
}

fn least(offer: &Offer) -> Qty {
    offer.breaks.first().map_or(1, |b| b.min_qty)
}

/// What keeps `needed` pieces from being ordered as they are.
fn held_up(offer: &Offer, needed: Qty) -> Option<Reason> {
    let pack = offer.pack.max(1);
    let least = least(offer);
    if needed.div_ceil(pack) * pack < least {
        return Some(Reason::Least(least));
    }
    (pack > 1).then_some(Reason::Pack(pack))
}

/// The thresholds of the supplier that the goods reach only with the surplus.
fn thresholds(supplier: &Supplier, goods: Money, without: Money) -> Vec<Reason> {
    let reached = |limit: Option<Money>| limit.is_some_and(|l| without < l && l <= goods);
    let mut reasons = Vec::new();
    if reached(supplier.free_over) && supplier.shipping.is_positive() {
        reasons.push(Reason::FreeShipping(supplier.name.clone()));
    }
    if reached(supplier.min_order) {
        reasons.push(Reason::MinOrder(supplier.name.clone()));
    }
    reasons
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample::{self, money};

    /// `needed` pieces of a ferrule, `bought` from Nord at the sample's offer
    /// with this pack, these breaks and thresholds.
    struct Case {
        pack: Qty,
        breaks: &'static [(Qty, &'static str)],
        needed: Qty,
        bought: Qty,
        free_over: Option<&'static str>,
        min_order: Option<&'static str>,
    }

    const PLAIN: Case = Case {
        pack: 1,
        breaks: &[(1, "1.60")],
        needed: 18,
        bought: 18,
        free_over: None,
        min_order: None,
    };

    fn said(case: Case) -> String {
        let (catalog, plan) = sample::one_line(&sample::OneLine {
            pack: case.pack,
            breaks: case.breaks,
            needed: case.needed,
            bought: case.bought,
            free_over: case.free_over.map(money),
            min_order: case.min_order.map(money),
        });
        let reasons = why(&catalog, &plan, &plan.parts[0]);
        let words: Vec<String> = reasons.iter().map(Reason::to_string).collect();
        words.join("; ")
    }

    #[test]
    fn no_surplus_needs_no_reason() {
        assert_eq!(said(PLAIN), "");
    }

    #[test]
    fn packs() {
        let case = |bought| Case {
            pack: 10,
            bought,
            ..PLAIN
        };
        assert_eq!(said(case(20)), "packs of 10");
        // One pack more than needed is not the pack's doing.
        assert_eq!(said(case(30)), "cheapest for the plan as a whole");
    }

    #[test]
    fn least_quantity() {
        let case = |needed| Case {
            breaks: &[(5, "1.60")],
            needed,
            bought: 5,
            ..PLAIN
        };
        assert_eq!(said(case(4)), "sold from 5 on");
        assert_eq!(said(case(5)), "");
    }

    #[test]
    fn least_quantity_above_a_pack() {
        let case = Case {
            pack: 4,
            breaks: &[(6, "1.60")],
            needed: 3,
            bought: 8,
            ..PLAIN
        };
        assert_eq!(said(case), "sold from 6 on");
    }

    #[test]
    fn price_break() {
        let breaks = &[(1, "1.60"), (25, "1.10")];
        let case = |needed| Case {
            breaks,
            needed,
            bought: 25,
            ..PLAIN
        };
        // 25 × 1.10 = 27.50 < 28.80 = 18 × 1.60, but > 27.20 = 17 × 1.60.
        assert_eq!(said(case(18)), "25 at 1.10 cost less than 18 at 1.60");
        assert_eq!(said(case(17)), "cheapest for the plan as a whole");
    }

    #[test]
    fn price_break_at_the_same_total() {
        let case = Case {
            breaks: &[(1, "2.00"), (20, "1.00")],
            needed: 10,
            bought: 20,
            ..PLAIN
        };
        assert_eq!(said(case), "20 at 1.00 cost no more than 10 at 2.00");
    }

    #[test]
    fn free_shipping() {
        let case = |free_over| Case {
            bought: 20,
            free_over: Some(free_over),
            ..PLAIN
        };
        // 18 × 1.60 = 28.80, 20 × 1.60 = 32.00.
        assert_eq!(said(case("32.00")), "reaches free shipping at Nord");
        assert_eq!(said(case("28.81")), "reaches free shipping at Nord");
        assert_eq!(said(case("28.80")), "cheapest for the plan as a whole");
        assert_eq!(said(case("32.01")), "cheapest for the plan as a whole");
    }

    #[test]
    fn minimum_order() {
        let case = |min_order| Case {
            bought: 20,
            min_order: Some(min_order),
            ..PLAIN
        };
        assert_eq!(said(case("30")), "reaches the minimum order at Nord");
        assert_eq!(said(case("28.80")), "cheapest for the plan as a whole");
    }

    #[test]
    fn an_unproven_plan_says_so() {
        let (catalog, mut plan) = sample::one_line(&sample::OneLine {
            bought: 20,
            ..sample::OneLine::default()
        });
        plan.status = Status::TimeLimit;
        let reasons = why(&catalog, &plan, &plan.parts[0]);
        assert_eq!(reasons, [Reason::Unproven]);
    }
}
