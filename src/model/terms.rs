//! The terms of the total, each stated once: what a decision costs in the
//! project's currency. The whole program, the pooled one and the search take
//! them from here, and from nowhere else.
//!
//! Goods and duty are in [`pack`]; shipping in [`order`] and [`free_order`], and
//! for the search in [`delivery`]; dies in [`die`]; handling in [`variant`].

use super::problem::{Break, Die, Problem, Supplier};

/// A pack at a price break: goods and duty.
pub fn pack(step: &Break) -> f64 {
    step.pack_cost
}

/// A part that is fitted at all: handling.
pub fn variant(problem: &Problem) -> f64 {
    problem.line_cost
}

/// A die that is bought.
pub fn die(die: &Die) -> f64 {
    die.price
}

/// An order, beside its goods: shipping.
pub fn order(supplier: &Supplier) -> f64 {
    supplier.shipping
}

/// What free shipping adds to an order, which is below zero; none where it can't
/// be free.
pub fn free_order(supplier: &Supplier) -> Option<f64> {
    let can_be_free = supplier.free_over.is_some() && supplier.shipping > 0.0;
    can_be_free.then_some(-supplier.shipping)
}

/// What an order with these goods (in the supplier's units) costs beside them,
/// for a search that knows no least order: goods short of the least order, or of
/// free shipping, count as if filled up with surplus, where that is cheaper.
pub fn delivery(supplier: &Supplier, goods: f64) -> f64 {
    let short = (supplier.min_order - goods).max(0.0);
    let goods = goods + short;
    let whole = order(supplier);
    let shipping = match supplier.free_over {
        Some(over) => whole.min((over - goods).max(0.0) * supplier.goods_rate),
        None => whole,
    };
    short * supplier.goods_rate + shipping
}
