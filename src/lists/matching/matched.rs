//! Articles that are known to be parts of ours.

use crate::catalog::{Catalog, PartId, SupplierId};
use crate::diag::{Diagnostic, Findings, did_you_mean, quote};
use crate::lists::recipe::Recipe;
use crate::lists::rows::Article;
use std::collections::HashMap;

/// An article that serves as a part of ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sold {
    /// Its place among the articles.
    pub article: usize,
    /// The part.
    pub part: PartId,
}

/// What is known of the articles of a list.
#[derive(Debug, Clone, Default)]
pub struct Matched {
    /// In the order of the list; an article may serve as several parts.
    pub sold: Vec<Sold>,
    /// Places of articles that match no part.
    pub unmatched: Vec<usize>,
    /// How many articles the recipe says are never ours.
    pub never: usize,
}

/// The parts of each article number that a supplier's offers in the catalog have.
pub fn skus(catalog: &Catalog, supplier: SupplierId) -> HashMap<&str, Vec<PartId>> {
    let mut skus: HashMap<&str, Vec<PartId>> = HashMap::new();
    let own = catalog
        .offers
        .iter()
        .filter(|offer| offer.supplier == supplier);
    for offer in own.filter(|offer| !offer.sku.is_empty()) {
        skus.entry(&offer.sku).or_default().push(offer.part);
    }
    skus
}

/// What tells which parts an article serves as. Nothing is told by likeness.
#[derive(Debug)]
pub struct Telling<'t> {
    catalog: &'t Catalog,
    by_recipe: HashMap<&'t str, Vec<PartId>>,
    by_sku: HashMap<&'t str, Vec<PartId>>,
}

impl<'t> Telling<'t> {
    /// What the recipe and the price list tell.
    ///
    /// Pushes an error for each part of the recipe that the catalog does not have.
    pub fn of(
        recipe: &'t Recipe,
        catalog: &'t Catalog,
        supplier: SupplierId,
        findings: &mut Findings,
    ) -> Self {
        Self {
            catalog,
            by_recipe: mappings(recipe, catalog, findings),
            by_sku: skus(catalog, supplier),
        }
    }

    /// Adds an article number under which a part was ordered.
    pub fn add(&mut self, number: &'t str, part: PartId) {
        if number.is_empty() {
            return;
        }
        let parts = self.by_sku.entry(number).or_default();
        if !parts.contains(&part) {
            parts.push(part);
        }
    }

    /// The parts of an article: by our code where the list has it, then by the recipe, then
    /// by article numbers. None are told for an article that is not known, an empty list
    /// for an article that is never ours.
    pub fn parts(&self, number: &str, own: &str) -> Option<Vec<PartId>> {
        let own = self.catalog.find(own).filter(|_| !own.is_empty());
        match own {
            Some(own) => Some(vec![own]),
            None => {
                let by_recipe = self.by_recipe.get(number);
                by_recipe.or_else(|| self.by_sku.get(number)).cloned()
            }
        }
    }
}

/// Matches the articles of a price list.
///
/// Pushes an error for each part of the recipe that the catalog does not have.
pub fn matched(
    articles: &[Article],
    recipe: &Recipe,
    catalog: &Catalog,
    supplier: SupplierId,
    findings: &mut Findings,
) -> Matched {
    let telling = Telling::of(recipe, catalog, supplier, findings);
    let mut matched = Matched::default();
    for (place, article) in articles.iter().enumerate() {
        match telling.parts(&article.number, &article.own) {
            None => matched.unmatched.push(place),
            Some(parts) if parts.is_empty() => matched.never += 1,
            Some(parts) => matched.sold.extend(parts.into_iter().map(|part| Sold {
                article: place,
                part,
            })),
        }
    }
    matched
}

fn mappings<'r>(
    recipe: &'r Recipe,
    catalog: &Catalog,
    findings: &mut Findings,
) -> HashMap<&'r str, Vec<PartId>> {
    let mut mappings = HashMap::new();
    for mapping in &recipe.parts {
        let mut parts = Vec::new();
        for code in &mapping.parts {
            match catalog.find(code) {
                Some(part) if parts.contains(&part) => {}
                Some(part) => parts.push(part),
                None => {
                    let codes = catalog.parts.iter().map(|part| part.code.as_str());
                    let help = did_you_mean(code, codes).unwrap_or_else(|| {
                        "correct the code, or add the part to the catalog".to_owned()
                    });
                    let message = format!("unknown part {}", quote(code));
                    let error = Diagnostic::error(&recipe.file, message).line(mapping.line);
                    findings.push(error.column("parts").help(help));
                }
            }
        }
        mappings.insert(mapping.article.as_str(), parts);
    }
    mappings
}
