//! Reads a recipe.

use super::{
    BreakColumn, Counted, DateRule, Field, From, Mapping, Per, Purpose, Recipe, Skip, Test,
};
use crate::diag::{Findings, quote};
use crate::lists::read::{Heading, Hints, SEPARATORS, named_encoding};
use crate::lists::values::date::DateOrder;
use crate::lists::values::lead::{LeadRule, LeadUnit};
use crate::lists::values::number::DecimalSign;
use crate::lists::values::quantity::Unit;
use crate::lists::values::words::small;
use crate::project::keys::{Document, Keys, Placed, syntax};
use crate::source::Source;
use crate::table::{Span, limits, one_spelling};
use crate::units::{MAX_QTY, Qty};
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeSet;
use toml::de::DeTable;

/// The most bytes of a recipe that is read: 512 KiB.
pub const MAX_BYTES: u64 = 512 << 10;

const UNITS: [(&str, Unit); 2] = [("pieces", Unit::Pieces), ("packs", Unit::Packs)];

const DECIMALS: [(&str, DecimalSign); 2] =
    [("comma", DecimalSign::Comma), ("point", DecimalSign::Point)];

/// Pieces that a price is for.
const PER: Span = Span::whole("a number of pieces", 1, MAX_QTY as i64);

/// Reads a recipe for such papers; pushes all that is wrong with it, and gives none then.
pub fn read(source: &Source, purpose: Purpose, findings: &mut Findings) -> Option<Recipe> {
    let (table, errors) = DeTable::parse_recoverable(source.text());
    if !errors.is_empty() {
        findings.extend(syntax(source, &errors));
        return None;
    }
    let doc = Document::new(&source.file, source.text());
    let root = Keys::new(&doc, table.get_ref(), "", 1);
    let recipe = all(root, source, purpose);
    let wrong = doc.into_findings();
    let recipe = recipe.filter(|_| !wrong.has_errors());
    findings.extend(wrong);
    recipe
}

fn all(root: Keys, source: &Source, purpose: Purpose) -> Option<Recipe> {
    root.require("supplier", "supplier = \"Example North\"");
    root.require("columns", wanted(purpose));
    let mut recipe = Recipe::new(source.file.clone(), "", purpose);
    let supplier = root.text("supplier").map(one_spelling);
    recipe.supplier_line = root.line("supplier");
    let (is_list, has_prices) = (purpose.is_price_list(), purpose.has_prices());
    let has = |key, is_known| belongs(&root, key, purpose, is_known);
    if has("complete", is_list) {
        recipe.complete = root.flag("complete").unwrap_or(true);
    }
    if has("currency", has_prices) {
        let currency = root.currency("currency");
        recipe.currency = currency.map(|currency| (currency, root.line("currency")));
    }
    file(&root, &mut recipe);
    columns(&root, &mut recipe);
    if has("price", has_prices) {
        price(&root, &mut recipe);
    }
    recipe.counted = counted(&root, purpose);
    if has("breaks", is_list) {
        recipe.breaks = breaks(&root);
    }
    if has("lead", has_prices) {
        recipe.lead = lead(&root);
    }
    if has("stock", is_list) {
        recipe.stock_words = stock_words(&root);
    }
    if has("date", has_prices) {
        recipe.date = date(&root, purpose);
    }
    recipe.skip = skip(&root);
    recipe.parts = parts(&root);
    together(&root, &recipe);
    root.finish();
    recipe.supplier = supplier?.into_owned();
    Some(recipe)
}

/// True if recipes of this kind have the key; else an error where the key is there.
fn belongs(keys: &Keys, key: &'static str, purpose: Purpose, is_known: bool) -> bool {
    if !is_known {
        let message = format!("the key says nothing in a recipe for {}", purpose.papers());
        keys.refuse(key, message, "leave it out");
    }
    is_known
}

/// The columns that have to be there.
fn wanted(purpose: Purpose) -> &'static str {
    match purpose.is_price_list() {
        true => "[columns] with article and price",
        false => "[columns] with article and quantity",
    }
}

fn file(root: &Keys, recipe: &mut Recipe) {
    let Some(keys) = root.table("file", "file.") else {
        return;
    };
    let sheet = keys.text("sheet");
    recipe.sheet = sheet.map(|sheet| (sheet.to_owned(), keys.line("sheet")));
    let encoding = keys.text("encoding").and_then(|label| {
        let encoding = named_encoding(label);
        if encoding.is_none() {
            let help = "write a name such as utf-8, windows-1252 or utf-16le";
            keys.error(
                "encoding",
                format!("unknown encoding {}", quote(label)),
                help,
            );
        }
        encoding
    });
    recipe.hints = Hints {
        encoding,
        separator: keys.word("separator", &SEPARATORS),
        quotes: keys.flag("quotes").unwrap_or(true),
    };
    recipe.decimal = keys.word("decimal", &DECIMALS);
    keys.finish();
}

fn columns(root: &Keys, recipe: &mut Recipe) {
    let Some(keys) = root.table("columns", "columns.") else {
        return;
    };
    let purpose = recipe.purpose;
    for (field, word) in Field::ALL {
        if !belongs(&keys, word, purpose, purpose.takes(field)) {
            continue;
        }
        let heading = heading(&keys, word, "columns.");
        recipe
            .columns
            .extend(heading.map(|heading| (field, heading)));
    }
    keys.finish();
}

/// The heading that a key names.
fn heading(keys: &Keys, key: &'static str, prefix: &str) -> Option<Heading> {
    let text = keys.text(key)?;
    Some(Heading {
        text: one_spelling(text).into_owned(),
        key: format!("{prefix}{key}"),
        line: keys.line(key),
    })
}

fn price(root: &Keys, recipe: &mut Recipe) {
    let Some(keys) = root.table("price", "price.") else {
        return;
    };
    if !keys.is_text("per") {
        let pieces = keys.count("per", &PER);
        recipe.per = pieces.map_or(recipe.per, Per::Pieces);
    } else if let Some(word) = keys.text("per") {
        if word == "pack" {
            recipe.per = Per::Pack;
        } else {
            let message = format!("{} is no number of pieces", quote(word));
            keys.error("per", message, "write a number such as 100, or \"pack\"");
        }
    }
    recipe.per_words = words(&keys, &PER);
    keys.finish();
}

/// The table `words` of another table: words in small letters, each with a number.
fn words(keys: &Keys, limits: &Span) -> Vec<(String, Qty)> {
    let all = keys.numbers("words", limits).into_iter();
    let read = all.filter_map(|(word, _, number)| Some((small(word), number?.to_u64()?)));
    read.collect()
}

fn counted(root: &Keys, purpose: Purpose) -> Counted {
    let Some(keys) = root.table("quantity", "quantity.") else {
        return Counted::default();
    };
    let is_list = purpose.is_price_list();
    let unit = |key, is_known| {
        let is_known = belongs(&keys, key, purpose, is_known);
        let word = is_known.then(|| keys.word(key, &UNITS)).flatten();
        word.unwrap_or_default()
    };
    let counted = Counted {
        breaks: unit("breaks", is_list),
        least: unit("least", is_list),
        stock: unit("stock", is_list),
        quantity: unit("unit", !is_list),
    };
    keys.finish();
    counted
}

fn breaks(root: &Keys) -> Vec<BreakColumn> {
    let mut breaks = Vec::new();
    for keys in root.tables("breaks", "breaks.") {
        let count = keys.count("from", &limits::SOME_PIECES);
        let column = heading(&keys, "from_column", "breaks.");
        let price = heading(&keys, "price", "breaks.");
        let discount = heading(&keys, "discount", "breaks.");
        let from = match (count, column) {
            (Some(_), Some(_)) => {
                keys.error(
                    "from_column",
                    "from is there as well",
                    "keep one of the two",
                );
                None
            }
            (Some(count), None) => Some(From::Count(count)),
            (None, Some(column)) => Some(From::Column(column)),
            (None, None) => {
                keys.require("from", "from = 10, or from_column = \"Quantity\"");
                None
            }
        };
        let is_discount = discount.is_some();
        let heading = match (price, discount) {
            (Some(_), Some(_)) => {
                keys.error("discount", "price is there as well", "keep one of the two");
                None
            }
            (None, None) => {
                keys.require("price", "price = \"from 10\", or discount = \"% from 10\"");
                None
            }
            (price, discount) => price.or(discount),
        };
        breaks.extend(from.zip(heading).map(|(from, heading)| BreakColumn {
            from,
            heading,
            is_discount,
        }));
        keys.finish();
    }
    breaks
}

fn lead(root: &Keys) -> LeadRule {
    let Some(keys) = root.table("lead", "lead.") else {
        return LeadRule::default();
    };
    let days = |n: Qty| u32::try_from(n).unwrap_or(u32::MAX);
    let rule = LeadRule {
        unit: keys.word("unit", &LeadUnit::WORDS),
        from_stock: keys.count("from_stock", &limits::DAYS).map_or(0, days),
        words: words(&keys, &limits::DAYS)
            .into_iter()
            .map(|(word, n)| (word, days(n)))
            .collect(),
    };
    keys.finish();
    rule
}

fn stock_words(root: &Keys) -> Vec<(String, Qty)> {
    let Some(keys) = root.table("stock", "stock.") else {
        return Vec::new();
    };
    let words = words(&keys, &limits::PIECES);
    keys.finish();
    words
}

fn date(root: &Keys, purpose: Purpose) -> DateRule {
    let Some(keys) = root.table("date", "date.") else {
        return DateRule::default();
    };
    // The day above the headings is that of a price list.
    let has = |key| belongs(&keys, key, purpose, purpose.is_price_list());
    let of = |key| if has(key) { keys.text(key) } else { None };
    let after = of("after").map(|text| (text.to_owned(), keys.line("after")));
    let cell = of("cell").and_then(|text| {
        let cell = cell(text);
        if cell.is_none() {
            let message = format!("{} names no cell", quote(text));
            keys.error("cell", message, "write column and row, such as B3");
        }
        cell.map(|(row, column)| (row, column, text.to_owned()))
    });
    if after.is_some() && cell.is_some() {
        keys.error("cell", "after is there as well", "keep one of the two");
    }
    let order = keys.word("order", &DateOrder::WORDS);
    keys.finish();
    DateRule { after, cell, order }
}

/// `B3`: row 3 from 1, column 1 from 0.
fn cell(text: &str) -> Option<(u64, usize)> {
    let split = text.find(|c: char| c.is_ascii_digit())?;
    let (letters, digits) = text.split_at_checked(split)?;
    let is_sound =
        (1..=3).contains(&letters.len()) && letters.bytes().all(|b| b.is_ascii_alphabetic());
    let letters = letters
        .bytes()
        .map(|b| usize::from(b.to_ascii_uppercase() - b'A') + 1);
    let column = is_sound.then(|| letters.fold(0, |sum, letter| sum * 26 + letter))?;
    let row: u64 = digits
        .parse()
        .ok()
        .filter(|row| (1..=10_000_000).contains(row))?;
    Some((row, column - 1))
}

fn skip(root: &Keys) -> Vec<Skip> {
    let mut skip = Vec::new();
    for keys in root.tables("skip", "skip.") {
        keys.require("column", "column = \"Status\"");
        let heading = heading(&keys, "column", "skip.");
        let texts = |key| -> Vec<String> {
            let texts: Vec<Placed> = keys.texts(key);
            texts.iter().map(|(text, _)| small(text)).collect()
        };
        let lists = [
            ("is", Test::Is as fn(Vec<String>) -> Test),
            ("begins", Test::Begins),
            ("has", Test::Has),
        ];
        let mut tests: Vec<Test> = (lists.into_iter())
            .map(|(key, test)| (texts(key), test))
            .filter(|(texts, _)| !texts.is_empty())
            .map(|(texts, test)| test(texts))
            .collect();
        tests.extend(
            keys.flag("empty")
                .filter(|empty| *empty)
                .map(|_| Test::Empty),
        );
        if tests.len() != 1 {
            let help = "write one of is, begins, has and empty, such as is = [\"Sum\"]";
            keys.error(
                "column",
                "what makes a row one to leave out is not clear",
                help,
            );
        }
        let test = tests.pop();
        skip.extend(
            heading
                .zip(test)
                .map(|(heading, test)| Skip { heading, test }),
        );
        keys.finish();
    }
    skip
}

fn parts(root: &Keys) -> Vec<Mapping> {
    let mut seen = BTreeSet::new();
    let mut parts = Vec::new();
    for ((article, line), codes) in root.lists("parts") {
        if !seen.insert(article.clone()) {
            let message = format!("{} is there already", quote(&article));
            root.document()
                .error(line, "parts", message, "keep one of the two");
        }
        parts.push(Mapping {
            article,
            parts: codes,
            line,
        });
    }
    parts
}

/// What must go together.
fn together(root: &Keys, recipe: &Recipe) {
    let has = |field| recipe.columns.contains_key(&field);
    if recipe.columns.is_empty() {
        return;
    }
    let error = |message: &str, help: &str| root.error("columns", message, help);
    if !has(Field::Article) && !has(Field::Part) {
        error(
            "no column names the article",
            "add article = \"heading\" under [columns]",
        );
    }
    if !recipe.purpose.is_price_list() {
        together_in_letter(root, recipe);
        return;
    }
    let is_discount = |b: &BreakColumn| b.is_discount;
    let needs_price =
        has(Field::Discount) || recipe.breaks.is_empty() || recipe.breaks.iter().any(is_discount);
    if needs_price && !has(Field::Price) {
        error(
            "no column has the price",
            "add price = \"heading\" under [columns]",
        );
    }
    if has(Field::Quantity) && !recipe.breaks.is_empty() {
        let help = "use quantity where each price has a row of its own, [[breaks]] where each has \
                    a column of its own";
        error("quantity does not go with [[breaks]]", help);
    }
    let in_packs = [
        recipe.counted.breaks,
        recipe.counted.least,
        recipe.counted.stock,
    ];
    if (in_packs.contains(&Unit::Packs) || recipe.per == Per::Pack) && !has(Field::Pack) {
        let help = "add pack = \"heading\" under [columns]";
        error(
            "packs are counted, but no column says how many pieces are in one",
            help,
        );
    }
}

/// What must go together in a recipe for what comes after an order. The price list tells
/// how many are in a pack where no column does.
fn together_in_letter(root: &Keys, recipe: &Recipe) {
    let has = |field| recipe.columns.contains_key(&field);
    if !has(Field::Quantity) {
        let help = "add quantity = \"heading\" under [columns]";
        root.error("columns", "no column has the quantity", help);
    }
    if (has(Field::Per) || has(Field::Discount)) && !has(Field::Price) {
        let help = "add price = \"heading\" under [columns]";
        root.error("columns", "no column has the price", help);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_by_letters_and_numbers() {
        assert_eq!(cell("B3"), Some((3, 1)));
        assert_eq!(cell("aa10"), Some((10, 26)));
        for text in ["", "3", "B", "B0", "3B", "ÄÖ3", "B3x", "AAAA1"] {
            assert_eq!(cell(text), None, "{text}");
        }
    }
}
