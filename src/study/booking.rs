//! Changes to `ordered.csv` and `dies_ordered.csv`: an order is placed with the dies
//! of the plan, or a delivery is received. A change goes from text to text, and the
//! caller writes the new text.

use crate::catalog::Die;
use crate::input::Input;
use crate::plan::{Order, Plan, dies_used};
use crate::project::delivery::Delivery;
use crate::project::{DieOrdered, Ordered, dies_ordered};
use crate::source::sha256;
use crate::table::{EditError, EditedTable};
use crate::units::{Money, Qty};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// The columns of `ordered.csv`.
const COLUMNS: [&str; 7] = [
    "part",
    "supplier",
    "qty",
    "unit_price",
    "ordered_on",
    "received",
    "charges",
];

/// The columns of `ordered.csv` that hold numbers.
const NUMBERS: &[&str] = &["qty", "unit_price", "received", "charges"];

/// The columns of `dies_ordered.csv` that hold numbers.
const NUMBERS_OF_DIES: &[&str] = &["cost"];

/// The file of what is ordered, in the project folder.
pub const LINES: &str = "ordered.csv";

/// The file of the dies that are ordered, in the project folder.
pub const DIES: &str = "dies_ordered.csv";

/// Decimals of the money that a file holds.
const DECIMALS: u32 = 6;

/// Why `ordered.csv` or `dies_ordered.csv` can't be changed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BookingError {
    /// The file is not what it was when it was read.
    #[error("{0} was changed while it was being read")]
    Changed(&'static str),
    /// Nothing of the part is outstanding.
    #[error("nothing of part {part} is on order{from}")]
    NotOrdered {
        /// Part code.
        part: String,
        /// ` from Nord`, or nothing.
        from: String,
    },
    /// More came than was outstanding.
    #[error("{came} of part {part} came, but only {open} are on order{from}")]
    TooMany {
        /// Part code.
        part: String,
        /// ` from Nord`, or nothing.
        from: String,
        /// Pieces that came.
        came: Qty,
        /// Pieces outstanding.
        open: Qty,
    },
    /// An edit of the file is refused.
    #[error("{0} cannot be written: {1}")]
    Text(&'static str, #[source] EditError),
}

/// What a delivery did to one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Booked {
    /// The row's place in [`Input::ordered`].
    pub row: usize,
    /// Pieces booked on the row now.
    pub qty: Qty,
    /// Pieces received on the row, with those booked now.
    pub received: Qty,
}

/// The file with these orders added at its end; `text` is none where there is
/// no file yet. Shipping and duty of an order stand on its first line.
///
/// # Errors
/// [`BookingError`] if the file can't be taken apart or put together.
pub fn place(text: Option<&str>, orders: &[Order], on: Date) -> Result<String, BookingError> {
    let mut table = opened(text, LINES, &COLUMNS, NUMBERS)?;
    let on = on.to_string();
    let number = |money: Money| Money(money.0.round_dp(DECIMALS)).to_string();
    for order in orders {
        let mut charges = Some(charges(order)).filter(|c| *c != Money::ZERO);
        for line in &order.lines {
            let row = [
                ("part", line.part.as_str()),
                ("supplier", &order.supplier),
                ("qty", &line.qty.to_string()),
                ("unit_price", &number(line.unit_price)),
                ("ordered_on", &on),
                ("charges", &charges.take().map(number).unwrap_or_default()),
            ];
            table.add(&row).map_err(|e| BookingError::Text(LINES, e))?;
        }
    }
    Ok(table.text())
}

/// The file of dies with these added at its end; `text` is none where there is
/// no file yet.
///
/// # Errors
/// [`BookingError`] if the file can't be taken apart or put together.
pub fn place_dies(text: Option<&str>, dies: &[&Die], on: Date) -> Result<String, BookingError> {
    let mut table = opened(text, DIES, &dies_ordered::COLUMNS, NUMBERS_OF_DIES)?;
    let on = on.to_string();
    for die in dies {
        let cost = die.cost.to_string();
        let row = [
            ("die", die.name.as_str()),
            ("cost", &cost),
            ("ordered_on", &on),
        ];
        table.add(&row).map_err(|e| BookingError::Text(DIES, e))?;
    }
    Ok(table.text())
}

/// The table of a text, or a new one where there is none.
fn opened(
    text: Option<&str>,
    file: &'static str,
    columns: &[&str],
    numbers: &'static [&'static str],
) -> Result<EditedTable, BookingError> {
    let table = match text {
        Some(text) => EditedTable::open(text, numbers),
        None => EditedTable::create(columns, numbers),
    };
    table.map_err(|error| match error {
        EditError::NoHeader => BookingError::Changed(file),
        error => BookingError::Text(file, error),
    })
}

/// How many lines a file had before at most `most` lines were added. `was` is the
/// SHA-256 of the file then. Without a file `was` is none, and the header row is old.
fn count_before(lines: &[&str], was: Option<&str>, most: usize) -> Option<usize> {
    let is_old = |count: &usize| {
        let head = lines[..*count].concat();
        match was {
            None => *count == 1,
            // The last old line may have had no line end.
            Some(was) => [head.as_str(), head.trim_end_matches(['\r', '\n'])]
                .iter()
                .any(|head| sha256(head.as_bytes()) == was),
        }
    };
    let mut counts = lines.len().saturating_sub(most)..lines.len();
    counts.rfind(is_old)
}

/// How many lines `dies_ordered.csv` held before dies of the plan were added. None
/// where the old lines changed, or anything else was added; as [`lines_before`].
pub fn dies_before(text: &str, was: Option<&str>, plan: &Plan, input: &Input) -> Option<u64> {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let dies = dies_used(&input.catalog, plan);
    let old = count_before(&lines, was, dies.len())?;
    let is_own = |row: &&DieOrdered| {
        let die = input.catalog.die(row.die);
        dies.contains(&row.die) && !die.owned && die.cost == row.cost
    };
    let rows = input.dies_ordered.iter();
    let added: Vec<_> = rows.filter(|row| row.row.line > old as u64).collect();
    let all = added.iter().all(is_own);
    (all && added.len() == lines.len() - old).then_some(old as u64)
}

/// How many lines `ordered.csv` held before lines of these orders were added, be they
/// received or not. None where the old lines changed, or anything else was added. `was`
/// is the SHA-256 of the file then, or none without a file. `input` is read with the file.
pub fn lines_before(text: &str, was: Option<&str>, orders: &[Order], input: &Input) -> Option<u64> {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let most: usize = orders.iter().map(|order| order.lines.len()).sum();
    let old = count_before(&lines, was, most)?;
    let is_ordered = |row: &Ordered| {
        let supplier = &input.catalog.supplier(row.supplier).name;
        let part = &input.catalog.part(row.part).code;
        let mut lines = (orders.iter().filter(|order| order.supplier == *supplier))
            .flat_map(|order| &order.lines);
        lines.any(|line| line.part == *part && line.qty == row.qty)
    };
    let added = input.ordered.iter().filter(|r| r.row.line > old as u64);
    let (count, all) = added.fold((0, true), |(n, all), row| (n + 1, all && is_ordered(row)));
    (all && count == lines.len() - old).then_some(old as u64)
}

/// Shipping and duty.
fn charges(order: &Order) -> Money {
    order.shipping + order.duty
}

/// The file with these deliveries booked, the oldest row of each part first,
/// and what was booked where. Rows ordered after `on` are left out.
///
/// # Errors
/// [`BookingError`] if more came than was ordered: then nothing is booked.
pub fn receive(
    text: &str,
    input: &Input,
    deliveries: &[Delivery],
    on: Date,
) -> Result<(String, Vec<Booked>), BookingError> {
    let mut table = opened(Some(text), LINES, &COLUMNS, NUMBERS)?;
    if table.rows() != input.ordered.len() {
        return Err(BookingError::Changed(LINES));
    }
    let mut booked: BTreeMap<usize, Booked> = BTreeMap::new();
    // A delivery that names its supplier goes first, so that no other takes its row.
    let (named, any): (Vec<_>, Vec<_>) = deliveries.iter().partition(|d| d.supplier.is_some());
    for delivery in named.into_iter().chain(any) {
        book(input, delivery, on, &mut booked)?;
    }
    let rows: Vec<Booked> = booked.into_values().collect();
    write_received(&mut table, input, &rows).map_err(|e| BookingError::Text(LINES, e))?;
    Ok((table.text(), rows))
}

/// Writes what each row has received now.
fn write_received(
    table: &mut EditedTable,
    input: &Input,
    rows: &[Booked],
) -> Result<(), EditError> {
    table.ensure("received")?;
    for booked in rows {
        let line = input.ordered.get(booked.row).map_or(0, |row| row.row.line);
        table.set(line, "received", &booked.received.to_string())?;
    }
    Ok(())
}

fn book(
    input: &Input,
    delivery: &Delivery,
    on: Date,
    booked: &mut BTreeMap<usize, Booked>,
) -> Result<(), BookingError> {
    let mut left = delivery.qty;
    for row in rows(input, delivery, on) {
        let before = input.ordered.get(row).map_or(0, |r| r.received);
        let entry = booked.entry(row).or_insert(Booked {
            row,
            qty: 0,
            received: before,
        });
        let ordered = input.ordered.get(row).map_or(0, |r| r.qty);
        let take = left.min(ordered.saturating_sub(entry.received));
        entry.qty += take;
        entry.received += take;
        left -= take;
    }
    booked.retain(|_, one| one.qty > 0);
    if left == 0 {
        return Ok(());
    }
    let part = input.catalog.part(delivery.part).code.clone();
    let from = delivery.supplier.as_ref();
    let from = from.map_or_else(String::new, |name| format!(" from {name}"));
    let (came, open) = (delivery.qty, delivery.qty - left);
    Err(if open == 0 {
        BookingError::NotOrdered { part, from }
    } else {
        BookingError::TooMany {
            part,
            from,
            came,
            open,
        }
    })
}

/// The rows that a delivery can go to, the oldest first.
fn rows(input: &Input, delivery: &Delivery, on: Date) -> Vec<usize> {
    let fits = |row: &Ordered| {
        let supplier = &input.catalog.supplier(row.supplier).name;
        row.part == delivery.part
            && row.ordered_on <= on
            && delivery.supplier.as_ref().is_none_or(|s| s == supplier)
    };
    let rows = input.ordered.iter().enumerate();
    let mut rows: Vec<(Date, usize)> = rows
        .filter(|(_, row)| fits(row))
        .map(|(place, row)| (row.ordered_on, place))
        .collect();
    rows.sort();
    rows.into_iter().map(|(_, place)| place).collect()
}
