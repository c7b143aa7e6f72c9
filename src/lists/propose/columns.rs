//! Finds the headings of a list that nobody described yet, and what each column holds.

use super::heading::{Guess, Role, guess, without_number};
use crate::lists::read::{List, Page, plain};
use crate::lists::recipe::{Field, Purpose};
use crate::source::SheetRow;
use std::collections::{BTreeMap, HashSet};

/// A column by its place.
pub type Place = usize;

/// What the columns of a list hold.
#[derive(Debug, Clone)]
pub struct Columns {
    /// The page, and the place of the header row there.
    pub page: usize,
    pub header: usize,
    /// The column of each field, with what its heading says.
    pub fields: BTreeMap<Field, (Place, Guess)>,
    /// Columns with prices of their own, by place.
    pub breaks: Vec<(Place, Guess)>,
    /// Columns of quantities, each with the column of its price.
    pub pairs: Vec<(Place, Place)>,
    /// Other columns that may hold the same as one that was taken.
    pub doubts: Vec<(Field, Place)>,
    /// How many cells of the article column are article numbers of the price list.
    pub known_articles: usize,
}

/// Headings are looked for in so many rows of a page.
const LOOKED_AT: usize = 200;

/// Values are looked at in so many rows.
const TRIED: usize = 5_000;

/// What our catalog knows of this supplier.
pub struct Known<'k> {
    /// Article numbers.
    pub skus: HashSet<&'k str>,
    /// Codes of our parts.
    pub codes: HashSet<&'k str>,
}

impl Known<'_> {
    /// True if a row has an article number or a code that we know, and so is no headings.
    fn is_in(&self, row: &SheetRow) -> bool {
        let mut cells = row.cells.iter().map(str::trim);
        cells.any(|cell| self.skus.contains(cell) || self.codes.contains(cell))
    }
}

/// The best row of headings on any page; none where no row has what such papers must have.
pub fn columns(list: &List, known: &Known, purpose: Purpose) -> Option<Columns> {
    let mut best: Option<(usize, Columns)> = None;
    for (at, page) in list.pages.iter().enumerate() {
        for (row, cells) in page.rows.iter().take(LOOKED_AT).enumerate() {
            if known.is_in(cells) {
                continue;
            }
            let guesses = cells.cells.iter().map(|cell| guess(cell, purpose));
            let guesses: Vec<Option<Guess>> = guesses.collect();
            let found = guesses.iter().flatten().count();
            // A row with fewer guesses can't be better.
            if found < 2 || best.as_ref().is_some_and(|(score, _)| *score > 6 * found) {
                continue;
            }
            let pairs = match purpose.is_price_list() {
                true => pairs(cells),
                false => Vec::new(),
            };
            let columns = of_row((at, row), page, pairs, &guesses, known);
            let score = score(&columns, purpose);
            if score > best.as_ref().map_or(0, |(best, _)| *best) {
                best = Some((score, columns));
            }
        }
    }
    best.map(|(_, columns)| columns)
}

/// How much a row says; nothing without an article and a price, or a quantity.
fn score(columns: &Columns, purpose: Purpose) -> usize {
    let has = |field| columns.fields.contains_key(&field);
    let is_priced = has(Field::Price)
        || !columns.pairs.is_empty()
        || columns.breaks.iter().any(|(_, guess)| {
            matches!(
                guess.role,
                Role::Break {
                    is_discount: false,
                    ..
                }
            )
        });
    let is_whole = match purpose.is_price_list() {
        true => is_priced,
        false => has(Field::Quantity),
    };
    let is_named = has(Field::Article) || has(Field::Part);
    let exact = columns
        .fields
        .values()
        .filter(|(_, guess)| guess.score >= 1_000)
        .count();
    match is_whole && is_named {
        true => {
            2 * columns.fields.len() + 2 * columns.breaks.len() + 2 * columns.pairs.len() + exact
        }
        false => 0,
    }
}

fn of_row(
    (at, row): (usize, usize),
    page: &Page,
    pairs: Vec<(Place, Place)>,
    guesses: &[Option<Guess>],
    known: &Known,
) -> Columns {
    let mut columns = Columns {
        page: at,
        header: row,
        fields: BTreeMap::new(),
        breaks: Vec::new(),
        pairs,
        doubts: Vec::new(),
        known_articles: 0,
    };
    let paired: HashSet<Place> = columns.pairs.iter().flat_map(|(a, b)| [*a, *b]).collect();
    for (place, guess) in guesses.iter().enumerate() {
        let Some(guess) = guess.filter(|_| !paired.contains(&place)) else {
            continue;
        };
        match guess.role {
            Role::Break { .. } => columns.breaks.push((place, guess)),
            Role::Field(field) => columns.take(field, place, guess),
        }
    }
    columns.by_values(page, known);
    columns
}

/// Quantities and prices in turn: `Menge 1, Preis 1, Menge 2, Preis 2`.
fn pairs(cells: &SheetRow) -> Vec<(Place, Place)> {
    let fields: Vec<Option<Field>> = cells.cells.iter().map(without_number).collect();
    let of = |field| -> Vec<Place> {
        let is_of = |at: &Place| fields.get(*at).copied().flatten() == Some(field);
        (0..fields.len()).filter(is_of).collect()
    };
    let (quantities, prices) = (of(Field::Quantity), of(Field::Price));
    if quantities.len() < 2 || prices.len() < quantities.len() {
        return Vec::new();
    }
    let price_of = |at: &Place| prices.iter().copied().find(|price| price > at);
    let pairs: Vec<_> = quantities
        .iter()
        .filter_map(|at| Some((*at, price_of(at)?)))
        .collect();
    let distinct: HashSet<Place> = pairs.iter().map(|(_, price)| *price).collect();
    if distinct.len() == quantities.len() {
        pairs
    } else {
        Vec::new()
    }
}

impl Columns {
    /// Gives a column to a field, unless another heading says it better.
    fn take(&mut self, field: Field, place: Place, guess: Guess) {
        match self.fields.get(&field).copied() {
            None => {
                self.fields.insert(field, (place, guess));
            }
            Some((other, old)) if guess.score > old.score => {
                self.fields.insert(field, (place, guess));
                self.doubts.push((field, other));
            }
            Some(_) => self.doubts.push((field, place)),
        }
    }

    /// Looks at the values: the column with most article numbers that we know has the
    /// article numbers, whatever its heading says.
    fn by_values(&mut self, page: &Page, known: &Known) {
        let mut articles: BTreeMap<Place, usize> = BTreeMap::new();
        let mut codes: BTreeMap<Place, usize> = BTreeMap::new();
        for row in page.rows.iter().skip(self.header + 1).take(TRIED) {
            for (place, cell) in row.cells.iter().enumerate() {
                let cell = cell.trim();
                if known.skus.contains(cell) {
                    *articles.entry(place).or_default() += 1;
                }
                if known.codes.contains(cell) {
                    *codes.entry(place).or_default() += 1;
                }
            }
        }
        let most = |hits: &BTreeMap<Place, usize>| {
            hits.iter()
                .max_by_key(|(place, count)| (**count, std::cmp::Reverse(**place)))
                .map(|(p, n)| (*p, *n))
        };
        if let Some((place, count)) = most(&articles) {
            self.known_articles = count;
            self.settle(Field::Article, place);
        } else if !self.fields.contains_key(&Field::Article)
            && !self.fields.contains_key(&Field::Part)
            && let Some((place, _)) = most(&codes)
        {
            self.settle(Field::Part, place);
        }
    }

    /// Gives a column to a field, and takes it from all others.
    fn settle(&mut self, field: Field, place: Place) {
        let guess = Guess {
            role: Role::Field(field),
            score: 0,
            per: None,
            lead: None,
            unit: None,
            is_numbered: false,
        };
        let own = self
            .fields
            .get(&field)
            .filter(|(at, _)| *at == place)
            .map(|(_, guess)| *guess);
        self.fields.retain(|_, (at, _)| *at != place);
        self.breaks.retain(|(at, _)| *at != place);
        self.fields.insert(field, (place, own.unwrap_or(guess)));
        self.doubts
            .retain(|(one, at)| *one != field && *at != place);
    }

    /// The heading of a column as a recipe names it: with its number where it stands
    /// several times.
    pub fn heading(&self, list: &List, place: Place) -> String {
        let row = list
            .pages
            .get(self.page)
            .and_then(|page| page.rows.get(self.header));
        let cell = |at: usize| row.map_or("", |row| row.cells.get(at).unwrap_or(""));
        let text = cell(place).replace(char::is_control, " ");
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let same = |at: &usize| plain(cell(*at)) == plain(&text);
        let width = row.map_or(0, |row| row.cells.len());
        let number = 1 + (0..place).filter(same).count();
        match (0..width).filter(same).count() {
            0 | 1 => text,
            _ => format!("{text} [{number}]"),
        }
    }
}
