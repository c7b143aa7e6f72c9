//! Articles of a list, each put together from its rows.

use super::cells::{Cells, Trouble};
use super::layout::Layout;
use super::steps::{Step, has_price, least, steps};
use crate::diag::quote;
use crate::lists::read::List;
use crate::lists::recipe::{Field, Recipe};
use crate::table::one_spelling;
use crate::units::{Currency, Qty};
use jiff::civil::Date;
use std::collections::HashMap;

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
    /// Which of pack, stock and lead time its rows have a cell for that holds anything.
    pub told: Vec<Field>,
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
        let name = |field| one_line(cells.text(field));
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
        let name = |field| one_line(cells.text(field));

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
        self.article.is_title &= cells.is_alone();
        let row = cells.row.number;
        let pack = self.of(cells.pack()).flatten();
        let has_pack = pack.is_some();
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
        self.tell(cells, Field::Pack, has_pack);
        self.tell(cells, Field::Stock, stock.is_some());
        self.tell(cells, Field::Lead, lead.is_some());
        let quoted = self.of(cells.dated()).flatten();
        self.article.terms.quoted = self.article.terms.quoted.max(quoted);
        let least = self.of(least(cells, pack)).flatten();
        self.least = self.least.max(least);
        let steps = self.of(steps(cells, pack)).unwrap_or_default();
        self.article.terms.steps.extend(steps);
    }

    /// Notes that a row tells a field: its cell holds anything but a dash, or a dash that the
    /// recipe has a value for.
    fn tell(&mut self, cells: &Cells, field: Field, has_value: bool) {
        let told = &mut self.article.terms.told;
        let is_filled = cells.field(field).is_some_and(|cell| !cell.is_dash());
        if (has_value || is_filled) && !told.contains(&field) {
            told.push(field);
        }
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

/// A text of the list in one spelling, on one line.
pub(super) fn one_line(text: &str) -> String {
    match text.contains(char::is_control) {
        true => one_spelling(&text.replace(char::is_control, " ")).into_owned(),
        false => one_spelling(text).into_owned(),
    }
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
