//! Rule `supply`: a part can be had at all: it is not excluded, and some of it
//! is on hand or ordered, or an offer can be used. Whether there is enough is for the
//! search to say.

use super::definition::Definition;
use super::end::End;
use super::fact::{Extreme, Fact};
use super::phrase::count;
use crate::catalog::{Offer, OfferId, PartId};
use crate::input::Input;
use crate::units::Qty;
use rust_decimal::Decimal;

/// The rule looks at offers and at what is on hand, not at the end. So [`lack`] has the check.
pub(super) const RULE: Definition = Definition::named("supply");

/// Why a part cannot be had. Of several offers, the reason is what stands against the
/// offer that comes nearest. The later a reason is in this order, the nearer the part comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lack {
    /// The project excludes the part.
    Excluded,
    /// No supplier offers the part, and no piece is on hand or ordered.
    NoOffer,
    /// The project excludes each supplier that offers the part.
    Supplier,
    /// The shortest lead time is above the limit.
    Slow {
        /// Days until delivery.
        days: u32,
        /// The most days that the project allows.
        limit: u32,
    },
    /// The stock does not reach the least quantity in whole packs.
    Short {
        /// Pieces that the supplier has.
        stock: Qty,
        /// The least pieces that can be ordered.
        least: Qty,
    },
}

/// Why the part cannot be had for a machine; none if it can.
pub fn lack_at(input: &Input, machine: usize, part: PartId) -> Option<Lack> {
    match input.excludes(machine, &input.catalog.part(part).code) {
        true => Some(Lack::Excluded),
        false => lack(input, part),
    }
}

/// Why the part cannot be had for any machine; none if it can.
pub fn lack(input: &Input, part: PartId) -> Option<Lack> {
    let code = &input.catalog.part(part).code;
    if input.settings.exclude_parts.contains(code) {
        return Some(Lack::Excluded);
    }
    if input.available(part) > 0 {
        return None;
    }
    let mut nearest = Lack::NoOffer;
    for (_, offer) in input.catalog.offers_of(part) {
        nearest = nearer(nearest, offer_lack(input, offer)?);
    }
    Some(nearest)
}

/// The offers of a part that can be used, by id.
pub fn usable_offers(input: &Input, part: PartId) -> impl Iterator<Item = OfferId> {
    let excluded = input
        .settings
        .exclude_parts
        .contains(&input.catalog.part(part).code);
    input
        .catalog
        .offers_of(part)
        .filter(move |(_, offer)| !excluded && offer_lack(input, offer).is_none())
        .map(|(id, _)| id)
}

/// Why an offer cannot be used; none if it can.
pub fn offer_lack(input: &Input, offer: &Offer) -> Option<Lack> {
    let supplier = &input.catalog.supplier(offer.supplier).name;
    if input.settings.exclude_suppliers.contains(supplier) {
        return Some(Lack::Supplier);
    }
    if let (Some(days), Some(limit)) = (offer.lead_days, input.settings.max_lead_days)
        && days > limit
    {
        return Some(Lack::Slow { days, limit });
    }
    let Some(least) = least_order(offer) else {
        return Some(Lack::NoOffer);
    };
    let stock = offer.stock?;
    (least > stock).then_some(Lack::Short { stock, least })
}

/// The least pieces of an offer that can be ordered: its smallest least quantity, in
/// whole packs. None where there is no break, or no number is large enough.
pub fn least_order(offer: &Offer) -> Option<Qty> {
    let pack = offer.pack.max(1);
    let least = offer.breaks.first()?.min_qty.max(1);
    least.div_ceil(pack).checked_mul(pack)
}

/// The nearer one of two reasons; of two lead times, the shorter.
fn nearer(one: Lack, other: Lack) -> Lack {
    match (one, other) {
        (Lack::Slow { days: a, .. }, Lack::Slow { days: b, .. }) if a < b => one,
        (Lack::Slow { .. }, Lack::Slow { .. }) => other,
        (one, other) => one.max(other),
    }
}

impl Lack {
    /// The reason, to stand after the part's code: `takes 40 days, max_lead_days is 30`.
    pub(crate) fn words(&self) -> String {
        match self {
            Lack::Excluded => "is in exclude_parts".to_owned(),
            Lack::NoOffer => "has no offer and none is on hand".to_owned(),
            Lack::Supplier => "is sold by excluded suppliers only".to_owned(),
            Lack::Slow { days, limit } => {
                let days = count(u64::from(*days), "day");
                format!("takes {days}, max_lead_days is {limit}")
            }
            Lack::Short { stock, least } => {
                format!("has {stock} in stock, the least order is {least}")
            }
        }
    }
}

impl Fact for Lack {
    fn has(&self, _: &End) -> String {
        self.words()
    }

    fn wants(&self, _: &End) -> String {
        "needs a part that can be had".to_owned()
    }

    fn reason(&self, _: &End) -> String {
        self.words()
    }

    fn group(&self, _: &End) -> String {
        match self {
            Lack::Excluded => "in exclude_parts".to_owned(),
            Lack::NoOffer => "no offer and none on hand".to_owned(),
            Lack::Supplier => "sold by excluded suppliers only".to_owned(),
            Lack::Slow { limit, .. } => format!("slower than max_lead_days = {limit}"),
            Lack::Short { .. } => "less in stock than the least order".to_owned(),
        }
    }

    fn extreme(&self, _: &End) -> Option<Extreme> {
        let Lack::Slow { days, .. } = self else {
            return None;
        };
        Some(Extreme {
            value: -Decimal::from(*days),
            word: "fastest",
            amount: count(u64::from(*days), "day"),
        })
    }
}
