//! A sheet on A4: title lines, a table with its header in view, sums below.

use crate::convert::MAX_CELL;
use crate::units::{Currency, Money};
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, Worksheet, XlsxError};
use textwrap::core::display_width;

/// A4: ECMA-376 part 1, 18.3.1.63, paper size 9.
const A4: u8 = 9;

/// A cell.
pub enum Cell {
    Text(String),
    Count(u64),
    /// An amount with so many decimals.
    Money(Money, u32, Currency),
}

/// A column of a sheet.
pub struct Column {
    pub name: &'static str,
    pub is_number: bool,
}

/// A sheet before it is written.
pub struct Sheet {
    /// Lines above the table.
    pub title: Vec<String>,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
    /// Rows below the table, set off by a line; the last is the total.
    pub sums: Vec<Vec<Cell>>,
    /// Rows below the sums, set off by a blank row.
    pub notes: Vec<Vec<Cell>>,
    pub landscape: bool,
    /// Columns up to this one, from 0, stand on every page.
    pub kept: u16,
}

pub fn words(name: &'static str) -> Column {
    Column {
        name,
        is_number: false,
    }
}

pub fn numbers(name: &'static str) -> Column {
    Column {
        name,
        is_number: true,
    }
}

pub fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

/// An amount that is paid: to the cent.
pub fn cents(amount: Money, currency: &Currency) -> Cell {
    Cell::Money(amount, 2, currency.clone())
}

impl Sheet {
    /// Fills a sheet of a workbook.
    pub fn write(&self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        let widths = self.widths();
        for (column, width) in (0..).zip(&widths) {
            sheet.set_column_width(column, *width as f64)?;
        }
        for (row, line) in (0..).zip(&self.title) {
            title_line(sheet, row, line, &widths)?;
        }
        // A blank line sets the title off.
        let header = u32::try_from(self.title.len()).unwrap_or(0) + 1;
        self.header(sheet, header, &widths)?;
        let mut row = header + 1;
        for cells in &self.rows {
            write_row(sheet, row, cells, &Format::new())?;
            row += 1;
        }
        for (place, cells) in self.sums.iter().enumerate() {
            write_row(sheet, row, cells, &sum_format(place, self.sums.len()))?;
            row += 1;
        }
        if !self.notes.is_empty() {
            row += 1;
        }
        for cells in &self.notes {
            write_row(sheet, row, cells, &Format::new())?;
            row += 1;
        }
        let last = row.saturating_sub(1).max(header);
        let columns = u16::try_from(widths.len()).unwrap_or(1);
        sheet.set_print_area(0, 0, last, columns.saturating_sub(1))?;
        sheet.set_repeat_rows(header, header)?;
        self.print(sheet, widths.iter().sum())
    }

    fn header(
        &self,
        sheet: &mut Worksheet,
        header: u32,
        widths: &[usize],
    ) -> Result<(), XlsxError> {
        let format = Format::new()
            .set_bold()
            .set_text_wrap()
            .set_align(FormatAlign::Bottom)
            .set_background_color(Color::RGB(0xE6_E6_E6))
            .set_border_bottom(FormatBorder::Thin);
        let mut tallest = 1;
        for (place, (column, width)) in (0..).zip(self.columns.iter().zip(widths)) {
            let format = match column.is_number {
                true => format.clone().set_align(FormatAlign::Right),
                false => format.clone(),
            };
            sheet.write_string_with_format(header, place, column.name, &format)?;
            tallest = tallest.max(lines(column.name, width.saturating_sub(1)));
        }
        sheet.set_row_height(header, LINE * tallest as f64)?;
        sheet.set_freeze_panes(header + 1, 0)?;
        Ok(())
    }

    /// Sets up printing on A4, as many pages long as needed. The sheet is one page wide,
    /// or more where that would be too small to read; then each page has the first columns.
    fn print(&self, sheet: &mut Worksheet, width: usize) -> Result<(), XlsxError> {
        let wide = width.div_ceil(ON_PAPER).max(1);
        if wide > 1 {
            sheet.set_repeat_columns(0, self.kept)?;
        }
        sheet.set_print_fit_to_pages(u16::try_from(wide).unwrap_or(u16::MAX), 0);
        sheet.set_paper_size(A4);
        sheet.set_footer("&L&A&R&P / &N");
        if self.landscape {
            sheet.set_landscape();
        }
        Ok(())
    }

    /// The width of each column, in characters: its widest cell, or the longest
    /// word of its header.
    fn widths(&self) -> Vec<usize> {
        let rows = || self.rows.iter().chain(&self.sums).chain(&self.notes);
        let of = |(place, column): (usize, &Column)| {
            let cells = rows().filter_map(|row| row.get(place)).map(Cell::width);
            let words = column.name.split(' ').map(display_width);
            cells.chain(words).max().unwrap_or(0).min(WIDEST) + 2
        };
        self.columns.iter().enumerate().map(of).collect()
    }
}

/// A title over the columns of the first page, as many lines high as it needs. So
/// neither a cell beside the title nor the edge of the paper cuts it.
fn title_line(
    sheet: &mut Worksheet,
    row: u32,
    line: &str,
    widths: &[usize],
) -> Result<(), XlsxError> {
    let (mut width, mut columns) = (0, 0);
    for column in widths {
        if width >= TITLE {
            break;
        }
        width += column;
        columns += 1;
    }
    let format = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Top);
    // Bold letters are wider than the figures that a width counts.
    let lines = lines(line, width * 4 / 5).min(TALLEST);
    sheet.set_row_height(row, LINE * lines as f64)?;
    match columns {
        0 | 1 => sheet.write_string_with_format(row, 0, cut(line), &format)?,
        _ => sheet.merge_range(row, 0, row, columns - 1, &cut(line), &format)?,
    };
    Ok(())
}

/// The format of a sum: a line above the first sum, the last sum in bold.
fn sum_format(place: usize, count: usize) -> Format {
    let format = match place {
        0 => Format::new().set_border_top(FormatBorder::Thin),
        _ => Format::new(),
    };
    match place + 1 == count {
        true => format.set_bold(),
        false => format,
    }
}

/// How many lines a text takes in so many columns.
fn lines(text: &str, width: usize) -> usize {
    textwrap::wrap(text, width.max(1)).len().max(1)
}

/// The widest column. Longer texts run on over the cells beside them, or are cut off.
const WIDEST: usize = 50;

/// Characters side by side on a landscape page that can still be read.
const ON_PAPER: usize = 160;

/// Characters after which a title goes on in the next line.
const TITLE: usize = 80;

/// Points from line to line, of the font that a new workbook has.
const LINE: f64 = 15.0;

/// Lines of a title: a row is at most 409 points high.
const TALLEST: usize = 27;

impl Cell {
    fn width(&self) -> usize {
        match self {
            // No text is so wide that more of it need be looked at.
            Cell::Text(text) => display_width(&text.chars().take(WIDEST).collect::<String>()),
            Cell::Count(count) => count.to_string().len(),
            // With separators of thousands and the currency.
            Cell::Money(amount, decimals, _) => {
                let whole = amount.0.trunc().to_string();
                whole.len() + whole.len() / 3 + *decimals as usize + 5
            }
        }
    }
}

fn write_row(
    sheet: &mut Worksheet,
    row: u32,
    cells: &[Cell],
    format: &Format,
) -> Result<(), XlsxError> {
    for (column, cell) in (0..).zip(cells) {
        match cell {
            Cell::Text(text) if text.is_empty() => {
                sheet.write_blank(row, column, format)?;
            }
            Cell::Text(text) => {
                sheet.write_string_with_format(row, column, cut(text), format)?;
            }
            Cell::Count(count) => {
                sheet.write_number_with_format(row, column, *count as f64, format)?;
            }
            Cell::Money(amount, decimals, currency) => {
                let shown = money_format(*decimals, currency);
                let format = format.clone().set_num_format(shown);
                // A number of at most fifteen digits is the same in binary and back.
                let amount = amount.0.to_f64().unwrap_or(f64::NAN);
                sheet.write_number_with_format(row, column, amount, &format)?;
            }
        }
    }
    Ok(())
}

/// Only a real code goes into the format: a record could hold anything.
fn money_format(decimals: u32, currency: &Currency) -> String {
    let number = format!("#,##0.{}", "0".repeat(decimals as usize));
    match Currency::parse(&currency.0) {
        Some(code) => format!("{number} [${code}]"),
        None => number,
    }
}

/// A cell takes 32767 UTF-16 units: limits of the common spreadsheet programs.
fn cut(text: &str) -> String {
    if text.encode_utf16().count() <= MAX_CELL {
        return text.to_owned();
    }
    let mut left = MAX_CELL - 1;
    let fits = text.chars().take_while(|c| {
        let fits = c.len_utf16() <= left;
        left = left.saturating_sub(c.len_utf16());
        fits
    });
    fits.chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_cut_at_the_limit_of_a_cell() {
        let fits = "a".repeat(MAX_CELL);
        assert_eq!(cut(&fits), fits);
        let long = cut(&format!("{fits}b"));
        assert_eq!(long.encode_utf16().count(), MAX_CELL);
        assert!(long.ends_with("a…"));
    }

    #[test]
    fn only_a_currency_code_goes_into_a_format() {
        assert_eq!(money_format(2, &Currency("EUR".into())), "#,##0.00 [$EUR]");
        assert_eq!(money_format(4, &Currency("]@;\"".into())), "#,##0.0000");
    }
}
