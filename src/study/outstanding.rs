//! What was ordered and has not come, and what of it is late.

use crate::catalog::{Catalog, Offer, PartId, SupplierId};
use crate::input::Input;
use crate::project::Ordered;
use crate::units::Qty;
use jiff::ToSpan;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// What is outstanding on a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Outstanding {
    /// The day that decides what is late.
    pub as_of: String,
    /// The suppliers that were asked for; none for all.
    pub named: Vec<String>,
    /// By name; each with something outstanding.
    pub suppliers: Vec<OfSupplier>,
}

/// What is outstanding from a supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OfSupplier {
    /// The supplier.
    pub supplier: String,
    /// In the order of `ordered.csv`.
    pub lines: Vec<OutstandingLine>,
}

/// A row of `ordered.csv` of which pieces have not come.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OutstandingLine {
    /// Part code.
    pub part: String,
    /// The supplier's code as it was ordered; may be empty.
    pub sku: String,
    /// Pieces that were ordered.
    pub ordered: Qty,
    /// Pieces that have come.
    pub received: Qty,
    /// Pieces that have not come.
    pub outstanding: Qty,
    /// The day of the order.
    pub ordered_on: String,
    /// The day when the pieces are due: the day of the order and the lead time of the offer;
    /// none where the price list has no lead time.
    pub due: Option<String>,
    /// Days since the pieces were due; none where they are not late, or that is not known.
    pub days_late: Option<u32>,
    /// The user's remark; may be empty.
    pub note: String,
}

impl Outstanding {
    /// All lines, each with its supplier.
    pub fn lines(&self) -> impl Iterator<Item = (&str, &OutstandingLine)> {
        let each = |of| -> (&OfSupplier, _) { (of, of.lines.iter()) };
        let each = self.suppliers.iter().map(each);
        each.flat_map(|(of, lines)| lines.map(|line| (of.supplier.as_str(), line)))
    }
}

/// What is outstanding as of a day, from these suppliers or from all where none is named.
pub fn outstanding(input: &Input, named: &[SupplierId], as_of: Date) -> Outstanding {
    let mut suppliers: Vec<OfSupplier> = Vec::new();
    for (place, supplier) in input.catalog.suppliers.iter().enumerate() {
        let is_own = |row: &&Ordered| {
            row.supplier.0 as usize == place && (named.is_empty() || named.contains(&row.supplier))
        };
        let rows = input.ordered.iter().filter(is_own);
        let open = rows.filter(|row| row.received < row.qty);
        let lines: Vec<OutstandingLine> = open.map(|row| line(row, input, as_of)).collect();
        if !lines.is_empty() {
            suppliers.push(OfSupplier {
                supplier: supplier.name.clone(),
                lines,
            });
        }
    }
    let named = named.iter();
    Outstanding {
        as_of: as_of.to_string(),
        named: named
            .map(|one| input.catalog.supplier(*one).name.clone())
            .collect(),
        suppliers,
    }
}

fn line(row: &Ordered, input: &Input, as_of: Date) -> OutstandingLine {
    let days = lead_days(&input.catalog, row.part, row.supplier, &row.sku);
    let due = days.and_then(|days| due(row.ordered_on, days));
    let late = due.filter(|due| *due < as_of);
    let late = late.and_then(|due| u32::try_from((as_of - due).get_days()).ok());
    OutstandingLine {
        part: input.catalog.part(row.part).code.clone(),
        sku: row.sku.clone(),
        ordered: row.qty,
        received: row.received,
        outstanding: row.qty.saturating_sub(row.received),
        ordered_on: row.ordered_on.to_string(),
        due: due.map(|due| due.to_string()),
        days_late: late,
        note: row.note.clone(),
    }
}

/// The day that is so many days after the order; none beyond the calendar.
pub fn due(ordered_on: Date, days: u32) -> Option<Date> {
    ordered_on.checked_add(i64::from(days).days()).ok()
}

/// The lead time of what was ordered: that of the offer with its sku, else that on which all
/// offers of the part from the supplier agree.
pub fn lead_days(catalog: &Catalog, part: PartId, supplier: SupplierId, sku: &str) -> Option<u32> {
    let own = || catalog.offers_of(part).map(|(_, offer)| offer);
    let own = || own().filter(|offer| offer.supplier == supplier);
    let agreed = |mut offers: Box<dyn Iterator<Item = &Offer> + '_>| {
        let first = offers.next()?.lead_days;
        offers
            .all(|offer| offer.lead_days == first)
            .then_some(first)?
    };
    let exact = own().find(|offer| offer.sku == sku && !sku.is_empty());
    match exact {
        Some(offer) => offer.lead_days,
        None => agreed(Box::new(own())),
    }
}
