//! Where a list has what the recipe asks for.

use super::sign::Signs;
use crate::diag::{Diagnostic, Findings, quote};
use crate::lists::read::{Found, List, Page, find};
use crate::lists::recipe::{Field, From, Purpose, Recipe, Test};
use crate::lists::values::date::{self, DateError, DateOrder};
use crate::lists::values::number::DecimalSign;
use crate::lists::values::words::small;
use crate::source::SheetRow;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A column of the list.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its place in a row, from 0.
    pub place: usize,
    /// Its heading, as the recipe has it.
    pub heading: String,
}

/// From which quantity a price holds.
#[derive(Debug, Clone)]
pub enum FromAt {
    /// The same for all articles.
    Count(u64),
    /// What a column says.
    Column(Column),
}

/// A price of its own column.
#[derive(Debug, Clone)]
pub struct BreakAt {
    pub from: FromAt,
    pub column: Column,
    pub is_discount: bool,
}

/// Where a list has what the recipe asks for.
#[derive(Debug, Clone)]
pub struct Layout {
    /// The page of the list.
    pub page: usize,
    /// The place of the header row among the rows of the page.
    pub header: usize,
    /// The decimal sign of texts.
    pub sign: DecimalSign,
    /// The day of the list; none where nothing tells it.
    pub dated: Option<Date>,
    pub(super) columns: BTreeMap<Field, Column>,
    pub(super) breaks: Vec<BreakAt>,
    pub(super) skip: Vec<(usize, Test)>,
}

impl Layout {
    /// Finds all that the recipe names. `dated` is the day that the user gives, which counts
    /// before what the list says.
    ///
    /// Pushes an error for each thing that is not there.
    pub fn of(
        list: &List,
        recipe: &Recipe,
        dated: Option<Date>,
        findings: &mut Findings,
    ) -> Option<Self> {
        let wanted = recipe.headings();
        let sheet = recipe
            .sheet
            .as_ref()
            .map(|(name, line)| (name.as_str(), *line));
        let found = find(list, sheet, &wanted, &recipe.file, findings)?;
        let page = list.pages.get(found.page)?;
        let mut layout = Self::placed(recipe, &found);
        layout.sign = match recipe.decimal {
            Some(sign) => sign,
            None => layout.told_sign(page, recipe, findings)?,
        };
        layout.dated = match dated {
            Some(day) => Some(day),
            None => head_date(page, found.row, recipe)
                .map_err(|e| findings.push(*e))
                .ok()?,
        };
        Some(layout)
    }

    /// The columns, in the order in which [`Recipe::headings`] names them.
    fn placed(recipe: &Recipe, found: &Found) -> Self {
        let mut places = found.places.iter().copied();
        let mut next = |heading: &str| Column {
            place: places.next().unwrap_or(usize::MAX),
            heading: heading.to_owned(),
        };
        let columns = recipe.columns.iter();
        let columns = columns
            .map(|(field, heading)| (*field, next(&heading.text)))
            .collect();
        let breaks = recipe.breaks.iter().map(|one| BreakAt {
            from: match &one.from {
                From::Count(count) => FromAt::Count(*count),
                From::Column(heading) => FromAt::Column(next(&heading.text)),
            },
            column: next(&one.heading.text),
            is_discount: one.is_discount,
        });
        let breaks = breaks.collect();
        let skip = recipe.skip.iter();
        let skip = skip
            .map(|skip| (next(&skip.heading.text).place, skip.test.clone()))
            .collect();
        Self {
            page: found.page,
            header: found.row,
            sign: DecimalSign::Point,
            dated: None,
            columns,
            breaks,
            skip,
        }
    }

    /// True if the recipe leaves the row out, or the row repeats the headings.
    pub fn leaves_out(&self, page: &Page, row: &SheetRow) -> bool {
        let holds = |(place, test): &(usize, Test)| test.holds(&small(page.cell(row, *place)));
        if self.skip.iter().any(holds) {
            return true;
        }
        let mut columns = self.columns.values();
        columns.all(|column| small(page.cell(row, column.place)) == small(&column.heading))
    }

    /// The decimal sign that the amounts of the list tell.
    fn told_sign(
        &self,
        page: &Page,
        recipe: &Recipe,
        findings: &mut Findings,
    ) -> Option<DecimalSign> {
        let places: Vec<usize> = self.amounts(recipe.purpose).collect();
        let signs = Signs::of(page, self.header, &places, |row| self.leaves_out(page, row));
        let help = format!(
            "write decimal = \"comma\" or decimal = \"point\" under [file] of {}",
            recipe.file
        );
        signs.told(page, &help, findings)
    }

    /// The columns whose numbers tell the decimal sign: those of amounts, and in what comes
    /// after an order those of quantities as well, since `1,000` may be one piece.
    fn amounts(&self, purpose: Purpose) -> impl Iterator<Item = usize> {
        let price = self.columns.get(&Field::Price);
        let quantity = self.columns.get(&Field::Quantity);
        let price = price
            .into_iter()
            .chain(quantity.filter(|_| !purpose.is_price_list()));
        let breaks = self.breaks.iter().map(|b| &b.column);
        price.chain(breaks).map(|column| column.place)
    }
}

/// The day above the headings.
fn head_date(page: &Page, header: usize, recipe: &Recipe) -> Result<Option<Date>, Box<Diagnostic>> {
    let rule = &recipe.date;
    let text = if let Some((row, column, name)) = &rule.cell {
        let found = page.rows.iter().find(|r| r.number == *row);
        let text = found.map_or("", |r| page.cell(r, *column));
        if text.is_empty() {
            let message =
                format!("the cell {name}, which should have the day of the list, is empty");
            let help = format!("correct date.cell of {}", recipe.file);
            return Err(Box::new(
                Diagnostic::error(&page.file, message).line(*row).help(help),
            ));
        }
        (*row, text)
    } else if let Some((after, _)) = &rule.after {
        let found = after_words(page, header, after);
        found.ok_or_else(|| {
            let message = format!(
                "no cell above the headings has {}, after which the day of the list should stand",
                quote(after)
            );
            let help = format!("correct date.after of {}", recipe.file);
            Box::new(Diagnostic::error(&page.file, message).help(help))
        })?
    } else {
        return Ok(None);
    };
    let (row, text) = text;
    let day = date::date(text, rule.order).map_err(|error| {
        let (message, help) = no_date(text, error, rule.order);
        Box::new(Diagnostic::error(&page.file, message).line(row).help(help))
    })?;
    Ok(Some(day))
}

/// What is wrong with a day, and the cure.
pub(super) fn no_date(
    text: &str,
    error: DateError,
    order: Option<DateOrder>,
) -> (String, &'static str) {
    match (error, order) {
        (DateError::Ambiguous, _) => (
            format!(
                "which of {} is the day and which the month can't be told",
                quote(text)
            ),
            "write order = \"day-month\" or order = \"month-day\" under [date] of the recipe",
        ),
        (DateError::NoDate, _) => (
            format!("{} is no day", quote(text)),
            "name the place of the day under [date] of the recipe, or give it with --dated",
        ),
    }
}

/// What stands after words above the headings: in their cell, or the next one that holds
/// anything.
fn after_words<'p>(page: &'p Page, header: usize, words: &str) -> Option<(u64, &'p str)> {
    let wanted = small(words);
    for row in page.rows.iter().take(header) {
        for place in 0..row.cells.len() {
            let cell = page.cell(row, place);
            let Some(rest) = rest_after(cell, &wanted) else {
                continue;
            };
            if rest.contains(|c: char| c.is_ascii_digit()) {
                return Some((row.number, rest));
            }
            let mut next = (place + 1..row.cells.len()).map(|p| page.cell(row, p));
            return next
                .find(|cell| !cell.is_empty())
                .map(|cell| (row.number, cell));
        }
    }
    None
}

/// The text after words, which may stand in any case.
fn rest_after<'c>(cell: &'c str, wanted: &str) -> Option<&'c str> {
    let starts = cell.char_indices().map(|(at, _)| at);
    let mut rests = starts.filter_map(|at| cell.get(at..));
    let length = wanted.chars().count();
    rests.find_map(|rest| {
        let end = rest
            .char_indices()
            .nth(length)
            .map_or(rest.len(), |(at, _)| at);
        let (head, tail) = rest.split_at_checked(end)?;
        (small(head) == wanted).then_some(tail)
    })
}
