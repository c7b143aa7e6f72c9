//! Collects the cells of a sheet into rows, within limits.

use super::cell::Text;
use super::error::SheetLimit;
use super::limits::{MAX_COLUMNS, MAX_FIELDS, MAX_ROWS, MAX_TEXT};
use crate::source::{Mark, SheetRow};
use csv::StringRecord;

/// The rows of a sheet so far; cells come by rows, then columns.
#[derive(Default)]
pub struct Rows {
    done: Vec<SheetRow>,
    /// The number of the row that is collected, from 1.
    row: u64,
    cells: Vec<(usize, Text)>,
    spent: Spent,
}

/// What the sheets of a workbook have taken of its limits so far.
#[derive(Debug, Clone, Copy, Default)]
pub struct Spent {
    pub fields: u64,
    pub text: u64,
}

impl Spent {
    /// Adds so many fields and bytes of text.
    pub fn add(&mut self, fields: u64, text: u64) -> Result<(), SheetLimit> {
        self.fields = self.fields.saturating_add(fields);
        self.text = self.text.saturating_add(text);
        if self.fields > MAX_FIELDS {
            return Err(SheetLimit::Fields);
        }
        if self.text > MAX_TEXT {
            return Err(SheetLimit::Text);
        }
        Ok(())
    }
}

/// Holds a place to the limits of a sheet; row and column count from 0.
pub fn within(row: u64, column: u64) -> Result<(), SheetLimit> {
    if row >= MAX_ROWS {
        return Err(SheetLimit::Rows(row.saturating_add(1)));
    }
    if column >= MAX_COLUMNS {
        return Err(SheetLimit::Columns(column.saturating_add(1)));
    }
    Ok(())
}

impl Rows {
    /// No rows yet, for a sheet that comes after others.
    pub fn after(spent: Spent) -> Self {
        Self {
            spent,
            ..Self::default()
        }
    }

    /// Takes the cell at this row and column, both from 0.
    pub fn push(&mut self, row: u64, column: u64, text: Text) -> Result<(), SheetLimit> {
        if text.text.is_empty() {
            return Ok(());
        }
        within(row, column)?;
        if self.row != row + 1 {
            self.end_row()?;
            self.row = row + 1;
        }
        self.spent.add(0, text.text.len() as u64)?;
        self.cells
            .push((usize::try_from(column).unwrap_or(usize::MAX), text));
        Ok(())
    }

    /// All rows by number, and what has been taken of the limits.
    pub fn finish(mut self) -> Result<(Vec<SheetRow>, Spent), SheetLimit> {
        self.end_row()?;
        // Sheets may state their rows in any order; where a row stands twice,
        // both are kept as they come.
        self.done.sort_by_key(|row| row.number);
        Ok((self.done, self.spent))
    }

    fn end_row(&mut self) -> Result<(), SheetLimit> {
        let mut cells = std::mem::take(&mut self.cells);
        cells.sort_by_key(|(place, _)| *place);
        cells.dedup_by_key(|(place, _)| *place);
        let Some((last, _)) = cells.last() else {
            return Ok(());
        };
        self.spent.add(*last as u64 + 1, 0)?;
        self.done.push(sheet_row(self.row, &cells));
        Ok(())
    }
}

fn sheet_row(number: u64, cells: &[(usize, Text)]) -> SheetRow {
    let mut record = StringRecord::new();
    let mut marks: Vec<(u16, Mark)> = Vec::new();
    for (place, text) in cells {
        while record.len() < *place {
            record.push_field("");
        }
        record.push_field(&text.text);
        if let (Some(mark), Ok(place)) = (text.mark, u16::try_from(*place)) {
            marks.push((place, mark));
        }
    }
    SheetRow {
        number,
        cells: record,
        marks,
    }
}
