//! The recipe of a supplier's lists: which column is what, and how its cells are read.
//! The user keeps it as `lists/SUPPLIER.toml` in the catalog folder, and recipes of delivery
//! notes and confirmations beside it.

mod name;
mod open;
mod purpose;
mod read;
mod write;

pub use name::{FOLDER, file_name};
pub use open::open;
pub use purpose::Purpose;
pub use read::{MAX_BYTES, read};
pub use write::{mapping, text};

use super::read::{Heading, Hints};
use super::values::date::DateOrder;
use super::values::lead::LeadRule;
use super::values::number::DecimalSign;
use super::values::quantity::Unit;
use crate::catalog::Supplier;
use crate::diag::{Diagnostic, Findings, quote};
use crate::units::{Currency, Qty};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a column of a list can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// The supplier's article number.
    Article,
    /// Our code of the part.
    Part,
    /// The maker's type.
    Type,
    /// What the article is.
    Description,
    /// A price.
    Price,
    /// For how many pieces the price is.
    Per,
    /// Percent off the price.
    Discount,
    /// The currency of the price.
    Currency,
    /// The quantity from which the price of the row holds; in a delivery note or a
    /// confirmation how many there are.
    Quantity,
    /// The least quantity that is sold.
    Least,
    /// Pieces in a pack.
    Pack,
    /// How many there are.
    Stock,
    /// The time until delivery.
    Lead,
    /// The day of the price; in a confirmation the day of the delivery.
    Date,
}

impl Field {
    /// All, each with the key that recipes use.
    pub const ALL: [(Field, &'static str); 14] = [
        (Field::Article, "article"),
        (Field::Part, "part"),
        (Field::Type, "type"),
        (Field::Description, "description"),
        (Field::Price, "price"),
        (Field::Per, "per"),
        (Field::Discount, "discount"),
        (Field::Currency, "currency"),
        (Field::Quantity, "quantity"),
        (Field::Least, "least"),
        (Field::Pack, "pack"),
        (Field::Stock, "stock"),
        (Field::Lead, "lead"),
        (Field::Date, "date"),
    ];

    /// The key that recipes use.
    pub fn word(self) -> &'static str {
        let found = Self::ALL.iter().find(|(field, _)| *field == self);
        found.map_or("", |(_, word)| word)
    }
}

/// For how many pieces a price is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    /// So many pieces.
    Pieces(Qty),
    /// All that are in a pack.
    Pack,
}

/// What quantities count where their cells do not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counted {
    /// Quantities from which prices hold.
    pub breaks: Unit,
    /// The least quantity.
    pub least: Unit,
    /// The stock.
    pub stock: Unit,
    /// How many came, or are confirmed.
    pub quantity: Unit,
}

/// A price of its own column, from a quantity on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BreakColumn {
    /// From which quantity on.
    pub from: From,
    /// The column of the price, or of the percent off the price.
    pub heading: Heading,
    /// True where the column has percent off the column `price`.
    pub is_discount: bool,
}

/// From which quantity a price holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum From {
    /// The same for all articles.
    Count(Qty),
    /// What a column says.
    Column(Heading),
}

/// Where the day of the list stands, if no column has it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DateRule {
    /// After these words, in their cell or the next one, above the headings.
    pub after: Option<(String, u64)>,
    /// In this cell: row from 1, column from 0; and as it is written.
    pub cell: Option<(u64, usize, String)>,
    /// Which comes first, day or month.
    pub order: Option<DateOrder>,
}

/// Rows to leave out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skip {
    /// Which column is looked at.
    pub heading: Heading,
    /// What is looked for there, in small letters.
    pub test: Test,
}

/// What is looked for in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Test {
    /// The whole cell is one of these.
    Is(Vec<String>),
    /// The cell begins with one of these.
    Begins(Vec<String>),
    /// One of these is in the cell.
    Has(Vec<String>),
    /// Nothing is in the cell.
    Empty,
}

impl Test {
    /// True if a cell passes; `cell` is in small letters.
    pub fn holds(&self, cell: &str) -> bool {
        match self {
            Test::Is(texts) => texts.iter().any(|text| cell == text),
            Test::Begins(texts) => texts.iter().any(|text| cell.starts_with(text.as_str())),
            Test::Has(texts) => texts.iter().any(|text| cell.contains(text.as_str())),
            Test::Empty => cell.is_empty(),
        }
    }
}

/// The parts of ours that an article serves as.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mapping {
    /// The supplier's article number.
    pub article: String,
    /// Our codes; none for an article that is never ours.
    pub parts: Vec<String>,
    /// The line of the recipe.
    pub line: u64,
}

/// How the lists of a supplier are read.
#[derive(Debug, Clone)]
pub struct Recipe {
    /// What it reads.
    pub purpose: Purpose,
    /// The recipe's own file, as the user would name it.
    pub file: Arc<str>,
    /// The supplier, as `suppliers.csv` has the name.
    pub supplier: String,
    /// The line of `supplier`.
    pub supplier_line: u64,
    /// True if what is not in the list is no longer sold.
    pub complete: bool,
    /// The currency of all prices, and its line.
    pub currency: Option<(Currency, u64)>,
    /// Which sheet, and the line of the key.
    pub sheet: Option<(String, u64)>,
    /// How a text is read.
    pub hints: Hints,
    /// The decimal sign; none where the list tells it.
    pub decimal: Option<DecimalSign>,
    /// Which column is what.
    pub columns: BTreeMap<Field, Heading>,
    /// For how many pieces a price is where no column says.
    pub per: Per,
    /// Words for numbers of pieces that prices are for, in small letters.
    pub per_words: Vec<(String, Qty)>,
    /// What quantities count.
    pub counted: Counted,
    /// Prices in columns of their own.
    pub breaks: Vec<BreakColumn>,
    /// How lead times are read.
    pub lead: LeadRule,
    /// The user's words for stocks, in small letters.
    pub stock_words: Vec<(String, Qty)>,
    /// Where the day of the list stands.
    pub date: DateRule,
    /// Rows to leave out.
    pub skip: Vec<Skip>,
    /// Articles that the catalog does not know.
    pub parts: Vec<Mapping>,
}

impl Recipe {
    /// A recipe for a supplier that names no column yet.
    pub fn new(file: Arc<str>, supplier: &str, purpose: Purpose) -> Self {
        Self {
            purpose,
            file,
            supplier: supplier.to_owned(),
            supplier_line: 1,
            complete: true,
            currency: None,
            sheet: None,
            hints: Hints::default(),
            decimal: None,
            columns: BTreeMap::new(),
            per: Per::Pieces(1),
            per_words: Vec::new(),
            counted: Counted::default(),
            breaks: Vec::new(),
            lead: LeadRule::default(),
            stock_words: Vec::new(),
            date: DateRule::default(),
            skip: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// An error where the recipe names another currency than the supplier bills in.
    pub fn wrong_currency(&self, supplier: &Supplier) -> Findings {
        let mut findings = Findings::default();
        let other = self.currency.as_ref();
        if let Some((currency, line)) = other.filter(|(c, _)| *c != supplier.currency) {
            let message = format!(
                "the list is in {currency}, but {} bills in {}",
                quote(&supplier.name),
                supplier.currency
            );
            let error = Diagnostic::error(&self.file, message)
                .line(*line)
                .column("currency");
            findings.push(error.help(format!(
                "ask for a list in {}, or correct {}",
                supplier.currency, supplier.row
            )));
        }
        findings
    }

    /// All headings that a list must have.
    pub fn headings(&self) -> Vec<Heading> {
        let columns = self.columns.values();
        let breaks = self.breaks.iter().flat_map(|b| {
            let from = match &b.from {
                From::Column(heading) => Some(heading),
                From::Count(_) => None,
            };
            from.into_iter().chain([&b.heading])
        });
        let skip = self.skip.iter().map(|skip| &skip.heading);
        columns.chain(breaks).chain(skip).cloned().collect()
    }
}
