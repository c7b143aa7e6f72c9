//! The workbook side of a conversion.

use super::{DAY, Grid, Line, is_number_column};
use crate::book::reads_as;
use jiff::civil::Date;
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError,
};

/// Why a workbook can't be made.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// The name of a table can't name a sheet.
    #[error(
        "{0} cannot name a sheet: a name has at most 31 characters, and none of [ ] : * ? / \\"
    )]
    Name(String),
    /// The names of two tables differ only in upper and lower case.
    #[error("{0} stands twice: names of sheets differ in more than upper and lower case")]
    Twice(String),
    /// The writer of workbooks fails; with what the writer says.
    #[error("the workbook cannot be made: {0}")]
    Writer(#[from] XlsxError),
}

/// The bytes of an `.xlsx` workbook with a sheet for each table. The same
/// tables give the same bytes.
///
/// # Errors
/// [`SheetError`] where a name can't name a sheet, or the writer fails.
pub fn workbook(grids: &[Grid]) -> Result<Vec<u8>, SheetError> {
    let mut book = Workbook::new();
    book.set_properties(&undated()?);
    let formats = Formats::new();
    let mut names: Vec<String> = Vec::new();
    for grid in grids {
        let lower = grid.name.to_lowercase();
        if names.contains(&lower) {
            return Err(SheetError::Twice(grid.name.clone()));
        }
        names.push(lower);
        let sheet = book.add_worksheet();
        sheet
            .set_name(&grid.name)
            .map_err(|_| SheetError::Name(grid.name.clone()))?;
        fill(sheet, grid, &formats)?;
    }
    Ok(book.save_to_buffer()?)
}

/// Properties with a fixed date, so that no clock enters a file.
pub fn undated() -> Result<DocProperties, XlsxError> {
    let day = ExcelDateTime::from_ymd(2000, 1, 1)?;
    Ok(DocProperties::new().set_creation_datetime(&day))
}

struct Formats {
    header: Format,
    comment: Format,
    day: Format,
    /// Formats of numbers, by the number of decimals.
    numbers: [Format; 7],
}

impl Formats {
    fn new() -> Self {
        Self {
            header: Format::new().set_bold(),
            comment: Format::new().set_italic().set_font_color(Color::Gray),
            day: Format::new().set_num_format("yyyy-mm-dd"),
            numbers: std::array::from_fn(|n| Format::new().set_num_format(number_format(n))),
        }
    }
}

/// The number format with so many decimals: `0.00` for two.
fn number_format(decimals: usize) -> String {
    match decimals {
        0 => "General".to_owned(),
        n => format!("0.{}", "0".repeat(n)),
    }
}

fn fill(sheet: &mut Worksheet, grid: &Grid, formats: &Formats) -> Result<(), XlsxError> {
    let mut header: Option<&Vec<String>> = None;
    for (row, line) in (0..).zip(&grid.lines) {
        match (line, header) {
            (Line::Blank, _) => {}
            (Line::Comment(text), _) => {
                sheet.write_string_with_format(row, 0, text, &formats.comment)?;
            }
            (Line::Fields(fields), None) => {
                header = Some(fields);
                for (column, field) in (0..).zip(fields) {
                    sheet.write_string_with_format(row, column, field, &formats.header)?;
                }
                sheet.set_freeze_panes(row + 1, 0)?;
                sheet.set_repeat_rows(row, row)?;
            }
            (Line::Fields(fields), Some(header)) => {
                for ((column, field), name) in (0..).zip(fields).zip(header) {
                    let cell = Cell {
                        row,
                        column,
                        name,
                        field,
                    };
                    write(sheet, cell, formats)?;
                }
            }
        }
    }
    widths(sheet, grid)
}

/// What is to be written, and where; row and column count from 0.
struct Cell<'g> {
    row: u32,
    column: u16,
    /// Name of the column.
    name: &'g str,
    field: &'g str,
}

fn write(sheet: &mut Worksheet, cell: Cell<'_>, formats: &Formats) -> Result<(), XlsxError> {
    let Cell {
        row,
        column,
        name,
        field,
    } = cell;
    if field.is_empty() {
        return Ok(());
    }
    if is_number_column(name)
        && let Some((value, decimals)) = number(field)
        && let Some(format) = formats.numbers.get(decimals)
    {
        sheet.write_number_with_format(row, column, value, format)?;
    } else if name.trim() == DAY
        && let Some(day) = day(field)
    {
        sheet.write_datetime_with_format(row, column, &day, &formats.day)?;
    } else {
        sheet.write_string(row, column, field)?;
    }
    Ok(())
}

/// The number and its decimals, if reading the cell gives the same text again.
fn number(text: &str) -> Option<(f64, usize)> {
    let decimals = text
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len());
    let value: f64 = text.parse().ok()?;
    (reads_as(value, &number_format(decimals)) == text).then_some((value, decimals))
}

/// The day, if all spreadsheets agree on it. Spreadsheets do not agree on days before March 1900.
fn day(text: &str) -> Option<ExcelDateTime> {
    let day: Date = text.parse().ok().filter(|_| text.len() == 10)?;
    let year = u16::try_from(day.year()).ok().filter(|year| *year > 1900)?;
    let month = u8::try_from(day.month()).ok()?;
    ExcelDateTime::from_ymd(year, month, u8::try_from(day.day()).ok()?).ok()
}

/// The most characters that set the width of a column: wider columns are hard to read.
const WIDEST: usize = 40;

fn widths(sheet: &mut Worksheet, grid: &Grid) -> Result<(), XlsxError> {
    let mut widths: Vec<usize> = Vec::new();
    for line in &grid.lines {
        let Line::Fields(fields) = line else { continue };
        widths.resize(widths.len().max(fields.len()), 0);
        for (width, field) in widths.iter_mut().zip(fields) {
            *width = (*width).max(field.chars().take(WIDEST).count());
        }
    }
    for (column, width) in (0..).zip(&widths) {
        sheet.set_column_width(column, *width as f64 + 2.0)?;
    }
    Ok(())
}
