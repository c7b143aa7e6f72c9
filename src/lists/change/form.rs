//! What is told of a list that was taken.

use crate::lists::matching::Proposal;
use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// A price of an offer that goes on, at a quantity that both lists have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PriceChange {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece so far.
    pub before: Money,
    /// Price of a piece on the list.
    pub after: Money,
    /// How much more or less, in percent; none where that can't be said.
    #[serde(serialize_with = "as_text")]
    #[schemars(with = "Option<String>")]
    pub percent: Option<Decimal>,
    /// The row of the list.
    pub row: u64,
}

fn as_text<S: Serializer>(percent: &Option<Decimal>, to: S) -> Result<S::Ok, S::Error> {
    percent.map(|percent| percent.to_string()).serialize(to)
}

/// A quantity from which an offer that goes on has a price now, or had one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct BreakChange {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece so far; none for a new break.
    pub before: Option<Money>,
    /// Price of a piece on the list; none for a break that is gone.
    pub after: Option<Money>,
    /// A row of the list that has the article.
    pub row: u64,
}

/// Other terms of an offer that goes on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct TermChange {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// What changed, such as `stock 40 to 5`.
    pub what: Vec<String>,
    /// The row of the list.
    pub row: u64,
}

/// An offer that the price list did not have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NewOffer {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece there.
    pub unit_price: Money,
    /// How many price breaks the offer has.
    pub breaks: usize,
    /// Article numbers of the price list that it may replace, where which is not clear.
    pub may_replace: Vec<String>,
    /// The row of the list.
    pub row: u64,
}

/// An offer that the list no longer has.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct GoneOffer {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// Price of a piece so far, at the least quantity.
    pub unit_price: Money,
    /// The row of the price list.
    pub row: u64,
}

/// Terms of an offer that stay as they were, since the list has an empty cell for them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Kept {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// What stays, such as `stock 40`.
    pub what: Vec<String>,
    /// The row of the list.
    pub row: u64,
}

/// A price that was rounded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Rounded {
    /// Part code.
    pub part: String,
    /// The supplier's article number.
    pub sku: String,
    /// Price of a piece, with six decimals.
    pub unit_price: Money,
    /// The row of the list.
    pub row: u64,
}

/// An article that matches no part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unmatched {
    /// The supplier's article number.
    pub article: String,
    /// The maker's type, where the list has it.
    pub maker_type: String,
    /// What it is, where the list says it.
    pub description: String,
    /// Price of a piece at the least quantity; none where it is not understood.
    pub unit_price: Option<Money>,
    /// The row of the list.
    pub row: u64,
    /// Parts of ours that it may be, the surest first.
    pub proposals: Vec<Proposal>,
}

/// A row of an article that matches no part, and that is not understood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NotUnderstood {
    /// The row of the list.
    pub row: u64,
    /// The supplier's article number; empty where there is none.
    pub article: String,
    /// The heading of the column.
    pub column: String,
    /// What is wrong.
    pub message: String,
}

/// What changes in the price list.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Changes {
    /// The largest in percent first.
    pub prices: Vec<PriceChange>,
    /// By part.
    pub breaks: Vec<BreakChange>,
    /// By part.
    pub terms: Vec<TermChange>,
    /// By part.
    pub new: Vec<NewOffer>,
    /// By part.
    pub gone: Vec<GoneOffer>,
    /// Parts that the supplier sold, and no longer lists under any article number.
    pub no_longer_sold: Vec<String>,
}

impl Changes {
    /// True if nothing but perhaps the day of the quotes changes.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A list that was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Taken {
    /// The supplier.
    pub supplier: String,
    /// What the supplier bills in.
    pub currency: Currency,
    /// The list, as the user would name it.
    pub list: String,
    /// The day of the list; none where nothing tells it.
    pub dated: Option<String>,
    /// True if a column of the list has the days of the prices.
    pub has_day_column: bool,
    /// The recipe.
    pub recipe: String,
    /// The price list that is changed.
    pub prices: String,
    /// Where the changed price list is written.
    pub out: String,
    /// True if the price list is not as it was, be it in the day of the quotes alone.
    pub would_change: bool,
    /// The history of prices that is added to; empty where nothing is added.
    pub history: String,
    /// How many rows are added to the history.
    pub history_rows: usize,
    /// How many articles the list has.
    pub articles: usize,
    /// How many of them are parts of ours.
    pub matched: usize,
    /// How many the recipe says are never ours.
    pub never_ours: usize,
    /// Rows of the supplier in the price list so far.
    pub rows_before: usize,
    /// Rows of the supplier in the price list from now on.
    pub rows_after: usize,
    /// What changes.
    pub changes: Changes,
    /// What stays where the list has an empty cell.
    pub kept: Vec<Kept>,
    /// Prices that were rounded to six decimals.
    pub rounded: Vec<Rounded>,
    /// Articles that match no part, those with proposals first.
    pub unmatched: Vec<Unmatched>,
    /// Rows that match no part and are not understood.
    pub not_understood: Vec<NotUnderstood>,
}
