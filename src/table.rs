//! Table files: a header row, then one record a row, read in one pass.
//!
//! A file is UTF-8, with or without a byte-order mark. Columns stand in any order.
//! Lines that start with `#` are comments. Spaces around a field do not count. The header
//! row tells whether commas, semicolons or tabs separate the columns. With semicolons
//! or tabs, a decimal comma is understood.
//!
//! An apostrophe that keeps a spreadsheet from running a field is no part of the field:
//! `'=A` is `=A`.
//!
//! A sheet of a workbook is read the same way: a row whose first cell starts
//! with `#` is a comment, and a decimal comma is understood in text.

mod codes;
mod edit;
mod field;
mod guard;
pub(crate) mod header;
pub mod limits;
mod name;
mod number;
mod row;
pub(crate) mod rows;
mod shape;

pub use codes::Codes;
pub use edit::{EditError, EditedTable};
pub use guard::{guarded, unguarded};
pub use name::{looks, one_spelling};
pub use number::{NumberError, Span, parse};
pub use row::Row;
pub use shape::Col;

use crate::diag::{Diagnostic, Findings};
use crate::source::Source;
use csv::StringRecord;
use rows::{Rows, SheetRows, Step, TextRows};
use shape::Shape;
use std::borrow::Cow;
use std::cell::Cell;
use std::sync::Arc;

/// After so many errors the rest of a file is not looked at.
pub const MAX_ERRORS: usize = 10_000;

/// The most rows of a table. Further rows are an error, and are not looked at.
pub const MAX_ROWS: usize = 1_000_000;

/// The most bytes of a line: 1 MiB. A longer line is refused before memory is taken for
/// its fields.
pub const MAX_LINE: usize = 1 << 20;

/// A table that is being read.
pub struct Table<'s> {
    shape: Shape,
    rows: Rows<'s>,
    record: StringRecord,
    line: u64,
    complete: bool,
    /// How many rows may still come, and what to say where there are more.
    left: usize,
    too_many: Cow<'static, str>,
}

impl<'s> Table<'s> {
    /// Reads the header row. `columns` lists all columns that the table can have, each
    /// at its own place.
    ///
    /// Pushes an error and gives none if there is no header row to go by.
    pub fn open(source: &'s Source, columns: &[Col], findings: &mut Findings) -> Option<Self> {
        let text = source.text();
        if let Some(line) = text.split('\n').position(|line| line.len() > MAX_LINE) {
            findings.push(too_long(&source.file, line as u64 + 1));
            return None;
        }
        let is_sheet = source.rows().is_some();
        let separator = header::separator(text);
        let mut table = Table {
            shape: Shape {
                file: source.file.clone(),
                places: Vec::new(),
                width: 0,
                unnamed: Vec::new(),
                comma: is_sheet || separator != b',',
                is_sheet,
                sign: Cell::new(None),
                errors: Cell::new(0),
            },
            rows: match source.rows() {
                Some(rows) => Rows::Sheet(SheetRows::new(rows)),
                None => Rows::Text(Box::new(TextRows::new(text, separator))),
            },
            record: StringRecord::new(),
            line: 1,
            complete: true,
            left: MAX_ROWS,
            too_many: format!("the table has more than {MAX_ROWS} rows").into(),
        };
        if !table.advance_past_blanks(findings) {
            if table.complete {
                findings.push(header::nothing(source, columns));
            }
            return None;
        }
        header::read(
            &mut table.shape,
            &table.record,
            table.line,
            columns,
            findings,
        )?;
        Some(table)
    }

    /// Takes at most so many rows; `too_many` is the message where there are more.
    pub fn at_most(&mut self, rows: usize, too_many: impl Into<Cow<'static, str>>) {
        if rows < self.left {
            self.left = rows;
            self.too_many = too_many.into();
        }
    }

    /// The next row that holds anything; none at the end.
    ///
    /// Pushes an error where the row has more or fewer fields than the header row.
    pub fn next<'t>(&'t mut self, findings: &'t mut Findings) -> Option<Row<'t>> {
        if self.shape.errors.get() >= MAX_ERRORS {
            self.complete = false;
            findings.push(too_many(&self.shape.file));
            return None;
        }
        if !self.advance_past_blanks(findings) {
            return None;
        }
        let Some(left) = self.left.checked_sub(1) else {
            self.complete = false;
            findings.push(beyond(&self.shape.file, self.line, &self.too_many));
            return None;
        };
        self.left = left;
        let cells = row::Cells {
            fields: &self.record,
            marks: self.rows.marks(),
            line: self.line,
        };
        Some(Row::new(&self.shape, cells, findings))
    }

    /// False if rows may have been missed: then a code that is not known is no error.
    /// The answer is right only after the last row.
    pub fn is_complete(&self) -> bool {
        self.complete
    }

    /// True if the header row has the column.
    pub fn has(&self, col: Col) -> bool {
        self.shape
            .places
            .get(col.place)
            .is_some_and(Option::is_some)
    }

    /// Reads one record that holds anything; false at the end.
    fn advance_past_blanks(&mut self, findings: &mut Findings) -> bool {
        while self.advance(findings) {
            if self.record.iter().any(|cell| !cell.trim().is_empty()) {
                return true;
            }
        }
        false
    }

    /// Reads one record with its line; false at the end.
    fn advance(&mut self, findings: &mut Findings) -> bool {
        match self.rows.advance(&mut self.record) {
            Step::Record(line) => {
                self.line = line;
                spell(&mut self.record);
                true
            }
            Step::End => false,
            Step::OpenQuote(line) => {
                self.complete = false;
                findings.push(open_quote(&self.shape.file, line));
                false
            }
        }
    }
}

/// Gives each field its one spelling. The spaces around a field stay, since a
/// reader tells what they stand before.
fn spell(record: &mut StringRecord) {
    let is_odd = |field: &str| matches!(one_spelling(field.trim()), Cow::Owned(_));
    if !record.iter().any(is_odd) {
        return;
    }
    let fields = record.iter().map(|field| {
        let inner = field.trim();
        field.replacen(inner, &one_spelling(inner), 1)
    });
    *record = fields.collect::<Vec<String>>().into();
}

fn open_quote(file: &Arc<str>, line: u64) -> Diagnostic {
    Diagnostic::error(file, "a quote that opens in this row is not closed")
        .line(line)
        .help("close the quote; a quote inside a quoted field is written twice")
}

fn too_long(file: &Arc<str>, line: u64) -> Diagnostic {
    Diagnostic::error(file, format!("the line is longer than {MAX_LINE} bytes"))
        .line(line)
        .help("put each row on a line of its own")
}

fn beyond(file: &Arc<str>, line: u64, what: &str) -> Diagnostic {
    let message = format!("{what}: from here on nothing was looked at");
    Diagnostic::error(file, message)
        .line(line)
        .help("leave out what no circuit needs")
}

fn too_many(file: &Arc<str>) -> Diagnostic {
    Diagnostic::error(
        file,
        format!(
            "the file has more than {MAX_ERRORS} errors: the rest of the file was not looked at"
        ),
    )
    .help("correct these errors first")
}

#[cfg(test)]
mod tests;
