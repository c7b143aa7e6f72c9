//! Which decimal sign the amounts of a list have, by all of their cells.

use crate::diag::{Diagnostic, Findings, quote};
use crate::lists::read::Page;
use crate::lists::values::number::{DecimalSign, amount, sign_of};
use crate::source::{Mark, SheetRow};

/// At most so many cells that do not agree are told.
const MOST: usize = 20;

/// What the cells of amounts tell, each with its row.
#[derive(Debug, Clone, Default)]
pub struct Signs<'p> {
    /// Cells that have a decimal point.
    pub points: Vec<(u64, &'p str)>,
    /// Cells that have a decimal comma.
    pub commas: Vec<(u64, &'p str)>,
    /// Cells whose sign may be of thousands or decimals.
    pub unclear: Vec<(u64, &'p str)>,
}

impl<'p> Signs<'p> {
    /// What the cells at these places tell, in the rows below the headings that are not left
    /// out. What is no amount by its own sign tells nothing.
    pub fn of(
        page: &'p Page,
        header: usize,
        places: &[usize],
        is_left_out: impl Fn(&SheetRow) -> bool,
    ) -> Self {
        let mut signs = Self::default();
        let rows = page.rows.iter().skip(header + 1);
        for row in rows.filter(|row| !is_left_out(row)) {
            for &place in places {
                let cell = page.cell(row, place);
                if row.mark(place) != Some(Mark::Number) && has_separator(cell) {
                    signs.take(row.number, cell);
                }
            }
        }
        signs
    }

    fn take(&mut self, row: u64, cell: &'p str) {
        let is_amount = |sign| amount(cell, sign).is_ok();
        match sign_of(cell) {
            Some(DecimalSign::Point) if is_amount(DecimalSign::Point) => {
                self.points.push((row, cell));
            }
            Some(DecimalSign::Comma) if is_amount(DecimalSign::Comma) => {
                self.commas.push((row, cell));
            }
            Some(_) => {}
            None => self.unclear.push((row, cell)),
        }
    }

    /// The only cell that tells, where several others tell nothing.
    pub fn lone(&self) -> Option<(u64, &'p str)> {
        let mut telling = self.points.iter().chain(&self.commas);
        let first = telling.next()?;
        (telling.next().is_none() && self.unclear_numbers() > 1).then_some(*first)
    }

    /// How many cells have a number that may be read either way.
    fn unclear_numbers(&self) -> usize {
        let is_number = |(_, cell): &&(u64, &str)| {
            let by = |sign| amount(cell, sign).ok().map(|amount| amount.value);
            let (point, comma) = (by(DecimalSign::Point), by(DecimalSign::Comma));
            point.is_some() && comma.is_some() && point != comma
        };
        self.unclear.iter().filter(is_number).count()
    }

    /// The sign that all of them have.
    ///
    /// Pushes an error for each cell that does not agree with most, and one where nothing or
    /// too little tells; `help` says what decides then.
    pub fn told(&self, page: &Page, help: &str, findings: &mut Findings) -> Option<DecimalSign> {
        let error =
            |row: u64, message: String| Diagnostic::error(&page.file, message).line(row).help(help);
        if let Some((row, cell)) = self.lone() {
            let message = format!(
                "{} alone tells the decimal sign: whether the other amounts, such as {}, have \
                 thousands or decimals is not sure",
                quote(cell),
                quote(self.unclear.first().map_or("", |(_, cell)| cell))
            );
            findings.push(error(row, message));
            return None;
        }
        let (points, commas) = (self.points.len(), self.commas.len());
        match (points, commas) {
            (0, 0) => match self.unclear.first() {
                Some((row, cell)) if cell.bytes().any(|b| b.is_ascii_digit()) => {
                    let message = format!(
                        "whether {} has thousands or decimals can't be told",
                        quote(cell)
                    );
                    findings.push(error(*row, message));
                    None
                }
                _ => Some(DecimalSign::Point),
            },
            (_, 0) => Some(DecimalSign::Point),
            (0, _) => Some(DecimalSign::Comma),
            _ => {
                let (fewer, word, more, most) = match points < commas {
                    true => (&self.points, "point", commas, "comma"),
                    false => (&self.commas, "comma", points, "point"),
                };
                for (row, cell) in fewer.iter().take(MOST) {
                    let cell = quote(cell);
                    let others = match more {
                        1 => format!("another amount has a decimal {most}"),
                        more => format!("{more} amounts have a decimal {most}"),
                    };
                    let message = format!("{cell} has a decimal {word}, but {others}");
                    let error = Diagnostic::error(&page.file, message).line(*row);
                    findings.push(error.help(format!("correct the cell, or {help}")));
                }
                None
            }
        }
    }
}

/// True if the text has a sign that may be a decimal sign; the one of `10 pcs.` is none.
fn has_separator(cell: &str) -> bool {
    let bare = cell.trim_end_matches('.');
    let is_word = bare.len() < cell.len() && bare.ends_with(char::is_alphabetic);
    bare.contains(['.', ',']) || (bare.len() < cell.len() && !is_word)
}
