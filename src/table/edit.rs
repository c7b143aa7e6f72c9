//! Cells of a table file, written in place. What no edit names stays as it is, byte for
//! byte: comments, blank lines, the order of rows and columns, the separator, quotes,
//! spaces, line ends and the byte-order mark.
//!
//! This module is for text alone; [`crate::book::edit`] has the sheets of a workbook.

use super::field::{decoded, fields, padding, with_quotes};
use super::guard::plain;
use super::limits::ANY;
use super::rows::{Step, TextRows};
use super::{guarded, header, parse};
use csv::StringRecord;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Why a table can't be changed as asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// No row names the columns.
    #[error("there is no header row")]
    NoHeader,
    /// The text ends inside a quoted field.
    #[error("a quote that opens in line {line} is not closed")]
    OpenQuote {
        /// The line that the row begins at, from 1.
        line: u64,
    },
    /// The fields in the bytes are not the fields that the reader gives.
    #[error("the fields of line {line} cannot be told apart")]
    Unclear {
        /// The line that the row begins at, from 1.
        line: u64,
    },
    /// The header row does not have the column.
    #[error("there is no column {column}")]
    NoColumn {
        /// Name of the column.
        column: String,
    },
    /// The header row has the column twice.
    #[error("the column {column} stands twice")]
    Twice {
        /// Name of the column.
        column: String,
    },
    /// The line is a comment, is blank, is the header row or the inside of a row, or is not there.
    #[error("no row begins at line {line}")]
    NoRow {
        /// The line.
        line: u64,
    },
    /// Lines that end with a carriage return alone are not counted.
    #[error("more than one row begins at line {line}")]
    Several {
        /// The line.
        line: u64,
    },
    /// It can't be told which field belongs to which column.
    #[error("the row at line {line} has more or fewer fields than the header row")]
    Ragged {
        /// The line that the row begins at, from 1.
        line: u64,
    },
    /// The value would be read as something else, for example where spaces stand around it.
    #[error("{value:?} in the column {column} would be read as something else")]
    Value {
        /// Name of the column.
        column: String,
        /// The value.
        value: String,
    },
}

/// A table file and the edits of it.
///
/// A row is named by the line that it began at when the text was opened, as
/// messages name the row; no edit changes that name. A value is given as it reads: a
/// number with a decimal point, a text without quotes.
///
/// ```
/// use couplet::table::EditedTable;
/// let text = "# stock\r\npart; qty ;price\r\n\r\nP-1; 3 ;1,50\r\n";
/// let mut table = EditedTable::open(text, &["qty", "price"])?;
/// table.set(4, "qty", "4")?;
/// table.set(4, "price", "1.5")?; // so it reads already
/// table.add(&[("part", "P;2"), ("price", "0.25")])?;
/// let edited = "# stock\r\npart; qty ;price\r\n\r\nP-1; 4 ;1,50\r\n\"P;2\";;0,25\r\n";
/// assert_eq!(table.text(), edited);
/// # Ok::<(), couplet::table::EditError>(())
/// ```
#[derive(Debug, Clone)]
pub struct EditedTable {
    /// The text, without the byte-order mark.
    text: String,
    has_mark: bool,
    separator: u8,
    /// The decimal sign.
    sign: char,
    /// The end of a line that is added.
    line_end: &'static str,
    /// Columns that hold numbers.
    numbers: &'static [&'static str],
    /// The columns, those added last.
    columns: Vec<String>,
    /// How many columns the text has.
    width: usize,
    /// The header row, then all rows that hold anything.
    rows: Vec<Span>,
    /// New bytes of cells, by row and column.
    cells: BTreeMap<(usize, usize), String>,
    removed: BTreeSet<usize>,
    /// New rows at the end.
    added: Vec<NewRow>,
    /// New rows after a row of the text, by the place of that row.
    inserted: BTreeMap<usize, Vec<NewRow>>,
}

/// Cells of a new row, by column.
type NewRow = BTreeMap<usize, String>;

/// Where a row stands.
#[derive(Debug, Clone)]
struct Span {
    /// The line that it begins at.
    line: u64,
    /// The bytes of the row, with the end of its line.
    bytes: Range<usize>,
}

impl EditedTable {
    /// Opens a text. `numbers` are the columns that hold a number, alone or with
    /// a unit after it: there the decimal sign of the file is written.
    ///
    /// # Errors
    /// [`EditError::NoHeader`], [`EditError::OpenQuote`], [`EditError::Unclear`].
    pub fn open(text: &str, numbers: &'static [&'static str]) -> Result<Self, EditError> {
        let bare = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut table = Self {
            text: bare.to_owned(),
            has_mark: bare.len() < text.len(),
            separator: header::separator(bare),
            sign: '.',
            line_end: "\n",
            numbers,
            columns: Vec::new(),
            width: 0,
            rows: Vec::new(),
            cells: BTreeMap::new(),
            removed: BTreeSet::new(),
            added: Vec::new(),
            inserted: BTreeMap::new(),
        };
        table.read(bare)?;
        Ok(table)
    }

    /// A table with a header row alone; `numbers` as in [`EditedTable::open`].
    ///
    /// # Errors
    /// [`EditError::NoHeader`] if no column is given.
    pub fn create(columns: &[&str], numbers: &'static [&'static str]) -> Result<Self, EditError> {
        let names = columns.iter().enumerate();
        let names = names.map(|(place, name)| with_quotes(name, b',', place));
        Self::open(
            &format!("{}\n", names.collect::<Vec<_>>().join(",")),
            numbers,
        )
    }

    /// How many rows the table has now, without the header row.
    pub fn rows(&self) -> usize {
        let inserted: usize = self.inserted.values().map(Vec::len).sum();
        self.rows.len() + self.added.len() + inserted - self.removed.len() - 1
    }

    /// True if the header row has the column, or an edit added the column.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|name| name == column)
    }

    /// Writes the cell of a row. The bytes stay where the cell reads as the value already.
    ///
    /// # Errors
    /// [`EditError::NoRow`] or [`EditError::Several`] for the line,
    /// [`EditError::NoColumn`] or [`EditError::Twice`] for the column,
    /// [`EditError::Ragged`] for the row, and [`EditError::Value`].
    pub fn set(&mut self, line: u64, column: &str, value: &str) -> Result<(), EditError> {
        let row = self.row(line)?;
        let place = self.place(column)?;
        let fields = self.fields(row);
        if fields.len() != self.width {
            return Err(EditError::Ragged { line });
        }
        let old = fields.get(place).map_or("", |bytes| self.slice(bytes));
        let new = (!self.reads(old, column, value))
            .then(|| self.cell(place, column, value, old))
            .transpose()?;
        match new {
            Some(new) => self.cells.insert((row, place), new),
            None => self.cells.remove(&(row, place)),
        };
        Ok(())
    }

    /// Adds a row at the end. A value that is not empty brings its column along,
    /// as [`EditedTable::ensure`] does.
    ///
    /// # Errors
    /// [`EditError::Twice`] for a column, and [`EditError::Value`]: then nothing
    /// is added.
    pub fn add(&mut self, row: &[(&str, &str)]) -> Result<(), EditError> {
        let added = self.new_row(row)?;
        self.added.push(added);
        Ok(())
    }

    /// Adds a row right after the row that begins at this line, or after the rows that were
    /// added there before. The row of that line may have been taken out.
    ///
    /// # Errors
    /// As [`EditedTable::add`], and [`EditError::NoRow`] or [`EditError::Several`] for the line.
    pub fn add_after(&mut self, line: u64, row: &[(&str, &str)]) -> Result<(), EditError> {
        let place = self.any_row(line)?;
        let added = self.new_row(row)?;
        self.inserted.entry(place).or_default().push(added);
        Ok(())
    }

    fn new_row(&mut self, row: &[(&str, &str)]) -> Result<NewRow, EditError> {
        let mut cells = Vec::new();
        for &(column, value) in row.iter().filter(|(_, value)| !value.is_empty()) {
            let place = self.find(column)?.unwrap_or(usize::MAX);
            cells.push((column, self.cell(place, column, value, "")?));
        }
        let mut added = BTreeMap::new();
        for (column, cell) in cells {
            added.insert(self.ensure(column)?, cell);
        }
        Ok(added)
    }

    /// Takes a row out, with the end of its line.
    ///
    /// # Errors
    /// [`EditError::NoRow`] or [`EditError::Several`] for the line.
    pub fn remove(&mut self, line: u64) -> Result<(), EditError> {
        let row = self.row(line)?;
        self.removed.insert(row);
        Ok(())
    }

    /// Adds a column after the last column, unless it is there; gives its place from 0.
    /// Each row gets a separator at its end, or the row would have too few fields.
    ///
    /// # Errors
    /// [`EditError::Twice`] if the column is there twice.
    pub fn ensure(&mut self, column: &str) -> Result<usize, EditError> {
        if let Some(place) = self.find(column)? {
            return Ok(place);
        }
        let place = self.columns.len();
        let name = with_quotes(column, self.separator, place);
        self.cells.insert((0, place), name);
        self.columns.push(column.to_owned());
        Ok(place)
    }

    /// The text as it was opened, without its last column: what [`EditedTable::ensure`]
    /// made of the text is taken back, in each row whatever the number of its fields. None
    /// where another column is the last, or where any row holds something at its end.
    pub fn without_last(&self, column: &str) -> Option<String> {
        let last = self.width.checked_sub(1).filter(|last| *last > 0)?;
        if self.columns.get(last).is_none_or(|name| name != column) {
            return None;
        }
        let mut text = String::from(if self.has_mark { "\u{feff}" } else { "" });
        let mut at = 0;
        for row in 0..self.rows.len() {
            let fields = self.fields(row);
            let [.., before, cell] = fields.as_slice() else {
                return None;
            };
            if row > 0 && !self.slice(cell).is_empty() {
                return None;
            }
            text.push_str(self.slice(&(at..before.end)));
            at = cell.end;
        }
        text.push_str(self.slice(&(at..self.text.len())));
        Some(text)
    }

    /// The whole text with all edits.
    pub fn text(&self) -> String {
        let mut text = String::with_capacity(self.text.len());
        text.push_str(if self.has_mark { "\u{feff}" } else { "" });
        let mut at = 0;
        for (row, span) in self.rows.iter().enumerate() {
            text.push_str(self.slice(&(at..span.bytes.start)));
            at = span.bytes.end;
            if !self.removed.contains(&row) {
                self.write(row, span, &mut text);
            }
            let after = self.inserted.get(&row);
            after
                .into_iter()
                .flatten()
                .for_each(|row| self.write_added(row, &mut text));
        }
        text.push_str(self.slice(&(at..self.text.len())));
        self.added
            .iter()
            .for_each(|row| self.write_added(row, &mut text));
        text
    }

    /// Notes the rows, the columns, the decimal sign and the line ends of a text.
    fn read(&mut self, bare: &str) -> Result<(), EditError> {
        let mut rows = TextRows::new(bare, self.separator);
        let mut record = StringRecord::new();
        let mut signs = Signs::default();
        loop {
            let line = match rows.advance(&mut record) {
                Step::Record(line) => line,
                Step::OpenQuote(line) => return Err(EditError::OpenQuote { line }),
                Step::End => break,
            };
            if record.iter().any(|field| !field.trim().is_empty()) {
                let bytes = rows.bytes();
                self.read_row(Span { line, bytes }, &record, &mut signs)?;
            }
        }
        if self.separator != b',' {
            self.sign = signs.number.or(signs.unit).unwrap_or(',');
        }
        if self.rows.is_empty() {
            return Err(EditError::NoHeader);
        }
        Ok(())
    }

    fn read_row(
        &mut self,
        span: Span,
        record: &StringRecord,
        signs: &mut Signs,
    ) -> Result<(), EditError> {
        let line = span.line;
        match self.slice(&span.bytes) {
            row if row.ends_with("\r\n") => self.line_end = "\r\n",
            row if row.ends_with('\n') => self.line_end = "\n",
            _ => {}
        }
        self.rows.push(span);
        let fields = self.fields(self.rows.len() - 1);
        let own = fields.iter().map(|bytes| decoded(self.slice(bytes)));
        if !own.eq(record.iter()) {
            return Err(EditError::Unclear { line });
        }
        if self.rows.len() == 1 {
            self.width = record.len();
            self.columns = record.iter().map(|name| name.trim().to_owned()).collect();
        } else if record.len() == self.width {
            let cells = self.columns.iter().zip(record);
            cells
                .filter(|(column, _)| self.numbers.contains(&column.as_str()))
                .for_each(|(_, cell)| signs.see(plain(cell)));
        }
        Ok(())
    }

    fn slice(&self, bytes: &Range<usize>) -> &str {
        self.text.get(bytes.clone()).unwrap_or("")
    }

    fn fields(&self, row: usize) -> Vec<Range<usize>> {
        let start = self.rows.get(row).map_or(0, |span| span.bytes.start);
        fields(&self.text, start, self.separator)
    }

    /// The row that begins at a line.
    fn row(&self, line: u64) -> Result<usize, EditError> {
        let row = self.any_row(line)?;
        match self.removed.contains(&row) {
            true => Err(EditError::NoRow { line }),
            false => Ok(row),
        }
    }

    /// The same, taken out or not.
    fn any_row(&self, line: u64) -> Result<usize, EditError> {
        let row = self.rows.partition_point(|span| span.line < line);
        let same = self.rows.iter().skip(row);
        match same.take_while(|span| span.line == line).count() {
            1 if row > 0 => Ok(row),
            0 | 1 => Err(EditError::NoRow { line }),
            _ => Err(EditError::Several { line }),
        }
    }

    /// The place of a column, if it is there.
    fn find(&self, column: &str) -> Result<Option<usize>, EditError> {
        let named = self.columns.iter().enumerate();
        let mut places = named.filter(|(_, name)| *name == column);
        match (places.next(), places.next()) {
            (_, Some(_)) => Err(EditError::Twice {
                column: column.to_owned(),
            }),
            (first, None) => Ok(first.map(|(place, _)| place)),
        }
    }

    fn place(&self, column: &str) -> Result<usize, EditError> {
        self.find(column)?.ok_or_else(|| EditError::NoColumn {
            column: column.to_owned(),
        })
    }

    /// True if the bytes of a cell read as the value.
    fn reads(&self, bytes: &str, column: &str, value: &str) -> bool {
        let field = decoded(bytes);
        let cell = plain(&field);
        if !self.numbers.contains(&column) {
            return cell == value;
        }
        let comma = self.separator != b',';
        let (old, new) = (parse(cell, &ANY, comma), parse(value, &ANY, false));
        match (old, new) {
            (Ok(old), Ok(new)) => old == new,
            _ => cell == value || (comma && cell.replacen(',', ".", 1) == value),
        }
    }

    /// The bytes of a value in place of the old bytes of its cell.
    fn cell(
        &self,
        place: usize,
        column: &str,
        value: &str,
        old: &str,
    ) -> Result<String, EditError> {
        let field = match (self.numbers.contains(&column), self.sign) {
            (true, ',') => value.replacen('.', ",", 1),
            (true, _) => value.to_owned(),
            (false, _) => guarded(value),
        };
        let bytes = with_quotes(&field, self.separator, place);
        // Quotes stand at the very edges of a cell, and an apostrophe may stand there too.
        let (before, after) = match bytes.starts_with('"') {
            true => ("", ""),
            false => padding(old),
        };
        let padded = format!("{before}{bytes}{after}");
        let mut both = [padded, bytes].into_iter();
        both.find(|bytes| self.reads(bytes, column, value))
            .ok_or_else(|| EditError::Value {
                column: column.to_owned(),
                value: value.to_owned(),
            })
    }

    /// Writes a row of the old text with its edits.
    fn write(&self, row: usize, span: &Span, text: &mut String) {
        let is_edited = self.cells.range((row, 0)..(row + 1, 0)).next().is_some();
        if !is_edited && self.columns.len() == self.width {
            return text.push_str(self.slice(&span.bytes));
        }
        let mut at = span.bytes.start;
        for (place, bytes) in self.fields(row).iter().enumerate() {
            text.push_str(self.slice(&(at..bytes.start)));
            let new = self.cells.get(&(row, place));
            text.push_str(new.map_or(self.slice(bytes), String::as_str));
            at = bytes.end;
        }
        for place in self.width..self.columns.len() {
            text.push(char::from(self.separator));
            text.push_str(self.cells.get(&(row, place)).map_or("", String::as_str));
        }
        text.push_str(self.slice(&(at..span.bytes.end)));
    }

    /// Writes a row that is added.
    fn write_added(&self, row: &NewRow, text: &mut String) {
        // The last line of the old text may lack its end.
        if !text.is_empty() && !text.ends_with('\n') {
            text.push_str(self.line_end);
        }
        for place in 0..self.columns.len() {
            if place > 0 {
                text.push(char::from(self.separator));
            }
            text.push_str(row.get(&place).map_or("", String::as_str));
        }
        text.push_str(self.line_end);
    }
}

/// The decimal signs that were seen first.
#[derive(Debug, Default)]
struct Signs {
    /// The sign in a number alone, beside which the reader allows no other sign.
    number: Option<char>,
    /// The sign in a number with a unit.
    unit: Option<char>,
}

impl Signs {
    fn see(&mut self, cell: &str) {
        let sign = |text: &str| {
            let number = parse(text, &ANY, true).ok();
            number.and_then(|_| text.chars().find(|c| matches!(c, '.' | ',')))
        };
        self.number = self.number.or_else(|| sign(cell));
        let with_unit = || cell.split_whitespace().next().and_then(sign);
        self.unit = self.unit.or_else(with_unit);
    }
}

#[cfg(test)]
mod tests;
