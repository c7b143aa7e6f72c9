//! What is on order, line by line.

use crate::catalog::{PartId, SupplierId};
use crate::input::Input;
use crate::plan::Order;
use crate::study::outstanding::lead_days;
use crate::units::{Money, Qty};
use jiff::civil::Date;

/// A line that is on order.
#[derive(Debug, Clone)]
pub struct Open {
    /// The part.
    pub part: PartId,
    /// From whom.
    pub supplier: SupplierId,
    /// The supplier's code; empty where the order names none.
    pub sku: String,
    /// The day of the order.
    pub ordered_on: Date,
    /// Pieces that have not come.
    pub qty: Qty,
    /// Price of a piece.
    pub price: Money,
    /// Days until delivery, where the price list tells them.
    pub lead_days: Option<u32>,
}

/// All rows of `ordered.csv`, in their order.
pub fn by_ordered(input: &Input) -> Vec<Open> {
    let each = input.ordered.iter().map(|row| Open {
        part: row.part,
        supplier: row.supplier,
        sku: row.sku.clone(),
        ordered_on: row.ordered_on,
        qty: row.qty.saturating_sub(row.received),
        price: row.unit_price,
        lead_days: lead_days(&input.catalog, row.part, row.supplier, &row.sku),
    });
    each.collect()
}

/// The lines of orders that are not placed yet, as if they were placed on this day.
pub fn by_plan(orders: &[Order], input: &Input, on: Date) -> Vec<Open> {
    let catalog = &input.catalog;
    let mut all = Vec::new();
    for order in orders {
        let Some(supplier) = catalog.find_supplier(&order.supplier) else {
            continue;
        };
        all.extend(order.lines.iter().filter_map(|line| {
            let part = catalog.find(&line.part)?;
            Some(Open {
                part,
                supplier,
                sku: line.sku.clone(),
                ordered_on: on,
                qty: line.qty,
                price: line.unit_price,
                lead_days: lead_days(catalog, part, supplier, &line.sku),
            })
        }));
    }
    all
}
