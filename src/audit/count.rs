//! How many of each part: counted from the ends and the orders of the record.
//!
//! Counts are wider than the record's numbers, so that no sum can overflow.

use super::ends::Served;
use super::finding::{Finding, differs};
use crate::catalog::PartId;
use crate::input::Input;
use crate::plan::{PartRecord, Plan};
use crate::project::{Per, Spares};
use crate::units::Gauge;
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::collections::{BTreeMap, BTreeSet};

/// Pieces of each fitted part of the catalog, by gauge.
pub(super) type Fitted = BTreeMap<PartId, BTreeMap<Gauge, u128>>;

/// Counts every use over all ends of all copies.
pub(super) fn fitted(input: &Input, served: &[Served]) -> Fitted {
    let mut fitted = Fitted::new();
    for end in served {
        let record = end.record;
        let bodies = [Some(&record.plug), record.receptacle.as_ref()];
        let bodies = bodies.into_iter().flatten().map(|code| (code, 1));
        let copies = u128::from(end.wanted.copies);
        let fittings = record.fittings.iter().map(|f| (&f.part, f.qty));
        for (code, qty) in bodies.chain(fittings) {
            if let Some(part) = input.catalog.find(code) {
                *fitted
                    .entry(part)
                    .or_default()
                    .entry(end.wanted.circuit.gauge)
                    .or_default() += u128::from(qty) * copies;
            }
        }
    }
    fitted
}

/// Checks the list of parts, and that each part has what it needs.
pub(super) fn check(input: &Input, plan: &Plan, fitted: &Fitted, found: &mut Vec<Finding>) {
    listing(input, plan, fitted, found);
    let bought = bought(plan);
    let records: BTreeMap<&str, &PartRecord> =
        plan.parts.iter().map(|r| (r.part.as_str(), r)).collect();
    for (&part, by_gauge) in fitted {
        let code = input.catalog.part(part).code.as_str();
        let Some(counts) = counts(input, part, by_gauge, &bought) else {
            found.push(Finding::TooLarge(format!("part {code}, spares")));
            continue;
        };
        let have = counts.have();
        let need = counts.fitted + counts.spare;
        if have < need {
            let part = code.to_owned();
            found.push(Finding::Short { part, need, have });
        }
        if let Some(record) = records.get(code) {
            facts(input, part, record, &counts, found);
        }
    }
    let limit = input.settings.max_variants;
    if let Some(limit) = limit.filter(|limit| fitted.len() as u128 > u128::from(*limit)) {
        found.push(Finding::TooManyVariants {
            found: fitted.len(),
            limit,
        });
    }
}

/// Every fitted part once, by code, and no other.
fn listing(input: &Input, plan: &Plan, fitted: &Fitted, found: &mut Vec<Finding>) {
    let mut seen = BTreeSet::new();
    for record in &plan.parts {
        match input.catalog.find(&record.part) {
            None => found.push(Finding::UnknownPart(record.part.clone())),
            Some(part) if !fitted.contains_key(&part) => {
                found.push(Finding::UnfittedPart(record.part.clone()));
            }
            Some(_) => {}
        }
        if !seen.insert(record.part.as_str()) {
            found.push(Finding::DoubledPart(record.part.clone()));
        }
    }
    let codes = fitted
        .keys()
        .map(|part| input.catalog.part(*part).code.as_str());
    let missing = codes.filter(|code| !seen.contains(code));
    found.extend(missing.map(|code| Finding::MissingPart(code.to_owned())));
    let mut pairs = plan.parts.iter().zip(plan.parts.iter().skip(1));
    let wrong = pairs.find(|(a, b)| a.part > b.part);
    found.extend(wrong.map(|(_, part)| Finding::PartsOutOfOrder(part.part.clone())));
}

fn bought(plan: &Plan) -> BTreeMap<&str, u128> {
    let mut bought = BTreeMap::new();
    for line in plan.orders.iter().flat_map(|order| &order.lines) {
        *bought.entry(line.part.as_str()).or_default() += u128::from(line.qty);
    }
    bought
}

struct Counts {
    fitted: u128,
    spare: u128,
    on_hand_used: u128,
    ordered_used: u128,
    bought: u128,
}

impl Counts {
    fn have(&self) -> u128 {
        self.on_hand_used + self.ordered_used + self.bought
    }
}

/// Pieces of a fitted part that come from what is ordered.
pub(super) fn from_ordered(
    input: &Input,
    part: PartId,
    by_gauge: &BTreeMap<Gauge, u128>,
) -> Option<u128> {
    counts(input, part, by_gauge, &BTreeMap::new()).map(|counts| counts.ordered_used)
}

/// What each count of a part should be; none where a count is beyond exact decimals.
fn counts(
    input: &Input,
    part: PartId,
    by_gauge: &BTreeMap<Gauge, u128>,
    bought: &BTreeMap<&str, u128>,
) -> Option<Counts> {
    let entry = input.catalog.part(part);
    let fitted: u128 = by_gauge.values().sum();
    let spare = match input.settings.spares.get(&entry.kind()) {
        None => 0,
        Some(rule) if rule.per == Per::Part => spare(rule, fitted)?,
        Some(rule) => {
            let mut sum: u128 = 0;
            for &fitted in by_gauge.values() {
                sum = sum.checked_add(spare(rule, fitted)?)?;
            }
            sum
        }
    };
    let on_hand = input.on_hand.get(&part).copied().unwrap_or(0);
    let need = fitted.checked_add(spare)?;
    let on_hand_used = need.min(on_hand.into());
    let rows = input.ordered.iter().filter(|row| row.part == part);
    let ordered: u128 = rows.map(|row| u128::from(row.qty)).sum();
    Some(Counts {
        fitted,
        spare,
        on_hand_used,
        ordered_used: ordered.min(need - on_hand_used),
        bought: bought.get(entry.code.as_str()).copied().unwrap_or(0),
    })
}

/// The percentage of what is fitted, rounded up, at least the minimum.
fn spare(rule: &Spares, fitted: u128) -> Option<u128> {
    if fitted == 0 {
        return Some(0);
    }
    let hundredfold = Decimal::from_u128(fitted)?.checked_mul(rule.percent.0)?;
    let share = hundredfold.checked_div(Decimal::ONE_HUNDRED)?;
    share
        .ceil()
        .to_u128()
        .map(|share| share.max(rule.minimum.into()))
}

fn facts(
    input: &Input,
    part: PartId,
    record: &PartRecord,
    counts: &Counts,
    found: &mut Vec<Finding>,
) {
    let of = format!("part {}", record.part);
    let have = counts.have();
    let need = counts.fitted + counts.spare;
    let kind = input.catalog.part(part).kind();
    let facts = [
        differs(&of, "kind", &record.kind, kind),
        differs(&of, "fitted", record.fitted, counts.fitted),
        differs(&of, "spare", record.spare, counts.spare),
        differs(
            &of,
            "on_hand_used",
            record.on_hand_used,
            counts.on_hand_used,
        ),
        differs(
            &of,
            "ordered_used",
            record.ordered_used,
            counts.ordered_used,
        ),
        differs(&of, "bought", record.bought, counts.bought),
        // Where too little is there, another finding tells of it.
        have.checked_sub(need)
            .and_then(|surplus| differs(&of, "surplus", record.surplus, surplus)),
    ];
    found.extend(facts.into_iter().flatten().map(Finding::Part));
}
