//! What is ordered already: the record's list of these orders, and what they cost.

use super::count::{self, Fitted};
use super::finding::{Finding, differs};
use crate::input::Input;
use crate::plan::{OrderedRecord, Plan};
use crate::project::Ordered;
use crate::units::Money;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::collections::BTreeMap;

/// Pieces ordered, pieces unused, what the unused pieces cost.
type Entry = (u128, u128, Decimal);

/// Checks the money spent and the list of what is ordered.
pub(super) fn check(input: &Input, plan: &Plan, fitted: &Fitted, found: &mut Vec<Finding>) {
    match (spent(input), entries(input, fitted)) {
        (Some(spent), Some(entries)) => {
            let fact = differs("the plan", "spent", plan.spent, Money(spent));
            found.extend(fact.map(Finding::Head));
            listing(plan, &entries, found);
        }
        _ => found.push(Finding::TooLarge("what is ordered".to_owned())),
    }
}

/// What was spent: goods with their charges, and dies.
fn spent(input: &Input) -> Option<Decimal> {
    let mut spent = Decimal::ZERO;
    for row in &input.ordered {
        let goods = row.unit_price.0.checked_mul(row.qty.into())?;
        let bill = goods.checked_add(row.charges.0)?;
        spent = spent.checked_add(bill.checked_mul(rate(input, row)?)?)?;
    }
    for die in &input.dies_ordered {
        spent = spent.checked_add(die.cost.0)?;
    }
    Some(spent)
}

fn rate(input: &Input, row: &Ordered) -> Option<Decimal> {
    let currency = &input.catalog.supplier(row.supplier).currency;
    if *currency == input.settings.currency {
        return Some(Decimal::ONE);
    }
    input.settings.rates.get(currency).copied()
}

/// Part code, supplier, sku.
type Key<'a> = (&'a str, &'a str, &'a str);

/// What is ordered: rows are used from the first on.
fn entries<'i>(input: &'i Input, fitted: &Fitted) -> Option<BTreeMap<Key<'i>, Entry>> {
    let mut left = BTreeMap::new();
    for (&part, by_gauge) in fitted {
        left.insert(part, count::from_ordered(input, part, by_gauge)?);
    }
    let mut entries: BTreeMap<Key, Entry> = BTreeMap::new();
    for row in &input.ordered {
        let left = left.entry(row.part).or_default();
        let qty = u128::from(row.qty);
        let unused = qty.saturating_sub(*left);
        *left -= qty - unused;
        let worth = (row.unit_price.0)
            .checked_mul(Decimal::from_u128(unused)?)?
            .checked_mul(rate(input, row)?)?;
        let part = input.catalog.part(row.part).code.as_str();
        let supplier = input.catalog.supplier(row.supplier).name.as_str();
        let entry = entries.entry((part, supplier, &row.sku)).or_default();
        *entry = (entry.0 + qty, entry.1 + unused, entry.2.checked_add(worth)?);
    }
    Some(entries)
}

fn listing(plan: &Plan, entries: &BTreeMap<Key, Entry>, found: &mut Vec<Finding>) {
    if !plan.ordered.iter().map(key).eq(entries.keys().copied()) {
        let fact = differs(
            "the plan",
            "ordered",
            format!("{} parts, suppliers and skus", plan.ordered.len()),
            format!(
                "the {} of ordered.csv, by part, supplier and sku",
                entries.len()
            ),
        );
        found.extend(fact.map(Finding::Head));
        return;
    }
    for (record, &(qty, unused, worth)) in plan.ordered.iter().zip(entries.values()) {
        let mut of = format!("ordered part {} from {}", record.part, record.supplier);
        if !record.sku.is_empty() {
            of.push_str(", sku ");
            of.push_str(&record.sku);
        }
        let facts = [
            differs(&of, "qty", record.qty, qty),
            differs(&of, "unused", record.unused, unused),
            differs(&of, "worth", record.worth, Money(worth)),
        ];
        found.extend(facts.into_iter().flatten().map(Finding::Part));
    }
}

fn key(record: &OrderedRecord) -> Key<'_> {
    (&record.part, &record.supplier, &record.sku)
}
