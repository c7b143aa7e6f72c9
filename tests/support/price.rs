//! A plan of the reference, counted and priced again from its sets and lines
//! alone: the search may prune wrongly, but can't misprice what it found.

use super::brute::purchase::Market;
use super::brute::{Best, ends};
use couplet::catalog::{OfferId, PartId, Spec};
use couplet::input::Input;
use couplet::project::Per;
use couplet::units::{Gauge, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, BTreeSet};

/// Total, variants and money in surplus.
///
/// # Panics
///
/// Where a plan breaks a rule of the purchase.
pub fn figures(input: &Input, best: &Best) -> (Decimal, usize, Decimal) {
    counted(input, best).unwrap_or_else(|rule| panic!("{rule}"))
}

/// What a plan of a project with other money costs in this one; none where it
/// can't be ordered.
pub fn total_here(input: &Input, best: &Best) -> Option<Decimal> {
    counted(input, best).ok().map(|figures| figures.0)
}

fn counted(input: &Input, best: &Best) -> Result<(Decimal, usize, Decimal), &'static str> {
    let mut fitted: BTreeMap<PartId, BTreeMap<Gauge, Qty>> = BTreeMap::new();
    for (end, set) in ends(input).iter().zip(&best.sets) {
        for used in &set.uses {
            let gauges = fitted.entry(used.part).or_default();
            *gauges.entry(end.gauge).or_default() += used.qty;
        }
    }
    let surplus = fitted
        .iter()
        .map(|(&part, gauges)| surplus(input, best, part, gauges))
        .sum::<Decimal>();
    let stray = best
        .lines
        .iter()
        .map(|&(id, _)| input.catalog.offer(id).part);
    assert!(stray.into_iter().all(|part| fitted.contains_key(&part)));
    let lines = input.settings.line_cost.0 * Decimal::from(fitted.len());
    let total = orders(input, &best.lines)? + dies(input, fitted.keys()) + lines;
    Ok((total.normalize(), fitted.len(), surplus.normalize()))
}

fn surplus(input: &Input, best: &Best, part: PartId, gauges: &BTreeMap<Gauge, Qty>) -> Decimal {
    let all: Qty = gauges.values().sum();
    let kind = input.catalog.part(part).kind();
    let spare = input.settings.spares.get(&kind).map_or(0, |rule| {
        let of = |n: &Qty| {
            let share = (Decimal::from(*n) * rule.percent.0 / Decimal::ONE_HUNDRED).ceil();
            share.to_u64().expect("small").max(rule.minimum)
        };
        match rule.per {
            Per::Gauge => gauges.values().map(of).sum(),
            Per::Part => of(&all),
        }
    });
    let need = all + spare;
    let on_hand = input.on_hand.get(&part).map_or(0, |&q| q.min(need));
    let lines = best
        .lines
        .iter()
        .map(|&(id, qty)| (input.catalog.offer(id), qty));
    let lines: Vec<_> = lines.filter(|(offer, _)| offer.part == part).collect();
    let bought: Qty = lines.iter().map(|(_, qty)| qty).sum();
    assert!(bought + on_hand >= need, "too few");
    let value = Market::new(input).surplus_value(part);
    Decimal::from(bought + on_hand - need) * value
}

fn orders(input: &Input, lines: &[(OfferId, Qty)]) -> Result<Decimal, &'static str> {
    let mut goods = BTreeMap::new();
    for &(id, qty) in lines {
        let offer = input.catalog.offer(id);
        held(qty > 0 && qty.is_multiple_of(offer.pack), "packs")?;
        held(offer.stock.is_none_or(|stock| qty <= stock), "stock")?;
        let price = offer.break_at(qty).ok_or("the least quantity")?.unit_price;
        *goods.entry(offer.supplier).or_insert(Decimal::ZERO) += price.times(qty).0;
    }
    let most = input.settings.max_suppliers;
    held(
        most.is_none_or(|most| goods.len() <= most as usize),
        "suppliers",
    )?;
    let order = |(supplier, goods): (_, Decimal)| {
        let supplier = input.catalog.supplier(supplier);
        held(
            supplier.min_order.is_none_or(|least| goods >= least.0),
            "minimum",
        )?;
        let free = supplier.free_over.is_some_and(|over| goods >= over.0);
        let shipping = if free {
            Decimal::ZERO
        } else {
            supplier.shipping.0
        };
        let duty = goods * supplier.duty_percent.0 / Decimal::ONE_HUNDRED;
        let rate = input.settings.rate(&supplier.currency).expect("a rate");
        Ok((goods + duty + shipping) * rate)
    };
    goods.into_iter().map(order).sum()
}

fn held(rule: bool, name: &'static str) -> Result<(), &'static str> {
    rule.then_some(()).ok_or(name)
}

fn dies<'a>(input: &Input, parts: impl Iterator<Item = &'a PartId>) -> Decimal {
    let named = parts.filter_map(|&part| match &input.catalog.part(part).spec {
        Spec::Ferrule(ferrule) => ferrule.die,
        _ => None,
    });
    let mut named: BTreeSet<_> = named.collect();
    for row in &input.dies_ordered {
        named.remove(&row.die);
    }
    let dies = named.into_iter().map(|die| input.catalog.die(die));
    dies.filter(|d| !d.owned).map(|d| d.cost.0).sum()
}
