//! What is told of a list that was read.

use super::form::{Changes, Kept, NotUnderstood, Rounded, Taken, Unmatched};
use super::offers::Offered;
use crate::catalog::{Catalog, SupplierId};
use crate::diag::{Diagnostic, quote};
use crate::lists::matching::{Likeness, Matched, Named};
use crate::lists::recipe;
use crate::lists::rows::{Article, Trouble};
use std::sync::Arc;

/// Troubles of articles that are parts of ours, each once.
pub fn of_ours<'a>(
    articles: &'a [Article],
    matched: &'a Matched,
) -> impl Iterator<Item = &'a Trouble> {
    let mut places: Vec<usize> = matched.sold.iter().map(|sold| sold.article).collect();
    places.dedup();
    places
        .into_iter()
        .filter_map(|at| articles.get(at))
        .flat_map(|article| &article.troubles)
}

/// A trouble as an error in the list; `page` is the file, with its sheet.
pub fn told(trouble: &Trouble, page: &Arc<str>) -> Diagnostic {
    let error = Diagnostic::error(page, trouble.message.clone()).line(trouble.row);
    let error = match trouble.column.as_str() {
        "" => error,
        column => error.column(quote(column).trim_matches('"')),
    };
    error.help(trouble.help.clone())
}

/// Lines for `[parts]` of a recipe that is proposed.
pub fn matches(articles: &[Article], matched: &Matched, likeness: &Likeness) -> Vec<String> {
    let unmatched = matched.unmatched.iter().filter_map(|at| articles.get(*at));
    proposed_parts(unmatched.map(Named::from), likeness)
}

/// Lines for `[parts]` of a recipe: for each unknown article the part that it is most likely.
pub fn proposed_parts<'n>(
    unknown: impl Iterator<Item = Named<'n>>,
    likeness: &Likeness,
) -> Vec<String> {
    const MOST: usize = 200;
    let is_plain = |one: &Named| !one.number.is_empty() && !one.number.contains(char::is_control);
    let lines = unknown.filter(is_plain).filter_map(|one| {
        let best = likeness.proposals(one).into_iter().next()?;
        let line = recipe::mapping(one.number, &best.part);
        Some(format!("{line}  # {} % sure: {}", best.sure, best.why))
    });
    lines.take(MOST).collect()
}

/// A list with what is known of it.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'r> {
    /// The articles of the list.
    pub articles: &'r [Article],
    /// Which of them are parts of ours.
    pub matched: &'r Matched,
    /// What they make.
    pub offers: &'r [Offered],
    /// Rows with a price and no article number.
    pub homeless: &'r [Trouble],
}

impl Reading<'_> {
    /// All that is told, but for the names of files and what becomes of the price list.
    pub fn taken(&self, catalog: &Catalog, supplier: SupplierId, changes: Changes) -> Taken {
        let own = catalog
            .offers
            .iter()
            .filter(|offer| offer.supplier == supplier);
        let rows_before: usize = own.map(|offer| offer.breaks.len()).sum();
        let of = catalog.supplier(supplier);
        let likeness = Likeness::of(catalog, supplier);
        let ours = self.articles.len() - self.matched.unmatched.len() - self.matched.never;
        Taken {
            supplier: of.name.clone(),
            currency: of.currency.clone(),
            list: String::new(),
            dated: None,
            has_day_column: false,
            recipe: String::new(),
            prices: String::new(),
            out: String::new(),
            would_change: false,
            history: String::new(),
            history_rows: 0,
            articles: self
                .articles
                .iter()
                .filter(|article| !article.is_title)
                .count(),
            matched: ours,
            never_ours: self.matched.never,
            rows_before,
            rows_after: 0,
            changes,
            kept: self.kept(catalog),
            rounded: self.rounded(catalog),
            unmatched: self.unmatched(&likeness),
            not_understood: self.not_understood(),
        }
    }

    fn kept(&self, catalog: &Catalog) -> Vec<Kept> {
        let kept = self.offers.iter().filter(|offer| !offer.kept.is_empty());
        let kept = kept.map(|offer| Kept {
            part: catalog.part(offer.part).code.clone(),
            sku: offer.sku.clone(),
            what: offer.kept.clone(),
            row: offer.row,
        });
        kept.collect()
    }

    fn rounded(&self, catalog: &Catalog) -> Vec<Rounded> {
        let steps = self.offers.iter().flat_map(|offer| {
            let rounded = offer.terms.steps.iter().filter(|step| step.is_rounded);
            rounded.map(move |step| (offer, step))
        });
        let rounded = steps.map(|(offer, step)| Rounded {
            part: catalog.part(offer.part).code.clone(),
            sku: offer.sku.clone(),
            unit_price: step.price,
            row: step.row,
        });
        rounded.collect()
    }

    /// The articles that match no part, without titles; those with proposals first.
    fn unmatched(&self, likeness: &Likeness) -> Vec<Unmatched> {
        let unknown = self
            .matched
            .unmatched
            .iter()
            .filter_map(|at| self.articles.get(*at));
        let unknown = unknown.filter(|article| !article.is_title);
        let mut all: Vec<Unmatched> = unknown
            .map(|article| Unmatched {
                article: if article.number.is_empty() {
                    article.own.clone()
                } else {
                    article.number.clone()
                },
                maker_type: article.maker_type.clone(),
                description: article.description.clone(),
                unit_price: article.terms.steps.first().map(|step| step.price),
                row: article.row,
                proposals: likeness.proposals(article),
            })
            .collect();
        let sure = |one: &Unmatched| one.proposals.first().map(|proposal| proposal.sure);
        all.sort_by_key(|one| (std::cmp::Reverse(sure(one)), one.row));
        all
    }

    fn not_understood(&self) -> Vec<NotUnderstood> {
        let unknown = self
            .matched
            .unmatched
            .iter()
            .filter_map(|at| self.articles.get(*at));
        let unknown = unknown.filter(|article| !article.is_title);
        let troubles = unknown.flat_map(|article| {
            article
                .troubles
                .iter()
                .map(|trouble| (article.number.as_str(), trouble))
        });
        let homeless = self.homeless.iter().map(|trouble| ("", trouble));
        let mut all: Vec<NotUnderstood> = troubles
            .chain(homeless)
            .map(|(article, trouble)| NotUnderstood {
                row: trouble.row,
                article: article.to_owned(),
                column: trouble.column.clone(),
                message: trouble.message.clone(),
            })
            .collect();
        all.sort_by_key(|one| one.row);
        all
    }
}
