//! What became of the recorded lines on a new price list, and what took their
//! place.

use super::changes::places;
use crate::catalog::{Catalog, Offer};
use crate::fit::supply::{Lack, least_order, offer_lack};
use crate::input::Input;
use crate::plan::{Order, Plan};
use crate::units::Qty;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;

/// What became of a line, a part or a supplier.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The supplier offers nothing at all any more.
    SupplierGone,
    /// Nobody offers the part any more.
    PartGone,
    /// This supplier offers the part no more.
    NotOffered,
    /// The project excludes the part or the supplier.
    Excluded,
    /// The supplier has fewer pieces in stock than the line needs.
    Stock {
        /// Pieces that are left.
        stock: Qty,
        /// Pieces of the line.
        wanted: Qty,
    },
    /// Delivery takes longer than the project allows.
    TooSlow {
        /// Days until delivery.
        days: u32,
        /// The most that the project allows.
        limit: u32,
    },
    /// Delivery takes longer than it did, but not too long.
    Slower {
        /// Days before.
        before: u32,
        /// Days now.
        days: u32,
    },
    /// The line is no whole number of packs any more.
    Pack {
        /// Pieces in a pack now.
        pack: Qty,
    },
    /// The line is below the least that can be ordered.
    Least {
        /// The least that can be ordered now.
        least: Qty,
    },
}

/// What became of a line, a part or a supplier, and what the new plan has instead.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Shift {
    /// The part; none where the shift is about a supplier as a whole.
    pub part: Option<String>,
    /// The supplier; none where nobody sells the part.
    pub supplier: Option<String>,
    /// What became of the line, part or supplier.
    pub what: What,
    /// Suppliers that the part is bought from now.
    pub bought_from: Vec<String>,
    /// Parts that are fitted at the part's places now, where the part itself is not.
    pub parts_instead: Vec<String>,
    /// True if what is on hand or ordered serves now.
    pub from_shelf: bool,
}

/// All shifts of the lines that were to be bought, in the order of suppliers
/// and parts. `old` is the catalog with the old prices, if it is still there;
/// where there is no new plan, nothing has taken a place.
pub fn shifts(
    input: &Input,
    old: Option<&Catalog>,
    plan: &Plan,
    open: &[Order],
    new: Option<&Plan>,
) -> Vec<Shift> {
    let mut shifts = BTreeSet::new();
    for order in open {
        if is_gone(&input.catalog, &order.supplier) {
            let supplier = Some(order.supplier.clone());
            shifts.insert(Shift::bare(None, supplier, What::SupplierGone));
        }
        for line in &order.lines {
            let (supplier, part) = (order.supplier.as_str(), line.part.as_str());
            if let Some(what) = what(input, old, supplier, part, line.qty) {
                let mut shift = shift(supplier, part, what);
                if let Some(new) = new {
                    shift.find_instead(part, plan, new);
                }
                shifts.insert(shift);
            }
        }
    }
    shifts.into_iter().collect()
}

fn is_gone(catalog: &Catalog, supplier: &str) -> bool {
    let id = catalog.find_supplier(supplier);
    id.is_none_or(|id| catalog.offers.iter().all(|offer| offer.supplier != id))
}

fn what(
    input: &Input,
    old: Option<&Catalog>,
    supplier: &str,
    part: &str,
    qty: Qty,
) -> Option<What> {
    let catalog = &input.catalog;
    let offers = catalog.find(part).map(|id| catalog.offers_of(id));
    if offers.is_none_or(|mut offers| offers.next().is_none()) {
        return Some(What::PartGone);
    }
    let Some(offer) = offer(catalog, supplier, part) else {
        return Some(What::NotOffered);
    };
    if input.settings.exclude_parts.contains(part) {
        return Some(What::Excluded);
    }
    match offer_lack(input, offer) {
        Some(Lack::Supplier | Lack::Excluded) => return Some(What::Excluded),
        Some(Lack::Slow { days, limit }) => return Some(What::TooSlow { days, limit }),
        _ => {}
    }
    if let Some(stock) = offer.stock.filter(|stock| *stock < qty) {
        return Some(What::Stock { stock, wanted: qty });
    }
    if let Some(least) = least_order(offer).filter(|least| *least > qty) {
        return Some(What::Least { least });
    }
    if !qty.is_multiple_of(offer.pack.max(1)) {
        return Some(What::Pack { pack: offer.pack });
    }
    let before = self::offer(old?, supplier, part)?.lead_days?;
    let days = offer.lead_days.filter(|days| *days > before)?;
    Some(What::Slower { before, days })
}

fn offer<'c>(catalog: &'c Catalog, supplier: &str, part: &str) -> Option<&'c Offer> {
    let (part, supplier) = (catalog.find(part)?, catalog.find_supplier(supplier)?);
    let mut offers = catalog.offers_of(part).map(|(_, offer)| offer);
    offers.find(|offer| offer.supplier == supplier)
}

fn shift(supplier: &str, part: &str, what: What) -> Shift {
    let supplier = Some(supplier.to_owned()).filter(|_| what != What::PartGone);
    Shift::bare(Some(part.to_owned()), supplier, what)
}

impl Shift {
    fn bare(part: Option<String>, supplier: Option<String>, what: What) -> Shift {
        Shift {
            part,
            supplier,
            what,
            bought_from: Vec::new(),
            parts_instead: Vec::new(),
            from_shelf: false,
        }
    }

    /// Finds what serves where the part did.
    fn find_instead(&mut self, part: &str, plan: &Plan, new: &Plan) {
        let is_of_part = |order: &&Order| order.lines.iter().any(|line| line.part == part);
        let buying = new.orders.iter().filter(is_of_part);
        self.bought_from = buying.map(|order| order.supplier.clone()).collect();
        let old_places = places(plan).remove(part).unwrap_or_default();
        let now = places(new);
        if now.contains_key(part) {
            self.from_shelf = self.bought_from.is_empty();
            return;
        }
        let takers = now.iter().filter(|(_, at)| !at.is_disjoint(&old_places));
        self.parts_instead = takers.map(|(part, _)| (*part).to_owned()).collect();
    }
}
