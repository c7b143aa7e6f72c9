//! Puts a proposed recipe together, and says what the list does not tell.

use super::columns::{Columns, Known, columns};
use super::heading::{Guess, Role};
use super::scale::scale;
use super::synonyms::DATES;
use crate::catalog::{Catalog, PartId, SupplierId};
use crate::diag::{Diagnostic, quote};
use crate::lists::matching::{Matched, skus};
use crate::lists::read::{Heading, List, Page, Told, named_encoding};
use crate::lists::recipe::{BreakColumn, Field, From, Per, Purpose, Recipe};
use crate::lists::rows::{Article, Signs};
use crate::lists::values::date::{DateError, DateOrder, date};
use crate::lists::values::lead::{LeadUnit, unit_of};
use crate::lists::values::number::DecimalSign;
use crate::lists::values::quantity::{Unit, counted};
use crate::lists::values::words::{Token, small, tokens};
use crate::source::Mark;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A proposed recipe.
#[derive(Debug, Clone)]
pub struct Proposed {
    /// The recipe.
    pub recipe: Recipe,
    /// What to look over, by key.
    pub remarks: Vec<(&'static str, String)>,
}

/// Proposes a recipe; `file` is where the recipe goes.
///
/// # Errors
/// A finding where no row names both an article and a price, or a quantity.
pub fn propose(
    list: &List,
    catalog: &Catalog,
    supplier: SupplierId,
    file: Arc<str>,
    purpose: Purpose,
) -> Result<Proposed, Box<Diagnostic>> {
    let known = Known {
        skus: skus(catalog, supplier).into_keys().collect(),
        codes: catalog
            .parts
            .iter()
            .map(|part| part.code.as_str())
            .collect(),
    };
    let found = columns(list, &known, purpose).ok_or_else(|| {
        let what = if purpose.is_price_list() {
            "price"
        } else {
            "quantity"
        };
        let message =
            format!("no row is told to be the headings: none names an article number and a {what}");
        let help = format!("write {file} by hand, with the headings under [columns]");
        Box::new(Diagnostic::error(&list.file, message).help(help))
    })?;
    let mut draft = Draft {
        list,
        found: &found,
        recipe: Recipe::new(file, &catalog.supplier(supplier).name, purpose),
        remarks: Vec::new(),
    };
    draft.file();
    draft.columns(!known.skus.is_empty());
    if purpose.is_price_list() {
        draft.breaks();
        draft.per();
    } else {
        draft.letter(catalog, supplier);
    }
    draft.decimal();
    draft.lead();
    draft.date();
    Ok(Proposed {
        recipe: draft.recipe,
        remarks: draft.remarks,
    })
}

impl Proposed {
    /// Where no heading says for how many pieces a price is, looks at what the price list
    /// tells. `articles` were read as if prices were of a piece. True if the recipe changed.
    pub fn scale(&mut self, articles: &[Article], catalog: &Catalog, supplier: SupplierId) -> bool {
        let Some((_, remark)) = self.remarks.iter_mut().find(|(_, text)| text == NO_PER) else {
            return false;
        };
        let has_pack = self.recipe.columns.contains_key(&Field::Pack);
        let told = scale(articles, catalog, supplier).filter(|per| *per != Per::Pack || has_pack);
        let Some(per) = told else {
            return false;
        };
        let words = match per {
            Per::Pieces(1) => "one piece".to_owned(),
            Per::Pieces(pieces) => format!("{pieces} pieces"),
            Per::Pack => "a pack".to_owned(),
        };
        *remark = format!(
            "no heading says for how many pieces a price is; beside the price list it is for {words}"
        );
        self.recipe.per = per;
        per != Per::Pieces(1)
    }
}

impl Proposed {
    /// Says that the list is not all that the supplier sells, where it lacks most of what the
    /// price list has of the supplier.
    pub fn complete(&mut self, matched: &Matched, catalog: &Catalog, supplier: SupplierId) {
        let own = catalog.offers.iter();
        let own = own.filter(|offer| offer.supplier == supplier);
        let known: BTreeSet<PartId> = own.map(|offer| offer.part).collect();
        let sold = matched.sold.iter().map(|sold| sold.part);
        let listed: BTreeSet<PartId> = sold.filter(|part| known.contains(part)).collect();
        let (known, listed) = (known.len(), listed.len());
        if listed * 2 >= known {
            return;
        }
        self.recipe.complete = false;
        let remark = format!(
            "the list has {listed} of the {known} parts that the price list has of this supplier, \
             so the rest is taken to be still sold; write true if it no longer is"
        );
        self.remarks.push(("complete", remark));
    }
}

/// What is said where nothing tells for how many pieces a price is.
const NO_PER: &str = "no heading says for how many pieces a price is";

struct Draft<'l> {
    list: &'l List,
    found: &'l Columns,
    recipe: Recipe,
    remarks: Vec<(&'static str, String)>,
}

impl<'l> Draft<'l> {
    fn page(&self) -> Option<&'l Page> {
        self.list.pages.get(self.found.page)
    }

    fn heading(&self, place: usize) -> Heading {
        Heading {
            text: self.found.heading(self.list, place),
            key: String::new(),
            line: 1,
        }
    }

    fn remark(&mut self, key: &'static str, text: impl Into<String>) {
        self.remarks.push((key, text.into()));
    }

    fn file(&mut self) {
        if let Some((encoding, Told::Guessed)) = self.list.encoding {
            self.recipe.hints.encoding = named_encoding(encoding);
            self.remark(
                "encoding",
                format!("the file does not tell its encoding; {encoding} is guessed"),
            );
        }
        self.recipe.hints.separator = self.list.separator;
        let sheet = self
            .page()
            .map(|page| page.sheet.clone())
            .unwrap_or_default();
        if self.list.pages.len() > 1 && !sheet.is_empty() {
            self.recipe.sheet = Some((sheet, 1));
        }
    }

    fn columns(&mut self, has_skus: bool) {
        for (field, (place, guess)) in &self.found.fields {
            let heading = self.heading(*place);
            self.recipe.columns.insert(*field, heading);
            let unit = guess.unit.unwrap_or_default();
            match field {
                Field::Quantity if self.recipe.purpose.is_price_list() => {
                    self.recipe.counted.breaks = unit;
                }
                Field::Quantity => self.recipe.counted.quantity = unit,
                Field::Least => self.recipe.counted.least = unit,
                Field::Stock => self.recipe.counted.stock = unit,
                _ => {}
            }
        }
        for (field, place) in &self.found.doubts {
            let other = self.heading(*place).text;
            self.remark(
                field.word(),
                format!("the column {} may be meant as well", quote(&other)),
            );
        }
        if has_skus && self.found.known_articles == 0 {
            self.remark(
                "article",
                "no article number of the price list is in this column",
            );
        }
    }

    fn breaks(&mut self) {
        let mut unit = None;
        for (place, guess) in &self.found.breaks {
            let Role::Break { from, is_discount } = guess.role else {
                continue;
            };
            unit = unit.or(guess.unit);
            let heading = self.heading(*place);
            if is_discount && !self.recipe.columns.contains_key(&Field::Price) {
                continue;
            }
            self.recipe.breaks.push(BreakColumn {
                from: From::Count(from),
                heading,
                is_discount,
            });
        }
        for (quantity, price) in &self.found.pairs {
            let (quantity, price) = (self.heading(*quantity), self.heading(*price));
            self.recipe.breaks.push(BreakColumn {
                from: From::Column(quantity),
                heading: price,
                is_discount: false,
            });
        }
        if self.recipe.breaks.is_empty() {
            return;
        }
        // The one form of breaks does not go with the other.
        self.recipe.columns.remove(&Field::Quantity);
        self.recipe.counted.breaks = unit.unwrap_or_default();
        if unit.is_none() && self.recipe.columns.contains_key(&Field::Pack) {
            self.remark(
                "breaks",
                "the headings do not say whether pieces or packs are counted",
            );
        }
        if self.found.breaks.iter().any(|(_, guess)| guess.is_numbered) {
            self.remark(
                "breaks",
                "the numbers of the headings are taken for quantities",
            );
        }
    }

    fn per(&mut self) {
        let has_pack = self.recipe.columns.contains_key(&Field::Pack);
        let prices = self
            .found
            .fields
            .get(&Field::Price)
            .into_iter()
            .chain(&self.found.breaks);
        let told = prices
            .filter_map(|(_, guess): &(usize, Guess)| guess.per)
            .next();
        match told {
            // The price list tells how many are in a pack of what was ordered.
            Some(Per::Pack) if !has_pack && self.recipe.purpose.is_price_list() => {
                self.remark(
                    "per",
                    "the price is of a pack, but no column says how many are in one",
                );
            }
            Some(per) => self.recipe.per = per,
            None if self.recipe.columns.contains_key(&Field::Per) => {}
            None => self.remark("per", NO_PER),
        }
        let counted = &mut self.recipe.counted;
        if !has_pack {
            for unit in [&mut counted.breaks, &mut counted.least, &mut counted.stock] {
                *unit = Unit::Pieces;
            }
        }
    }

    /// The cells of a column of the list, with those of its texts alone that hold anything.
    fn texts(&self, place: usize) -> Vec<String> {
        let Some(page) = self.page() else {
            return Vec::new();
        };
        let rows = page.rows.iter().skip(self.found.header + 1);
        let texts = rows.filter(|row| row.mark(place) != Some(Mark::Number));
        let cells = texts
            .map(|row| page.cell(row, place))
            .filter(|cell| !cell.is_empty());
        cells.take(2_000).map(str::to_owned).collect()
    }

    fn decimal(&mut self) {
        let price = self
            .found
            .fields
            .get(&Field::Price)
            .map(|(place, _)| *place);
        let breaks = self.found.breaks.iter().map(|(place, _)| *place);
        let pairs = self.found.pairs.iter().map(|(_, price)| *price);
        // `10,000` may be ten pieces.
        let is_list = self.recipe.purpose.is_price_list();
        let quantity = self.found.fields.get(&Field::Quantity);
        let quantity = quantity.map(|(place, _)| *place).filter(|_| !is_list);
        let places = price.into_iter().chain(breaks).chain(pairs);
        let places: Vec<usize> = places.chain(quantity).collect();
        let Some(page) = self.page() else {
            return;
        };
        let signs = Signs::of(page, self.found.header, &places, |_| false);
        let has_texts = places.iter().any(|place| !self.texts(*place).is_empty());
        let (points, commas) = (signs.points.len(), signs.commas.len());
        let is_unclear = points + commas == 0 && !signs.unclear.is_empty();
        // Where no number has a sign, a later file may tell.
        if !has_texts || !(is_list || points + commas > 0 || is_unclear) {
            return;
        }
        let (sign, word, fewer) = match commas > points {
            true => (DecimalSign::Comma, "comma", &signs.points),
            false => (DecimalSign::Point, "point", &signs.commas),
        };
        let remark = if is_unclear {
            let remark = "whether a sign is of thousands or decimals can't be told";
            Some(format!("{remark}; a decimal {word} is assumed"))
        } else if let Some((row, cell)) = signs.lone() {
            let cell = quote(cell);
            Some(format!("{cell} in row {row} alone tells the decimal sign"))
        } else {
            fewer.first().map(|(row, cell)| {
                format!(
                    "most amounts have a decimal {word}, but {} of {} not, such as {} in row {row}",
                    fewer.len(),
                    points + commas,
                    quote(cell)
                )
            })
        };
        self.recipe.decimal = Some(sign);
        if let Some(remark) = remark {
            self.remark("decimal", remark);
        }
    }

    fn lead(&mut self) {
        let Some((place, guess)) = self.found.fields.get(&Field::Lead).copied() else {
            return;
        };
        self.recipe.lead.unit = guess.lead;
        if guess.lead.is_some() {
            return;
        }
        let has_unit = |cell: &String| {
            let mut words = tokens(cell).into_iter();
            words.any(|token| matches!(token, Token::Word(word) if unit_of(&word).is_some()))
        };
        let has_number = |cell: &&String| cell.contains(|c: char| c.is_ascii_digit());
        let cells = self.texts(place);
        let numbers: Vec<&String> = cells.iter().filter(has_number).collect();
        let is_told = !numbers.is_empty() && numbers.iter().all(|cell| has_unit(cell));
        if !is_told {
            self.recipe.lead.unit = Some(LeadUnit::Days);
            self.remark(
                "unit",
                "the list does not say whether days or weeks are meant",
            );
        }
    }

    fn date(&mut self) {
        if !self.recipe.purpose.is_price_list() {
            self.days();
            return;
        }
        if self.recipe.columns.contains_key(&Field::Date) {
            return;
        }
        match self.head_date() {
            Some((words, is_clear)) => {
                self.recipe.date.after = Some((words, 1));
                if !is_clear {
                    self.recipe.date.order = Some(DateOrder::DayMonth);
                    self.remark(
                        "order",
                        "which is the day and which the month can't be told",
                    );
                }
            }
            None => self.remark(
                "date",
                "nothing tells the day of the list; name it under [date], or give it with --dated",
            ),
        }
    }

    /// Which of the days of a confirmation is the day and which the month.
    fn days(&mut self) {
        let Some((place, _)) = self.found.fields.get(&Field::Date).copied() else {
            return;
        };
        let cells = self.texts(place);
        let mut days = cells.iter().map(|cell| date(cell, None));
        if days.any(|day| day == Err(DateError::Ambiguous)) {
            self.recipe.date.order = Some(DateOrder::DayMonth);
            self.remark(
                "order",
                "which is the day and which the month can't be told",
            );
        }
    }

    /// What a delivery note or a confirmation does not tell.
    fn letter(&mut self, catalog: &Catalog, supplier: SupplierId) {
        self.counted(catalog, supplier);
        if self.recipe.purpose == Purpose::Delivery {
            return;
        }
        let has = |field| self.found.fields.contains_key(&field);
        let (has_price, has_day) = (has(Field::Price), has(Field::Lead) || has(Field::Date));
        match has_price {
            true => self.per(),
            false => self.remark("price", "no heading names a price, so none is compared"),
        }
        if !has_day {
            self.remark("date", "no heading names a day, so none is compared");
        }
    }

    /// Whether pieces or packs are counted, where that makes a difference.
    fn counted(&mut self, catalog: &Catalog, supplier: SupplierId) {
        let Some((place, guess)) = self.found.fields.get(&Field::Quantity).copied() else {
            return;
        };
        let mut offers = catalog.offers.iter();
        let has_packs = self.recipe.columns.contains_key(&Field::Pack)
            || offers.any(|offer| offer.supplier == supplier && offer.pack > 1);
        let is_told = |cell: &String| {
            let read = counted(cell, DecimalSign::Point);
            read.or_else(|| counted(cell, DecimalSign::Comma))
                .is_some_and(|read| read.unit.is_some())
        };
        // Repeated headings and titles count nothing.
        let mut cells = self.texts(place);
        cells.retain(|cell| cell.contains(|c: char| c.is_ascii_digit()));
        let all_told = !cells.is_empty() && cells.iter().all(is_told);
        if has_packs && guess.unit.is_none() && !all_told {
            self.remark(
                "quantity.unit",
                "nothing says whether pieces or packs are counted",
            );
        }
    }

    /// Words above the headings with a day after them, and whether the day is clear.
    fn head_date(&self) -> Option<(String, bool)> {
        let page = self.page()?;
        for row in page.rows.iter().take(self.found.header) {
            for place in 0..row.cells.len() {
                let cell = small(page.cell(row, place));
                let next = (place + 1..row.cells.len()).map(|at| page.cell(row, at));
                let next = next.into_iter().find(|cell| !cell.is_empty()).unwrap_or("");
                for words in DATES
                    .split(',')
                    .map(str::trim)
                    .filter(|words| has_words(&cell, words))
                {
                    let rest = cell.split_once(words).map_or("", |(_, rest)| rest);
                    let text = match rest.contains(|c: char| c.is_ascii_digit()) {
                        true => rest,
                        false => next,
                    };
                    match date(text, None) {
                        Ok(_) => return Some((words.to_owned(), true)),
                        Err(DateError::Ambiguous) => return Some((words.to_owned(), false)),
                        Err(DateError::NoDate) => {}
                    }
                }
            }
        }
        None
    }
}

/// True if the first place of the words in the text has no letters right beside it.
fn has_words(text: &str, words: &str) -> bool {
    let Some((before, after)) = text.split_once(words) else {
        return false;
    };
    !before.ends_with(char::is_alphanumeric) && !after.starts_with(char::is_alphabetic)
}
