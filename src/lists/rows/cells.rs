//! Single cells of a list: what they say, or why they are not understood.

use super::layout::{Column, Layout, no_date};
use crate::diag::quote;
use crate::lists::read::Page;
use crate::lists::recipe::{Field, Per, Recipe};
use crate::lists::values::date::{self, DateError};
use crate::lists::values::lead::{self, LeadError};
use crate::lists::values::number::{Amount, AmountError, DecimalSign, amount, currencies};
use crate::lists::values::quantity::{Quantity, Unit, quantity, whole};
use crate::lists::values::stock::{Stock, stock};
use crate::lists::values::words::{self, FROM, NO_PRICE, PACKS, PIECES, Token, small, tokens};
use crate::source::{Mark, SheetRow};
use crate::units::{Currency, Qty};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// A cell that is not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// The row of the list.
    pub row: u64,
    /// The heading of the column.
    pub column: String,
    /// What is wrong: lower case, no final stop.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// A cell with what is needed to read it.
pub struct Cell<'c> {
    pub text: &'c str,
    row: u64,
    column: &'c Column,
    mark: Option<Mark>,
    pub sign: DecimalSign,
}

/// The cells of a row.
pub struct Cells<'c> {
    pub page: &'c Page,
    pub layout: &'c Layout,
    pub recipe: &'c Recipe,
    /// What the supplier bills in.
    pub currency: &'c Currency,
    pub row: &'c SheetRow,
}

impl<'c> Cells<'c> {
    /// The text of a field; empty where no column has it.
    pub fn text(&self, field: Field) -> &'c str {
        let column = self.layout.columns.get(&field);
        column.map_or("", |column| self.page.cell(self.row, column.place))
    }

    /// The cell of a field; none where it is empty.
    pub fn field(&self, field: Field) -> Option<Cell<'c>> {
        let column = self.layout.columns.get(&field)?;
        self.at(column)
    }

    /// The cell of a column; none where it is empty.
    pub fn at(&self, column: &'c Column) -> Option<Cell<'c>> {
        let text = self.page.cell(self.row, column.place);
        let mark = self.row.mark(column.place);
        // Numbers of a sheet have a decimal point, whatever texts have.
        let sign = match mark {
            Some(Mark::Number) => DecimalSign::Point,
            _ => self.layout.sign,
        };
        (!text.is_empty()).then_some(Cell {
            text,
            row: self.row.number,
            column,
            mark,
            sign,
        })
    }

    /// True if the row has one cell that holds anything.
    pub fn is_alone(&self) -> bool {
        let cells = self.row.cells.iter();
        cells.filter(|cell| !cell.trim().is_empty()).count() == 1
    }

    /// A trouble of a row whose cell of this field is empty.
    pub fn missing(&self, field: Field, message: &str) -> Trouble {
        let column = self.layout.columns.get(&field);
        Trouble {
            row: self.row.number,
            column: column.map(|c| c.heading.clone()).unwrap_or_default(),
            message: message.to_owned(),
            help: LEAVE_OUT.to_owned(),
        }
    }

    /// An amount in the supplier's currency.
    pub fn money(&self, cell: &Cell) -> Result<Decimal, Trouble> {
        cell.whole()?;
        if words::is(NO_PRICE, &small(cell.text)) {
            return Err(cell.trouble("is no price", LEAVE_OUT));
        }
        let amount = cell.amount()?;
        if !amount.currency.is_empty() {
            self.same_currency(cell, amount.currency)?;
        }
        if amount.value.is_zero() {
            return Err(cell.trouble("is no price", LEAVE_OUT));
        }
        Ok(amount.value)
    }

    /// Checks a currency against the supplier's.
    pub fn same_currency(&self, cell: &Cell, found: &str) -> Result<(), Trouble> {
        let found = found.trim();
        match currencies(found) {
            None => Err(cell.trouble(
                "has something beside the amount that is no currency",
                "name the column of the price under [columns] of the recipe",
            )),
            Some(codes) if codes.contains(&self.currency.0.as_str()) => Ok(()),
            Some(_) => Err(cell.trouble(
                &format!(
                    "is not in {}, which {} bills in",
                    self.currency,
                    quote(&self.recipe.supplier)
                ),
                "ask the supplier for a list in that currency, or correct suppliers.csv",
            )),
        }
    }

    /// For how many pieces the price of the row is.
    pub fn per(&self, pack: Qty) -> Result<Qty, Trouble> {
        let per = match self.field(Field::Per) {
            None => self.recipe.per,
            Some(cell) => self.per_of(&cell)?,
        };
        Ok(match per {
            Per::Pieces(pieces) => pieces,
            Per::Pack => pack,
        })
    }

    fn per_of(&self, cell: &Cell) -> Result<Per, Trouble> {
        cell.whole()?;
        let plain = small(cell.text);
        let known = self
            .recipe
            .per_words
            .iter()
            .find(|(word, _)| *word == plain);
        let per = match known {
            Some((_, pieces)) => Some(Per::Pieces(*pieces)),
            None => per(cell.text, cell.sign),
        };
        per.ok_or_else(|| {
            let help = format!(
                "write {} = 1, or another number of pieces, under [price.words] of the recipe",
                quote(cell.text)
            );
            cell.trouble("does not say for how many pieces the price is", &help)
        })
    }

    /// Percent off a price, as the factor that is left.
    pub fn left(&self, cell: &Cell) -> Result<Decimal, Trouble> {
        cell.whole()?;
        let bare = cell
            .text
            .trim_start_matches(['-', '−'])
            .trim_end_matches('%')
            .trim();
        let is_in_reach = |a: &Amount| a.currency.is_empty() && a.value <= Decimal::ONE_HUNDRED;
        let percent = amount(bare, cell.sign).ok().filter(is_in_reach);
        let percent = percent.ok_or_else(|| {
            cell.trouble(
                "is no percentage",
                "give a number from 0 to 100, or correct the recipe",
            )
        })?;
        Ok((Decimal::ONE_HUNDRED - percent.value) / Decimal::ONE_HUNDRED)
    }

    /// Pieces in a pack; one where nothing is said.
    pub fn pack(&self) -> Result<Option<Qty>, Trouble> {
        let Some(cell) = self.field(Field::Pack) else {
            return Ok(None);
        };
        let count = self.quantity(&cell)?.count;
        match count {
            0 => Err(cell.trouble("is no size of a pack", "correct the recipe or the list")),
            count => Ok(Some(count)),
        }
    }

    /// A quantity with its unit.
    pub fn quantity(&self, cell: &Cell) -> Result<Quantity, Trouble> {
        cell.whole()?;
        quantity(cell.text, cell.sign).ok_or_else(|| {
            cell.trouble(
                "is no quantity",
                "correct the recipe, or leave such rows out with [[skip]]",
            )
        })
    }

    /// A quantity in pieces.
    pub fn pieces(&self, cell: &Cell, unit: Unit, pack: Qty) -> Result<Qty, Trouble> {
        let read = self.quantity(cell)?;
        let pieces = read.unit.unwrap_or(unit).in_pieces(read.count, pack);
        pieces.ok_or_else(|| cell.trouble("are more pieces than a price list holds", LEAVE_OUT))
    }

    /// Pieces that can be had; none where nothing is said.
    pub fn stock(&self, pack: Qty) -> Result<Option<Qty>, Trouble> {
        let Some(cell) = self.field(Field::Stock) else {
            return Ok(None);
        };
        cell.whole()?;
        let read = stock(cell.text, cell.sign, &self.recipe.stock_words);
        match read {
            Some(Stock::Unknown) => Ok(None),
            Some(Stock::Some(count, unit)) => {
                let unit = unit.unwrap_or(self.recipe.counted.stock);
                let pieces = unit.in_pieces(count, pack);
                let pieces = pieces.ok_or_else(|| {
                    cell.trouble("are more pieces than a price list holds", LEAVE_OUT)
                })?;
                Ok(Some(pieces))
            }
            None => {
                let help = format!(
                    "write {} = 0, or how many there are, under [stock.words] of the recipe",
                    quote(cell.text)
                );
                Err(cell.trouble("is no stock", &help))
            }
        }
    }

    /// Days until delivery; none where nothing is said.
    pub fn lead(&self) -> Result<Option<u32>, Trouble> {
        let Some(cell) = self.field(Field::Lead) else {
            return Ok(None);
        };
        cell.whole()?;
        lead::days(cell.text, cell.sign, &self.recipe.lead).map_err(|error| match error {
            LeadError::NoUnit => cell.trouble(
                "does not say whether days or weeks are meant",
                "write unit = \"days\", \"working-days\", \"weeks\" or \"months\" under [lead] of the recipe",
            ),
            LeadError::TooLong => cell.trouble("is more than ten years", "correct the recipe or the list"),
            LeadError::Unknown => cell.trouble("is no lead time", &cell.days_or_skip()),
            LeadError::CalendarWeek => cell.trouble(
                "is a week of the calendar, and says no time until delivery",
                &cell.days_or_skip(),
            ),
        })
    }

    /// The day of the price; that of the list where the row has none.
    pub fn dated(&self) -> Result<Option<Date>, Trouble> {
        let Some(cell) = self.field(Field::Date) else {
            return Ok(self.layout.dated);
        };
        cell.whole()?;
        let order = self.recipe.date.order;
        let day = date::date(cell.text, order).map_err(|error| {
            let (message, help) = no_date(cell.text, error, order);
            cell.says(message, help)
        })?;
        Ok(Some(day))
    }
}

impl Cells<'_> {
    /// The day of a delivery; none where the row has none.
    pub fn day(&self) -> Result<Option<Date>, Trouble> {
        let Some(cell) = self.field(Field::Date) else {
            return Ok(None);
        };
        cell.whole()?;
        let order = self.recipe.date.order;
        let day = date::date(cell.text, order).map_err(|error| match error {
            DateError::NoDate => cell.trouble(
                "is no day",
                "correct columns.date of the recipe, or the list",
            ),
            DateError::Ambiguous => {
                let (message, help) = no_date(cell.text, error, order);
                cell.says(message, help)
            }
        })?;
        Ok(Some(day))
    }
}

/// What to do about a cell without a price.
const LEAVE_OUT: &str = "leave such rows out with [[skip]] in the recipe, or correct the list";

impl Cell<'_> {
    /// A trouble that begins with the cell's text.
    pub fn trouble(&self, what: &str, help: &str) -> Trouble {
        self.says(format!("{} {what}", quote(self.text)), help)
    }

    fn says(&self, message: String, help: &str) -> Trouble {
        Trouble {
            row: self.row,
            column: self.column.heading.clone(),
            message,
            help: help.to_owned(),
        }
    }

    /// True for a dash in place of nothing.
    pub fn is_dash(&self) -> bool {
        matches!(self.text, "-" | "–" | "—")
    }

    /// Refuses what a spreadsheet could not compute or keep.
    pub fn whole(&self) -> Result<(), Trouble> {
        match self.mark {
            Some(Mark::Failed) => Err(self.trouble(
                "is an error of a formula",
                "ask the supplier, or correct the cell",
            )),
            Some(Mark::TooLong) => Err(self.trouble(
                "may have lost digits in the spreadsheet",
                "store the cell as text",
            )),
            _ => Ok(()),
        }
    }

    /// What to do about a cell that says no lead time.
    fn days_or_skip(&self) -> String {
        format!(
            "write {} = 30, or other days, under [lead.words] of the recipe, or leave such rows out \
             with [[skip]]",
            quote(self.text)
        )
    }

    fn amount(&self) -> Result<Amount<'_>, Trouble> {
        amount(self.text, self.sign).map_err(|error| {
            let help = match error {
                AmountError::Grouped => {
                    "correct decimal under [file] of the recipe: \"comma\" or \"point\""
                }
                _ => LEAVE_OUT,
            };
            self.trouble(&error.to_string(), help)
        })
    }
}

/// For how many pieces a price is, as cells say it: `100`, `per 100 Stk`, `VPE`.
fn per(text: &str, sign: DecimalSign) -> Option<Per> {
    const BESIDE: &[&str] = &["pro", "je", "par", "por", "pr", "each", "price", "preis"];
    let (mut count, mut is_pack) = (None, None);
    for token in tokens(text) {
        match token {
            Token::Number(_) if count.is_some() => return None,
            Token::Number(digits) => count = Some(whole(&digits, sign)?),
            Token::Word(word) if words::is(PIECES, &word) => is_pack = Some(false),
            Token::Word(word) if words::is(PACKS, &word) => is_pack = Some(true),
            Token::Word(word) if BESIDE.contains(&word.as_str()) || words::is(FROM, &word) => {}
            Token::Sign('/' | '.' | '(' | ')' | ':') => {}
            _ => return None,
        }
    }
    match (count, is_pack) {
        (None | Some(1), Some(true)) => Some(Per::Pack),
        (Some(0), _) | (Some(_), Some(true)) | (None, None) => None,
        (Some(count), _) => Some(Per::Pieces(count)),
        (None, Some(false)) => Some(Per::Pieces(1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_prices() {
        let read = |text| per(text, DecimalSign::Comma);
        for (text, is) in [
            ("100", Per::Pieces(100)),
            ("per 100 Stk", Per::Pieces(100)),
            ("/ 10", Per::Pieces(10)),
            ("1.000", Per::Pieces(1000)),
            ("Stk.", Per::Pieces(1)),
            ("each", Per::Pieces(1)),
            ("VPE", Per::Pack),
            ("pro VPE", Per::Pack),
            ("1 pack", Per::Pack),
        ] {
            assert_eq!(read(text), Some(is), "{text}");
        }
        for text in ["", "C", "0", "2 packs", "per m"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
