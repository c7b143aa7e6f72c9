//! What a change to `ordered.csv` did.

use super::difference::some_sku;
use super::table::{Column, Table};
use super::wording::{counted, plain};
use crate::catalog::Die;
use crate::desk::booking::Placed;
use crate::input::Input;
use crate::plan::Order;
use crate::project::Ordered;
use crate::study::booking::{Booked, DIES};
use crate::study::offers::Several;

/// What was placed. The sku is shown where it tells offers apart.
pub fn placed(placed: &Placed, input: &Input, is_dry: bool, width: usize) -> String {
    let mut shown = Vec::new();
    if !placed.orders.is_empty() {
        let several = Several::of(&input.catalog);
        let needs_sku = |order: &Order| {
            let mut lines = order.lines.iter();
            lines.any(|line| several.has(&line.part, &order.supplier))
        };
        let with_skus = placed.orders.iter().any(needs_sku);
        let lines = placed_lines(&placed.orders, with_skus);
        shown.push(format!(
            "{} {}added to ordered.csv, ordered on {}\n{}",
            counted(lines.0, "line"),
            would_be(is_dry),
            placed.on,
            lines.1.text(width)
        ));
    }
    if !placed.dies.is_empty() {
        let dies = placed.dies.iter().map(|die| input.catalog.die(*die));
        let dies: Vec<&Die> = dies.collect();
        shown.push(placed_dies(&dies, input, is_dry, width));
    }
    shown.join("\n")
}

fn would_be(is_dry: bool) -> &'static str {
    if is_dry { "would be " } else { "" }
}

/// How many lines there are, and these with what an order costs besides.
fn placed_lines(orders: &[Order], with_skus: bool) -> (u64, Table) {
    let mut columns = vec![Column::text("supplier"), Column::text("part")];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::number("qty"),
        Column::number("unit_price"),
        Column::number("amount"),
        Column::text("currency"),
    ]);
    let mut table = Table::new(&columns);
    let mut lines = 0;
    for order in orders {
        for line in &order.lines {
            lines += 1;
            let mut row = vec![order.supplier.clone(), line.part.clone()];
            row.extend(with_skus.then(|| some_sku(&line.sku)));
            row.extend([
                line.qty.to_string(),
                line.unit_price.to_string(),
                line.line_total.cents().to_string(),
                order.currency.to_string(),
            ]);
            table.row(row);
        }
        let charges = order.shipping + order.duty;
        if charges.is_positive() {
            let mut row = vec![order.supplier.clone(), "shipping and duty".to_owned()];
            row.resize(columns.len() - 2, String::new());
            row.extend([charges.cents().to_string(), order.currency.to_string()]);
            table.row(row);
        }
    }
    (lines, table)
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
    let would = would_be(is_dry);
    let what = counted(dies.len() as u64, "die");
    format!("{what} {would}added to {DIES}\n{}", table.text(width))
}

/// The rows that a delivery was booked on. The sku is shown where it tells offers apart.
pub fn received(input: &Input, booked: &[Booked], is_dry: bool, width: usize) -> String {
    let rows = booked.iter();
    let rows = rows.filter_map(|one| Some((one, input.ordered.get(one.row)?)));
    let rows: Vec<(&Booked, &Ordered)> = rows.collect();
    let with_skus = rows.iter().any(|(_, row)| needs_sku(input, row));
    let with_notes = rows.iter().any(|(_, row)| !row.note.is_empty());
    let mut columns = vec![Column::text("part"), Column::text("supplier")];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::text("ordered_on"),
        Column::number("came"),
        Column::number("received"),
        Column::number("of"),
        Column::number("outstanding"),
    ]);
    columns.extend(with_notes.then(|| Column::text("note")));
    let mut table = Table::new(&columns);
    let mut pieces = 0;
    for (one, row) in rows {
        pieces += one.qty;
        let mut cells = vec![
            input.catalog.part(row.part).code.clone(),
            plain(&input.catalog.supplier(row.supplier).name),
        ];
        cells.extend(with_skus.then(|| some_sku(&row.sku)));
        cells.extend([
            row.ordered_on.to_string(),
            one.qty.to_string(),
            one.received.to_string(),
            row.qty.to_string(),
            (row.qty - one.received).to_string(),
        ]);
        cells.extend(with_notes.then(|| plain(&row.note)));
        table.row(cells);
    }
    format!(
        "{} {}booked as received\n{}",
        counted(pieces, "piece"),
        would_be(is_dry),
        table.text(width)
    )
}

/// True if the part is offered or on order under several skus.
fn needs_sku(input: &Input, row: &Ordered) -> bool {
    let is_other = |other: &Ordered| {
        (other.part, other.supplier) == (row.part, row.supplier) && other.sku != row.sku
    };
    input.catalog.has_several(row.part, row.supplier) || input.ordered.iter().any(is_other)
}
