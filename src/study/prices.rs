//! What changed from one price list to another, and what the changes cost at the
//! quantities of a plan.

use crate::catalog::Offer;
use crate::catalog::read::PriceLists;
use crate::plan::Plan;
use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// How an offer changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A price changed, at the same breaks.
    Price,
    /// The breaks changed, and perhaps prices with them.
    Breaks,
    /// Only the new list has it.
    New,
    /// Only the old list has it.
    Gone,
    /// Pack, stock, lead time or sku alone.
    Terms,
    /// Nothing changed.
    Unchanged,
}

impl Kind {
    /// The kind of change in words.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Price => "price",
            Kind::Breaks => "breaks moved",
            Kind::New => "new",
            Kind::Gone => "gone",
            Kind::Terms => "terms",
            Kind::Unchanged => "unchanged",
        }
    }
}

/// An offer of either list, or of both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Compared {
    /// How the offer changed.
    pub kind: Kind,
    /// Part code.
    pub part: String,
    /// Supplier by name.
    pub supplier: String,
    /// The supplier's code, on the new list where it has the offer; empty where there
    /// is none.
    pub sku: String,
    /// True if the supplier has several offers of the part on either list, so that the
    /// sku tells them apart.
    #[serde(skip)]
    pub is_one_of_several: bool,
    /// The supplier's currency, where it is known.
    pub currency: Option<Currency>,
    /// Pieces that the plan buys there; none where the plan buys nothing there.
    pub qty: Option<Qty>,
    /// Price of a piece on the old list, at the plan's quantity or else the least one.
    pub before: Option<Money>,
    /// The same price on the new list; none where so few are not sold.
    pub after: Option<Money>,
    /// What the plan's quantity costs more, in the supplier's currency.
    pub difference: Option<Money>,
    /// What else changed, such as `stock 40 to 5`.
    pub notes: Vec<String>,
}

/// The offers of a part from a supplier on one list, by sku.
type Own<'l> = BTreeMap<&'l str, &'l Offer>;

/// An offer on the old list and on the new.
type Pair<'l> = (Option<&'l Offer>, Option<&'l Offer>);

/// Every offer of both lists, by part, supplier and sku. A supplier's only offer of a
/// part on the old list and the only one on the new are the same offer, whatever the
/// sku.
pub fn compare(lists: &PriceLists, plan: Option<&Plan>) -> Vec<Compared> {
    let quantities = plan.map(quantities).unwrap_or_default();
    // A list may leave the currency to the supplier; then the plan's orders tell which.
    let bills: BTreeMap<&str, &Currency> = (plan.into_iter().flat_map(|plan| &plan.orders))
        .map(|order| (order.supplier.as_str(), &order.currency))
        .collect();
    let mut offers: BTreeMap<_, (Own, Own)> = BTreeMap::new();
    for offer in &lists.old {
        let own = offers.entry((offer.part, offer.supplier)).or_default();
        own.0.insert(&offer.sku, offer);
    }
    for offer in &lists.new {
        let own = offers.entry((offer.part, offer.supplier)).or_default();
        own.1.insert(&offer.sku, offer);
    }
    let named = offers.into_iter().filter_map(|((part, supplier), own)| {
        let part = lists.parts.get(part.0 as usize)?;
        let (name, currency) = lists.suppliers.get(supplier.0 as usize)?;
        let bought = quantities.get(&(part.as_str(), name.as_str()));
        let is_one_of_several = own.0.len() > 1 || own.1.len() > 1;
        let billed = || bills.get(name.as_str()).map(|c| (*c).clone());
        let currency = currency.clone().or_else(billed);
        let all = pairs(&own).into_iter().map(move |pair| Compared {
            part: part.clone(),
            supplier: name.clone(),
            is_one_of_several,
            currency: currency.clone(),
            ..one(
                pair,
                bought.and_then(|b| ordered(b, pair, is_one_of_several)),
            )
        });
        Some(all)
    });
    named.flatten().collect()
}

/// Which offer of the old list is which of the new.
fn pairs<'l>((old, new): &(Own<'l>, Own<'l>)) -> Vec<Pair<'l>> {
    if old.len() == 1 && new.len() == 1 {
        return vec![(old.values().next().copied(), new.values().next().copied())];
    }
    let skus: BTreeSet<&&str> = old.keys().chain(new.keys()).collect();
    let pair = |sku: &&str| (old.get(sku).copied(), new.get(sku).copied());
    skus.into_iter().map(pair).collect()
}

/// Pieces that the plan buys of an offer: those of the line with its sku. Where there is
/// one offer, the only line is of it.
fn ordered(bought: &Pool<'_>, (old, new): Pair<'_>, is_one_of_several: bool) -> Option<Qty> {
    let of = |offer: Option<&Offer>| bought.get(offer?.sku.as_str()).copied();
    let only = || bought.values().next().copied();
    let is_only = !is_one_of_several && bought.len() == 1;
    of(old).or_else(|| of(new)).or_else(|| is_only.then(only)?)
}

/// What all the plan's quantities cost more, by currency. Offers that are gone
/// or not sold in so small a quantity are left out.
pub fn differences(compared: &[Compared]) -> BTreeMap<Currency, Money> {
    let mut sums: BTreeMap<Currency, Money> = BTreeMap::new();
    for one in compared {
        // An offer that the plan buys has its order's currency at the least.
        if let (Some(difference), Some(currency)) = (one.difference, &one.currency) {
            *sums.entry(currency.clone()).or_default() += difference;
        }
    }
    sums
}

/// One sum of all differences. `rate` gives one unit of a currency in the project's
/// currency.
///
/// # Errors
/// The currencies that have no rate.
pub fn together(
    differences: &BTreeMap<Currency, Money>,
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> Result<Money, Vec<Currency>> {
    let own = differences.iter().map(|(currency, sum)| {
        let own = sum.0.checked_mul(rate(currency)?);
        own.map(Money)
    });
    let own: Vec<Option<Money>> = own.collect();
    let without = differences
        .keys()
        .zip(&own)
        .filter(|(_, own)| own.is_none());
    let without: Vec<Currency> = without.map(|(currency, _)| currency.clone()).collect();
    own.into_iter().sum::<Option<Money>>().ok_or(without)
}

/// Pieces of each sku.
type Pool<'p> = BTreeMap<&'p str, Qty>;

/// What the plan buys of each part from each supplier.
fn quantities(plan: &Plan) -> BTreeMap<(&str, &str), Pool<'_>> {
    let mut bought: BTreeMap<_, Pool> = BTreeMap::new();
    for order in &plan.orders {
        for line in &order.lines {
            let key = (line.part.as_str(), order.supplier.as_str());
            let pool = bought.entry(key).or_default();
            pool.insert(&line.sku, line.qty);
        }
    }
    bought
}

fn one((old, new): Pair<'_>, qty: Option<Qty>) -> Compared {
    let least = |offer: &Offer| offer.breaks.first().map(|b| b.min_qty);
    let at = qty.or_else(|| old.or(new).and_then(least)).unwrap_or(1);
    let price = |offer: Option<&Offer>| offer?.break_at(at).map(|b| b.unit_price);
    let (before, after) = (price(old), price(new));
    let difference = before
        .zip(after)
        .filter(|_| qty.is_some())
        .map(|(before, after)| (after - before).times(at));
    Compared {
        kind: kind(old, new),
        part: String::new(),
        supplier: String::new(),
        sku: new.or(old).map(|o| o.sku.clone()).unwrap_or_default(),
        is_one_of_several: false,
        currency: None,
        qty,
        before,
        after,
        difference,
        notes: old.zip(new).map(|(o, n)| notes(o, n)).unwrap_or_default(),
    }
}

fn kind(old: Option<&Offer>, new: Option<&Offer>) -> Kind {
    let (Some(old), Some(new)) = (old, new) else {
        return if new.is_some() { Kind::New } else { Kind::Gone };
    };
    let terms = |offer: &Offer| {
        let sku = offer.sku.clone();
        (offer.pack, offer.stock, offer.lead_days, sku)
    };
    let prices =
        |offer: &Offer| -> Vec<Money> { offer.breaks.iter().map(|b| b.unit_price).collect() };
    if steps(old) != steps(new) {
        Kind::Breaks
    } else if prices(old) != prices(new) {
        Kind::Price
    } else if terms(old) != terms(new) {
        Kind::Terms
    } else {
        Kind::Unchanged
    }
}

fn steps(offer: &Offer) -> Vec<Qty> {
    offer.breaks.iter().map(|b| b.min_qty).collect()
}

fn notes(old: &Offer, new: &Offer) -> Vec<String> {
    let mut notes = Vec::new();
    let mut differ = |what: &str, old: String, new: String| {
        if old != new {
            notes.push(format!("{what} {old} to {new}"));
        }
    };
    let listed = |offer| {
        let steps: Vec<String> = steps(offer).iter().map(Qty::to_string).collect();
        steps.join("/")
    };
    let known = |number: Option<u64>, none: &str| {
        number.map_or_else(|| none.to_owned(), |number| number.to_string())
    };
    let sku = |offer: &Offer| match offer.sku.as_str() {
        "" => "none".to_owned(),
        sku => sku.to_owned(),
    };
    differ("sku", sku(old), sku(new));
    differ("breaks", listed(old), listed(new));
    differ("pack", old.pack.to_string(), new.pack.to_string());
    let stock = |offer: &Offer| known(offer.stock, "any");
    differ("stock", stock(old), stock(new));
    let lead = |offer: &Offer| known(offer.lead_days.map(u64::from), "unknown");
    differ("lead days", lead(old), lead(new));
    notes
}
