//! What has been ordered already: what it cost, and what of it the plan uses.

use super::count::Count;
use super::error::PlanError;
use super::exact::{product, sum};
use super::form::OrderedRecord;
use crate::catalog::{PartId, SupplierId};
use crate::input::Input;
use crate::project::Ordered;
use crate::units::{Money, Qty};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

const WHAT: &str = "what is ordered";

/// What is ordered of each part from each supplier, by part code, name and sku. The
/// rows of `ordered.csv` are used in their order; what is left of them is unused.
pub(super) fn ordered(input: &Input, counts: &[Count]) -> Result<Vec<OrderedRecord>, PlanError> {
    let mut wanted: BTreeMap<PartId, Qty> =
        counts.iter().map(|c| (c.part, c.ordered_used)).collect();
    let mut records: BTreeMap<(PartId, SupplierId, &str), OrderedRecord> = BTreeMap::new();
    for row in &input.ordered {
        let wanted = wanted.entry(row.part).or_default();
        let used = row.qty.min(*wanted);
        *wanted -= used;
        let unused = row.qty - used;
        let worth = product(row.unit_price.0, Decimal::from(unused), WHAT)?;
        let record = records
            .entry((row.part, row.supplier, &row.sku))
            .or_insert_with(|| OrderedRecord {
                part: input.catalog.part(row.part).code.clone(),
                supplier: input.catalog.supplier(row.supplier).name.clone(),
                sku: row.sku.clone(),
                qty: 0,
                unused: 0,
                worth: Money::ZERO,
            });
        record.qty = more(record.qty, row.qty)?;
        record.unused = more(record.unused, unused)?;
        let worth = Money(product(worth, rate(input, row)?, WHAT)?);
        record.worth = sum([record.worth, worth], WHAT)?;
    }
    Ok(records.into_values().collect())
}

/// What all that is ordered cost, goods, charges and dies, in the project's currency.
pub(super) fn spent(input: &Input) -> Result<Money, PlanError> {
    let amounts: Vec<Money> = input
        .ordered
        .iter()
        .map(|row| {
            let goods = Money(product(row.unit_price.0, Decimal::from(row.qty), WHAT)?);
            let bill = sum([goods, row.charges], WHAT)?;
            product(bill.0, rate(input, row)?, WHAT).map(Money)
        })
        .collect::<Result<_, PlanError>>()?;
    let dies = input.dies_ordered.iter().map(|row| row.cost);
    sum(amounts.into_iter().chain(dies), WHAT)
}

fn rate(input: &Input, row: &Ordered) -> Result<Decimal, PlanError> {
    let currency = &input.catalog.supplier(row.supplier).currency;
    let rate = input.settings.rate(currency);
    rate.ok_or_else(|| PlanError::NoRate(currency.clone()))
}

fn more(sum: Qty, qty: Qty) -> Result<Qty, PlanError> {
    sum.checked_add(qty)
        .ok_or(PlanError::TooLarge("the number of pieces"))
}
