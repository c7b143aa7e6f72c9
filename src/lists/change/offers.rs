//! What a supplier offers by a list.

use super::pairs::{Origin, origins};
use crate::catalog::{Catalog, Offer, PartId, SupplierId};
use crate::diag::quote;
use crate::lists::matching::Matched;
use crate::lists::recipe::{Field, Recipe};
use crate::lists::rows::{Article, Terms, Trouble};
use std::collections::BTreeMap;

/// An offer as the list has it.
#[derive(Debug, Clone)]
pub struct Offered {
    /// The part.
    pub part: PartId,
    /// The supplier's article number.
    pub sku: String,
    /// On what terms.
    pub terms: Terms,
    /// What it goes on from in the price list.
    pub origin: Origin,
    /// What stays as it was since the cell of the list is empty, such as `stock 40`.
    pub kept: Vec<String>,
    /// The row of the list.
    pub row: u64,
}

/// The offers of a list by part and article number, in the order of the list. What no column
/// of the list tells stays as the price list has it. A trouble is told where two articles
/// make one offer on other terms.
pub fn offered(
    articles: &[Article],
    matched: &Matched,
    recipe: &Recipe,
    catalog: &Catalog,
    supplier: SupplierId,
) -> (Vec<Offered>, Vec<Trouble>) {
    let mut places: BTreeMap<(PartId, String), usize> = BTreeMap::new();
    let mut offers: Vec<Offered> = Vec::new();
    let mut troubles = Vec::new();
    for sold in &matched.sold {
        let Some(article) = articles.get(sold.article) else {
            continue;
        };
        let sku = match article.number.as_str() {
            "" => only_sku(catalog, sold.part, supplier),
            number => number.to_owned(),
        };
        let known = places
            .get(&(sold.part, sku.clone()))
            .and_then(|at| offers.get(*at));
        match known {
            Some(first) if same(&first.terms, &article.terms) => {}
            Some(first) => troubles.push(twice(article, first, &catalog.part(sold.part).code)),
            None => {
                places.insert((sold.part, sku.clone()), offers.len());
                offers.push(Offered {
                    part: sold.part,
                    sku,
                    terms: article.terms.clone(),
                    origin: Origin::default(),
                    kept: Vec::new(),
                    row: article.row,
                });
            }
        }
    }
    let names = offers.iter().map(|one| (one.part, one.sku.as_str()));
    let origins = origins(&names.collect::<Vec<_>>(), catalog, supplier);
    for (offer, origin) in offers.iter_mut().zip(origins) {
        if let Some(old) = origin.old {
            offer.kept = keep_untold(&mut offer.terms, catalog.offer(old), recipe);
        }
        offer.origin = origin;
    }
    (offers, troubles)
}

/// Keeps what the list does not tell, and gives what was kept although the list has a column
/// for it.
fn keep_untold(terms: &mut Terms, old: &Offer, recipe: &Recipe) -> Vec<String> {
    let mut kept = Vec::new();
    let mut keep = |field: Field, value: Option<String>| {
        let is_told = terms.told.contains(&field);
        let has_column = recipe.columns.contains_key(&field);
        kept.extend(value.filter(|_| !is_told && has_column));
        !is_told
    };
    let said = |what: &str, value: u64| format!("{what} {value}");
    let pack = (old.pack > 1).then(|| said("pack", old.pack));
    if keep(Field::Pack, pack) {
        terms.pack = old.pack;
    }
    if keep(Field::Stock, old.stock.map(|stock| said("stock", stock))) {
        terms.stock = old.stock;
    }
    let lead = old.lead_days.map(|days| said("lead time", days.into()));
    if keep(Field::Lead, lead) {
        terms.lead_days = old.lead_days;
    }
    kept
}

/// The article number of the only offer that the price list has; else none.
fn only_sku(catalog: &Catalog, part: PartId, supplier: SupplierId) -> String {
    let mut own = catalog
        .offers_of(part)
        .filter(|(_, offer)| offer.supplier == supplier);
    match (own.next(), own.next()) {
        (Some((_, one)), None) => one.sku.clone(),
        _ => String::new(),
    }
}

fn same(a: &Terms, b: &Terms) -> bool {
    let steps = |terms: &Terms| -> Vec<_> {
        terms
            .steps
            .iter()
            .map(|step| (step.min_qty, step.price))
            .collect()
    };
    (a.pack, a.stock, a.lead_days) == (b.pack, b.stock, b.lead_days) && steps(a) == steps(b)
}

fn twice(article: &Article, first: &Offered, part: &str) -> Trouble {
    Trouble {
        row: article.row,
        column: String::new(),
        message: format!(
            "part {} is in row {} already, under the same article number and on other terms",
            quote(part),
            first.row
        ),
        help: "ask the supplier which is right, or leave one of the rows out with [[skip]]"
            .to_owned(),
    }
}
