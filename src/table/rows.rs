//! The records of a table, one after the other: from text, or from a sheet.

use super::header;
use crate::source::{Mark, SheetRow};
use csv::StringRecord;
use std::ops::Range;
use std::slice;

/// What the next record is.
pub enum Step {
    /// A record was read; the record begins at this line.
    Record(u64),
    /// There is no further record.
    End,
    /// The record begins at this line and ends inside a quoted field.
    OpenQuote(u64),
}

/// Where the records come from.
pub enum Rows<'s> {
    /// A text file.
    Text(Box<TextRows<'s>>),
    /// A sheet of a workbook.
    Sheet(SheetRows<'s>),
}

impl<'s> Rows<'s> {
    /// Reads the next record that is no comment.
    pub fn advance(&mut self, record: &mut StringRecord) -> Step {
        match self {
            Rows::Text(rows) => rows.advance(record),
            Rows::Sheet(rows) => rows.advance(record),
        }
    }

    /// The marks of the record that was read last.
    pub fn marks(&self) -> &'s [(u16, Mark)] {
        match self {
            Rows::Text(_) => &[],
            Rows::Sheet(rows) => rows.marks,
        }
    }
}

/// The records of a text file.
pub struct TextRows<'s> {
    reader: csv::Reader<&'s [u8]>,
    text: &'s str,
    separator: u8,
    /// The line, from 1, and the byte offset up to which lines are counted.
    line: u64,
    byte: usize,
    skipped: &'s str,
}

impl<'s> TextRows<'s> {
    /// All records of a text.
    pub fn new(text: &'s str, separator: u8) -> Self {
        Self {
            reader: csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(separator)
                .comment(Some(b'#'))
                .from_reader(text.as_bytes()),
            text,
            separator,
            line: 1,
            byte: 0,
            skipped: "",
        }
    }

    /// The comments and empty lines before the record that was read last, or
    /// after all records.
    pub fn skipped(&self) -> &'s str {
        self.skipped
    }

    /// The bytes of the record that was read last, with the end of its line.
    pub fn bytes(&self) -> Range<usize> {
        self.byte..self.past_line_end(self.offset()).min(self.text.len())
    }

    /// Reads the next record.
    pub fn advance(&mut self, record: &mut StringRecord) -> Step {
        let start = self.offset();
        match self.reader.read_record(record) {
            Ok(true) => {}
            // The bytes are valid UTF-8 in memory, so there is no other failure.
            Ok(false) | Err(_) => {
                let begin = self.past_line_end(start);
                self.skipped = self.text.get(begin..).unwrap_or("");
                return Step::End;
            }
        }
        let begin = self.past_line_end(start);
        let start = header::skip_comments(self.text, start);
        self.skipped = self.text.get(begin..start).unwrap_or("");
        self.count_lines_to(start);
        if self.offset() >= self.text.len() && self.ends_in_quote(start) {
            return Step::OpenQuote(self.line);
        }
        Step::Record(self.line)
    }

    fn offset(&self) -> usize {
        usize::try_from(self.reader.position().byte()).unwrap_or(usize::MAX)
    }

    /// The place after the line end at `at`: the reader may stop inside the `\r\n` that
    /// ends a record.
    fn past_line_end(&self, at: usize) -> usize {
        let bytes = self.text.as_bytes();
        let before = at.checked_sub(1).and_then(|before| bytes.get(before));
        match (before, bytes.get(at)) {
            (Some(b'\r'), Some(b'\n')) => at + 1,
            _ => at,
        }
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
                // A quote right after a closing quote opens the field again: a doubled quote.
                b'"' if quoted || fresh => (quoted, fresh) = (!quoted, true),
                _ if quoted => {}
                b => fresh = *b == self.separator || matches!(b, b'\r' | b'\n'),
            }
        }
        quoted
    }
}

/// The records of a sheet, all as wide as its widest row.
pub struct SheetRows<'s> {
    rows: slice::Iter<'s, SheetRow>,
    width: usize,
    marks: &'s [(u16, Mark)],
}

impl<'s> SheetRows<'s> {
    /// All records of a sheet.
    pub fn new(rows: &'s [SheetRow]) -> Self {
        let records = rows.iter().filter(|row| !row.is_comment());
        Self {
            width: records.map(|row| row.cells.len()).max().unwrap_or(0),
            rows: rows.iter(),
            marks: &[],
        }
    }

    fn advance(&mut self, record: &mut StringRecord) -> Step {
        let Some(row) = self.rows.find(|row| !row.is_comment()) else {
            return Step::End;
        };
        record.clear();
        for place in 0..self.width {
            record.push_field(row.cells.get(place).unwrap_or(""));
        }
        self.marks = &row.marks;
        Step::Record(row.number)
    }
}
