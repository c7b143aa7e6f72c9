//! The price table that a list is made from, and that taking the list has to bring back.

use crate::layout::{Breaks, Lead, Pack, Stock, Style, Unit};
use couplet::catalog::Offer;
use fastrand::Rng;
use rust_decimal::Decimal;

/// An offer as it is known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Known {
    pub part: String,
    pub sku: String,
    pub steps: Vec<(u64, Decimal)>,
    pub pack: u64,
    pub stock: Option<u64>,
    pub lead_days: Option<u32>,
    /// For how many pieces the list has the price.
    pub per: u64,
    /// Percent off at each step after the first.
    pub discounts: Vec<Decimal>,
}

/// What a price list holds of it.
pub type Row = (
    String,
    String,
    Vec<(u64, Decimal)>,
    u64,
    Option<u64>,
    Option<u32>,
);

impl Known {
    pub fn row(&self) -> Row {
        let steps = self.steps.iter().map(|(n, price)| (*n, price.normalize()));
        let (part, sku) = (self.part.clone(), self.sku.clone());
        (
            part,
            sku,
            steps.collect(),
            self.pack,
            self.stock,
            self.lead_days,
        )
    }
}

/// What the catalog holds of an offer.
pub fn row(part: &str, offer: &Offer) -> Row {
    let steps = offer
        .breaks
        .iter()
        .map(|b| (b.min_qty, b.unit_price.0.normalize()));
    let (part, sku) = (part.to_owned(), offer.sku.clone());
    (
        part,
        sku,
        steps.collect(),
        offer.pack,
        offer.stock,
        offer.lead_days,
    )
}

/// An offer that a list of this style can say.
pub fn known(part: &str, sku: &str, style: &Style, rng: &mut Rng) -> Known {
    let pack = match style.pack {
        Pack::None => 1,
        _ => *rng.choice(&[1u64, 5, 10, 20, 25]).unwrap(),
    };
    let per = match style.unit {
        Unit::Fixed(per) => per,
        Unit::Column => *rng.choice(&[1u64, 10, 100]).unwrap(),
        Unit::Pack => pack,
    };
    let mut offer = Known {
        part: part.to_owned(),
        sku: sku.to_owned(),
        steps: Vec::new(),
        pack,
        stock: stock(style, rng),
        lead_days: lead(style, rng),
        per,
        discounts: Vec::new(),
    };
    steps(&mut offer, style, rng);
    offer
}

/// Other prices, the same quantities.
pub fn reprice(offer: &mut Known, style: &Style, rng: &mut Rng) {
    let quantities: Vec<u64> = offer.steps.iter().map(|(n, _)| *n).collect();
    let first = price(rng);
    for (place, (_, price)) in offer.steps.iter_mut().enumerate() {
        *price = match (style.breaks, place.checked_sub(1)) {
            (Breaks::Discounts, Some(at)) => less(first, offer.discounts[at]),
            (_, None) => first,
            (_, Some(_)) => first * Decimal::new(rng.i64(500..990), 3),
        }
        .normalize();
    }
    assert!(quantities.iter().eq(offer.steps.iter().map(|(n, _)| n)));
}

/// A price with two decimals, now and then above a thousand.
fn price(rng: &mut Rng) -> Decimal {
    let cents = if rng.u32(..4) == 0 {
        100_000..900_000
    } else {
        20..9_999
    };
    Decimal::new(rng.i64(cents), 2)
}

fn less(price: Decimal, percent: Decimal) -> Decimal {
    price * (Decimal::ONE_HUNDRED - percent) / Decimal::ONE_HUNDRED
}

/// Quantities from which prices hold, in pieces.
pub fn quantities(style: &Style, pack: u64) -> Vec<u64> {
    match style.breaks {
        Breaks::One => vec![1],
        Breaks::Discounts => vec![1, 5 * pack, 20 * pack],
        _ => vec![1, 10, 50],
    }
}

fn steps(offer: &mut Known, style: &Style, rng: &mut Rng) {
    let mut quantities = quantities(style, offer.pack);
    if style.breaks == Breaks::Rows || style.breaks == Breaks::Pairs {
        quantities = vec![1, rng.u64(2..20), rng.u64(20..500)];
    }
    if style.breaks != Breaks::One {
        quantities.truncate(rng.usize(1..=quantities.len()));
    }
    let first = price(rng);
    for (place, quantity) in quantities.into_iter().enumerate() {
        let price = match (place, style.breaks) {
            (0, _) => first,
            (_, Breaks::Discounts) => {
                let percent = Decimal::new(rng.i64(10..300), 1);
                offer.discounts.push(percent);
                less(first, percent)
            }
            _ => first * Decimal::new(rng.i64(500..990), 3),
        };
        offer.steps.push((quantity, price.normalize()));
    }
}

fn stock(style: &Style, rng: &mut Rng) -> Option<u64> {
    match style.stock {
        Stock::None => None,
        Stock::Number => Some(rng.u64(..3_000)),
        Stock::Words => match rng.u32(..3) {
            0 => None,
            1 => Some(0),
            _ => Some(rng.u64(1..100)),
        },
    }
}

fn lead(style: &Style, rng: &mut Rng) -> Option<u32> {
    match style.lead {
        Lead::None => None,
        Lead::Days => Some(rng.u32(1..90)),
        Lead::Weeks => Some(7 * rng.u32(1..12)),
        Lead::Words => match rng.u32(..3) {
            0 => Some(2),
            1 => None,
            _ => Some(7 * rng.u32(1..12)),
        },
    }
}
