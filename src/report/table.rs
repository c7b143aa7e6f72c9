//! Tables: text that fits a width, and CSV.

use super::wording::{forced, plain};
use crate::table::guarded;
use std::borrow::Cow;
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Padding, Style};
use textwrap::core::display_width;

/// The width of a table where the terminal tells none, and the most that is used.
pub const FULL_WIDTH: usize = 100;

/// No table is made narrower than this.
pub const LEAST_WIDTH: usize = 40;

/// The room between two columns.
const GAP: usize = 2;

/// Shown as a space at which no text is wrapped: between a figure and its unit.
pub(super) const GLUE: &str = "\u{a0}";

/// A text column is not wrapped below this width while other columns can be dropped,
/// unless the column says otherwise.
const LEAST_TEXT: usize = 12;

/// A title of a number column up to this width stands in one line.
const SHORT_TITLE: usize = 8;

/// A column of a [`Table`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    name: Cow<'static, str>,
    is_number: bool,
    drop: u8,
    least: usize,
    is_given: bool,
}

impl Column {
    /// Text, left-aligned, wrapped where the table is too wide.
    pub const fn text(name: &'static str) -> Self {
        Self {
            name: Cow::Borrowed(name),
            is_number: false,
            drop: 0,
            least: LEAST_TEXT,
            is_given: false,
        }
    }

    /// Text under a name of the user's.
    pub fn named(name: &str) -> Self {
        Self {
            name: Cow::Owned(name.to_owned()),
            ..Self::text("")
        }
    }

    /// Numbers under a name of the user's, which is shown as the user wrote it.
    pub fn figures(name: &str) -> Self {
        Self {
            name: Cow::Owned(name.to_owned()),
            is_given: true,
            ..Self::number("")
        }
    }

    /// Numbers, right-aligned, never wrapped.
    pub const fn number(name: &'static str) -> Self {
        Self {
            name: Cow::Borrowed(name),
            is_number: true,
            drop: 0,
            least: 0,
            is_given: false,
        }
    }

    /// Its name, which may have underscores.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its name for a reader: with spaces for underscores, unless a user wrote it.
    pub fn title(&self) -> Cow<'_, str> {
        match self.is_given {
            true => Cow::Borrowed(&self.name),
            false => Cow::Owned(self.name.replace('_', " ")),
        }
    }

    /// True for a column of numbers.
    pub fn is_number(&self) -> bool {
        self.is_number
    }

    /// A detail, left out where the width is too small; the greatest rank goes first.
    pub const fn detail(mut self, rank: u8) -> Self {
        self.drop = rank;
        self
    }

    /// Text that reads badly below this width: details go first.
    pub const fn at_least(mut self, least: usize) -> Self {
        self.least = least;
        self
    }
}

/// Rows of text under named columns. Text output shows an underscore in a
/// column name as a space and leaves out columns without any content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table without rows.
    pub fn new(columns: &[Column]) -> Self {
        Self {
            columns: columns.to_vec(),
            rows: Vec::new(),
        }
    }

    /// Adds a row; what is missing at its end is blank, what is too much is cut off.
    pub fn row(&mut self, mut cells: Vec<String>) {
        cells.resize(self.columns.len(), String::new());
        self.rows.push(cells);
    }

    /// True without rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Its columns.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// Its rows, each with a cell for every column.
    pub fn rows(&self) -> &[Vec<String>] {
        &self.rows
    }

    /// Lines of at most `width` columns (at least [`LEAST_WIDTH`] are used),
    /// each ended by a line feed.
    pub fn text(&self, width: usize) -> String {
        let shown = self.fitted(width.max(LEAST_WIDTH));
        let mut builder = Builder::default();
        builder.push_record(shown.iter().map(|c| c.lines(&c.title)));
        for row in 0..self.rows.len() {
            builder.push_record(shown.iter().map(|c| match c.cells.get(row) {
                Some(cell) => c.lines(cell),
                None => String::new(),
            }));
        }
        let mut table = builder.build();
        let rule = HorizontalLine::new('-').intersection(' ');
        table
            .with(Style::empty().vertical(' ').horizontals([(1, rule)]))
            .with(Padding::new(0, GAP - 1, 0, 0));
        table.modify(Columns::last(), Padding::zero());
        for (i, column) in shown.iter().enumerate() {
            if column.is_number {
                table.modify(Columns::one(i), Alignment::right());
            }
        }
        trimmed(&table.to_string())
    }

    /// All columns as CSV. A text that a spreadsheet would run as a formula
    /// gets an apostrophe before it.
    ///
    /// # Errors
    /// The error of the writer; in memory there is none.
    pub fn csv(&self) -> Result<String, csv::Error> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(self.columns.iter().map(Column::name))?;
        for row in &self.rows {
            let cells = row.iter().zip(&self.columns).map(|(cell, column)| {
                if column.is_number {
                    cell.clone()
                } else {
                    guarded(cell)
                }
            });
            writer.write_record(cells)?;
        }
        let bytes = writer
            .into_inner()
            .map_err(|e| csv::Error::from(e.into_error()))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// The columns to show and how wide each is.
    fn fitted(&self, width: usize) -> Vec<Shown> {
        let mut shown: Vec<Shown> = (0..self.columns.len())
            .filter_map(|i| self.shown(i))
            .collect();
        while total(shown.iter().map(|c| c.least)) > width {
            let Some(at) = (0..shown.len())
                .filter(|&i| shown[i].drop > 0)
                .max_by_key(|&i| shown[i].drop)
            else {
                break;
            };
            shown.remove(at);
        }
        while total(shown.iter().map(|c| c.width)) > width {
            let Some(widest) = shown
                .iter_mut()
                .filter(|c| c.width > c.least)
                .max_by_key(|c| c.width)
            else {
                break;
            };
            widest.width -= 1;
        }
        squeeze(&mut shown, width);
        shown
    }

    fn shown(&self, i: usize) -> Option<Shown> {
        let column = self.columns.get(i)?;
        let cells: Vec<String> = self
            .rows
            .iter()
            .map(|row| row.get(i).map(|c| plain(c)).unwrap_or_default())
            .collect();
        if !self.rows.is_empty() && cells.iter().all(String::is_empty) {
            return None;
        }
        let title = column.title().into_owned();
        // Words as wrapping sees them: a space of another kind joins.
        let words = |text: &str| text.split(' ').map(display_width).max();
        let content = cells.iter().map(|c| display_width(c)).max().unwrap_or(0);
        let longest = cells.iter().filter_map(|c| words(c)).max().unwrap_or(0);
        let head = words(&title).unwrap_or(0);
        let width = content.max(display_width(&title));
        let least = if column.is_number {
            content
                .max(head)
                .max(display_width(&title).min(SHORT_TITLE))
        } else {
            width.min(longest.max(head).max(column.least))
        };
        Some(Shown {
            title,
            cells,
            is_number: column.is_number,
            drop: column.drop,
            width,
            least,
        })
    }
}

/// A column as it is shown.
struct Shown {
    title: String,
    cells: Vec<String>,
    is_number: bool,
    drop: u8,
    width: usize,
    least: usize,
}

impl Shown {
    fn lines(&self, cell: &str) -> String {
        forced(cell, self.width).replace(GLUE, " ")
    }
}

/// Where nothing is left to drop, words are broken: text first, then all.
fn squeeze(shown: &mut [Shown], width: usize) {
    while total(shown.iter().map(|c| c.width)) > width {
        let Some(widest) = shown
            .iter_mut()
            .filter(|c| c.width > 1)
            .max_by_key(|c| (!c.is_number, c.width))
        else {
            return;
        };
        widest.width -= 1;
    }
}

fn total(widths: impl Iterator<Item = usize>) -> usize {
    let (count, sum) = widths.fold((0, 0), |(n, sum), w| (n + 1, sum + w));
    sum + GAP * usize::saturating_sub(count, 1)
}

/// Lines without spaces at their ends.
fn trimmed(text: &str) -> String {
    text.lines()
        .map(|line| format!("{}\n", line.trim_end()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Table {
        let mut table = Table::new(&[
            Column::text("part"),
            Column::text("description").detail(1),
            Column::number("unit_price"),
        ]);
        table.row(vec![
            "P-70".into(),
            "a plug with a long description that takes much room in a line of text".into(),
            "12.50".into(),
        ]);
        table.row(vec!["R-7".into(), String::new(), "3.00".into()]);
        table
    }

    #[test]
    fn a_wide_table_stands_in_one_line_a_row() {
        let text = sample().text(100);
        assert_eq!(
            text,
            "part  description                                                            unit price\n\
             ----- ---------------------------------------------------------------------- ----------\n\
             P-70  a plug with a long description that takes much room in a line of text       12.50\n\
             R-7                                                                                3.00\n"
        );
    }

    #[test]
    fn a_narrow_table_wraps_then_drops() {
        let wraps = sample().text(50);
        assert!(wraps.contains("description"), "{wraps}");
        assert!(wraps.lines().all(|l| display_width(l) <= 50), "{wraps}");
        let mut wide = Table::new(&[
            Column::text("part"),
            Column::text("note").detail(1),
            Column::number("price"),
        ]);
        wide.row(vec![
            "P-0123456789012345678901234".into(),
            "some words here".into(),
            "1.00".into(),
        ]);
        let drops = wide.text(40);
        assert!(!drops.contains("note"), "{drops}");
        assert!(drops.lines().all(|l| display_width(l) <= 40), "{drops}");
    }

    #[test]
    fn a_figure_keeps_its_unit() {
        let mut table = Table::new(&[Column::text("price"), Column::number("qty")]);
        let price = format!("20.58{GLUE}USD to 24.50{GLUE}EUR");
        table.row(vec![price, "1".repeat(20)]);
        let text = table.text(40);
        assert!(
            text.contains("20.58 USD to\n") || text.contains("20.58 USD to "),
            "{text}"
        );
        assert!(
            text.lines().any(|line| line.starts_with("24.50 EUR")),
            "{text}"
        );
    }

    #[test]
    fn a_word_that_is_wider_than_all_is_broken() {
        let mut table = Table::new(&[Column::text("part"), Column::number("qty")]);
        table.row(vec!["X".repeat(90), "5".into()]);
        let text = table.text(60);
        assert!(text.lines().all(|l| display_width(l) <= 60), "{text}");
        assert_eq!(text.matches('X').count(), 90);
    }

    #[test]
    fn a_column_without_content_is_left_out_of_the_text_alone() {
        let mut table = Table::new(&[Column::text("part"), Column::text("key")]);
        table.row(vec!["P".into(), String::new()]);
        assert!(!table.text(100).contains("key"));
        assert_eq!(table.csv().unwrap(), "part,key\nP,\n");
    }

    #[test]
    fn csv_runs_nothing_in_a_spreadsheet() {
        for bad in ["=1+1", "+1", "-1", "@x", "\tx", "\rx"] {
            let mut table = Table::new(&[Column::text("sku")]);
            table.row(vec![bad.into()]);
            let csv = table.csv().unwrap();
            let cell = csv.lines().nth(1).unwrap().trim_start_matches('"');
            assert!(cell.starts_with('\''), "{csv:?}");
        }
        let mut table = Table::new(&[Column::text("sku"), Column::number("qty")]);
        table.row(vec!["a=1".into(), "-1".into()]);
        assert_eq!(table.csv().unwrap(), "sku,qty\na=1,-1\n");
    }
}
