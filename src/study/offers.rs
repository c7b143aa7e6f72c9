//! Offers by name: where a name needs the sku, and which offer of a price list is
//! that of a recorded line.

use crate::catalog::{Catalog, Offer, OfferId};
use crate::plan::{Order, Plan};
use std::collections::{BTreeMap, BTreeSet};

/// Parts that a supplier has, or had, several offers of: there a name of an offer
/// needs its sku.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Several(BTreeMap<String, BTreeSet<String>>);

impl Several {
    /// Those of a catalog.
    pub fn of(catalog: &Catalog) -> Self {
        let mut several = Self::default();
        for pair in catalog.offers.windows(2) {
            if let [a, b] = pair
                && (a.part, a.supplier) == (b.part, b.supplier)
            {
                let part = &catalog.part(a.part).code;
                several.add(part, &catalog.supplier(a.supplier).name);
            }
        }
        several
    }

    /// Those of the price lists as they are and as they were, if the old one is still
    /// there, and of the lines of a record.
    pub fn known(now: &Catalog, then: Option<&Catalog>, plan: &Plan) -> Self {
        let mut several = Self::of(now);
        several.add_orders(&plan.orders);
        several.join(then.map(Self::of).unwrap_or_default());
        several
    }

    /// Those of the lines of orders.
    pub fn ordered(orders: &[Order]) -> Self {
        let mut several = Self::default();
        several.add_orders(orders);
        several
    }

    /// Takes over those of others.
    pub fn join(&mut self, other: Self) {
        for (part, suppliers) in other.0 {
            self.0.entry(part).or_default().extend(suppliers);
        }
    }

    fn add(&mut self, part: &str, supplier: &str) {
        let suppliers = self.0.entry(part.to_owned()).or_default();
        suppliers.insert(supplier.to_owned());
    }

    /// A part that stands twice in an order has two offers. The lines are in the
    /// order of part codes.
    fn add_orders(&mut self, orders: &[Order]) {
        for order in orders {
            for pair in order.lines.windows(2) {
                if let [a, b] = pair
                    && a.part == b.part
                {
                    self.add(&a.part, &order.supplier);
                }
            }
        }
    }

    /// True if an offer of the part from this supplier needs its sku.
    pub fn has(&self, part: &str, supplier: &str) -> bool {
        let suppliers = self.0.get(part);
        suppliers.is_some_and(|suppliers| suppliers.contains(supplier))
    }

    /// The sku where it is needed.
    pub fn sku(&self, part: &str, supplier: &str, sku: &str) -> Option<String> {
        self.has(part, supplier).then(|| sku.to_owned())
    }

    /// `F-7`, or with the sku where it is needed: `F-7 (sku B-10)`.
    pub fn part(&self, part: &str, supplier: &str, sku: &str) -> String {
        with_sku(part, self.sku(part, supplier, sku).as_deref())
    }
}

/// `F-7`, `F-7 (sku B-10)`; an offer among several that has none: `F-7 (no sku)`.
///
/// ```
/// use couplet::study::offers::with_sku;
/// assert_eq!(with_sku("F-7", None), "F-7");
/// assert_eq!(with_sku("Nord", Some("B-10")), "Nord (sku B-10)");
/// assert_eq!(with_sku("F-7", Some("")), "F-7 (no sku)");
/// ```
pub fn with_sku(name: &str, sku: Option<&str>) -> String {
    match sku {
        None => name.to_owned(),
        Some("") => format!("{name} (no sku)"),
        Some(sku) => format!("{name} (sku {sku})"),
    }
}

/// The offer of a catalog with these names.
pub fn offer<'c>(
    catalog: &'c Catalog,
    supplier: &str,
    part: &str,
    sku: &str,
) -> Option<(OfferId, &'c Offer)> {
    let (part, supplier) = (catalog.find(part)?, catalog.find_supplier(supplier)?);
    let mut offers = catalog.offers_of(part);
    offers.find(|(_, offer)| offer.supplier == supplier && offer.sku == sku)
}

/// The offer that a recorded line stands for: the one with its sku. A supplier's only
/// offer of a part is the same offer under any sku, if it was the only one before.
pub fn offer_now<'c>(
    now: &'c Catalog,
    several: &Several,
    supplier: &str,
    part: &str,
    sku: &str,
) -> Option<(OfferId, &'c Offer)> {
    let exact = offer(now, supplier, part, sku);
    if exact.is_some() || several.has(part, supplier) {
        return exact;
    }
    let (part, supplier) = (now.find(part)?, now.find_supplier(supplier)?);
    let mut own = now.offers_of(part).filter(|(_, o)| o.supplier == supplier);
    let only = own.next();
    only.filter(|_| own.next().is_none())
}
