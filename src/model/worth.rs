//! What a solution is worth in the order of plans, in exact decimals.

use super::solution::{Set, Solution};
use crate::catalog::{Kind, PartId, Spec};
use crate::fit::Fit;
use crate::input::Input;
use crate::project::Per;
use crate::units::{Gauge, Money, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, BTreeSet};

/// The order of plans: least total, then fewest variants, then fewest keys to
/// remember, then least money in surplus. The part codes come last in that order,
/// and are not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Worth {
    /// In the project's currency.
    pub total: Money,
    /// Distinct parts fitted.
    pub variants: usize,
    /// Keys that nets have beyond one of each interface: Σ over nets and
    /// interfaces (different keys of the interface that the net has − 1).
    pub keys: usize,
    /// Surplus pieces, each at the lowest unit price that the part is offered
    /// at, in the project's currency without duty.
    pub surplus: Money,
}

/// The worth of a solution. The cost is computed from the solution's own
/// pieces, so the worth has nothing of the solver's arithmetic in it.
pub fn worth(input: &Input, fit: &Fit, solution: &Solution) -> Worth {
    let fitted = fitted(fit, &solution.sets);
    let mut bought: BTreeMap<PartId, Qty> = BTreeMap::new();
    for &(id, packs) in &solution.purchases {
        let offer = input.catalog.offer(id);
        *bought.entry(offer.part).or_default() += packs * offer.pack;
    }
    let mut surplus = Money::ZERO;
    for (&part, by_gauge) in &fitted {
        let need = by_gauge.values().sum::<Qty>() + spare(input, part, by_gauge);
        let used = need.min(input.available(part));
        let bought = bought.get(&part).copied().unwrap_or(0);
        let over = (bought + used).saturating_sub(need);
        surplus += lowest_price(input, fit, part).times(over);
    }
    let lines = input.settings.line_cost.times(fitted.len() as u64);
    Worth {
        total: orders(input, solution) + dies(input, fitted.keys()) + lines,
        variants: fitted.len(),
        keys: extra_keys(input, fit, &solution.sets),
        surplus,
    }
}

/// Keys that nets have beyond one of each interface.
pub(super) fn extra_keys(input: &Input, fit: &Fit, sets: &[Set]) -> usize {
    let mut keys: BTreeMap<(usize, &str, &str), BTreeSet<&str>> = BTreeMap::new();
    for (end, set) in fit.ends.iter().zip(sets) {
        if let Some(body) = input.catalog.part(set.plug).body() {
            let of_net = keys
                .entry((end.machine, &end.net, &body.interface))
                .or_default();
            of_net.insert(&body.key);
        }
    }
    keys.values().map(|keys| keys.len() - 1).sum()
}

/// Pieces fitted of each part in all copies, by gauge.
fn fitted(fit: &Fit, sets: &[Set]) -> BTreeMap<PartId, BTreeMap<Gauge, Qty>> {
    let mut fitted: BTreeMap<PartId, BTreeMap<Gauge, Qty>> = BTreeMap::new();
    for (end, set) in fit.ends.iter().zip(sets) {
        for (part, qty) in set.pieces() {
            let by_gauge = fitted.entry(part).or_default();
            *by_gauge.entry(end.gauge).or_default() += qty * end.copies;
        }
    }
    fitted
}

fn spare(input: &Input, part: PartId, by_gauge: &BTreeMap<Gauge, Qty>) -> Qty {
    let kind: Kind = input.catalog.part(part).kind();
    let Some(rule) = input.settings.spares.get(&kind) else {
        return 0;
    };
    let of = |fitted: Qty| {
        let share = rule.percent.0 * Decimal::from(fitted) / Decimal::ONE_HUNDRED;
        rule.minimum.max(share.ceil().to_u64().unwrap_or(0))
    };
    match rule.per {
        Per::Gauge => by_gauge.values().map(|&n| of(n)).sum(),
        Per::Part => of(by_gauge.values().sum()),
    }
}

fn lowest_price(input: &Input, fit: &Fit, part: PartId) -> Money {
    (input.catalog.offers_of(part))
        .filter(|(id, _)| fit.offers.binary_search(id).is_ok())
        .flat_map(|(_, offer)| {
            let currency = &input.catalog.supplier(offer.supplier).currency;
            let rate = input.settings.rate(currency).unwrap_or(Decimal::ONE);
            offer.breaks.iter().map(move |b| b.unit_price * rate)
        })
        .min()
        .unwrap_or(Money::ZERO)
}

/// Goods, duty and shipping of all suppliers, in the project's currency.
fn orders(input: &Input, solution: &Solution) -> Money {
    let mut goods: BTreeMap<_, Money> = BTreeMap::new();
    for &(id, packs) in &solution.purchases {
        let offer = input.catalog.offer(id);
        let qty = packs * offer.pack;
        let price = offer.break_at(qty).map_or(Money::ZERO, |b| b.unit_price);
        *goods.entry(offer.supplier).or_default() += price.times(qty);
    }
    let bill = |(&id, &goods): (_, &Money)| {
        let supplier = input.catalog.supplier(id);
        let rate = (input.settings.rate(&supplier.currency)).unwrap_or(Decimal::ONE);
        let free = supplier.free_over.is_some_and(|over| goods >= over);
        let shipping = if free { Money::ZERO } else { supplier.shipping };
        (goods + goods.percent(supplier.duty_percent.0) + shipping) * rate
    };
    goods.iter().map(bill).sum()
}

fn dies<'a>(input: &Input, parts: impl Iterator<Item = &'a PartId>) -> Money {
    let named: BTreeSet<_> = parts
        .filter_map(|&part| match &input.catalog.part(part).spec {
            Spec::Ferrule(ferrule) => ferrule.die,
            _ => None,
        })
        .collect();
    (named.into_iter().filter(|id| !input.owns(*id)))
        .map(|id| input.catalog.die(id).cost)
        .sum()
}
