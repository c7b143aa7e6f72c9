//! What a supplier sends after an order, held against what is on order: a delivery note,
//! or a confirmation.

mod arrived;
mod confirmed;
mod order;

pub use arrived::{Arrived, arrived};
pub use confirmed::{Compared, Confirmed, Difference, Missing, confirmed};
pub use order::{Open, by_ordered, by_plan};

use crate::catalog::{PartId, SupplierId};
use crate::diag::{Diagnostic, Findings, joined};
use crate::input::Input;
use crate::lists::matching::Proposal;
use crate::units::{Money, Qty};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;
use std::sync::Arc;

/// When something comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Day {
    /// On this day.
    On(Date),
    /// So many days after the order.
    After(u32),
}

/// A line of a letter.
#[derive(Debug, Clone)]
pub struct Line {
    /// The row of the file.
    pub row: u64,
    /// Who sends it.
    pub supplier: SupplierId,
    /// The supplier's article number; may be empty.
    pub number: String,
    /// The article as the file names it.
    pub article: String,
    /// What the article is, where the file says it.
    pub description: String,
    /// Our parts that it is; none where that is not known, an empty list for what is never
    /// ours.
    pub parts: Option<Vec<PartId>>,
    /// Pieces; none where that is not understood.
    pub pieces: Option<Qty>,
    /// Price of a piece, where it is told.
    pub price: Option<Money>,
    /// When it comes, where that is told.
    pub day: Option<Day>,
    /// Our parts that it may be where `parts` has none, the surest first.
    pub proposals: Vec<Proposal>,
    /// What of the line is not understood.
    pub wrong: Vec<Diagnostic>,
}

/// What a supplier sent.
#[derive(Debug, Clone)]
pub struct Letter {
    /// The file, with its sheet.
    pub file: Arc<str>,
    /// Whom it is from; our own order file may have several.
    pub suppliers: Vec<SupplierId>,
    /// The recipe that it was read by; none for our own order.
    pub recipe: Option<Arc<str>>,
    /// Its lines.
    pub lines: Vec<Line>,
    /// True if it has prices.
    pub has_prices: bool,
    /// True if it has days.
    pub has_days: bool,
    /// What is legal and looks wrong.
    pub warnings: Findings,
}

/// A line of a letter that is nothing that was ordered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stranger {
    /// The row of the file.
    pub row: u64,
    /// The article as the file names it.
    pub article: String,
    /// What it is, where the file says it.
    pub description: String,
    /// Pieces; none where that is not understood.
    pub pieces: Option<Qty>,
    /// Why it is nothing that was ordered.
    pub why: String,
    /// Parts of ours that it may be, the surest first.
    pub proposals: Vec<Proposal>,
}

impl Line {
    /// The sku under which the supplier has the part, where the line's article number is one:
    /// a number that only the recipe knows stands for any.
    fn sku(&self, part: PartId, input: &Input) -> Option<&str> {
        let number = self.number.as_str();
        let mut ordered = input.ordered.iter();
        let is_ordered = ordered
            .any(|row| (row.part, row.supplier) == (part, self.supplier) && row.sku == number);
        let mut offers = input.catalog.offers_of(part);
        let mut is_offered =
            || offers.any(|(_, offer)| offer.supplier == self.supplier && offer.sku == number);
        let is_sku = !number.is_empty() && (is_ordered || is_offered());
        is_sku.then_some(number)
    }

    fn parts(&self) -> &[PartId] {
        self.parts.as_deref().unwrap_or_default()
    }

    /// True for what the recipe says is never ours.
    fn is_never_ours(&self) -> bool {
        self.parts.as_ref().is_some_and(Vec::is_empty)
    }

    /// The places of what is on order and can be what the line says: under its sku, then
    /// without any, each the oldest first.
    fn places(&self, open: &[Open], input: &Input) -> Vec<usize> {
        let mut places = Vec::new();
        for part in self.parts() {
            let sku = self.sku(*part, input);
            let is_sku = |one: &Open| sku.is_none_or(|s| one.sku.is_empty() || one.sku == s);
            let is_it =
                |one: &Open| (one.part, one.supplier) == (*part, self.supplier) && is_sku(one);
            let all = open.iter().enumerate().filter(|(_, one)| is_it(one));
            places.extend(all.map(|(place, one)| {
                let is_other = sku.is_some_and(|sku| one.sku != sku);
                (is_other, one.ordered_on, place)
            }));
        }
        places.sort();
        places.into_iter().map(|(.., place)| place).collect()
    }

    fn stranger(&self, why: String) -> Stranger {
        Stranger {
            row: self.row,
            article: self.article.clone(),
            description: self.description.clone(),
            pieces: self.pieces,
            why,
            proposals: self.proposals.clone(),
        }
    }

    /// The codes of its parts, in words.
    fn codes(&self, input: &Input) -> String {
        let parts = self.parts().iter();
        let codes = parts.map(|part| input.catalog.part(*part).code.as_str());
        joined(&codes.collect::<Vec<&str>>(), "and")
    }

    /// Why nothing that is on order can be what the line says.
    fn why(&self, open: &[Open], input: &Input) -> String {
        if self.article.is_empty() {
            return "the row has no article number".to_owned();
        }
        if self.parts().is_empty() {
            return "no part of ours has this article number".to_owned();
        }
        let is_part =
            |one: &&Open| one.supplier == self.supplier && self.parts().contains(&one.part);
        let skus: BTreeSet<&str> = open
            .iter()
            .filter(is_part)
            .map(|o| o.sku.as_str())
            .collect();
        let codes = self.codes(input);
        if skus.is_empty() {
            return format!("nothing of {codes} is on order");
        }
        let skus: Vec<&str> = skus.into_iter().collect();
        format!("{codes} is on order as {} only", joined(&skus, "and"))
    }
}

/// Takes pieces out of what is left at each place, in turn; gives what was taken where, and
/// what nothing was left for.
fn fill(places: &[usize], left: &mut [Qty], mut pieces: Qty) -> (Vec<(usize, Qty)>, Qty) {
    let mut taken = Vec::new();
    for place in places {
        if let Some(left) = left.get_mut(*place) {
            let take = pieces.min(*left);
            *left -= take;
            pieces -= take;
            taken.push((*place, take));
        }
    }
    taken.retain(|(_, pieces)| *pieces > 0);
    (taken, pieces)
}
