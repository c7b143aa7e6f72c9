//! What a supplier offers by a list.

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
                    row: article.row,
                });
            }
        }
    }
    for offer in &mut offers {
        let own = catalog.offers_of(offer.part).map(|(_, old)| old);
        let own: Vec<&Offer> = own.filter(|old| old.supplier == supplier).collect();
        let with = |sku: &str| own.iter().find(|old| old.sku == sku);
        if let Some(old) = with(&offer.sku).or_else(|| with("")) {
            keep_untold(&mut offer.terms, old, recipe);
        }
    }
    (offers, troubles)
}

/// Keeps what no column of the list tells.
fn keep_untold(terms: &mut Terms, old: &Offer, recipe: &Recipe) {
    let tells = |field| recipe.columns.contains_key(&field);
    if !tells(Field::Pack) {
        terms.pack = old.pack;
    }
    if !tells(Field::Stock) {
        terms.stock = old.stock;
    }
    if !tells(Field::Lead) {
        terms.lead_days = old.lead_days;
    }
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
