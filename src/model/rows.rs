//! Rows that the whole program and the pooled one have in common.

use super::problem::{Part, Problem, Supplier};
use super::terms;
use crate::solve::{Program, VarId};
use crate::units::Qty;
use rust_decimal::prelude::ToPrimitive;

/// A linear expression.
pub type Terms = Vec<(VarId, f64)>;

/// A supplier.
#[derive(Debug, Clone, Copy)]
pub struct SupplierVars {
    /// 1 if anything is bought there.
    pub used: VarId,
    /// 1 if shipping is free, where it can be.
    pub free: Option<VarId>,
}

/// What a rule of spares counts together: a part, or a part on one gauge.
pub(super) struct SpareUnit {
    /// How many of its parts are used.
    pub used: VarId,
    /// Its fitted pieces.
    pub fitted: Terms,
    /// The most pieces of one part that can be fitted.
    pub most: Qty,
}

/// Spare pieces of one unit that a rule counts, of so many parts together:
/// spare ≥ least spare · parts used, and spare ≥ percent · fitted. None where
/// no rule asks for any.
pub(super) fn add_spare(
    program: &mut Program,
    part: &Part,
    several: usize,
    unit: SpareUnit,
) -> Option<(VarId, f64)> {
    let (least, most) = (part.least_spare(), part.spare_for(unit.most));
    if most == 0 {
        return None;
    }
    let spare = program.integer(0.0, (most * several as Qty) as f64, 0.0);
    program.at_least(vec![(spare, 1.0), (unit.used, -(least as f64))], 0.0);
    let share = (part.spares)
        .and_then(|rule| rule.percent.0.to_f64())
        .unwrap_or(0.0)
        / 100.0;
    if share > 0.0 && most > least {
        let mut row = vec![(spare, 1.0)];
        row.extend(unit.fitted.into_iter().map(|(x, q)| (x, -share * q)));
        program.at_least(row, 0.0);
    }
    Some((spare, 1.0))
}

/// Shipping is paid where anything is bought, unless it is free.
pub(super) fn supplier_vars(program: &mut Program, supplier: &Supplier) -> SupplierVars {
    let used = program.binary(terms::order(supplier));
    let free = terms::free_order(supplier).map(|cost| program.binary(cost));
    if let Some(free) = free {
        program.at_most(vec![(free, 1.0), (used, -1.0)], 0.0);
    }
    SupplierVars { used, free }
}

/// The largest number of variants, suppliers and dies.
pub(super) fn hold_limits(program: &mut Program, problem: &Problem, counted: [Vec<VarId>; 3]) {
    let limits = [
        problem.max_variants,
        problem.max_suppliers,
        problem.max_dies,
    ];
    for (most, vars) in limits.into_iter().zip(counted) {
        if let Some(most) = most {
            program.at_most(sum(vars, 1.0), f64::from(most));
        }
    }
}

/// goods ≥ free_over · free, and goods ≥ min_order · used, in the supplier's
/// units of money.
pub(super) fn hold_thresholds(
    program: &mut Program,
    supplier: &Supplier,
    mut goods: Terms,
    vars: SupplierVars,
) {
    if let (Some(free), Some(over)) = (vars.free, supplier.free_over) {
        let mut row = goods.clone();
        row.push((free, -over));
        program.at_least(row, 0.0);
    }
    if supplier.min_order > 0.0 {
        goods.push((vars.used, -supplier.min_order));
        program.at_least(goods, 0.0);
    }
}

/// Σ factor · var.
pub(super) fn sum(vars: impl IntoIterator<Item = VarId>, factor: f64) -> Terms {
    vars.into_iter().map(|v| (v, factor)).collect()
}
