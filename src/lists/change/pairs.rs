//! Which offer of the price list an offer of the list goes on from.

use crate::catalog::{Catalog, OfferId, PartId, SupplierId};
use crate::lists::matching::bare;
use std::collections::{BTreeMap, BTreeSet};

/// What an offer of the list goes on from.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Origin {
    /// The offer of the price list; none for a new one.
    pub old: Option<OfferId>,
    /// Offers of the price list that a new one may replace, where that is not clear.
    pub perhaps: Vec<OfferId>,
}

/// Finds for each offer of the list, told by its part and article number, what it goes on
/// from: the offer of that number, else one without a number, else one whose number is spelled alike, else the supplier's
/// only offer of the part, where the list has one alone as well.
pub fn origins(offered: &[(PartId, &str)], catalog: &Catalog, supplier: SupplierId) -> Vec<Origin> {
    let mut places: BTreeMap<PartId, Vec<usize>> = BTreeMap::new();
    for (place, (part, _)) in offered.iter().enumerate() {
        places.entry(*part).or_default().push(place);
    }
    let mut origins = vec![Origin::default(); offered.len()];
    for (part, places) in places {
        let own = catalog.offers_of(part);
        let own = own.filter(|(_, offer)| offer.supplier == supplier);
        let mut one = OnePart {
            old: own.map(|(id, offer)| (id, offer.sku.as_str())).collect(),
            new: places
                .iter()
                .filter_map(|at| Some((*at, offered.get(*at)?.1)))
                .collect(),
            pairs: Vec::new(),
        };
        let (olds, news) = (one.old.len(), one.new.len());
        one.pair(|new, old| new == old);
        one.pair(|_, old| old.is_empty());
        one.alike();
        if (olds, news) == (1, 1) {
            one.pair(|_, _| true);
        }
        for (at, old) in &one.pairs {
            if let Some(origin) = origins.get_mut(*at) {
                origin.old = Some(*old);
            }
        }
        for (at, _) in &one.new {
            if let Some(origin) = origins.get_mut(*at) {
                origin.perhaps = one.old.iter().map(|(old, _)| *old).collect();
            }
        }
    }
    origins
}

/// The offers of one part that nothing goes on from yet, and those that go on from nothing
/// yet, each with its article number.
struct OnePart<'n> {
    old: Vec<(OfferId, &'n str)>,
    new: Vec<(usize, &'n str)>,
    pairs: Vec<(usize, OfferId)>,
}

impl OnePart<'_> {
    /// Pairs in the order of the list.
    fn pair(&mut self, is_same: impl Fn(&str, &str) -> bool) {
        let (old, pairs) = (&mut self.old, &mut self.pairs);
        self.new.retain(|(at, new)| {
            let found = old.iter().position(|(_, sku)| is_same(new, sku));
            pairs.extend(found.map(|found| (*at, old.remove(found).0)));
            found.is_none()
        });
    }

    /// Pairs what differs in case, spaces, punctuation and zeros at the beginning alone, where
    /// there is one on each side.
    fn alike(&mut self) {
        let olds = self.old.iter().map(|(_, sku)| plain(sku));
        let news = self.new.iter().map(|(_, sku)| plain(sku));
        let (olds, news) = (once(olds), once(news));
        self.pair(|new, old| {
            let new = plain(new);
            new == plain(old) && olds.contains(&new) && news.contains(&new)
        });
    }
}

fn plain(sku: &str) -> String {
    bare(sku).trim_start_matches('0').to_owned()
}

/// What is there once, without nothing.
fn once(all: impl Iterator<Item = String>) -> BTreeSet<String> {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    all.for_each(|one| *counts.entry(one).or_default() += 1);
    let single = counts
        .into_iter()
        .filter(|(one, n)| *n == 1 && !one.is_empty());
    single.map(|(one, _)| one).collect()
}
