//! Articles of a list, each put together from its rows.

use super::cells::{Cell, Cells, Trouble};
use super::layout::{BreakAt, FromAt, Layout};
use super::share::{Share, share};
use crate::diag::quote;
use crate::lists::read::List;
use crate::lists::recipe::{Field, Recipe};
use crate::table::one_spelling;
use crate::units::{Currency, MAX_QTY, Money, Qty};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::HashMap;

/// A price from a quantity on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece.
    pub price: Money,
    /// True if the price was rounded to six decimals.
    pub is_rounded: bool,
    /// The row of the list.
    pub row: u64,
}

/// On what terms an article is sold.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Terms {
    /// Pieces in a pack.
    pub pack: Qty,
    /// Pieces that can be had; none where nothing is said.
    pub stock: Option<Qty>,
    /// Days until delivery, where they are told.
    pub lead_days: Option<u32>,
    /// The day of the prices.
    pub quoted: Option<Date>,
    /// Prices by rising quantity.
    pub steps: Vec<Step>,
}

/// An article of a list.
#[derive(Debug, Clone)]
pub struct Article {
    /// The first row of the list that has it.
    pub row: u64,
    /// The supplier's number for it.
    pub number: String,
    /// Our code of the part, where the list has it.
    pub own: String,
    /// The maker's type, where the list has it.
    pub maker_type: String,
    /// What it is, where the list says it.
    pub description: String,
    /// On what terms it is sold; not whole where there are troubles.
    pub terms: Terms,
    /// What of it is not understood.
    pub troubles: Vec<Trouble>,
    /// True if the row holds nothing else: a title between articles.
    pub is_title: bool,
}

/// All articles of a list in order, and rows with a price and no article number.
pub fn articles(
    list: &List,
    layout: &Layout,
    recipe: &Recipe,
    currency: &Currency,
) -> (Vec<Article>, Vec<Trouble>) {
    let mut reading = Reading::default();
    let Some(page) = list.pages.get(layout.page) else {
        return (Vec::new(), Vec::new());
    };
    for row in page.rows.iter().skip(layout.header + 1) {
        if !layout.leaves_out(page, row) {
            reading.take(&Cells {
                page,
                layout,
                recipe,
                currency,
                row,
            });
        }
    }
    reading.finish()
}

/// What has been read so far.
#[derive(Default)]
struct Reading {
    drafts: Vec<Draft>,
    places: HashMap<(String, String), usize>,
    /// The article of the row before.
    last: Option<usize>,
    homeless: Vec<Trouble>,
}

/// An article whose rows are still coming.
struct Draft {
    article: Article,
    pack: Option<(Qty, u64)>,
    stock: Option<(Qty, u64)>,
    lead: Option<(u32, u64)>,
    least: Option<Qty>,
}

impl Reading {
    fn take(&mut self, cells: &Cells) {
        let name = |field| one_spelling(cells.text(field)).into_owned();
        let (number, own) = (name(Field::Article), name(Field::Part));
        let by_rows = cells.layout.columns.contains_key(&Field::Quantity);
        if number.is_empty() && own.is_empty() {
            match (has_price(cells), self.last.filter(|_| by_rows)) {
                (false, _) => {}
                (true, Some(last)) => self.add(last, cells),
                (true, None) => self.homeless.push(without_number(cells)),
            }
            return;
        }
        let place = *self
            .places
            .entry((number.clone(), own.clone()))
            .or_insert_with(|| {
                self.drafts.push(Draft::new(number, own, cells));
                self.drafts.len() - 1
            });
        self.last = Some(place);
        self.add(place, cells);
    }

    fn add(&mut self, place: usize, cells: &Cells) {
        if let Some(draft) = self.drafts.get_mut(place) {
            draft.add(cells);
        }
    }

    fn finish(self) -> (Vec<Article>, Vec<Trouble>) {
        let articles = self.drafts.into_iter().map(Draft::finish).collect();
        (articles, self.homeless)
    }
}

/// True if any cell for a price holds anything.
fn has_price(cells: &Cells) -> bool {
    let breaks = cells.layout.breaks.iter();
    let mut priced = breaks.filter(|b| !b.is_discount).map(|b| &b.column);
    cells.field(Field::Price).is_some() || priced.any(|column| cells.at(column).is_some())
}

fn without_number(cells: &Cells) -> Trouble {
    let column = cells
        .layout
        .columns
        .get(&Field::Article)
        .or(cells.layout.columns.get(&Field::Part));
    Trouble {
        row: cells.row.number,
        column: column.map(|c| c.heading.clone()).unwrap_or_default(),
        message: "a price without an article number".to_owned(),
        help: "leave such rows out with [[skip]] in the recipe, or correct the list".to_owned(),
    }
}

impl Draft {
    fn new(number: String, own: String, cells: &Cells) -> Self {
        let name = |field| one_spelling(cells.text(field)).into_owned();

        Self {
            article: Article {
                row: cells.row.number,
                number,
                own,
                maker_type: name(Field::Type),
                description: name(Field::Description),
                terms: Terms::default(),
                troubles: Vec::new(),
                is_title: true,
            },
            pack: None,
            stock: None,
            lead: None,
            least: None,
        }
    }

    /// Takes a row of the article.
    fn add(&mut self, cells: &Cells) {
        self.article.is_title &= is_alone(cells);
        let row = cells.row.number;
        let pack = self.of(cells.pack()).flatten();
        agree(
            &mut self.pack,
            pack,
            row,
            "pack",
            &mut self.article.troubles,
        );
        let pack = self.pack.map_or(1, |(pack, _)| pack);
        let stock = self.of(cells.stock(pack)).flatten();
        agree(
            &mut self.stock,
            stock,
            row,
            "stock",
            &mut self.article.troubles,
        );
        let lead = self.of(cells.lead()).flatten();
        agree(
            &mut self.lead,
            lead,
            row,
            "lead time",
            &mut self.article.troubles,
        );
        let quoted = self.of(cells.dated()).flatten();
        self.article.terms.quoted = self.article.terms.quoted.max(quoted);
        let least = self.of(least(cells, pack)).flatten();
        self.least = self.least.max(least);
        let steps = self.of(steps(cells, pack)).unwrap_or_default();
        self.article.terms.steps.extend(steps);
    }

    /// What was read; a trouble is kept.
    fn of<T>(&mut self, read: Result<T, Trouble>) -> Option<T> {
        read.map_err(|trouble| self.article.troubles.push(trouble))
            .ok()
    }

    fn finish(mut self) -> Article {
        let least = self.least.unwrap_or(1);
        let terms = &mut self.article.terms;
        terms.pack = self.pack.map_or(1, |(pack, _)| pack);
        terms.stock = self.stock.map(|(stock, _)| stock);
        terms.lead_days = self.lead.map(|(lead, _)| lead);
        terms.steps.sort_by_key(|step| (step.min_qty, step.row));
        let troubles = &mut self.article.troubles;
        terms.steps.dedup_by(|later, first| {
            let is_same = later.min_qty == first.min_qty;
            if is_same && later.price != first.price {
                troubles.push(twice(&self.article.number, first, later));
            }
            is_same
        });
        // Below the least quantity nothing is sold: the price that holds there goes first.
        let below = terms
            .steps
            .iter()
            .filter(|step| step.min_qty <= least)
            .count();
        terms.steps.drain(..below.saturating_sub(1));
        if let Some(first) = terms.steps.first_mut() {
            first.min_qty = first.min_qty.max(least);
        }
        if terms.steps.is_empty() && troubles.is_empty() {
            troubles.push(Trouble {
                row: self.article.row,
                column: String::new(),
                message: "the row has no price".to_owned(),
                help: "leave such rows out with [[skip]] in the recipe, or correct the list"
                    .to_owned(),
            });
        }
        self.article
    }
}

/// True if a row has one cell that holds anything.
fn is_alone(cells: &Cells) -> bool {
    let filled = cells
        .row
        .cells
        .iter()
        .filter(|cell| !cell.trim().is_empty());
    filled.count() == 1
}

/// Keeps the first of what the rows of an article say alike.
fn agree<T: Copy + PartialEq + std::fmt::Display>(
    kept: &mut Option<(T, u64)>,
    here: Option<T>,
    row: u64,
    what: &str,
    troubles: &mut Vec<Trouble>,
) {
    match (*kept, here) {
        (None, Some(here)) => *kept = Some((here, row)),
        (Some((there, of)), Some(here)) if there != here => troubles.push(Trouble {
            row,
            column: String::new(),
            message: format!(
                "the {what} {here} differs from {there} in row {of}, which is the same article"
            ),
            help: "ask the supplier which is right, or leave one of the rows out with [[skip]]"
                .to_owned(),
        }),
        _ => {}
    }
}

fn twice(number: &str, first: &Step, later: &Step) -> Trouble {
    let message = format!(
        "article {} costs {} here and {} in row {}, both from {} on",
        quote(number),
        later.price,
        first.price,
        first.row,
        later.min_qty
    );
    Trouble {
        row: later.row,
        column: String::new(),
        message,
        help: "ask the supplier which is right, or leave one of the rows out with [[skip]]"
            .to_owned(),
    }
}

/// The least quantity that is sold.
fn least(cells: &Cells, pack: Qty) -> Result<Option<Qty>, Trouble> {
    let Some(cell) = cells.field(Field::Least) else {
        return Ok(None);
    };
    let pieces = cells.pieces(&cell, cells.recipe.counted.least, pack)?;
    Ok(Some(pieces.max(1)))
}

/// The prices of a row.
fn steps(cells: &Cells, pack: Qty) -> Result<Vec<Step>, Trouble> {
    let per = cells.per(pack)?;
    if let Some(cell) = cells.field(Field::Currency) {
        cells.same_currency(&cell, cell.text)?;
    }
    let base = cells.field(Field::Price);
    let value = base.as_ref().map(|cell| cells.money(cell)).transpose()?;
    let mut steps = Vec::new();
    if let (Some(cell), Some(value)) = (&base, value) {
        let left = match cells.field(Field::Discount) {
            Some(discount) => cells.left(&discount)?,
            None => Decimal::ONE,
        };
        let from = match cells.field(Field::Quantity) {
            Some(from) => cells
                .pieces(&from, cells.recipe.counted.breaks, pack)?
                .max(1),
            None => 1,
        };
        steps.push(step(cells, cell, from, (value, left), per)?);
    }
    for one in &cells.layout.breaks {
        steps.extend(of_column(cells, one, value, (per, pack))?);
    }
    Ok(steps)
}

/// The price of a column of its own; none where its cell is empty.
fn of_column(
    cells: &Cells,
    one: &BreakAt,
    base: Option<Decimal>,
    (per, pack): (Qty, Qty),
) -> Result<Option<Step>, Trouble> {
    let Some(cell) = cells.at(&one.column) else {
        return Ok(None);
    };
    let unit = cells.recipe.counted.breaks;
    let from = match &one.from {
        FromAt::Count(count) => unit.in_pieces(*count, pack),
        FromAt::Column(column) => match cells.at(column) {
            Some(from) => Some(cells.pieces(&from, unit, pack)?),
            None => {
                return Err(cell.trouble(
                    "is a price without its quantity",
                    "correct the recipe or the list",
                ));
            }
        },
    };
    let from = from.ok_or_else(|| {
        cell.trouble(
            "holds from more pieces than a price list has",
            "correct the recipe",
        )
    })?;
    let price = match (one.is_discount, base) {
        (false, _) => (cells.money(&cell)?, Decimal::ONE),
        (true, Some(base)) => (base, cells.left(&cell)?),
        (true, None) => {
            return Err(cell.trouble("is a discount without a price", "correct the list"));
        }
    };
    step(cells, &cell, from.max(1), price, per).map(Some)
}

fn step(
    cells: &Cells,
    cell: &Cell,
    min_qty: Qty,
    (value, left): (Decimal, Decimal),
    per: Qty,
) -> Result<Step, Trouble> {
    let most = Decimal::from(MAX_QTY);
    let is_in_reach = |share: &Share| share.price <= most && !share.price.is_zero();
    let share = share(value, left, per).filter(is_in_reach);
    let Share { price, is_exact } = share.ok_or_else(|| {
        cell.trouble(
            "makes no price of a piece that a price list holds",
            "correct the recipe or the list",
        )
    })?;
    Ok(Step {
        min_qty,
        price: Money(price),
        is_rounded: !is_exact,
        row: cells.row.number,
    })
}
