//! Cells of a sheet of an `.xlsx` workbook, written in place.
//!
//! Only the XML of the one sheet is changed, and there only the cells that an edit
//! names. Every other part of the workbook (styles, charts, other sheets) is copied
//! as it is packed, byte for byte. A crate that reads a workbook into a model of its
//! own and writes that model out again would drop all that the model has no place for,
//! and renumber the rest. So no such crate is used here, only the zip and XML readers
//! that the reading of workbooks takes anyhow.
//!
//! What else has to change is said by [`Note`]s. A formula whose cell gets a value
//! goes, and the stored order of calculation goes too. Where a workbook has formulas,
//! they are marked to be worked out anew. A row is taken out by moving the rows below
//! it up. Something may point at these rows and not be able to move along (formulas,
//! charts, tables, comments, names). Then the row stays, and the error names the cause.
//!
//! Before a changed workbook is given, all its sheets are read again and compared with
//! what was intended.

mod error;
mod intended;
mod package;
mod pins;
mod place;
mod values;
mod write;
mod xml;

pub use error::{Note, SheetEditError};

use super::read::sheets_of_xlsx;
use super::sheet::Sheet;
use super::xlsx;
use crate::source::SheetRow;
use intended::Intended;
use package::{Change, Package};
use pins::Pin;
use place::Area;
use std::collections::{BTreeMap, BTreeSet};
use write::{Changes, NewCell};
use xml::{Formula, SheetXml};

/// A sheet of a workbook and the edits of it.
///
/// A row is named by the number that it had when the workbook was opened, as
/// messages name the row; no edit changes that name. A value is given as it reads: a
/// number with a decimal point.
#[derive(Debug, Clone)]
pub struct EditedSheet {
    package: Package,
    /// The part of the sheet.
    part: String,
    xml: SheetXml,
    /// What points at rows of the sheet, once that is asked for.
    pins: Option<Vec<Pin>>,
    /// True if the sheet has a table with a range of its own.
    has_range: bool,
    /// All sheets as they are read.
    sheets: Vec<Sheet>,
    /// Place of the edited sheet among these sheets.
    place: usize,
    /// Formats of cells, by their place in the workbook.
    formats: Vec<String>,
    /// Columns that hold numbers.
    numbers: &'static [&'static str],
    /// The decimal sign of numbers that are written as text.
    sign: char,
    /// Number of the header row.
    header: u64,
    /// The columns, those added last.
    columns: Vec<String>,
    /// New values, by row and column.
    cells: BTreeMap<(u64, usize), String>,
    removed: BTreeSet<u64>,
    /// Cells of each new row, by column.
    added: Vec<BTreeMap<usize, String>>,
}

/// A file with its edits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edited {
    /// The file.
    pub bytes: Vec<u8>,
    /// What changed beside what was asked for.
    pub notes: BTreeSet<Note>,
}

impl EditedSheet {
    /// Opens the sheet of this name. `numbers` are the columns that hold a number,
    /// alone or with a unit after it.
    ///
    /// # Errors
    /// [`SheetEditError`] where the workbook can't be read, has no such sheet, or is
    /// not laid out so that it can be changed in place.
    pub fn open(
        bytes: &[u8],
        sheet: &str,
        numbers: &'static [&'static str],
    ) -> Result<Self, SheetEditError> {
        let package = Package::open(bytes)?;
        let sheets = sheets_of_xlsx(bytes)?;
        let (part, name) = package.sheet(sheet)?;
        let no_sheet = || SheetEditError::NoSheet {
            sheet: sheet.to_owned(),
        };
        let place = sheets
            .iter()
            .position(|s| s.name == name)
            .ok_or_else(no_sheet)?;
        let xml = SheetXml::parse(package.text(&part)?)?;
        let rows = &sheets[place].rows;
        let header = rows.iter().find(|row| !row.is_comment());
        let header = header.ok_or(SheetEditError::NoHeader)?;
        let mut edited = Self {
            pins: None,
            has_range: package.relations(&part)?.iter().any(|r| r.kind == "table"),
            formats: xlsx::formats(bytes, &name)?,
            header: header.number,
            columns: header
                .cells
                .iter()
                .map(|name| name.trim().to_owned())
                .collect(),
            package,
            part,
            xml,
            place,
            numbers,
            sign: '.',
            sheets,
            cells: BTreeMap::new(),
            removed: BTreeSet::new(),
            added: Vec::new(),
        };
        let numbers: Vec<usize> = (0..edited.columns.len())
            .filter(|place| edited.is_number(*place))
            .collect();
        edited.sign = values::decimal_sign(edited.old_rows(), &numbers);
        Ok(edited)
    }

    /// How many rows the sheet has now, without the header row.
    pub fn rows(&self) -> usize {
        self.old_rows().count() + self.added.len() - self.removed.len()
    }

    /// Writes the cell of a row. A cell that reads as the value already stays as it is.
    ///
    /// # Errors
    /// [`SheetEditError::NoRow`] for the row, [`SheetEditError::NoColumn`] or
    /// [`SheetEditError::Twice`] for the column, [`SheetEditError::Formula`] and
    /// [`SheetEditError::Merged`] for the cell, and [`SheetEditError::Value`].
    pub fn set(&mut self, row: u64, column: &str, value: &str) -> Result<(), SheetEditError> {
        self.known(row)?;
        let place = self.find(column)?.ok_or_else(|| SheetEditError::NoColumn {
            column: column.to_owned(),
        })?;
        if values::same(self.numbers.contains(&column), self.said(row, place), value) {
            self.cells.remove(&(row, place));
            return Ok(());
        }
        self.check(place, column, value)?;
        self.free(row, place)?;
        self.cells.insert((row, place), value.to_owned());
        Ok(())
    }

    /// Adds a row below the last row that holds anything. A value that is not empty
    /// brings its column along, as [`EditedSheet::ensure`] does. Nothing is added for a
    /// row of empty values.
    ///
    /// # Errors
    /// As [`EditedSheet::set`] and [`EditedSheet::ensure`]: then nothing is added.
    pub fn add(&mut self, row: &[(&str, &str)]) -> Result<(), SheetEditError> {
        let before = (self.columns.clone(), self.cells.clone());
        let added = self.added_row(row);
        match added {
            Ok(cells) => self.added.extend((!cells.is_empty()).then_some(cells)),
            Err(error) => {
                (self.columns, self.cells) = before;
                return Err(error);
            }
        }
        Ok(())
    }

    fn added_row(
        &mut self,
        row: &[(&str, &str)],
    ) -> Result<BTreeMap<usize, String>, SheetEditError> {
        let number = self.last_row() + self.added.len() as u64 + 1;
        if number > super::MAX_ROWS {
            return Err(SheetEditError::Full);
        }
        let mut cells = BTreeMap::new();
        for &(column, value) in row.iter().filter(|(_, value)| !value.is_empty()) {
            let place = self.ensure(column)?;
            self.check(place, column, value)?;
            self.free(number, place)?;
            cells.insert(place, value.to_owned());
        }
        Ok(cells)
    }

    /// Takes a row out; the rows below move up.
    ///
    /// # Errors
    /// [`SheetEditError::NoRow`] for the row. [`SheetEditError::Pinned`] where something
    /// points at the row or below it, and can't be moved along.
    pub fn remove(&mut self, row: u64) -> Result<(), SheetEditError> {
        self.known(row)?;
        let pinned = |what: String| SheetEditError::Pinned { row, what };
        if let Some(pin) = self.pins()?.iter().find(|pin| pin.holds(row)) {
            return Err(pinned(pin.what.clone()));
        }
        let mut removed = self.removed.clone();
        removed.insert(row);
        if let Some(name) = write::vanishing(&self.xml, &removed) {
            return Err(pinned(format!("the element {name} of the sheet")));
        }
        self.removed = removed;
        Ok(())
    }

    /// Adds a column after the last column, unless it is there; gives its place from 0.
    ///
    /// # Errors
    /// [`SheetEditError::Twice`] if the column is there twice,
    /// [`SheetEditError::Occupied`] if a cell below the new name is not empty.
    pub fn ensure(&mut self, column: &str) -> Result<usize, SheetEditError> {
        if let Some(place) = self.find(column)? {
            return Ok(place);
        }
        let place = self.columns.len();
        if place as u64 >= super::MAX_COLUMNS {
            return Err(SheetEditError::Full);
        }
        self.check(place, column, column)?;
        self.free(self.header, place)?;
        let mut rows = self.table().iter().filter(|row| !row.is_comment());
        let full = rows.find(|row| row.cells.get(place).is_some_and(|cell| !cell.is_empty()));
        if let Some(row) = full {
            return Err(SheetEditError::Occupied {
                cell: place::cell(row.number, place),
                column: column.to_owned(),
            });
        }
        self.cells.insert((self.header, place), column.to_owned());
        self.columns.push(column.to_owned());
        Ok(place)
    }

    /// The workbook with all edits, read again and found to be as intended.
    ///
    /// # Errors
    /// [`SheetEditError::NotKept`] where the workbook does not read as intended.
    pub fn finish(&self) -> Result<Edited, SheetEditError> {
        let (changes, mut notes) = self.changes();
        if changes.cells.is_empty() && changes.removed.is_empty() {
            let bytes = self.package.bytes().to_owned();
            return Ok(Edited { bytes, notes });
        }
        let mut parts = BTreeMap::new();
        if notes
            .iter()
            .any(|note| matches!(note, Note::Formula { .. }))
        {
            parts = self.package.without_chain()?;
        }
        if self.package.has_formulas()? {
            notes.insert(Note::Stale);
            let workbook = self.package.recalculated()?.map(Change::Text);
            parts.extend(workbook.map(|text| (self.package.workbook.clone(), text)));
        }
        let text = Change::Text(write::written(&self.xml, &changes));
        parts.insert(self.part.clone(), text);
        let bytes = self.package.with(&parts)?;
        match self.intended().is_read(&sheets_of_xlsx(&bytes)?) {
            true => Ok(Edited { bytes, notes }),
            false => Err(SheetEditError::NotKept),
        }
    }

    /// What points at rows of the sheet.
    fn pins(&mut self) -> Result<&[Pin], SheetEditError> {
        if self.pins.is_none() {
            let name = self.sheets.get(self.place).map_or("", |sheet| &sheet.name);
            let pins = pins::pins(&self.package, &self.part, name, &self.xml)?;
            self.pins = Some(pins);
        }
        Ok(self.pins.as_deref().unwrap_or_default())
    }

    /// The rows of the sheet as they were read.
    fn table(&self) -> &[SheetRow] {
        self.sheets.get(self.place).map_or(&[], |sheet| &sheet.rows)
    }

    /// The rows of the table below its header row.
    fn old_rows(&self) -> impl Iterator<Item = &SheetRow> {
        let rows = self.table().iter();
        rows.filter(|row| !row.is_comment() && row.number > self.header)
    }

    /// The last row that holds anything.
    fn last_row(&self) -> u64 {
        self.table().last().map_or(self.header, |row| row.number)
    }

    /// The text that a cell reads as.
    fn said(&self, row: u64, place: usize) -> &str {
        let rows = self.table();
        let at = rows.binary_search_by_key(&row, |row| row.number).ok();
        let cell = at.and_then(|at| rows.get(at)?.cells.get(place));
        cell.unwrap_or("").trim()
    }

    fn known(&self, row: u64) -> Result<(), SheetEditError> {
        let is_known = self.old_rows().any(|old| old.number == row);
        match is_known && !self.removed.contains(&row) {
            true => Ok(()),
            false => Err(SheetEditError::NoRow { row }),
        }
    }

    /// The place of a column, if it is there.
    fn find(&self, column: &str) -> Result<Option<usize>, SheetEditError> {
        let named = self.columns.iter().enumerate();
        let mut places = named.filter(|(_, name)| *name == column);
        match (places.next(), places.next()) {
            (_, Some(_)) => Err(SheetEditError::Twice {
                column: column.to_owned(),
            }),
            (first, None) => Ok(first.map(|(place, _)| place)),
        }
    }

    /// Makes sure that a value will read as it is given.
    fn check(&self, place: usize, column: &str, value: &str) -> Result<(), SheetEditError> {
        let is_comment = place == 0 && value.starts_with('#');
        match value.trim() == value && !is_comment {
            true => Ok(()),
            false => Err(SheetEditError::Value {
                column: column.to_owned(),
                value: value.to_owned(),
            }),
        }
    }

    /// Makes sure that a cell may be written: the cell is seen, and no other cell needs its
    /// formula.
    fn free(&self, row: u64, column: usize) -> Result<(), SheetEditError> {
        let cell = || place::cell(row, column);
        let covers = |area: &&Area| area.holds(row, column) && !area.begins_at(row, column);
        if let Some(area) = self.xml.merged.iter().find(covers) {
            return Err(SheetEditError::Merged {
                cell: cell(),
                area: area.to_string(),
            });
        }
        let old = self.xml.cell_at(row, column).and_then(|cell| cell.formula);
        let is_filled = self.xml.arrays.iter().any(|area| area.holds(row, column));
        match is_filled || old == Some(Formula::Shared) {
            true => Err(SheetEditError::Formula { cell: cell() }),
            false => Ok(()),
        }
    }

    /// All edits as cells, and what the edits change beside.
    fn changes(&self) -> (Changes, BTreeSet<Note>) {
        let mut changes = Changes {
            cells: BTreeMap::new(),
            removed: self.removed.clone(),
        };
        let mut notes = BTreeSet::new();
        let old = self
            .cells
            .iter()
            .map(|(&(row, column), value)| (row, column, value));
        let last = self.last_row();
        let new = self.added.iter().zip(last + 1..).flat_map(|(cells, row)| {
            cells
                .iter()
                .map(move |(&column, value)| (row, column, value))
        });
        for (row, column, value) in old.chain(new).filter(|c| !self.removed.contains(&c.0)) {
            let before = self.xml.cell_at(row, column);
            if before.is_some_and(|cell| cell.formula.is_some()) {
                let row = place::after(row, &self.removed);
                notes.insert(Note::Formula { row, column });
            }
            let style = match before {
                Some(cell) => cell.style,
                None => self.style_beside(row, column),
            };
            let value = match self.is_number(column) {
                true => values::number(value, self.format(style), self.sign),
                false => values::text(value),
            };
            let cells = changes.cells.entry(row).or_default();
            cells.insert(column, NewCell { value, style });
        }
        let is_wider = self.cells.keys().any(|(row, _)| *row == self.header);
        if self.has_range && (is_wider || !self.added.is_empty()) {
            notes.insert(Note::Range);
        }
        (changes, notes)
    }

    /// The format of a new cell: the format of the last row above the cell, or in the
    /// header row the format of the column before.
    fn style_beside(&self, row: u64, column: usize) -> Option<usize> {
        if row == self.header {
            return write::style(self.xml.cell_at(row, column.checked_sub(1)?));
        }
        let above = self
            .old_rows()
            .map(|old| old.number)
            .filter(|old| *old < row);
        write::style(self.xml.cell_at(above.last()?, column))
    }

    /// True if the column holds numbers.
    fn is_number(&self, column: usize) -> bool {
        let name = self.columns.get(column);
        name.is_some_and(|name| self.numbers.contains(&name.as_str()))
    }

    /// The number format of a style.
    fn format(&self, style: Option<usize>) -> &str {
        self.formats
            .get(style.unwrap_or(0))
            .map_or("", String::as_str)
    }

    /// What the workbook should read as with its edits.
    fn intended(&self) -> Intended<'_> {
        let last = self.last_row();
        let old = self
            .cells
            .iter()
            .map(|(&(row, column), value)| (row, column, value));
        let new = (last + 1..).zip(&self.added).flat_map(|(row, cells)| {
            cells
                .iter()
                .map(move |(&column, value)| (row, column, value))
        });
        Intended {
            before: &self.sheets,
            place: self.place,
            cells: old.chain(new).collect(),
            removed: &self.removed,
            numbers: (0..self.columns.len()).map(|c| self.is_number(c)).collect(),
        }
    }
}
