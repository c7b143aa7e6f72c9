//! The orders: what may be bought, in which quantities, at which price.

use super::count::Fitted;
use super::finding::{Finding, LineName, differs};
use crate::catalog::{Break, Offer, Supplier};
use crate::input::Input;
use crate::plan::{Order, OrderLine, Plan};
use crate::units::Money;
use rust_decimal::Decimal;
use std::collections::BTreeSet;

/// What one supplier bills, in its currency.
pub(super) struct Bill<'a> {
    pub(super) supplier: &'a Supplier,
    pub(super) goods: Decimal,
    pub(super) duty: Decimal,
    pub(super) shipping: Decimal,
}

/// Checks all orders and gives what they come to; none where an order can't be
/// priced, of which a finding tells.
pub(super) fn check<'a>(
    input: &'a Input,
    plan: &Plan,
    fitted: &Fitted,
    found: &mut Vec<Finding>,
) -> Option<Vec<Bill<'a>>> {
    listing(input, plan, found);
    let mut bills = Some(Vec::new());
    for order in &plan.orders {
        match (bill(input, order, fitted, found), &mut bills) {
            (Some(bill), Some(bills)) => bills.push(bill),
            _ => bills = None,
        }
    }
    bills
}

/// Each supplier has one order; orders are by name, and not too many.
fn listing(input: &Input, plan: &Plan, found: &mut Vec<Finding>) {
    let mut seen = BTreeSet::new();
    for order in &plan.orders {
        if !seen.insert(order.supplier.as_str()) {
            found.push(Finding::DoubledOrder(order.supplier.clone()));
        }
    }
    let mut pairs = plan.orders.iter().zip(plan.orders.iter().skip(1));
    let wrong = pairs.find(|(a, b)| a.supplier > b.supplier);
    found.extend(wrong.map(|(_, order)| Finding::OrdersOutOfOrder(order.supplier.clone())));
    let limit = input.settings.max_suppliers;
    if let Some(limit) = limit.filter(|limit| seen.len() as u128 > u128::from(*limit)) {
        found.push(Finding::TooManySuppliers {
            found: seen.len(),
            limit,
        });
    }
}

fn bill<'a>(
    input: &'a Input,
    order: &Order,
    fitted: &Fitted,
    found: &mut Vec<Finding>,
) -> Option<Bill<'a>> {
    let name = &order.supplier;
    if input.settings.exclude_suppliers.contains(name) {
        found.push(Finding::ExcludedSupplier(name.clone()));
    }
    if order.lines.is_empty() {
        found.push(Finding::EmptyOrder(name.clone()));
    }
    line_order(order, found);
    let Some(id) = input.catalog.find_supplier(name) else {
        found.push(Finding::UnknownSupplier(name.clone()));
        return None;
    };
    let supplier = input.catalog.supplier(id);
    let totals: Vec<Option<Decimal>> = order
        .lines
        .iter()
        .map(|line| line_total(input, order, line, fitted, found))
        .collect();
    let totals: Option<Vec<Decimal>> = totals.into_iter().collect();
    let bill = sum_up(supplier, &totals?);
    if bill.is_none() {
        found.push(Finding::TooLarge(format!("order to {name}")));
    }
    let (bill, total) = bill?;
    amounts(order, &bill, total, found);
    Some(bill)
}

/// Lines are by part code and sku, each of these once.
fn line_order(order: &Order, found: &mut Vec<Finding>) {
    let mut seen = BTreeSet::new();
    for line in &order.lines {
        if !seen.insert((line.part.as_str(), line.sku.as_str())) {
            found.push(Finding::DoubledLine(name_of(order, line)));
        }
    }
    let mut pairs = order.lines.iter().zip(order.lines.iter().skip(1));
    let wrong = pairs.find(|(a, b)| (&a.part, &a.sku) > (&b.part, &b.sku));
    found.extend(wrong.map(|(_, line)| Finding::LinesOutOfOrder(name_of(order, line))));
}

fn name_of(order: &Order, line: &OrderLine) -> LineName {
    LineName {
        supplier: order.supplier.clone(),
        part: line.part.clone(),
        sku: line.sku.clone(),
    }
}

/// What a line comes to; none where it can't be bought or priced.
fn line_total(
    input: &Input,
    order: &Order,
    line: &OrderLine,
    fitted: &Fitted,
    found: &mut Vec<Finding>,
) -> Option<Decimal> {
    let name = name_of(order, line);
    let Some(part) = input.catalog.find(&line.part) else {
        found.push(Finding::UnknownPart(line.part.clone()));
        return None;
    };
    if !fitted.contains_key(&part) {
        found.push(Finding::UnfittedLine(name.clone()));
    }
    let supplier = input.catalog.find_supplier(&order.supplier)?;
    let offers = input.catalog.offers.iter();
    let sold = offers.filter(|offer| offer.part == part && offer.supplier == supplier);
    let sold: Vec<&Offer> = sold.collect();
    let Some(&offer) = sold.iter().find(|offer| offer.sku == line.sku) else {
        found.push(match sold.is_empty() {
            true => Finding::NoOffer(name),
            false => Finding::NoSuchSku(name),
        });
        return None;
    };
    let slow = offer.lead_days.zip(input.settings.max_lead_days);
    if slow.is_some_and(|(days, limit)| days > limit) {
        found.push(Finding::TooSlow(name.clone()));
    }
    quantity(offer, line, &name, found);
    let Some(reached) = reached(offer, line) else {
        found.push(Finding::BelowLeast(name));
        return None;
    };
    let total = reached.unit_price.0.checked_mul(Decimal::from(line.qty));
    match total {
        Some(total) => price(line, reached, total, &name, found),
        None => found.push(Finding::TooLarge(name.to_string())),
    }
    total
}

/// A line is of whole packs, and within the stock.
fn quantity(offer: &Offer, line: &OrderLine, name: &LineName, found: &mut Vec<Finding>) {
    if offer.stock.is_some_and(|stock| line.qty > stock) {
        found.push(Finding::AboveStock(name.clone()));
    }
    let packs = line.qty.checked_div(offer.pack);
    match packs.filter(|packs| packs.checked_mul(offer.pack) == Some(line.qty)) {
        None => found.push(Finding::BrokenPack(name.clone())),
        Some(packs) => {
            let fact = differs(name, "packs", line.packs, packs);
            found.extend(fact.map(|fact| Finding::Line(name.clone(), fact)));
        }
    }
}

/// The break with the largest least quantity that the line reaches.
fn reached<'a>(offer: &'a Offer, line: &OrderLine) -> Option<&'a Break> {
    offer
        .breaks
        .iter()
        .filter(|step| step.min_qty.max(1) <= line.qty)
        .max_by_key(|step| step.min_qty)
}

fn price(
    line: &OrderLine,
    reached: &Break,
    total: Decimal,
    name: &LineName,
    found: &mut Vec<Finding>,
) {
    let facts = [
        differs(name, "unit_price", line.unit_price, reached.unit_price),
        differs(name, "line_total", line.line_total, Money(total)),
    ];
    let facts = facts.into_iter().flatten();
    found.extend(facts.map(|fact| Finding::Line(name.clone(), fact)));
}

/// The supplier's bill and its total; none where a number is too large.
fn sum_up<'a>(supplier: &'a Supplier, totals: &[Decimal]) -> Option<(Bill<'a>, Decimal)> {
    let mut goods = Decimal::ZERO;
    for total in totals {
        goods = goods.checked_add(*total)?;
    }
    let duty = goods
        .checked_mul(supplier.duty_percent.0)?
        .checked_div(Decimal::ONE_HUNDRED)?;
    let free = supplier.free_over.is_some_and(|over| over.0 <= goods);
    let shipping = if free || totals.is_empty() {
        Decimal::ZERO
    } else {
        supplier.shipping.0
    };
    let total = goods.checked_add(duty)?.checked_add(shipping)?;
    let bill = Bill {
        supplier,
        goods,
        duty,
        shipping,
    };
    Some((bill, total))
}

fn amounts(order: &Order, bill: &Bill, total: Decimal, found: &mut Vec<Finding>) {
    let of = format!("order to {}", order.supplier);
    let facts = [
        differs(&of, "currency", &order.currency, &bill.supplier.currency),
        differs(&of, "goods", order.goods, Money(bill.goods)),
        differs(&of, "duty", order.duty, Money(bill.duty)),
        differs(&of, "shipping", order.shipping, Money(bill.shipping)),
        differs(&of, "total", order.total, Money(total)),
    ];
    found.extend(facts.into_iter().flatten().map(Finding::Order));
    let least = bill.supplier.min_order;
    if least.is_some_and(|least| bill.goods < least.0) && !order.lines.is_empty() {
        found.push(Finding::BelowMinOrder(order.supplier.clone()));
    }
}
