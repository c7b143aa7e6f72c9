//! Prices as they were.

use crate::units::{Currency, Money, Qty};
use jiff::civil::Date;

/// A price of a break from some day on: a row of the history.
///
/// Names stand as they were written: a part or a supplier may have left the catalog since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PastPrice {
    /// The day of the supplier's list; none where it is not known.
    pub quoted: Option<Date>,
    /// Supplier by name.
    pub supplier: String,
    /// The supplier's article number; empty where there is none.
    pub sku: String,
    /// Part code.
    pub part: String,
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece; none where the price is gone from that day on.
    pub unit_price: Option<Money>,
    /// What the supplier billed in.
    pub currency: Currency,
}

impl PastPrice {
    /// Which price it is, whatever the day: part, supplier, sku, least quantity.
    pub fn of(&self) -> (&str, &str, &str, Qty) {
        (&self.part, &self.supplier, &self.sku, self.min_qty)
    }
}
