//! The XML of a sheet, with the places of its rows and cells in the text. So a change
//! touches no other byte (ECMA-376 part 1, 18.3.1).

use super::error::SheetEditError;
use super::place::{Area, Corner};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::ops::Range;

/// A sheet as text, and what stands where in that text.
#[derive(Debug, Clone)]
pub struct SheetXml {
    pub text: String,
    /// What stands before the names of elements: `x:`, or nothing.
    pub prefix: String,
    /// The rows, in rising order.
    pub rows: Vec<RowXml>,
    /// The byte at which the rows end.
    pub rows_end: usize,
    /// What stands outside of the rows.
    pub others: Vec<Other>,
    /// Areas of merged cells.
    pub merged: Vec<Area>,
    /// Cells that an array formula or a data table fills.
    pub arrays: Vec<Area>,
}

/// A row.
#[derive(Debug, Clone)]
pub struct RowXml {
    pub number: u64,
    pub bytes: Range<usize>,
    /// The opening tag of the row.
    pub open: Range<usize>,
    /// The byte at which the cells end; none where the opening tag is all.
    pub end: Option<usize>,
    /// The cells, in rising order.
    pub cells: Vec<CellXml>,
}

/// A cell.
#[derive(Debug, Clone)]
pub struct CellXml {
    pub column: usize,
    pub bytes: Range<usize>,
    /// The opening tag of the cell.
    pub open: Range<usize>,
    pub style: Option<usize>,
    pub formula: Option<Formula>,
}

/// What a cell's formula is to other cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Formula {
    /// No other cell needs the formula.
    Own,
    /// Other cells take their formula from this cell, or the formula fills them.
    Shared,
}

/// An element outside of the rows, or a text there.
#[derive(Debug, Clone)]
pub enum Other {
    /// An opening tag.
    Tag { name: String, bytes: Range<usize> },
    /// A text in the element of this name.
    Text { name: String, bytes: Range<usize> },
}

impl SheetXml {
    /// Reads a sheet.
    pub fn parse(text: String) -> Result<Self, SheetEditError> {
        let mut sheet = SheetXml {
            text: String::new(),
            prefix: String::new(),
            rows: Vec::new(),
            rows_end: 0,
            others: Vec::new(),
            merged: Vec::new(),
            arrays: Vec::new(),
        };
        let mut reader = Reader::from_str(&text);
        let mut path: Vec<String> = Vec::new();
        loop {
            let start = reader.buffer_position() as usize;
            let event = reader
                .read_event()
                .map_err(|_| unclear("its XML is broken"))?;
            let bytes = start..reader.buffer_position() as usize;
            match event {
                Event::Start(tag) => {
                    path.push(tag.local_name().as_ref().to_owned());
                    sheet.open(&text, &path, &tag, bytes, false)?;
                }
                Event::Empty(tag) => {
                    path.push(tag.local_name().as_ref().to_owned());
                    sheet.open(&text, &path, &tag, bytes, true)?;
                    path.pop();
                }
                Event::End(_) => {
                    sheet.close(&path, bytes);
                    path.pop();
                }
                Event::Text(_) | Event::CData(_) if !is_in_rows(&path) => {
                    let name = path.last().cloned().unwrap_or_default();
                    sheet.others.push(Other::Text { name, bytes });
                }
                Event::DocType(_) => return Err(unclear("it declares entities of its own")),
                Event::Eof => break,
                _ => {}
            }
        }
        if sheet.rows_end == 0 {
            return Err(unclear("the sheet has no rows"));
        }
        sheet.text = text;
        Ok(sheet)
    }

    fn open(
        &mut self,
        text: &str,
        path: &[String],
        tag: &BytesStart<'_>,
        bytes: Range<usize>,
        is_empty: bool,
    ) -> Result<(), SheetEditError> {
        let written = text.get(bytes.clone()).unwrap_or("");
        if !written.starts_with('<') {
            return Err(unclear("its XML is broken"));
        }
        let names: Vec<&str> = path.iter().map(String::as_str).collect();
        match names.as_slice() {
            ["worksheet", "sheetData"] => {
                let name = tag.name();
                let prefix = name.as_ref().strip_suffix("sheetData");
                self.prefix = prefix.unwrap_or_default().to_owned();
                if self.rows_end > 0 {
                    return Err(unclear("the sheet has its rows twice"));
                }
            }
            ["worksheet", "sheetData", "row"] => self.row(written, bytes, is_empty)?,
            ["worksheet", "sheetData", "row", "c"] => self.cell(written, bytes)?,
            ["worksheet", "sheetData", "row", "c", "f"] => self.formula(written)?,
            ["worksheet", "sheetData", "row", "c", ..] => {}
            ["worksheet", "sheetData", ..] => {
                return Err(unclear("between its rows stands something else"));
            }
            [.., name] => {
                if *name == "mergeCell" {
                    let area = value(written, "ref").and_then(Area::parse);
                    self.merged.extend(area);
                }
                let name = (*name).to_owned();
                self.others.push(Other::Tag { name, bytes });
            }
            [] => {}
        }
        Ok(())
    }

    fn row(
        &mut self,
        written: &str,
        bytes: Range<usize>,
        is_empty: bool,
    ) -> Result<(), SheetEditError> {
        let number: Option<u64> = value(written, "r").and_then(|r| r.parse().ok());
        let number = number.ok_or(unclear("its rows do not say their numbers"))?;
        if self.rows.last().is_some_and(|row| row.number >= number) {
            return Err(unclear("its rows are not in order"));
        }
        self.rows.push(RowXml {
            number,
            bytes: bytes.clone(),
            end: (!is_empty).then_some(bytes.end),
            open: bytes,
            cells: Vec::new(),
        });
        Ok(())
    }

    fn cell(&mut self, written: &str, bytes: Range<usize>) -> Result<(), SheetEditError> {
        let place = value(written, "r").and_then(Corner::parse);
        let place = place.and_then(|corner| corner.row.zip(corner.column));
        let (Some((number, column)), Some(row)) = (place, self.rows.last_mut()) else {
            return Err(unclear("its cells do not say where they stand"));
        };
        if row.number != number || row.cells.last().is_some_and(|c| c.column >= column) {
            return Err(unclear("its cells are not in order"));
        }
        // Results that spill into other cells are told by their metadata.
        let spills = value(written, "cm").is_some() || value(written, "vm").is_some();
        row.cells.push(CellXml {
            column,
            open: bytes.clone(),
            bytes,
            style: value(written, "s").and_then(|s| s.parse().ok()),
            formula: spills.then_some(Formula::Shared),
        });
        Ok(())
    }

    fn formula(&mut self, written: &str) -> Result<(), SheetEditError> {
        let area = value(written, "ref");
        let kind = value(written, "t").unwrap_or("normal");
        if matches!(kind, "array" | "dataTable") {
            let area = area.and_then(Area::parse);
            self.arrays
                .push(area.ok_or(unclear("a formula does not say what it fills"))?);
        }
        let is_shared = area.is_some() || kind != "normal" && kind != "shared";
        let cell = self.rows.last_mut().and_then(|row| row.cells.last_mut());
        if let Some(cell) = cell.filter(|cell| cell.formula.is_none()) {
            cell.formula = Some(if is_shared {
                Formula::Shared
            } else {
                Formula::Own
            });
        }
        Ok(())
    }

    fn close(&mut self, path: &[String], bytes: Range<usize>) {
        let names: Vec<&str> = path.iter().map(String::as_str).collect();
        let row = self.rows.last_mut();
        match (names.as_slice(), row) {
            (["worksheet", "sheetData"], _) => self.rows_end = bytes.start,
            (["worksheet", "sheetData", "row"], Some(row)) => {
                row.bytes.end = bytes.end;
                row.end = Some(bytes.start);
            }
            (["worksheet", "sheetData", "row", "c"], Some(row)) => {
                if let Some(cell) = row.cells.last_mut() {
                    cell.bytes.end = bytes.end;
                }
            }
            _ => {}
        }
    }

    /// The row of this number.
    pub fn row_at(&self, number: u64) -> Option<&RowXml> {
        let at = self.rows.binary_search_by_key(&number, |row| row.number);
        self.rows.get(at.ok()?)
    }

    /// The cell at a place.
    pub fn cell_at(&self, number: u64, column: usize) -> Option<&CellXml> {
        self.row_at(number)?.cell(column)
    }

    /// A piece of the text.
    pub fn slice(&self, bytes: &Range<usize>) -> &str {
        self.text.get(bytes.clone()).unwrap_or("")
    }
}

impl RowXml {
    /// The cell in a column.
    pub fn cell(&self, column: usize) -> Option<&CellXml> {
        let at = self.cells.binary_search_by_key(&column, |cell| cell.column);
        self.cells.get(at.ok()?)
    }
}

fn is_in_rows(path: &[String]) -> bool {
    path.get(1).is_some_and(|name| name == "sheetData")
}

/// The error that the workbook is not laid out as expected.
pub fn unclear(why: &'static str) -> SheetEditError {
    SheetEditError::Unclear { why }
}

/// What a tag says of an attribute, as it is written.
pub fn value<'t>(tag: &'t str, name: &str) -> Option<&'t str> {
    tag.get(attribute(tag, name)?)
}

/// Where the value of an attribute stands in its tag.
pub fn attribute(tag: &str, name: &str) -> Option<Range<usize>> {
    attributes(tag).find_map(|(found, bytes)| (found == name).then_some(bytes))
}

/// The attributes of a tag, each with where its value stands.
pub fn attributes(tag: &str) -> impl Iterator<Item = (&str, Range<usize>)> {
    let mut at = tag.find(|c: char| c.is_ascii_whitespace());
    std::iter::from_fn(move || {
        let start = at?;
        let rest = tag.get(start..)?;
        let (name, after) = rest.split_once('=')?;
        let open = after.find(['"', '\''])?;
        let quote = after.get(open..=open)?;
        let begin = start + name.len() + 1 + open + 1;
        let length = tag.get(begin..)?.find(quote)?;
        at = Some(begin + length + 1);
        Some((name.trim(), begin..begin + length))
    })
}

/// A piece of a text and what comes in its place.
#[derive(Debug, Clone)]
pub struct Patch {
    pub bytes: Range<usize>,
    pub new: String,
}

/// The text with all patches. Patches at one place stand in the order given.
pub fn patched(text: &str, mut patches: Vec<Patch>) -> String {
    patches.sort_by_key(|patch| (patch.bytes.start, patch.bytes.end));
    let mut new = String::with_capacity(text.len());
    let mut at = 0;
    for patch in patches {
        new.push_str(text.get(at..patch.bytes.start).unwrap_or(""));
        new.push_str(&patch.new);
        at = patch.bytes.end;
    }
    new.push_str(text.get(at..).unwrap_or(""));
    new
}
