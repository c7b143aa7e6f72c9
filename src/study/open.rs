//! What of a recorded plan is still to be bought: its lines without what has been
//! ordered since.

use crate::input::Input;
use crate::plan::{Order, OrderLine, Plan};
use crate::units::Qty;
use std::collections::BTreeMap;

/// Pieces of each sku, for each supplier and part.
type Pools<'a> = BTreeMap<(&'a str, &'a str), Pool<'a>>;
type Pool<'a> = BTreeMap<&'a str, Qty>;

/// The recorded lines that are still to be bought: without what has been ordered
/// since, from the same supplier under the same sku. A row without a sku counts for
/// any line of its part and supplier. Where there is one offer, the sku of a row does
/// not count.
pub fn open_orders(input: &Input, plan: &Plan) -> Vec<Order> {
    let mut placed = placed(input, plan);
    let mut orders = plan.orders.clone();
    for (order, as_recorded) in orders.iter_mut().zip(&plan.orders) {
        let supplier = as_recorded.supplier.as_str();
        let parts = as_recorded.lines.chunk_by(|a, b| a.part == b.part);
        let parts = parts.filter_map(|lines| Some(lines.first()?.part.as_str()));
        let lines = order.lines.chunk_by_mut(|a, b| a.part == b.part);
        for (lines, part) in lines.zip(parts) {
            if let Some(pool) = placed.get_mut(&(supplier, part)) {
                let is_one = lines.len() == 1 && !has_several(input, part, supplier);
                take(lines, pool, is_one);
            }
        }
        order.lines.retain(|line| line.qty > 0);
    }
    orders.retain(|order| !order.lines.is_empty());
    orders
}

fn has_several(input: &Input, part: &str, supplier: &str) -> bool {
    let catalog = &input.catalog;
    let pair = catalog.find(part).zip(catalog.find_supplier(supplier));
    pair.is_some_and(|(part, supplier)| catalog.has_several(part, supplier))
}

/// Takes what was placed off the lines of a part: first under each line's own sku.
fn take(lines: &mut [OrderLine], pool: &mut Pool<'_>, is_one: bool) {
    let mut taken: Vec<Qty> = Vec::new();
    for line in lines.iter() {
        let own = pool.get_mut(line.sku.as_str());
        taken.push(own.map_or(0, |left| draw(left, line.qty)));
    }
    for (line, taken) in lines.iter_mut().zip(taken) {
        let mut taken = taken;
        for (sku, left) in pool.iter_mut() {
            if is_one || sku.is_empty() {
                taken += draw(left, line.qty - taken);
            }
        }
        shrink(line, taken);
    }
}

/// Takes up to so many pieces out of what is left.
fn draw(left: &mut Qty, most: Qty) -> Qty {
    let drawn = most.min(*left);
    *left -= drawn;
    drawn
}

fn shrink(line: &mut OrderLine, placed: Qty) {
    if placed == 0 {
        return;
    }
    let pack = line.qty.checked_div(line.packs).unwrap_or(1).max(1);
    line.qty = line.qty.saturating_sub(placed);
    line.packs = line.qty.div_ceil(pack);
    line.line_total = line.unit_price.times(line.qty);
}

/// What has been ordered since the plan was made.
fn placed<'a>(input: &'a Input, plan: &'a Plan) -> Pools<'a> {
    let mut pools = Pools::new();
    for row in &input.ordered {
        let supplier = input.catalog.supplier(row.supplier).name.as_str();
        let part = input.catalog.part(row.part).code.as_str();
        let qty = pools.entry((supplier, part)).or_default();
        let qty = qty.entry(row.sku.as_str()).or_default();
        *qty = qty.saturating_add(row.qty);
    }
    let mut rest = Vec::new();
    for then in &plan.ordered {
        let mut left = then.qty;
        if let Some(pool) = pools.get_mut(&(then.supplier.as_str(), then.part.as_str())) {
            let own = pool.get_mut(then.sku.as_str());
            left -= own.map_or(0, |qty| draw(qty, left));
            rest.push((then, left));
        }
    }
    // A sku may have been written into a row, or corrected, since: then the row is
    // not a new one. An empty sku comes first.
    for (then, mut left) in rest {
        let pool = pools.get_mut(&(then.supplier.as_str(), then.part.as_str()));
        for qty in pool.into_iter().flat_map(BTreeMap::values_mut) {
            left -= draw(qty, left);
        }
    }
    pools
}
