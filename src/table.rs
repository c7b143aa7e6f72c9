//! Table files: a header row, then one record a row, read in one pass.
//!
//! UTF-8 with or without a byte-order mark; columns in any order; lines that
//! start with `#` are comments; spaces around a field do not count. The header
//! row tells whether commas, semicolons or tabs separate the columns; where it
//! is not commas, a decimal comma is understood.

mod codes;
mod header;
pub mod limits;
mod number;
mod row;
mod sheet;

pub use codes::Codes;
pub use number::{Limits, NumberError, parse};
pub use row::Row;
pub use sheet::Sheet;

use crate::diag::{Diagnostic, Findings};
use crate::source::Source;
use csv::StringRecord;
use std::cell::Cell;
use std::sync::Arc;

/// After so many errors the rest of a file is not looked at.
pub const MAX_ERRORS: usize = 10_000;

/// Longer lines are refused, before memory is taken for their fields: 1 MiB.
pub const MAX_LINE: usize = 1 << 20;

/// A column by its place in the list of its table's columns.
#[derive(Debug, Clone, Copy)]
pub struct Col {
    place: usize,
    /// Its name in the header row.
    pub name: &'static str,
    required: bool,
}

impl Col {
    /// A column that must be there, with a value in each row.
    pub const fn required(place: usize, name: &'static str) -> Self {
        Self {
            place,
            name,
            required: true,
        }
    }

    /// A column that may be absent or empty.
    pub const fn optional(place: usize, name: &'static str) -> Self {
        Self {
            place,
            name,
            required: false,
        }
    }
}

/// What all rows of a table share.
#[derive(Debug)]
struct Shape {
    file: Arc<str>,
    /// For each column of the list, its place in the file.
    places: Vec<Option<usize>>,
    /// Fields of the header row.
    width: usize,
    /// Fields of the header row without a name.
    unnamed: Vec<usize>,
    /// What separates the columns.
    separator: u8,
    /// A decimal comma is understood.
    comma: bool,
    /// The decimal sign that the file uses, and the line that showed it first.
    sign: Cell<Option<(char, u64)>>,
    errors: Cell<usize>,
}

/// A table that is being read.
pub struct Table<'s> {
    shape: Shape,
    reader: csv::Reader<&'s [u8]>,
    record: StringRecord,
    text: &'s str,
    /// Line and byte offset up to which lines are counted.
    line: u64,
    byte: usize,
    complete: bool,
}

impl<'s> Table<'s> {
    /// Reads the header row; `columns` lists all that the table can have, each
    /// at its own place.
    ///
    /// Pushes an error and gives none if there is no header row to go by.
    pub fn open(source: &'s Source, columns: &[Col], findings: &mut Findings) -> Option<Self> {
        let text = source.text();
        if let Some(line) = text.split('\n').position(|line| line.len() > MAX_LINE) {
            findings.push(too_long(&source.file, line as u64 + 1));
            return None;
        }
        let separator = header::separator(text);
        let mut table = Table {
            shape: Shape {
                file: source.file.clone(),
                places: Vec::new(),
                width: 0,
                unnamed: Vec::new(),
                separator,
                comma: separator != b',',
                sign: Cell::new(None),
                errors: Cell::new(0),
            },
            reader: csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(separator)
                .comment(Some(b'#'))
                .from_reader(text.as_bytes()),
            record: StringRecord::new(),
            text,
            line: 1,
            byte: 0,
            complete: true,
        };
        if !table.advance_past_blanks(findings) {
            if table.complete {
                findings.push(header::nothing(&source.file, text, columns));
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

    /// The next row that holds anything; none at the end.
    ///
    /// Pushes an error where it has more or fewer fields than the header row.
    pub fn next<'t>(&'t mut self, findings: &'t mut Findings) -> Option<Row<'t>> {
        if self.shape.errors.get() >= MAX_ERRORS {
            self.complete = false;
            findings.push(too_many(&self.shape.file));
            return None;
        }
        if !self.advance_past_blanks(findings) {
            return None;
        }
        Some(Row::new(&self.shape, &self.record, self.line, findings))
    }

    /// False if rows may have been missed, so that a code that is not known is
    /// no error; tells the truth after the last row.
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

    /// Reads one record and finds its line; false at the end.
    fn advance(&mut self, findings: &mut Findings) -> bool {
        let start = self.offset();
        match self.reader.read_record(&mut self.record) {
            Ok(true) => {}
            // The bytes are valid UTF-8 in memory, so there is no other failure.
            Ok(false) | Err(_) => return false,
        }
        let start = header::skip_comments(self.text, start);
        self.count_lines_to(start);
        if self.offset() >= self.text.len() && self.ends_in_quote(start) {
            self.complete = false;
            findings.push(
                Diagnostic::error(
                    &self.shape.file,
                    "a quote that opens in this row is not closed",
                )
                .line(self.line)
                .help("close the quote; a quote inside a quoted field is written twice"),
            );
            return false;
        }
        true
    }

    fn offset(&self) -> usize {
        usize::try_from(self.reader.position().byte()).unwrap_or(usize::MAX)
    }

    fn count_lines_to(&mut self, byte: usize) {
        let passed = self.text.as_bytes().get(self.byte..byte).unwrap_or(&[]);
        self.line += passed.iter().filter(|b| **b == b'\n').count() as u64;
        self.byte = self.byte.max(byte);
    }

    /// True if the text from here on ends inside a quoted field.
    fn ends_in_quote(&self, start: usize) -> bool {
        let (mut quoted, mut fresh) = (false, true);
        for byte in self.text.as_bytes().get(start..).unwrap_or(&[]) {
            match byte {
                // Right after a closing quote another one opens again: a doubled quote.
                b'"' if quoted || fresh => (quoted, fresh) = (!quoted, true),
                _ if quoted => {}
                b => fresh = *b == self.shape.separator || matches!(b, b'\r' | b'\n'),
            }
        }
        quoted
    }
}

fn too_long(file: &Arc<str>, line: u64) -> Diagnostic {
    Diagnostic::error(file, format!("the line is longer than {MAX_LINE} bytes"))
        .line(line)
        .help("put each row on a line of its own")
}

fn too_many(file: &Arc<str>) -> Diagnostic {
    Diagnostic::error(
        file,
        format!("more than {MAX_ERRORS} errors: the rest of the file was not looked at"),
    )
    .help("correct these first")
}

#[cfg(test)]
mod tests;
