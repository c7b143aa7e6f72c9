//! Orders and the terms of the total.

use super::count::{Count, ordered};
use super::error::PlanError;
use super::exact::{hundredths, product, sum};
use super::form::{Cost, Order, OrderLine};
use crate::catalog::{Catalog, DieId, OfferId, Spec, Supplier, SupplierId};
use crate::input::Input;
use crate::units::{Money, Qty};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// One order for each supplier that is bought from, by name.
pub(super) fn orders(input: &Input, purchases: &[(OfferId, Qty)]) -> Result<Vec<Order>, PlanError> {
    let catalog = &input.catalog;
    // Offers are sorted by part code, so that lines come out in that order.
    let mut packs_of: BTreeMap<OfferId, Qty> = BTreeMap::new();
    for &(id, packs) in purchases.iter().filter(|(_, packs)| *packs > 0) {
        let sum = packs_of.entry(id).or_default();
        *sum = sum
            .checked_add(packs)
            .ok_or(PlanError::TooLarge("the number of packs"))?;
    }
    let mut lines: BTreeMap<SupplierId, Vec<OrderLine>> = BTreeMap::new();
    for (id, packs) in packs_of {
        lines
            .entry(catalog.offer(id).supplier)
            .or_default()
            .push(line(catalog, id, packs)?);
    }
    lines
        .into_iter()
        .map(|(supplier, lines)| order(catalog.supplier(supplier), lines))
        .collect()
}

fn line(catalog: &Catalog, id: OfferId, packs: Qty) -> Result<OrderLine, PlanError> {
    let offer = catalog.offer(id);
    let part = catalog.part(offer.part).code.clone();
    let qty = ordered(packs, offer.pack)?;
    let Some(reached) = offer.break_at(qty) else {
        let supplier = catalog.supplier(offer.supplier).name.clone();
        return Err(PlanError::BelowLeast {
            part,
            supplier,
            qty,
        });
    };
    let line_total = product(reached.unit_price.0, Decimal::from(qty), "an order line")?;
    Ok(OrderLine {
        part,
        sku: offer.sku.clone(),
        qty,
        packs,
        unit_price: reached.unit_price,
        line_total: Money(line_total),
    })
}

fn order(supplier: &Supplier, lines: Vec<OrderLine>) -> Result<Order, PlanError> {
    const WHAT: &str = "an order";
    let goods = sum(lines.iter().map(|line| line.line_total), WHAT)?;
    let duty = hundredths(goods, supplier.duty_percent.0, WHAT)?;
    let shipping = match supplier.free_over {
        Some(free_over) if goods >= free_over => Money::ZERO,
        _ => supplier.shipping,
    };
    Ok(Order {
        supplier: supplier.name.clone(),
        currency: supplier.currency.clone(),
        lines,
        goods,
        duty,
        shipping,
        total: sum([goods, duty, shipping], WHAT)?,
    })
}

/// The terms of the total in the project's currency.
pub(super) fn cost(input: &Input, orders: &[Order], counts: &[Count]) -> Result<Cost, PlanError> {
    let variants = Decimal::from(counts.len());
    let lines = product(input.settings.line_cost.0, variants, "the handling cost")?;
    Cost::new(
        [
            converted(input, orders, |order| order.goods)?,
            converted(input, orders, |order| order.duty)?,
            converted(input, orders, |order| order.shipping)?,
            dies(input, counts)?,
            Money(lines),
        ],
        input.settings.tax_percent.0,
    )
}

/// Sum of one amount of every order, each at its currency's rate.
fn converted(
    input: &Input,
    orders: &[Order],
    amount: impl Fn(&Order) -> Money,
) -> Result<Money, PlanError> {
    let amounts: Vec<Money> = orders
        .iter()
        .map(|order| {
            let rate = input
                .settings
                .rate(&order.currency)
                .ok_or_else(|| PlanError::NoRate(order.currency.clone()))?;
            product(amount(order).0, rate, "the total").map(Money)
        })
        .collect::<Result<_, _>>()?;
    sum(amounts, "the total")
}

/// Each die that a fitted ferrule names and that is neither owned nor ordered, once.
fn dies(input: &Input, counts: &[Count]) -> Result<Money, PlanError> {
    let dies: BTreeSet<DieId> = counts
        .iter()
        .filter_map(|count| match &input.catalog.part(count.part).spec {
            Spec::Ferrule(ferrule) => ferrule.die,
            _ => None,
        })
        .collect();
    let costs = dies
        .into_iter()
        .filter(|die| !input.owns(*die))
        .map(|die| input.catalog.die(die).cost);
    sum(costs, "the cost of dies")
}

impl Cost {
    /// The terms with their sum, and the tax on it.
    pub(super) fn new(terms: [Money; 5], tax_percent: Decimal) -> Result<Cost, PlanError> {
        let total = sum(terms, "the total")?;
        let tax = hundredths(total, tax_percent, "the tax")?;
        let [goods, duty, shipping, dies, lines] = terms;
        Ok(Cost {
            goods,
            duty,
            shipping,
            dies,
            lines,
            total,
            tax,
            total_with_tax: sum([total, tax], "the total with tax")?,
        })
    }
}
