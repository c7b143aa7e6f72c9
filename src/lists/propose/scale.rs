//! For how many pieces the prices of a list are, told by the prices that we know.

use crate::catalog::{Catalog, SupplierId};
use crate::lists::recipe::Per;
use crate::lists::rows::Article;
use rust_decimal::Decimal;
use std::collections::HashMap;

/// At least so many articles have to agree.
const LEAST: usize = 3;

/// Holds the articles, read as if prices were of a piece, against the price list. Gives what
/// most prices agree with: a price may have doubled or halved since.
pub fn scale(articles: &[Article], catalog: &Catalog, supplier: SupplierId) -> Option<Per> {
    let own = catalog
        .offers
        .iter()
        .filter(|offer| offer.supplier == supplier && !offer.sku.is_empty());
    let known: HashMap<&str, Decimal> = own
        .filter_map(|offer| Some((offer.sku.as_str(), offer.breaks.first()?.unit_price.0)))
        .collect();
    let samples: Vec<(Decimal, u64)> = articles
        .iter()
        .filter_map(|article| {
            let price = article.terms.steps.first()?.price.0;
            let known = known
                .get(article.number.as_str())
                .filter(|known| !known.is_zero())?;
            Some((price.checked_div(*known)?, article.terms.pack))
        })
        .collect();
    let is_near = |ratio: Decimal, pieces: u64| {
        let share = ratio.checked_div(pieces.into()).unwrap_or_default();
        share >= Decimal::new(5, 1) && share <= Decimal::TWO
    };
    let fixed = [1, 10, 100, 1_000].map(|pieces| {
        let hits = samples
            .iter()
            .filter(|(ratio, _)| is_near(*ratio, pieces))
            .count();
        (hits, Per::Pieces(pieces))
    });
    let packs = samples
        .iter()
        .filter(|(ratio, pack)| *pack > 1 && is_near(*ratio, *pack))
        .count();
    let mut best = (0, Per::Pieces(1));
    for (hits, per) in fixed.into_iter().chain([(packs, Per::Pack)]) {
        if hits > best.0 {
            best = (hits, per);
        }
    }
    (best.0 >= LEAST && best.0 * 2 > samples.len()).then_some(best.1)
}
