//! Office Open XML workbooks, read cell by cell.

use super::cell::{self, Shown};
use super::error::{BookError, SheetLimit};
use super::rows::{Rows, Spent};
use super::sheet::Sheet;
use calamine::{Data, Reader, SheetType, Xlsx, XlsxError};
use std::io::Cursor;

/// All sheets, in order.
pub fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, BookError> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(refused)?;
    let about = book.sheets_metadata().to_vec();
    let mut spent = Spent::default();
    about
        .into_iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| read(&mut book, sheet.name, &mut spent))
        .collect()
}

fn read(
    book: &mut Xlsx<Cursor<&[u8]>>,
    name: String,
    spent: &mut Spent,
) -> Result<Sheet, BookError> {
    let mut cells = book.worksheet_cells_reader(&name).map_err(refused)?;
    let formats: Vec<Shown> = cells
        .styles()
        .iter()
        .map(|style| style.number_format.as_ref())
        .map(|format| format.map_or(Shown::default(), |f| cell::shown(&f.format_code)))
        .collect();
    let beyond = |limit: SheetLimit| BookError::Sheet {
        sheet: name.clone(),
        limit,
    };
    let mut rows = Rows::after(*spent);
    while let Some((found, style)) = cells.next_cell_with_style_id().map_err(refused)? {
        let (row, column) = found.get_position();
        let shown = formats.get(style).copied().unwrap_or_default();
        let data = Data::from(found.get_value().clone());
        if let Some(text) = cell::text(&data, shown) {
            rows.push(row.into(), column.into(), text).map_err(beyond)?;
        }
    }
    let (rows, now) = rows.finish().map_err(beyond)?;
    *spent = now;
    Ok(Sheet {
        rows: rows.into(),
        name,
    })
}

/// The number formats of the workbook. A cell names its format by the place in this list.
pub fn formats(bytes: &[u8], sheet: &str) -> Result<Vec<String>, BookError> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(refused)?;
    let cells = book.worksheet_cells_reader(sheet).map_err(refused)?;
    let formats = cells
        .styles()
        .iter()
        .map(|style| style.number_format.as_ref());
    let codes = formats.map(|f| f.map(|f| f.format_code.to_string()).unwrap_or_default());
    Ok(codes.collect())
}

fn refused(error: XlsxError) -> BookError {
    match error {
        XlsxError::Password => BookError::Password,
        error => BookError::NotABook(error.to_string()),
    }
}
