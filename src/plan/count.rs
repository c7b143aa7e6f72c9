//! How many of each part: fitted, spare, from the shelf, bought, surplus.

use super::error::PlanError;
use super::exact::product;
use crate::catalog::PartId;
use crate::fit::Fit;
use crate::input::Input;
use crate::model::Solution;
use crate::project::{Per, Spares};
use crate::units::{Gauge, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;

/// The counts of one fitted part, in pieces.
pub(super) struct Count {
    pub(super) part: PartId,
    pub(super) fitted: Qty,
    pub(super) spare: Qty,
    pub(super) on_hand_used: Qty,
    pub(super) ordered_used: Qty,
    pub(super) bought: Qty,
    pub(super) surplus: Qty,
}

type ByGauge = BTreeMap<Gauge, Qty>;

/// The counts of every fitted part, by code.
pub(super) fn count(
    input: &Input,
    fit: &Fit,
    solution: &Solution,
) -> Result<Vec<Count>, PlanError> {
    let fitted = fitted(fit, solution)?;
    let bought = bought(input, &solution.purchases)?;
    if let Some(part) = bought.keys().find(|part| !fitted.contains_key(part)) {
        let code = input.catalog.part(*part).code.clone();
        return Err(PlanError::NotFitted(code));
    }
    fitted
        .iter()
        .map(|(&part, by_gauge)| {
            let bought = bought.get(&part).copied().unwrap_or(0);
            count_part(input, part, by_gauge, bought)
        })
        .collect()
}

fn count_part(
    input: &Input,
    part: PartId,
    by_gauge: &ByGauge,
    bought: Qty,
) -> Result<Count, PlanError> {
    let fitted = add(by_gauge.values().copied())?;
    let kind = input.catalog.part(part).kind();
    let spare = match input.settings.spares.get(&kind) {
        None => 0,
        Some(rule) => spare(rule, by_gauge, fitted)?,
    };
    let need = add([fitted, spare])?;
    let on_hand_used = need.min(input.on_hand.get(&part).copied().unwrap_or(0));
    let ordered_used = (need - on_hand_used).min(input.on_order(part));
    let have = add([on_hand_used, ordered_used, bought])?;
    let surplus = have.checked_sub(need).ok_or_else(|| PlanError::Short {
        part: input.catalog.part(part).code.clone(),
        need,
        have,
    })?;
    Ok(Count {
        part,
        fitted,
        spare,
        on_hand_used,
        ordered_used,
        bought,
        surplus,
    })
}

fn fitted(fit: &Fit, solution: &Solution) -> Result<BTreeMap<PartId, ByGauge>, PlanError> {
    let mut fitted: BTreeMap<PartId, ByGauge> = BTreeMap::new();
    for (end, set) in fit.ends.iter().zip(&solution.sets) {
        for (part, qty) in set.pieces() {
            let count = fitted
                .entry(part)
                .or_default()
                .entry(end.gauge)
                .or_default();
            *count = add([*count, ordered(qty, end.copies)?])?;
        }
    }
    Ok(fitted)
}

fn bought(
    input: &Input,
    purchases: &[(crate::catalog::OfferId, Qty)],
) -> Result<BTreeMap<PartId, Qty>, PlanError> {
    let mut bought: BTreeMap<PartId, Qty> = BTreeMap::new();
    for &(id, packs) in purchases {
        let offer = input.catalog.offer(id);
        let count = bought.entry(offer.part).or_default();
        *count = add([*count, ordered(packs, offer.pack)?])?;
    }
    Ok(bought)
}

/// Spares by a rule: for each gauge, or for the part as a whole.
fn spare(rule: &Spares, by_gauge: &ByGauge, fitted: Qty) -> Result<Qty, PlanError> {
    match rule.per {
        Per::Part => spare_of(rule, fitted),
        Per::Gauge => {
            let spares: Vec<Qty> = by_gauge
                .values()
                .map(|&fitted| spare_of(rule, fitted))
                .collect::<Result<_, _>>()?;
            add(spares)
        }
    }
}

/// max(minimum, ceil(percent × fitted / 100)) where anything is fitted.
fn spare_of(rule: &Spares, fitted: Qty) -> Result<Qty, PlanError> {
    const WHAT: &str = "the number of spares";
    if fitted == 0 {
        return Ok(0);
    }
    let share = product(rule.percent.0, Decimal::from(fitted), WHAT)?;
    let share = product(share, Decimal::new(1, 2), WHAT)?.ceil();
    let share = share.to_u64().ok_or(PlanError::TooLarge(WHAT))?;
    Ok(share.max(rule.minimum))
}

/// Pieces in so many packs.
pub(super) fn ordered(packs: Qty, pack: Qty) -> Result<Qty, PlanError> {
    packs
        .checked_mul(pack)
        .ok_or(PlanError::TooLarge("the number of pieces"))
}

fn add(counts: impl IntoIterator<Item = Qty>) -> Result<Qty, PlanError> {
    counts
        .into_iter()
        .try_fold(0u64, Qty::checked_add)
        .ok_or(PlanError::TooLarge("the number of pieces"))
}
