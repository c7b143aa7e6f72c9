//! The smallest change to one limit that helps, each tried and audited.

use super::found::{Change, Easing};
use super::group::{Group, relaxed, set_pin, set_stock};
use super::more_keys::{models, with_keys};
use super::trial::Maker;
use super::trial::{Trial, Trials};
use crate::catalog::{PartId, SupplierId};
use crate::fit::Side;
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::study::failure::Failure;
use crate::units::{Money, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeSet;

/// The project with a change to a limit. Further keys have the bodies and prices
/// of those that are there.
pub fn changed(input: &Input, maker: Maker<'_>, group: &Group, change: &Change) -> Input {
    let plain = || relaxed(input, &BTreeSet::from([group.clone()]));
    match (group, change) {
        (Group::Stock(part, supplier), Change::Pieces(qty)) => {
            with_stock(input, *part, *supplier, *qty)
        }
        (Group::OnHand(part), Change::Pieces(qty)) => with_on_hand(input, *part, *qty),
        (Group::MinOrder(supplier), Change::Least(least)) => {
            with_min_order(input, *supplier, *least)
        }
        (Group::MaxVariants, Change::Number(n)) => edited(input, |input| {
            input.settings.max_variants = n.to_u32();
        }),
        (Group::MaxSuppliers, Change::Number(n)) => edited(input, |input| {
            input.settings.max_suppliers = n.to_u32();
        }),
        (Group::LeadTime, Change::Number(n)) => edited(input, |input| {
            input.settings.max_lead_days = n.to_u32();
        }),
        (Group::Pin(circuit, side), Change::Key(key)) => edited(input, |input| {
            set_pin(input, *circuit, *side, key.clone());
        }),
        (_, Change::Keys { interface, more }) => {
            let at = match group {
                Group::KeyingAt(at) => Some(at),
                _ => None,
            };
            let models = maker(input).map(|fit| models(&fit, sees(input, at)));
            let mut models = models.into_iter().flatten();
            match models.find(|model| model.interface == *interface) {
                Some(model) => with_keys(input, &model, *more),
                None => input.clone(),
            }
        }
        _ => plain(),
    }
}

/// Whether the keying rule at a location, or anywhere, sees another location.
fn sees<'a>(base: &'a Input, location: Option<&'a String>) -> impl Fn(&String) -> bool + 'a {
    let ignored = &base.settings.keying.ignore_at;
    move |at| location.map_or(!ignored.contains(at), |l| l == at)
}

/// The smallest change to `group` that helps the project, or else the conflict
/// alone.
pub(super) fn ease(
    input: &Input,
    alone: &Input,
    group: &Group,
    trials: &Trials<'_>,
) -> Result<Easing, Failure> {
    let lifted = BTreeSet::from([group.clone()]);
    for (base, is_enough) in [(input, true), (alone, false)] {
        match trials.run(&relaxed(base, &lifted))? {
            Trial::Feasible(plan) => {
                let (change, is_least) = least(base, group, &plan, trials)?;
                return Ok(Easing::Found {
                    change,
                    is_enough,
                    is_least,
                });
            }
            Trial::Infeasible => {}
            Trial::Unknown => return Ok(Easing::OutOfTime),
        }
    }
    Ok(Easing::OutOfTime)
}

/// The least change, given a plan without the limit; and whether it is proven.
fn least(
    base: &Input,
    group: &Group,
    plan: &Plan,
    trials: &Trials<'_>,
) -> Result<(Change, bool), Failure> {
    let settings = &base.settings;
    match group {
        Group::KeyingAt(at) => keys(base, Some(at), trials),
        Group::KeyingEverywhere => keys(base, None, trials),
        Group::Stock(part, supplier) => {
            let now = stock(base, *part, *supplier);
            let most = bought(base, plan, *part, *supplier);
            let (least, proven) = climb((now, most), trials, |qty| {
                with_stock(base, *part, *supplier, qty)
            })?;
            Ok((Change::Pieces(least), proven))
        }
        Group::OnHand(part) => {
            let now = base.on_hand.get(part).copied().unwrap_or(0);
            let (least, proven) = climb((now, used(base, plan, *part)), trials, |qty| {
                with_on_hand(base, *part, qty)
            })?;
            Ok((Change::Pieces(least), proven))
        }
        Group::MinOrder(supplier) => min_order(base, *supplier, plan, trials),
        Group::MaxVariants => {
            let now = settings.max_variants.unwrap_or(0).into();
            let (least, proven) = climb((now, plan.parts.len() as u64), trials, |most| {
                edited(base, |input| input.settings.max_variants = most.to_u32())
            })?;
            Ok((Change::Number(least), proven))
        }
        Group::MaxSuppliers => {
            let now = settings.max_suppliers.unwrap_or(0).into();
            let (least, proven) = climb((now, plan.orders.len() as u64), trials, |most| {
                edited(base, |input| input.settings.max_suppliers = most.to_u32())
            })?;
            Ok((Change::Number(least), proven))
        }
        Group::LeadTime => lead_time(base, plan, trials),
        Group::ExcludePart(_) | Group::ExcludeSupplier(_) => Ok((Change::Allow, true)),
        Group::Pin(circuit, side) => Ok((pin(base, plan, *circuit, *side), true)),
    }
}

fn edited(base: &Input, edit: impl FnOnce(&mut Input)) -> Input {
    let mut input = base.clone();
    edit(&mut input);
    input
}

fn with_stock(base: &Input, part: PartId, supplier: SupplierId, qty: Qty) -> Input {
    edited(base, |input| set_stock(input, part, supplier, Some(qty)))
}

fn with_on_hand(base: &Input, part: PartId, qty: Qty) -> Input {
    edited(base, |input| {
        input.on_hand.insert(part, qty);
    })
}

fn with_min_order(base: &Input, supplier: SupplierId, least: Money) -> Input {
    edited(base, |input| {
        if let Some(supplier) = input.catalog.suppliers.get_mut(supplier.0 as usize) {
            supplier.min_order = Some(least);
        }
    })
}

/// The least number above `low`, which is known to be too small, up to `high`,
/// which is known to be enough; and whether it is proven to be the least.
fn climb(
    (mut low, mut high): (u64, u64),
    trials: &Trials<'_>,
    at: impl Fn(u64) -> Input,
) -> Result<(u64, bool), Failure> {
    while high > low.saturating_add(1) {
        let middle = low + (high - low) / 2;
        match trials.run(&at(middle))? {
            Trial::Feasible(_) => high = middle,
            Trial::Infeasible => low = middle,
            Trial::Unknown => return Ok((high, false)),
        }
    }
    Ok((high, true))
}

fn stock(base: &Input, part: PartId, supplier: SupplierId) -> Qty {
    let mut offers = base.catalog.offers_of(part);
    let offer = offers.find(|(_, offer)| offer.supplier == supplier);
    offer.and_then(|(_, offer)| offer.stock).unwrap_or(0)
}

fn bought(base: &Input, plan: &Plan, part: PartId, supplier: SupplierId) -> Qty {
    let part = &base.catalog.part(part).code;
    let supplier = &base.catalog.supplier(supplier).name;
    let orders = plan.orders.iter().filter(|o| o.supplier == *supplier);
    let lines = orders.flat_map(|o| &o.lines);
    lines.filter(|l| l.part == *part).map(|l| l.qty).sum()
}

fn used(base: &Input, plan: &Plan, part: PartId) -> Qty {
    let code = &base.catalog.part(part).code;
    let mut parts = plan.parts.iter();
    let record = parts.find(|p| p.part == *code);
    record.map_or(0, |p| p.on_hand_used)
}

/// To a cent of the supplier's currency, rounded down.
fn min_order(
    base: &Input,
    supplier: SupplierId,
    plan: &Plan,
    trials: &Trials<'_>,
) -> Result<(Change, bool), Failure> {
    let of = base.catalog.supplier(supplier);
    let goods = |plan: &Plan| {
        let mut orders = plan.orders.iter();
        let order = orders.find(|order| order.supplier == of.name);
        order.map_or(0, |order| cents(order.goods))
    };
    let mut high = of.min_order.map_or(0, cents);
    let mut low = goods(plan);
    let mut proven = true;
    while high > low + 1 {
        let middle = low + (high - low) / 2;
        let least = Money(Decimal::new(middle, 2));
        let input = with_min_order(base, supplier, least);
        match trials.run(&input)? {
            Trial::Feasible(plan) => low = middle.max(goods(&plan)).min(high - 1),
            Trial::Infeasible => high = middle,
            Trial::Unknown => {
                proven = false;
                break;
            }
        }
    }
    Ok((Change::Least(Money(Decimal::new(low, 2))), proven))
}

fn cents(money: Money) -> i64 {
    let hundred = Decimal::ONE_HUNDRED;
    let cents = money
        .0
        .checked_mul(hundred)
        .and_then(|m| m.floor().to_i64());
    cents.unwrap_or(0)
}

/// The shortest lead time, of those that offers have, with which there is a plan.
fn lead_time(base: &Input, plan: &Plan, trials: &Trials<'_>) -> Result<(Change, bool), Failure> {
    let now = base.settings.max_lead_days.unwrap_or(0);
    let days: BTreeSet<u32> = base
        .catalog
        .offers
        .iter()
        .filter_map(|offer| offer.lead_days)
        .filter(|&days| days > now && days <= slowest(base, plan))
        .collect();
    let days: Vec<u32> = days.into_iter().collect();
    let nth = |place: u64| {
        let place = usize::try_from(place).unwrap_or(0);
        days.get(place.saturating_sub(1)).copied().unwrap_or(now)
    };
    let (least, proven) = climb((0, days.len() as u64), trials, |place| {
        edited(base, |input| {
            input.settings.max_lead_days = Some(nth(place))
        })
    })?;
    Ok((Change::Number(nth(least).into()), proven))
}

/// The longest lead time of what a plan buys.
fn slowest(base: &Input, plan: &Plan) -> u32 {
    let lines = plan
        .orders
        .iter()
        .flat_map(|order| order.lines.iter().map(move |line| (order, line)));
    let days = lines.filter_map(|(order, line)| {
        let part = base.catalog.find(&line.part)?;
        let supplier = base.catalog.find_supplier(&order.supplier)?;
        let mut offers = base.catalog.offers_of(part);
        offers.find(|(_, o)| o.supplier == supplier)?.1.lead_days
    });
    days.max().unwrap_or(0)
}

/// The one key that the plan without the pin has at this side, or none.
fn pin(base: &Input, plan: &Plan, circuit: usize, side: Side) -> Change {
    let name = base.circuits.get(circuit).map(|c| c.name.as_str());
    let here = |end: &&EndRecord| Some(end.circuit.as_str()) == name && end.end == side.word();
    let keys: BTreeSet<&str> = plan
        .ends
        .iter()
        .filter(here)
        .map(|e| e.key.as_str())
        .collect();
    let only = keys
        .first()
        .filter(|key| keys.len() == 1 && !key.is_empty());
    Change::Key(only.map(|key| (*key).to_owned()))
}

/// The fewest more keys of one interface with which there is a plan.
fn keys(
    base: &Input,
    location: Option<&String>,
    trials: &Trials<'_>,
) -> Result<(Change, bool), Failure> {
    let Some(fit) = trials.fit(base) else {
        return Ok((Change::NoKeying, false));
    };
    let sees = sees(base, location);
    let nets: BTreeSet<&str> = (fit.classes.iter())
        .filter(|class| sees(&class.location))
        .map(|class| class.net.as_str())
        .collect();
    let models = models(&fit, sees);
    for more in 1..=nets.len() {
        for model in &models {
            match trials.run(&with_keys(base, model, more))? {
                Trial::Feasible(_) => {
                    let interface = model.interface.clone();
                    return Ok((Change::Keys { interface, more }, true));
                }
                Trial::Infeasible => {}
                Trial::Unknown => return Ok((Change::NoKeying, false)),
            }
        }
    }
    Ok((Change::NoKeying, true))
}
