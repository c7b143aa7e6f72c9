//! Offers as the program sees them: only breaks that can pay, each with the
//! least and the most packs that can make sense.

use super::problem::{Break, Offer, Problem, Supplier, float};
use crate::catalog::{OfferId, PartId, SupplierId};
use crate::fit::Fit;
use crate::input::Input;
use crate::units::Qty;
use rust_decimal::Decimal;

/// Adds the usable offers of the parts in `sets`, and their suppliers. Breaks and
/// packs are those that can pay at the prices as they are, or with all prices of
/// a part times one of its `factors`; costs are those at the prices as they are.
pub(super) fn add_offers(
    problem: &mut Problem,
    input: &Input,
    fit: &Fit,
    factors: &[(PartId, Decimal)],
) {
    let mut usable: Vec<(usize, OfferId)> = Vec::new();
    for (p, part) in problem.parts.iter().enumerate() {
        for (id, _) in input.catalog.offers_of(part.id) {
            if fit.offers.binary_search(&id).is_ok() {
                usable.push((p, id));
            }
        }
    }
    let mut suppliers: Vec<SupplierId> = usable
        .iter()
        .map(|&(_, id)| input.catalog.offer(id).supplier)
        .collect();
    suppliers.sort_unstable();
    suppliers.dedup();
    let offers: Vec<OfferId> = usable.iter().map(|&(_, id)| id).collect();
    problem.suppliers = (suppliers.iter())
        .map(|&id| supplier(input, &offers, id))
        .collect();
    for (p, id) in usable {
        let Ok(s) = suppliers.binary_search(&input.catalog.offer(id).supplier) else {
            continue;
        };
        let usable = Usable {
            id,
            part: p,
            supplier: s,
        };
        let offer = offer(problem, input, factors, usable);
        problem.parts[p].offers.push(problem.offers.len());
        problem.suppliers[s].offers.push(problem.offers.len());
        problem.offers.push(offer);
    }
    for p in 0..problem.parts.len() {
        problem.parts[p].surplus_value = float(lowest_price(problem, input, p));
    }
}

fn supplier(input: &Input, offers: &[OfferId], id: SupplierId) -> Supplier {
    let supplier = input.catalog.supplier(id);
    let (rate, units) = (rate(input, id), units(input, offers, id));
    let duty = Decimal::ONE + supplier.duty_percent.0 / Decimal::ONE_HUNDRED;
    Supplier {
        shipping: float(supplier.shipping.0 * rate),
        units: float(units),
        free_over: supplier.free_over.map(|m| float(m.0 * units)),
        min_order: supplier.min_order.map_or(0.0, |m| float(m.0 * units)),
        goods_rate: float(rate * duty / units),
        offers: Vec::new(),
    }
}

/// Decimals of money that are plain to the solver: its tolerance is a millionth.
const PLAIN_DECIMALS: u32 = 4;

/// How many units of money make one of a supplier's currency.
fn units(input: &Input, offers: &[OfferId], id: SupplierId) -> Decimal {
    let supplier = input.catalog.supplier(id);
    let own = offers.iter().map(|&offer| input.catalog.offer(offer));
    let prices = own.filter(|o| o.supplier == id).flat_map(|o| &o.breaks);
    let prices = prices.map(|b| b.unit_price);
    let thresholds = [supplier.free_over, supplier.min_order];
    let mut money = prices.chain(thresholds.into_iter().flatten());
    match money.any(|m| m.0.normalize().scale() > PLAIN_DECIMALS) {
        true => Decimal::ONE_THOUSAND,
        false => Decimal::ONE,
    }
}

fn rate(input: &Input, id: SupplierId) -> Decimal {
    (input.settings)
        .rate(&input.catalog.supplier(id).currency)
        .unwrap_or(Decimal::ONE)
}

/// What a piece of surplus of a part counts in the order of ties: the lowest
/// unit price of its usable offers, in the project's currency, without duty.
fn lowest_price(problem: &Problem, input: &Input, p: usize) -> Decimal {
    (problem.parts[p].offers.iter())
        .flat_map(|&o| {
            let offer = input.catalog.offer(problem.offers[o].id);
            let rate = rate(input, offer.supplier);
            offer.breaks.iter().map(move |b| b.unit_price.0 * rate)
        })
        .min()
        .unwrap_or_default()
}

/// A usable offer with the places of its part and supplier in [`Problem`].
#[derive(Clone, Copy)]
struct Usable {
    id: OfferId,
    part: usize,
    supplier: usize,
}

fn offer(problem: &Problem, input: &Input, factors: &[(PartId, Decimal)], usable: Usable) -> Offer {
    let offer = input.catalog.offer(usable.id);
    let own = factors.iter().filter(|(part, _)| *part == offer.part);
    let mut breaks: Vec<Break> = Vec::new();
    for factor in own.map(|f| f.1).chain([Decimal::ONE]) {
        for step in breaks_at(problem, input, usable, factor) {
            // A break is known by its least packs.
            match breaks.iter_mut().find(|b| b.lo == step.lo) {
                Some(kept) => kept.up = kept.up.max(step.up),
                None => breaks.push(step),
            }
        }
    }
    breaks.sort_by_key(|b| b.lo);
    Offer {
        id: usable.id,
        part: usable.part,
        supplier: usable.supplier,
        pack: offer.pack,
        breaks,
    }
}

/// The breaks that can pay where prices are times a factor; costs are those at
/// the prices as they are.
fn breaks_at(problem: &Problem, input: &Input, usable: Usable, factor: Decimal) -> Vec<Break> {
    let offer = input.catalog.offer(usable.id);
    let of = &problem.suppliers[usable.supplier];
    let supplier = input.catalog.supplier(offer.supplier);
    let duty = Decimal::ONE + supplier.duty_percent.0 / Decimal::ONE_HUNDRED;
    let rate = rate(input, offer.supplier);
    let part = &problem.parts[usable.part];
    let most = part.most_needed().saturating_sub(part.on_hand);
    let stock = offer.stock.unwrap_or(Qty::MAX) / offer.pack;
    let mut breaks = Vec::new();
    for (t, step) in offer.breaks.iter().enumerate() {
        let lo = step.min_qty.div_ceil(offer.pack).max(1);
        let next = (offer.breaks.get(t + 1)).map_or(Qty::MAX, |b| (b.min_qty - 1) / offer.pack);
        let wanted = most.div_ceil(offer.pack).max(lo);
        let price = float(step.unit_price.0 * factor);
        let slack = headroom(of, price, rate);
        let slack = slack.saturating_add(offer.pack - 1).div_ceil(offer.pack);
        let up = wanted.saturating_add(slack).min(next).min(stock);
        if lo <= up {
            let goods = step.unit_price.times(offer.pack).0;
            breaks.push(Break {
                lo,
                up,
                pack_cost: float(goods * duty * rate),
                pack_goods: float(goods) * of.units,
            });
        }
    }
    let most = most.div_ceil(offer.pack);
    worth_having(breaks, most, of, float(factor))
}

/// The most pieces beyond the need that can pay to reach a supplier's thresholds.
///
/// Nobody buys surplus for more than the shipping fee to reach free shipping,
/// since paying the fee is cheaper. Nobody buys surplus for more than the least
/// order to reach the least order, since less surplus is enough.
fn headroom(supplier: &Supplier, unit_price: f64, rate: Decimal) -> Qty {
    if unit_price <= 0.0 {
        return 0;
    }
    let fee = match supplier.free_over {
        Some(_) => supplier.shipping / float(rate).max(f64::MIN_POSITIVE),
        None => 0.0,
    };
    let least = supplier.min_order / supplier.units;
    ((fee + least) / unit_price).ceil().min(1e9) as Qty
}

/// Drops breaks that can't pay: even their least quantity costs more than the
/// most that can be needed at a lower break, by more than the supplier's
/// thresholds could give back. A lower break must come to the least order by itself,
/// since perhaps no other part is bought there. Prices are times `factor`.
fn worth_having(breaks: Vec<Break>, most: Qty, supplier: &Supplier, factor: f64) -> Vec<Break> {
    let fee = supplier.free_over.map_or(0.0, |_| supplier.shipping);
    let saving = fee + supplier.min_order * supplier.goods_rate;
    let suffices = |b: &&Break| {
        let goods = b.pack_goods * factor * b.up as f64;
        b.up >= most && goods >= supplier.min_order
    };
    let mut kept: Vec<Break> = Vec::new();
    for step in breaks {
        let enough = (kept.iter())
            .filter(suffices)
            .map(|b| b.pack_cost * factor * most.max(b.lo) as f64)
            .fold(f64::INFINITY, f64::min);
        let least = step.pack_cost * factor * step.lo as f64;
        if step.lo <= most || least - saving < enough {
            kept.push(step);
        }
    }
    kept
}
