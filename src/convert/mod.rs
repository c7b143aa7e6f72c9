//! CSV files into a workbook and back, without loss of what any cell says.
//!
//! Each file is a sheet of the same name. Comments and empty lines keep their
//! places. A number in a column of numbers becomes a number that shows the same
//! decimals; every other text stays text, whatever it looks like.

mod csv_file;
mod workbook;

pub use csv_file::{MAX_CELL, read, write};
pub use workbook::{SheetError, undated, workbook};

/// A table, line by line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grid {
    /// Name of the table: `bodies` for the file `bodies.csv` or the sheet `bodies`.
    pub name: String,
    /// The lines. The header row is the first line that is no comment and not blank.
    pub lines: Vec<Line>,
}

/// A line of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// The line holds nothing.
    Blank,
    /// A comment with its `#`.
    Comment(String),
    /// Fields; every row has as many as the header row.
    Fields(Vec<String>),
}

/// Columns that hold numbers, in whatever table.
const NUMBERS: [&str; 25] = [
    "cable_od_mm",
    "cost",
    "current_a",
    "duty_percent",
    "free_over",
    "lead_days",
    "max_c",
    "max_mm2",
    "max_od_mm",
    "min_mm2",
    "min_od_mm",
    "min_order",
    "min_qty",
    "pack",
    "pieces",
    "poles",
    "qty",
    "rated_a",
    "rated_c",
    "rated_v",
    "shipping",
    "stock",
    "unit_price",
    "voltage_v",
    "gauge",
];

/// The column that holds a day.
const DAY: &str = "quoted";

fn is_number_column(name: &str) -> bool {
    NUMBERS.contains(&name.trim())
}

#[cfg(test)]
mod tests;
