//! The smallest change to one limit that helps, each tried and audited.

use super::found::{Change, Easing};
use super::group::{Group, Machine, of_machine, relaxed, set_face, set_pin, set_stock, twins};
use super::more_keys::{models, with_keys};
use super::trial::Maker;
use super::trial::{Trial, Trials};
use crate::catalog::{Offer, OfferId, PartId, SupplierId};
use crate::fit::{Class, Fit, Side};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::study::failure::Failure;
use crate::units::{Money, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeSet;

/// The project with a change to a limit. Further keys have the bodies and prices
/// of the keys that are there.
pub fn changed(input: &Input, maker: Maker<'_>, group: &Group, change: &Change) -> Input {
    let plain = || relaxed(input, &BTreeSet::from([group.clone()]));
    match (group, change) {
        (Group::Stock(offer), Change::Pieces(qty)) => with_stock(input, *offer, *qty),
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
            set_pin(input, *circuit, *side, key.as_ref());
        }),
        (Group::Face(circuit, side), Change::Face(face)) => edited(input, |input| {
            set_face(input, *circuit, *side, face.as_ref());
        }),
        (Group::NetKeys(machine, net), Change::NetKeys(keys)) => {
            with_net_keys(input, (*machine, net), keys)
        }
        (
            _,
            Change::Keys {
                interface,
                more,
                nets,
            },
        ) => {
            let (machine, at) = match group {
                Group::KeyingAt(machine, at) => (*machine, Some(at)),
                Group::KeyingEverywhere(machine) => (*machine, None),
                _ => (0, None),
            };
            let models = maker(input).map(|fit| models(&fit, sees(input, machine, at)));
            let mut models = models.into_iter().flatten();
            match models.find(|model| model.interface == *interface) {
                Some(model) => with_keys(input, &model, *more, (machine, nets)),
                None => input.clone(),
            }
        }
        _ => plain(),
    }
}

/// Whether the keying rule at a location, or anywhere in a machine, sees ends.
fn sees<'a>(
    base: &'a Input,
    machine: Machine,
    location: Option<&'a String>,
) -> impl Fn(&Class) -> bool + 'a {
    let ignored = &base.rules(machine).keying.ignore_at;
    move |class| {
        let at = &class.location;
        class.machine == machine && location.map_or(!ignored.contains(at), |l| l == at)
    }
}

/// The smallest change to each limit that helps. What switches a rule off stands only
/// where nothing else of any limit was found to help.
pub(super) fn ease_all(
    input: &Input,
    alone: &Input,
    groups: &BTreeSet<Group>,
    trials: &Trials<'_>,
) -> Result<Vec<Easing>, Failure> {
    let mut easings = Vec::new();
    for (place, group) in groups.iter().enumerate() {
        trials.limit.is_at(place, groups.len());
        easings.push(ease(input, alone, group, trials)?);
    }
    let last = |group: &Group, easing: &Easing| is_last_resort(group, easing);
    let others: Vec<Easing> = (groups.iter().zip(&easings))
        .filter(|(group, easing)| !last(group, easing))
        .map(|(_, easing)| easing.clone())
        .collect();
    let helps = others.iter().any(|e| matches!(e, Easing::Found { .. }));
    for (group, easing) in groups.iter().zip(&mut easings) {
        if last(group, easing) && !others.is_empty() {
            *easing = match helps {
                true => Easing::Elsewhere,
                false => Easing::OutOfTime,
            };
        }
    }
    Ok(easings)
}

/// True if a location would have to be left out of the keying rule.
fn is_last_resort(group: &Group, easing: &Easing) -> bool {
    let change = match easing {
        Easing::Found { change, .. } => Some(change),
        Easing::Elsewhere | Easing::OutOfTime => None,
    };
    matches!(
        (group, change),
        (Group::KeyingAt(..), Some(Change::NoKeying))
    )
}

/// The smallest change to `group` that helps the project, or else the conflict
/// alone.
fn ease(
    input: &Input,
    alone: &Input,
    group: &Group,
    trials: &Trials<'_>,
) -> Result<Easing, Failure> {
    let lifted = BTreeSet::from([group.clone()]);
    for (base, is_enough) in [(input, true), (alone, false)] {
        match trials.run(&relaxed(base, &lifted))? {
            Trial::Feasible(plan) => {
                let found = least(base, group, &plan, trials)?;
                return Ok(
                    found.map_or(Easing::OutOfTime, |(change, is_least)| Easing::Found {
                        change,
                        is_enough,
                        is_least,
                    }),
                );
            }
            Trial::Infeasible => {}
            Trial::Unknown => return Ok(Easing::OutOfTime),
        }
    }
    Ok(Easing::OutOfTime)
}

/// The least change, given a plan without the limit; and whether it is proven. None
/// where the time ran out before it was known which change that is.
fn least(
    base: &Input,
    group: &Group,
    plan: &Plan,
    trials: &Trials<'_>,
) -> Result<Option<(Change, bool)>, Failure> {
    Ok(match group {
        Group::KeyingAt(machine, at) => {
            keys(base, (*machine, Some(at)), trials)?.map(|change| (change, true))
        }
        Group::KeyingEverywhere(machine) => {
            keys(base, (*machine, None), trials)?.map(|change| (change, true))
        }
        Group::NetKeys(machine, net) => Some(net_keys(base, (*machine, net), plan, trials)?),
        group => Some(least_of_others(base, group, plan, trials)?),
    })
}

/// The least change to a limit that is no limit on keys.
fn least_of_others(
    base: &Input,
    group: &Group,
    plan: &Plan,
    trials: &Trials<'_>,
) -> Result<(Change, bool), Failure> {
    let settings = &base.settings;
    match group {
        Group::Stock(offer) => {
            let now = base.catalog.offer(*offer).stock.unwrap_or(0);
            let most = bought(base, plan, *offer);
            let (least, proven) = climb((now, most), trials, |qty| with_stock(base, *offer, qty))?;
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
        Group::Face(circuit, side) => {
            let face = only(base, plan, (*circuit, *side), |end| &end.interface);
            Ok((Change::Face(face), true))
        }
        Group::Pin(circuit, side) => {
            let key = only(base, plan, (*circuit, *side), |end| &end.key);
            Ok((Change::Key(key), true))
        }
        // What is left can only be given up.
        _ => Ok((Change::Allow, true)),
    }
}

fn edited(base: &Input, edit: impl FnOnce(&mut Input)) -> Input {
    let mut input = base.clone();
    edit(&mut input);
    input
}

fn with_stock(base: &Input, offer: OfferId, qty: Qty) -> Input {
    edited(base, |input| set_stock(input, offer, Some(qty)))
}

fn with_net_keys(base: &Input, (machine, net): (Machine, &str), more: &[String]) -> Input {
    edited(base, |input| {
        of_machine(input, machine, |settings| {
            if let Some(keys) = settings.keying.keys.get_mut(net) {
                keys.extend(more.iter().cloned());
            }
        });
    })
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

fn bought(base: &Input, plan: &Plan, offer: OfferId) -> Qty {
    let offer = base.catalog.offer(offer);
    let part = &base.catalog.part(offer.part).code;
    let supplier = &base.catalog.supplier(offer.supplier).name;
    let orders = plan.orders.iter().filter(|o| o.supplier == *supplier);
    let lines = orders.flat_map(|o| &o.lines);
    let of_offer = lines.filter(|l| l.part == *part && l.sku == offer.sku);
    of_offer.map(|l| l.qty).sum()
}

fn used(base: &Input, plan: &Plan, part: PartId) -> Qty {
    let code = &base.catalog.part(part).code;
    let mut parts = plan.parts.iter();
    let record = parts.find(|p| p.part == *code);
    record.map_or(0, |p| p.on_hand_used)
}

/// The highest least order with which there is a plan, rounded down to a cent of the
/// supplier's currency; and whether it is proven the highest.
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
        let is_it = |o: &Offer| o.supplier == supplier && o.sku == line.sku;
        offers.find(|(_, o)| is_it(o))?.1.lead_days
    });
    days.max().unwrap_or(0)
}

/// The one word that the plan without the wish has at this side, or none.
fn only(
    base: &Input,
    plan: &Plan,
    (circuit, side): (usize, Side),
    word: impl Fn(&EndRecord) -> &String,
) -> Option<String> {
    let twins = twins(base, circuit).into_iter();
    let names: Vec<&str> = (twins.filter_map(|place| base.circuits.get(place)))
        .map(|c| c.name.as_str())
        .collect();
    let is_of = |end: &EndRecord| names.contains(&&*end.circuit_name());
    let here = |end: &&EndRecord| is_of(end) && end.end == side.word();
    let words: BTreeSet<&String> = plan.ends.iter().filter(here).map(word).collect();
    let only = words.first().filter(|w| words.len() == 1 && !w.is_empty());
    only.map(|word| (*word).clone())
}

/// The fewest keys more in the list of a net with which there is a plan, and whether
/// that is proven. Keys that no net has in its list come first.
fn net_keys(
    base: &Input,
    (machine, net): (Machine, &str),
    plan: &Plan,
    trials: &Trials<'_>,
) -> Result<(Change, bool), Failure> {
    let lists = &base.rules(machine).keying.keys;
    let own = lists.get(net).cloned().unwrap_or_default();
    let machines: Vec<&str> = (base.sharing(machine).into_iter())
        .map(|machine| base.machine_name(machine).unwrap_or_default())
        .collect();
    let is_of = |end: &&EndRecord| end.net == net && machines.contains(&&*end.machine);
    let ends = plan.ends.iter().filter(is_of);
    let planned: BTreeSet<&str> = ends.map(|end| end.key.as_str()).collect();
    let is_new = |key: &&str| !key.is_empty() && !own.contains(*key);
    let enough: Vec<String> = (planned.into_iter().filter(is_new))
        .map(str::to_owned)
        .collect();
    let without = relaxed(
        base,
        &BTreeSet::from([Group::NetKeys(machine, net.to_owned())]),
    );
    let fit = trials.fit(&without);
    let usable: BTreeSet<&str> = (fit.iter())
        .flat_map(|fit| keys_of(fit, machine, net))
        .collect();
    let mut usable: Vec<&str> = usable.into_iter().filter(is_new).collect();
    let is_taken = |key: &str| lists.values().any(|keys| keys.contains(key));
    usable.sort_by_key(|key| (is_taken(key), *key));
    for size in 1..enough.len().max(2) {
        let mut chosen: Vec<usize> = (0..size).collect();
        while chosen.last().is_some_and(|last| *last < usable.len()) {
            let more: Vec<String> = (chosen.iter().filter_map(|i| usable.get(*i)))
                .map(|key| (*key).to_owned())
                .collect();
            match trials.run(&with_net_keys(base, (machine, net), &more))? {
                Trial::Feasible(_) => return Ok((Change::NetKeys(more), true)),
                Trial::Infeasible => {}
                Trial::Unknown => return Ok((Change::NetKeys(enough), false)),
            }
            next_choice(&mut chosen, usable.len());
        }
    }
    Ok((Change::NetKeys(enough), true))
}

/// The next choice of so many of `of` things, in order; after the last choice its last
/// place is beyond them.
fn next_choice(chosen: &mut [usize], of: usize) {
    let size = chosen.len();
    let room = |place: usize| of - (size - place);
    let Some(place) = (0..size).rev().find(|&p| chosen[p] < room(p)) else {
        chosen.fill(of);
        return;
    };
    let first = chosen[place] + 1;
    for (step, value) in chosen[place..].iter_mut().enumerate() {
        *value = first + step;
    }
}

/// The keys that some end of a net of a machine can have.
fn keys_of<'f>(fit: &'f Fit, machine: Machine, net: &str) -> impl Iterator<Item = &'f str> {
    let is_of = move |class: &&Class| class.machine == machine && class.net == net;
    let classes = fit.classes.iter().filter(is_of);
    let plugs = classes.flat_map(|class| &class.plugs);
    plugs.filter_map(|plug| fit.identities.get(plug.identity).map(|id| id.key.as_str()))
}

/// The fewest more keys of one interface with which there is a plan; where there is
/// none, with these keys also in the lists of nets that have lists. None where the time
/// ran out.
fn keys(
    base: &Input,
    (machine, location): (Machine, Option<&String>),
    trials: &Trials<'_>,
) -> Result<Option<Change>, Failure> {
    let Some(fit) = trials.fit(base) else {
        return Ok(None);
    };
    let sees = sees(base, machine, location);
    let seen = || fit.classes.iter().filter(|class| sees(class));
    let feeds: BTreeSet<(&str, &str)> = seen()
        .map(|class| (class.net.as_str(), class.branch.as_str()))
        .collect();
    let lists = &base.rules(machine).keying.keys;
    let listed: BTreeSet<&String> = seen()
        .map(|class| &class.net)
        .filter(|net| lists.contains_key(*net))
        .collect();
    let models = models(&fit, &sees);
    for nets in lists_to_try(&listed) {
        for more in 1..=feeds.len() {
            for model in &models {
                match trials.run(&with_keys(base, model, more, (machine, &nets)))? {
                    Trial::Feasible(_) => {
                        let interface = model.interface.clone();
                        return Ok(Some(Change::Keys {
                            interface,
                            more,
                            nets,
                        }));
                    }
                    Trial::Infeasible => {}
                    Trial::Unknown => return Ok(None),
                }
            }
        }
    }
    Ok(Some(Change::NoKeying))
}

/// No list, each list alone, all lists together.
fn lists_to_try(listed: &BTreeSet<&String>) -> Vec<Vec<String>> {
    let mut lists = vec![Vec::new()];
    lists.extend(listed.iter().map(|net| vec![(*net).clone()]));
    if listed.len() > 1 {
        lists.push(listed.iter().map(|net| (*net).clone()).collect());
    }
    lists
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_come_in_order_and_each_once() {
        let mut all = Vec::new();
        let mut chosen = vec![0, 1];
        while chosen[1] < 4 {
            all.push((chosen[0], chosen[1]));
            next_choice(&mut chosen, 4);
        }
        assert_eq!(all, [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]);
        let mut alone = vec![0];
        next_choice(&mut alone, 1);
        assert_eq!(alone, [1]);
    }
}
