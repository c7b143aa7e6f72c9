//! What a change to `ordered.csv` did.

use super::table::{Column, Table};
use super::wording::{counted, plain};
use crate::catalog::Die;
use crate::desk::booking::Placed;
use crate::input::Input;
use crate::plan::Order;
use crate::study::booking::{Booked, DIES};
use jiff::civil::Date;

/// What was placed.
pub fn placed(placed: &Placed, input: &Input, is_dry: bool, width: usize) -> String {
    let mut shown = Vec::new();
    if !placed.orders.is_empty() {
        shown.push(placed_lines(&placed.orders, placed.on, is_dry, width));
    }
    if !placed.dies.is_empty() {
        let dies = placed.dies.iter().map(|die| input.catalog.die(*die));
        let dies: Vec<&Die> = dies.collect();
        shown.push(placed_dies(&dies, input, is_dry, width));
    }
    shown.join("\n")
}

fn placed_lines(orders: &[Order], on: Date, is_dry: bool, width: usize) -> String {
    let mut table = Table::new(&[
        Column::text("supplier"),
        Column::text("part"),
        Column::number("qty"),
        Column::number("unit_price"),
        Column::number("amount"),
        Column::text("currency"),
    ]);
    let mut lines = 0;
    for order in orders {
        for line in &order.lines {
            lines += 1;
            table.row(vec![
                order.supplier.clone(),
                line.part.clone(),
                line.qty.to_string(),
                line.unit_price.to_string(),
                line.line_total.cents().to_string(),
                order.currency.to_string(),
            ]);
        }
        let charges = order.shipping + order.duty;
        if charges.is_positive() {
            let mut row = vec![order.supplier.clone(), "shipping and duty".to_owned()];
            row.resize(4, String::new());
            row.extend([charges.cents().to_string(), order.currency.to_string()]);
            table.row(row);
        }
    }
    let would = if is_dry { "would be " } else { "" };
    let what = counted(lines, "line");
    format!(
        "{what} {would}added to ordered.csv, ordered on {on}\n{}",
        table.text(width)
    )
}

/// The dies that were placed, with their costs in the project's currency.
fn placed_dies(dies: &[&Die], input: &Input, is_dry: bool, width: usize) -> String {
    let mut table = Table::new(&[
        Column::text("die"),
        Column::number("cost"),
        Column::text("currency"),
    ]);
    let currency = &input.settings.currency;
    for die in dies {
        let cost = die.cost.cents().to_string();
        table.row(vec![die.name.clone(), cost, currency.to_string()]);
    }
    let would = if is_dry { "would be " } else { "" };
    let what = counted(dies.len() as u64, "die");
    format!("{what} {would}added to {DIES}\n{}", table.text(width))
}

/// The rows that a delivery was booked on.
pub fn received(input: &Input, booked: &[Booked], is_dry: bool, width: usize) -> String {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("supplier"),
        Column::text("ordered_on"),
        Column::number("came"),
        Column::number("received"),
        Column::number("of"),
        Column::number("outstanding"),
    ]);
    let mut pieces = 0;
    for one in booked {
        let Some(row) = input.ordered.get(one.row) else {
            continue;
        };
        pieces += one.qty;
        table.row(vec![
            input.catalog.part(row.part).code.clone(),
            plain(&input.catalog.supplier(row.supplier).name),
            row.ordered_on.to_string(),
            one.qty.to_string(),
            one.received.to_string(),
            row.qty.to_string(),
            (row.qty - one.received).to_string(),
        ]);
    }
    let would = if is_dry { "would be " } else { "" };
    format!(
        "{} {would}booked as received\n{}",
        counted(pieces, "piece"),
        table.text(width)
    )
}
