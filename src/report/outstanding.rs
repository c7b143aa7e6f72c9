//! What was ordered and has not come.

use super::table::{Column, Table};
use super::wording::{counted, plain, wrapped};
use crate::diag::joined;
use crate::study::outstanding::{Outstanding, OutstandingLine};

/// What is outstanding, by supplier; what is late is said first.
pub fn text(outstanding: &Outstanding, width: usize) -> String {
    let count = outstanding.lines().count();
    if count == 0 {
        let named: Vec<String> = outstanding.named.iter().map(|name| plain(name)).collect();
        let from = match named.as_slice() {
            [] => String::new(),
            names => format!(" from {}", joined(names, "or")),
        };
        return wrapped(&format!("nothing is outstanding{from}"), width, "", "  ") + "\n";
    }
    let late = outstanding
        .lines()
        .filter(|(_, line)| line.days_late.is_some());
    let late = late.count();
    let late = match late {
        0 => "none is known to be late".to_owned(),
        late => format!("{late} late"),
    };
    let lines = counted(count as u64, "line");
    let mut text = format!("As of {}: {lines} outstanding, {late}\n", outstanding.as_of);
    for of in &outstanding.suppliers {
        let has_notes = of.lines.iter().any(|line| !line.note.is_empty());
        let mut columns = vec![
            Column::text("part"),
            Column::text("sku").detail(1),
            Column::number("ordered"),
            Column::number("received"),
            Column::number("outstanding"),
            Column::text("ordered_on"),
            Column::text("due"),
            Column::text("late"),
        ];
        columns.extend(has_notes.then(|| Column::text("note")));
        let mut table = Table::new(&columns);
        for line in &of.lines {
            let mut cells = row(line);
            cells.extend(has_notes.then(|| plain(&line.note)));
            table.row(cells);
        }
        let supplier = plain(&of.supplier);
        text.push_str(&format!(
            "\nOutstanding from {supplier}\n{}",
            table.text(width)
        ));
    }
    text
}

fn row(line: &OutstandingLine) -> Vec<String> {
    let late = line.days_late.map(|days| counted(days.into(), "day"));
    vec![
        line.part.clone(),
        plain(&line.sku),
        line.ordered.to_string(),
        line.received.to_string(),
        line.outstanding.to_string(),
        line.ordered_on.clone(),
        line.due.clone().unwrap_or_else(|| "not known".to_owned()),
        late.unwrap_or_default(),
    ]
}

/// All lines as a table: `supplier, part, sku, ordered, received, outstanding, ordered_on, due,
/// days_late, note`. What is not known is empty.
pub fn table(outstanding: &Outstanding) -> Table {
    let mut table = Table::new(&[
        Column::text("supplier"),
        Column::text("part"),
        Column::text("sku"),
        Column::number("ordered"),
        Column::number("received"),
        Column::number("outstanding"),
        Column::text("ordered_on"),
        Column::text("due"),
        Column::number("days_late"),
        Column::text("note"),
    ]);
    for (supplier, line) in outstanding.lines() {
        let late = line.days_late.map(|days| days.to_string());
        table.row(vec![
            supplier.to_owned(),
            line.part.clone(),
            line.sku.clone(),
            line.ordered.to_string(),
            line.received.to_string(),
            line.outstanding.to_string(),
            line.ordered_on.clone(),
            line.due.clone().unwrap_or_default(),
            late.unwrap_or_default(),
            plain(&line.note),
        ]);
    }
    table
}

/// What is outstanding as JSON.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(outstanding: &Outstanding) -> serde_json::Result<String> {
    serde_json::to_string_pretty(outstanding).map(|text| text + "\n")
}
