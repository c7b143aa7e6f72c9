//! OpenDocument spreadsheets.
//!
//! A cell and a row can say that they stand many times. So a small file can
//! unfold to more than fits in memory, and how far the file reaches is counted first.

use super::cell::{self, Shown};
use super::error::{BookError, SheetLimit};
use super::rows::{Rows, Spent, within};
use super::sheet::Sheet;
use calamine::{Ods, OdsError, Reader};
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeSet;
use std::io::{BufReader, Cursor};
use zip::ZipArchive;

/// All sheets, in order.
pub fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, BookError> {
    let percents = survey(bytes)?;
    let mut book: Ods<_> = Ods::new(Cursor::new(bytes)).map_err(refused)?;
    let names = book.sheet_names();
    names
        .into_iter()
        .enumerate()
        .map(|(place, name)| {
            let range = book.worksheet_range(&name).map_err(refused)?;
            let (top, left) = range.start().unwrap_or_default();
            let mut rows = Rows::default();
            for (row, column, data) in range.used_cells() {
                let at = (row as u64 + u64::from(top), column as u64 + u64::from(left));
                let shown = Shown {
                    percent: percents.contains(&(place, at.0, at.1)),
                    decimals: None,
                };
                if let Some(text) = cell::text(data, shown) {
                    let pushed = rows.push(at.0, at.1, text);
                    pushed.map_err(|limit| beyond(&name, limit))?;
                }
            }
            let (rows, _) = rows.finish().map_err(|limit| beyond(&name, limit))?;
            Ok(Sheet {
                rows: rows.into(),
                name,
            })
        })
        .collect()
}

fn beyond(sheet: &str, limit: SheetLimit) -> BookError {
    BookError::Sheet {
        sheet: sheet.to_owned(),
        limit,
    }
}

fn refused(error: OdsError) -> BookError {
    match error {
        OdsError::Password => BookError::Password,
        error => BookError::NotABook(error.to_string()),
    }
}

/// Sheet, row and column from 0 of cells that are shown as a percentage.
type Percents = BTreeSet<(usize, u64, u64)>;

/// Counts what the sheets unfold to, and stops at the limits.
fn survey(bytes: &[u8]) -> Result<Percents, BookError> {
    let broken = |error: &dyn ToString| BookError::NotABook(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| broken(&e))?;
    let content = archive.by_name("content.xml").map_err(|e| broken(&e))?;
    let mut reader = quick_xml::Reader::from_reader(BufReader::new(content));
    reader.config_mut().expand_empty_elements = true;
    let mut survey = Survey::default();
    let mut open = 0u64;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        let event = reader
            .read_event_into(&mut buffer)
            .map_err(|e| broken(&e))?;
        let at = reader.buffer_position();
        let taken = match &event {
            Event::Start(e) => {
                open += 1;
                survey.start(e, at)
            }
            Event::End(e) => {
                open = open.saturating_sub(1);
                survey.end(e.name().as_ref(), at)
            }
            // Here the reader of the cells would look for the end of a table for ever.
            Event::Eof if open > 0 => return Err(broken(&"its content breaks off")),
            Event::Eof => return Ok(survey.percents),
            _ => Ok(()),
        };
        taken.map_err(|limit| beyond(&survey.name, limit))?;
    }
}

/// How far the survey has come.
#[derive(Default)]
struct Survey {
    /// Sheets begun.
    sheets: usize,
    name: String,
    spent: Spent,
    percents: Percents,
    /// The first row of the sheet that holds anything, and the width of the widest row.
    first_row: Option<u64>,
    widest: u64,
    /// Cells of the rectangle that the sheet fills so far.
    area: u64,
    /// First row of this row element, and how many it stands for.
    row: u64,
    row_repeat: u64,
    /// The next column of the row, the columns up to the last that holds anything, the
    /// bytes of text, and where percentages stand.
    column: u64,
    width: u64,
    text: u64,
    percent_columns: Vec<(u64, u64)>,
    cell: Option<Cell>,
}

/// A cell element that is open.
struct Cell {
    repeat: u64,
    holds: bool,
    percent: bool,
    /// Where its content begins, and the bytes of its attributes.
    from: u64,
    attributes: u64,
}

impl Survey {
    fn start(&mut self, e: &BytesStart, at: u64) -> Result<(), SheetLimit> {
        match e.name().as_ref() {
            "table:table" => self.start_sheet(e),
            "table:table-row" => {
                self.row_repeat = repeat(e, "table:number-rows-repeated");
                (self.column, self.width, self.text) = (0, 0, 0);
                self.percent_columns.clear();
            }
            "table:table-cell" | "table:covered-table-cell" => self.cell = Some(cell(e, at)),
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, name: &str, at: u64) -> Result<(), SheetLimit> {
        match name {
            "table:table-row" => self.end_row(),
            "table:table-cell" | "table:covered-table-cell" => self.end_cell(at),
            _ => Ok(()),
        }
    }

    fn start_sheet(&mut self, e: &BytesStart) {
        self.sheets += 1;
        self.name = attribute(e, "table:name").unwrap_or_default();
        (self.row, self.first_row, self.widest, self.area) = (0, None, 0, 0);
    }

    fn end_cell(&mut self, at: u64) -> Result<(), SheetLimit> {
        let Some(cell) = self.cell.take() else {
            return Ok(());
        };
        let first = self.column;
        self.column = first.saturating_add(cell.repeat);
        if cell.holds {
            self.width = self.column;
            within(0, self.width.saturating_sub(1))?;
            let bytes = at.saturating_sub(cell.from) + cell.attributes;
            self.text = self.text.saturating_add(bytes.saturating_mul(cell.repeat));
            if cell.percent {
                self.percent_columns.push((first, self.column));
            }
        }
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), SheetLimit> {
        let (first, end) = (self.row, self.row.saturating_add(self.row_repeat));
        self.row = end;
        if self.width == 0 {
            return Ok(());
        }
        within(end.saturating_sub(1), 0)?;
        self.spent
            .add(0, self.text.saturating_mul(self.row_repeat))?;
        // The reader lays each sheet out as a rectangle.
        let top = *self.first_row.get_or_insert(first);
        self.widest = self.widest.max(self.width);
        let area = (end - top).saturating_mul(self.widest);
        self.spent.add(area.saturating_sub(self.area), 0)?;
        self.area = self.area.max(area);
        let sheet = self.sheets.saturating_sub(1);
        for (from, to) in &self.percent_columns {
            let cells = (first..end).flat_map(|row| (*from..*to).map(move |column| (row, column)));
            self.percents
                .extend(cells.map(|(row, column)| (sheet, row, column)));
        }
        Ok(())
    }
}

fn cell(e: &BytesStart, at: u64) -> Cell {
    let attributes = e.attributes_raw();
    Cell {
        repeat: repeat(e, "table:number-columns-repeated"),
        holds: attributes.contains("office:") || attributes.contains("table:formula"),
        percent: attribute(e, "office:value-type").as_deref() == Some("percentage"),
        from: at,
        attributes: attributes.len() as u64,
    }
}

/// How often a row or cell stands. A number that can't be read is refused later.
fn repeat(e: &BytesStart, name: &str) -> u64 {
    let said = attribute(e, name).and_then(|text| text.parse().ok());
    said.unwrap_or(1)
}

fn attribute(e: &BytesStart, name: &str) -> Option<String> {
    let found = e.try_get_attribute(name).ok().flatten()?;
    Some(found.value.to_string())
}
