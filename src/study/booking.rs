//! Changes to `ordered.csv` and `dies_ordered.csv`: an order is placed with the dies
//! of the plan, or a delivery is received. A change goes from text to text, and the
//! caller writes the new text.

use super::offers::{Several, with_sku};
use crate::catalog::{Catalog, Die};
use crate::diag::joined;
use crate::input::Input;
use crate::plan::{Order, Plan, dies_used};
use crate::project::delivery::Delivery;
use crate::project::{DieOrdered, Ordered, dies_ordered};
use crate::source::sha256;
use crate::table::{EditError, EditedTable};
use crate::units::{Money, Qty};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// The columns of a new `ordered.csv`.
const COLUMNS: [&str; 8] = [
    "part",
    "supplier",
    "qty",
    "unit_price",
    "ordered_on",
    "received",
    "charges",
    SKU,
];

/// The column of the supplier's code.
const SKU: &str = "sku";

/// The columns that placing may add to a file, each after the last one.
const ADDED: [&str; 2] = ["charges", SKU];

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
        /// Part code, with the sku where the delivery names one.
        part: String,
        /// ` from Nord`, or nothing.
        from: String,
    },
    /// Nothing is outstanding under the sku that the delivery names, but under others.
    #[error("nothing of part {part} is on order from {from}")]
    OtherSku {
        /// Part code with the sku.
        part: String,
        /// The supplier.
        from: String,
        /// Skus of the part that are on order there.
        open: Vec<String>,
    },
    /// The delivery names a sku that no order and no offer of the part has.
    #[error("part {part} has no sku {sku}: no order and no offer has it")]
    NoSku {
        /// Part code.
        part: String,
        /// The sku that the delivery names.
        sku: String,
        /// Skus of the part that are on order.
        open: Vec<String>,
    },
    /// The delivery names a sku, and it is not clear of which supplier.
    #[error("the delivery of part {part} names no supplier")]
    NoSupplier {
        /// Part code with the sku.
        part: String,
        /// Suppliers that have this sku of the part.
        of: Vec<String>,
    },
    /// More came than was outstanding.
    #[error("{came} of part {part} came, but only {open} are on order{from}")]
    TooMany {
        /// Part code, with the sku where the delivery names one.
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
/// A new file has the sku of each line. A file without that column stays so, unless
/// the catalog has several offers of a part and supplier in these orders.
///
/// # Errors
/// [`BookingError`] if the file can't be taken apart or put together.
pub fn place(
    text: Option<&str>,
    orders: &[Order],
    catalog: &Catalog,
    on: Date,
) -> Result<String, BookingError> {
    let mut table = opened(text, LINES, &COLUMNS, NUMBERS)?;
    let several = Several::of(catalog);
    let is_needed = |order: &Order| {
        let mut lines = order.lines.iter();
        lines.any(|line| several.has(&line.part, &order.supplier))
    };
    let has_skus = table.has(SKU) || orders.iter().any(is_needed);
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
                (SKU, if has_skus { &line.sku } else { "" }),
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
            Some(was) => is_text_of(&head, was) || is_wider(&head, was),
        }
    };
    let mut counts = lines.len().saturating_sub(most)..lines.len();
    counts.rfind(is_old)
}

/// True if the text has this SHA-256. Its last line may have had no end.
fn is_text_of(text: &str, was: &str) -> bool {
    let texts = [text, text.trim_end_matches(['\r', '\n'])];
    texts.iter().any(|text| sha256(text.as_bytes()) == was)
}

/// True if the text has this SHA-256 without the columns that placing added.
fn is_wider(text: &str, was: &str) -> bool {
    let mut text = text.to_owned();
    for _ in ADDED {
        let table = EditedTable::open(&text, NUMBERS).ok();
        let last = |table: EditedTable| ADDED.iter().find_map(|name| table.without_last(name));
        match table.and_then(last) {
            Some(narrower) if is_text_of(&narrower, was) => return true,
            Some(narrower) => text = narrower,
            None => return false,
        }
    }
    false
}

/// How many lines `dies_ordered.csv` held before, where it holds what it held,
/// and after that only dies of the plan; as [`lines_before`].
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
        let is_sku = |sku: &str| row.sku.is_empty() || row.sku == sku;
        lines.any(|line| line.part == *part && line.qty == row.qty && is_sku(&line.sku))
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
/// and what was booked where. Rows ordered after `on` are left out. What names a sku
/// goes to rows with that sku, then to rows without any.
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
    let whole = deliveries.iter().map(|delivery| whole(input, delivery));
    let mut deliveries: Vec<Delivery> = whole.collect::<Result<_, _>>()?;
    // What names more goes first, so that another can't take its row.
    deliveries.sort_by_key(|d| (d.sku.is_none(), d.supplier.is_none()));
    for delivery in &deliveries {
        book(input, delivery, on, &mut booked)?;
    }
    let rows: Vec<Booked> = booked.into_values().collect();
    write_received(&mut table, input, &rows).map_err(|e| BookingError::Text(LINES, e))?;
    Ok((table.text(), rows))
}

/// The delivery with the supplier of its sku, where it names the sku alone: a sku is a
/// supplier's own.
fn whole(input: &Input, delivery: &Delivery) -> Result<Delivery, BookingError> {
    let mut delivery = delivery.clone();
    let (Some(sku), None) = (&delivery.sku, &delivery.supplier) else {
        return Ok(delivery);
    };
    let name = |id| input.catalog.supplier(id).name.clone();
    let rows = input.ordered.iter();
    let rows = rows.filter(|row| row.part == delivery.part && row.sku == *sku);
    let mut of: BTreeSet<String> = rows.map(|row| name(row.supplier)).collect();
    if of.is_empty() {
        let offers = input.catalog.offers_of(delivery.part);
        let offers = offers.filter(|(_, offer)| offer.sku == *sku);
        of = offers.map(|(_, offer)| name(offer.supplier)).collect();
    }
    if of.is_empty() {
        return Err(no_sku(input, &delivery, sku));
    }
    if of.len() != 1 {
        let part = &input.catalog.part(delivery.part).code;
        return Err(BookingError::NoSupplier {
            part: with_sku(part, Some(sku)),
            of: of.into_iter().collect(),
        });
    }
    delivery.supplier = of.pop_first();
    Ok(delivery)
}

/// Neither an order nor an offer of the part has the sku.
fn no_sku(input: &Input, delivery: &Delivery, sku: &str) -> BookingError {
    let rows = input.ordered.iter();
    let open = rows.filter(|row| row.part == delivery.part && row.received < row.qty);
    let open: BTreeSet<&str> = open.map(|row| row.sku.as_str()).collect();
    BookingError::NoSku {
        part: input.catalog.part(delivery.part).code.clone(),
        sku: sku.to_owned(),
        open: (open.into_iter().filter(|sku| !sku.is_empty()))
            .map(str::to_owned)
            .collect(),
    }
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
    Err(lacking(input, delivery, on, left))
}

/// Why so much of a delivery can't be booked.
fn lacking(input: &Input, delivery: &Delivery, on: Date, left: Qty) -> BookingError {
    let code = &input.catalog.part(delivery.part).code;
    let part = with_sku(code, delivery.sku.as_deref());
    let (came, open) = (delivery.qty, delivery.qty - left);
    let others = other_skus(input, delivery, on);
    if let (0, Some(from), false) = (open, &delivery.supplier, others.is_empty()) {
        let from = from.clone();
        return BookingError::OtherSku {
            part,
            from,
            open: others,
        };
    }
    let from = delivery.supplier.as_ref();
    let from = from.map_or_else(String::new, |name| format!(" from {name}"));
    match open {
        0 => BookingError::NotOrdered { part, from },
        _ => BookingError::TooMany {
            part,
            from,
            came,
            open,
        },
    }
}

/// Skus under which the part is still on order where a delivery names another.
fn other_skus(input: &Input, delivery: &Delivery, on: Date) -> Vec<String> {
    let Some(sku) = &delivery.sku else {
        return Vec::new();
    };
    let any = Delivery {
        sku: None,
        ..delivery.clone()
    };
    let rows = rows(input, &any, on).into_iter();
    let rows = rows.filter_map(|row| input.ordered.get(row));
    let open = rows.filter(|row| row.received < row.qty && row.sku != *sku);
    let skus: BTreeSet<String> = open.map(|row| row.sku.clone()).collect();
    skus.into_iter().filter(|sku| !sku.is_empty()).collect()
}

/// The rows that a delivery can go to: those of its sku, then those without one, each
/// the oldest first.
fn rows(input: &Input, delivery: &Delivery, on: Date) -> Vec<usize> {
    let sku = delivery.sku.as_deref();
    let fits = |row: &Ordered| {
        let supplier = &input.catalog.supplier(row.supplier).name;
        row.part == delivery.part
            && row.ordered_on <= on
            && delivery.supplier.as_ref().is_none_or(|s| s == supplier)
            && sku.is_none_or(|sku| row.sku.is_empty() || row.sku == sku)
    };
    let rows = input.ordered.iter().enumerate();
    let mut rows: Vec<(bool, Date, usize)> = rows
        .filter(|(_, row)| fits(row))
        .map(|(place, row)| (sku.is_some_and(|sku| row.sku != sku), row.ordered_on, place))
        .collect();
    rows.sort();
    rows.into_iter().map(|(.., place)| place).collect()
}

/// Where a sku is not on order, and others are.
fn on_order(open: &[String]) -> String {
    format!(
        "on order there is sku {}: name that sku, or name none and the oldest order is \
         filled first",
        joined(open, "and sku")
    )
}

impl BookingError {
    /// What to do about it.
    pub fn cure(&self) -> String {
        match self {
            BookingError::Changed(_) => "run the command again".to_owned(),
            BookingError::Text(..) => "correct the file".to_owned(),
            BookingError::OtherSku { open, .. } => on_order(open),
            BookingError::NoSku { open, .. } if open.is_empty() => {
                "correct the sku, or name none and the oldest order is filled first".to_owned()
            }
            BookingError::NoSku { open, .. } => on_order(open),
            BookingError::NoSupplier { of, .. } => {
                format!("name the supplier: {} have this sku", joined(of, "and"))
            }
            BookingError::NotOrdered { .. } | BookingError::TooMany { .. } => {
                "book what was ordered; enter what came beyond the order into on_hand.csv, \
                 or correct ordered.csv"
                    .to_owned()
            }
        }
    }
}
