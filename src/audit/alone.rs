//! The audit of a record whose files are no longer there as they were: what it
//! says of itself must go together.

use super::finding::{Finding, LineName, differs};
use super::{cost, ends};
use crate::catalog::{Fitting, Half, Kind};
use crate::plan::{EndRecord, FittingRecord, Order, OrderLine, Plan};
use crate::units::Money;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Everything in which a record contradicts itself, each thing once; empty if
/// nothing does.
pub fn audit_alone(plan: &Plan) -> Vec<Finding> {
    let mut found = Vec::new();
    cost::proof(plan, &mut found);
    machines(plan, &mut found);
    words(plan, &mut found);
    for end in &plan.ends {
        built_in(end, &mut found);
    }
    parts(plan, &mut found);
    kinds(plan, &mut found);
    for order in &plan.orders {
        doubled(order, &mut found);
        bill(order, &mut found);
    }
    total(plan, &mut found);
    let mut told = BTreeSet::new();
    found.retain(|finding| told.insert(finding.clone()));
    found
}

/// Each machine stands once and is built at least once, and each end is of one of them;
/// where there are no machines, no end names one.
fn machines(plan: &Plan, found: &mut Vec<Finding>) {
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    for record in &plan.machines {
        let name = record.machine.as_str();
        if name.is_empty() || record.count == 0 || counts.insert(name, record.count).is_some() {
            found.push(Finding::WrongMachine(name.to_owned()));
        }
    }
    for end in &plan.ends {
        let is_known = counts.contains_key(end.machine.as_str());
        if !(is_known || counts.is_empty() && end.machine.is_empty()) {
            found.push(Finding::UnknownEnd(ends::name_of(end)));
        }
    }
}

/// Every end is on a side, and every fitting is of a kind on a half.
fn words(plan: &Plan, found: &mut Vec<Finding>) {
    let halves = [Half::Plug, Half::Receptacle].map(Half::word);
    let kinds = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell].map(Fitting::word);
    for end in &plan.ends {
        let name = ends::name_of(end);
        let unknown = (end.fittings.iter())
            .filter(|f| !halves.contains(&f.half.as_str()) || !kinds.contains(&f.kind.as_str()));
        found.extend(unknown.map(|f| {
            let words = format!("{} {}", f.half, f.kind);
            Finding::UnknownWord(name.clone(), words)
        }));
        if !["from", "to"].contains(&end.end.as_str()) {
            found.push(Finding::UnknownEnd(name));
        }
    }
}

/// A receptacle that is built in gets no fittings.
fn built_in(end: &EndRecord, found: &mut Vec<Finding>) {
    if end.receptacle.is_some() {
        return;
    }
    let name = ends::name_of(end);
    for fitting in [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell] {
        let half = Half::Receptacle;
        let is_it = |f: &FittingRecord| f.half == half.word() && f.kind == fitting.word();
        if end.fittings.iter().any(is_it) {
            found.push(Finding::UnneededFitting(name.clone(), half, fitting));
        }
    }
}

/// Each part is of the kind as which it is fitted.
fn kinds(plan: &Plan, found: &mut Vec<Finding>) {
    let mut kinds: BTreeMap<&str, &str> = BTreeMap::new();
    for end in &plan.ends {
        kinds.insert(&end.plug, Kind::Plug.word());
        if let Some(receptacle) = &end.receptacle {
            kinds.insert(receptacle, Kind::Receptacle.word());
        }
        let fittings = end.fittings.iter();
        kinds.extend(fittings.map(|f| (f.part.as_str(), f.kind.as_str())));
    }
    let facts = plan.parts.iter().filter_map(|record| {
        let kind = kinds.get(record.part.as_str())?;
        differs(format!("part {}", record.part), "kind", &record.kind, kind)
    });
    found.extend(facts.map(Finding::Part));
}

/// A part stands in an order once under each sku.
fn doubled(order: &Order, found: &mut Vec<Finding>) {
    let mut seen = BTreeSet::new();
    for line in &order.lines {
        if !seen.insert((&line.part, &line.sku)) {
            found.push(Finding::DoubledLine(name_of(order, line)));
        }
    }
}

/// Counts of the parts against the ends and the orders.
fn parts(plan: &Plan, found: &mut Vec<Finding>) {
    let (fitted, bought) = (fitted(plan), bought(plan));
    let mut seen = BTreeSet::new();
    for record in &plan.parts {
        let code = record.part.as_str();
        if !seen.insert(code) {
            found.push(Finding::DoubledPart(code.to_owned()));
        }
        if !fitted.contains_key(code) {
            found.push(Finding::UnfittedPart(code.to_owned()));
            continue;
        }
        let of = format!("part {code}");
        let count = |of: &BTreeMap<&str, u128>| of.get(code).copied().unwrap_or(0);
        let need = u128::from(record.fitted) + u128::from(record.spare);
        let have = u128::from(record.bought)
            + u128::from(record.on_hand_used)
            + u128::from(record.ordered_used);
        let facts = [
            differs(&of, "fitted", record.fitted, count(&fitted)),
            differs(&of, "bought", record.bought, count(&bought)),
            have.checked_sub(need)
                .and_then(|surplus| differs(&of, "surplus", record.surplus, surplus)),
        ];
        found.extend(facts.into_iter().flatten().map(Finding::Part));
        if have < need {
            let part = code.to_owned();
            found.push(Finding::Short { part, need, have });
        }
    }
    let missing = fitted.keys().filter(|code| !seen.contains(**code));
    found.extend(missing.map(|code| Finding::MissingPart((*code).to_owned())));
    for (order, line) in lines(plan).filter(|(_, line)| !fitted.contains_key(line.part.as_str())) {
        found.push(Finding::UnfittedLine(name_of(order, line)));
    }
}

fn fitted(plan: &Plan) -> BTreeMap<&str, u128> {
    let mut fitted: BTreeMap<&str, u128> = BTreeMap::new();
    let machines = plan.machines.iter();
    let counts: BTreeMap<&str, u64> = machines.map(|of| (of.machine.as_str(), of.count)).collect();
    for end in &plan.ends {
        let copies = counts.get(end.machine.as_str()).copied().unwrap_or(1);
        let bodies = [Some(&end.plug), end.receptacle.as_ref()];
        let bodies = bodies.into_iter().flatten().map(|code| (code, 1));
        let fittings = end.fittings.iter().map(|f| (&f.part, f.qty));
        for (code, qty) in bodies.chain(fittings) {
            let count = fitted.entry(code).or_default();
            // Any numbers may stand in a record.
            *count = count.saturating_add(u128::from(qty) * u128::from(copies));
        }
    }
    fitted
}

fn bought(plan: &Plan) -> BTreeMap<&str, u128> {
    let mut bought: BTreeMap<&str, u128> = BTreeMap::new();
    for (_, line) in lines(plan) {
        *bought.entry(&line.part).or_default() += u128::from(line.qty);
    }
    bought
}

fn lines(plan: &Plan) -> impl Iterator<Item = (&Order, &OrderLine)> {
    let orders = plan.orders.iter();
    orders.flat_map(|order| order.lines.iter().map(move |line| (order, line)))
}

fn name_of(order: &Order, line: &OrderLine) -> LineName {
    LineName {
        supplier: order.supplier.clone(),
        part: line.part.clone(),
        sku: line.sku.clone(),
    }
}

/// One order adds up, and each of its lines.
fn bill(order: &Order, found: &mut Vec<Finding>) {
    let mut goods = Some(Decimal::ZERO);
    for line in &order.lines {
        let name = name_of(order, line);
        let total = line.unit_price.0.checked_mul(line.qty.into());
        goods = goods.zip(total).and_then(|(sum, t)| sum.checked_add(t));
        let fact =
            total.and_then(|total| differs(&name, "line_total", line.line_total, Money(total)));
        found.extend(fact.map(|fact| Finding::Line(name.clone(), fact)));
        let is_whole = line.packs > 0 && line.qty % line.packs == 0 && line.qty > 0;
        if !is_whole {
            found.push(Finding::BrokenPack(name));
        }
    }
    let of = format!("order to {}", order.supplier);
    let sum = goods.and_then(|goods| {
        goods
            .checked_add(order.duty.0)?
            .checked_add(order.shipping.0)
            .map(|total| (goods, total))
    });
    let Some((goods, total)) = sum else {
        found.push(Finding::TooLarge(of));
        return;
    };
    let facts = [
        differs(&of, "goods", order.goods, Money(goods)),
        differs(&of, "total", order.total, Money(total)),
    ];
    found.extend(facts.into_iter().flatten().map(Finding::Order));
}

/// The terms add up; where all orders are in the project's currency, they are
/// what the orders come to.
fn total(plan: &Plan, found: &mut Vec<Finding>) {
    const OF: &str = "the cost";
    let cost = &plan.cost;
    let terms = [cost.goods, cost.duty, cost.shipping, cost.dies, cost.lines];
    let Some(total) = sum(terms) else {
        found.push(Finding::TooLarge("the total".to_owned()));
        return;
    };
    let mut facts = vec![
        differs(OF, "total", cost.total, total),
        sum([cost.total, cost.tax])
            .and_then(|sum| differs(OF, "total_with_tax", cost.total_with_tax, sum)),
    ];
    if plan.orders.iter().all(|o| o.currency == plan.currency) {
        let of_orders = |amount: fn(&Order) -> Money| sum(plan.orders.iter().map(amount));
        let sums = [
            ("goods", cost.goods, of_orders(|o| o.goods)),
            ("duty", cost.duty, of_orders(|o| o.duty)),
            ("shipping", cost.shipping, of_orders(|o| o.shipping)),
        ];
        facts.extend(
            sums.map(|(field, amount, sum)| sum.and_then(|sum| differs(OF, field, amount, sum))),
        );
    }
    found.extend(facts.into_iter().flatten().map(Finding::Cost));
}

fn sum(amounts: impl IntoIterator<Item = Money>) -> Option<Money> {
    let mut amounts = amounts.into_iter();
    amounts
        .try_fold(Decimal::ZERO, |sum, amount| sum.checked_add(amount.0))
        .map(Money)
}
