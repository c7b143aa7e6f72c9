//! How far the price of a part can move before another plan is cheapest.
//!
//! All prices of one part are multiplied by a factor. Where each plan's cost
//! is linear in it, the least total is concave and piecewise linear, so its
//! breakpoints are found by intersecting the lines of the plans found so far,
//! each intersection settled by a proven solve (M. J. Eisner and D. G.
//! Severance, "Mathematical techniques for efficient record segmentation in
//! large shared databases", Journal of the ACM 23 (1976), pages 619–635).
//! Free shipping and least orders at a supplier of the part make the cost jump. There
//! a change is bracketed between a price at which the plan is proven to be
//! cheapest and a price, a cent or less beyond, at which it is not.
//!
//! Proofs are what takes the time. So plans that differ only a little from the
//! present one are looked for first: any plan's line is an upper bound on the
//! least total at every price of every part, and most plans found so are the plans
//! that count. What the lines then say of several parts is put to one proof (see
//! `model::Claim`). A plan that shows a claim wrong is a line more.

mod alone;
mod group;
mod line;
mod range;
mod rivals;
mod search;

use super::answer::{self};
use super::failure::Failure;
use super::recall::Trust;
use crate::catalog::PartId;
use crate::fit::fit;
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::plan::{OrderLine, Plan};
use crate::units::Currency;
pub use range::{Breakeven, Edge, HIGHEST, Move, Range, Turn, priced};
use rust_decimal::Decimal;
use search::{Study, Way};

/// The ranges of all bought parts, or of one part. They are of the recorded plan, where
/// that plan is proven and of the project as it is now.
///
/// Proofs go on side by side, so many at a time, and then share what was found. The
/// number of cores does not matter to what a proof learns from others.
///
/// # Errors
/// Any [`Failure`]. A stop after the plan is found is no failure.
pub fn breakeven(
    input: &Input,
    only: Option<PartId>,
    limit: &Limit,
    record: Option<&Plan>,
) -> Result<Breakeven, Failure> {
    let fit = fit(input)?;
    let limit = &limit.doing(Doing::Studying);
    let now = answer::on_record(input, &fit, limit, record, Trust::Proven)?;
    let study = Study {
        input,
        fit: &fit,
        now: &now,
        limit,
    };
    let parts: Vec<PartId> = (now.plan.parts.iter())
        .filter(|part| part.bought > 0)
        .filter_map(|part| input.catalog.find(&part.part))
        .filter(|part| only.is_none_or(|only| only == *part))
        .collect();
    let ways: Vec<Way> = (parts.iter())
        .flat_map(|&part| [Decimal::ZERO, HIGHEST].map(|reach| Way { part, reach }))
        .collect();
    let edges = study.edges(&ways)?;
    let mut edges = edges.into_iter();
    let mut ranges = Vec::new();
    for &part in &parts {
        let mut next = || edges.next().unwrap_or(Edge::Untold);
        ranges.extend(study.range(part, next(), next()));
    }
    ranges.sort_by_key(|range| range.least());
    Ok(Breakeven {
        ranges,
        solves: limit.solves(),
        plan: now.plan,
    })
}

impl Study<'_> {
    fn range(&self, part: PartId, down: Edge, up: Edge) -> Option<Range> {
        let code = &self.input.catalog.part(part).code;
        let record = self.now.plan.parts.iter().find(|p| p.part == *code)?;
        let (supplier, currency, line) = largest(&self.now.plan, code)?;
        let seller = self.input.catalog.find_supplier(&supplier)?;
        Some(Range {
            part: code.clone(),
            kind: record.kind.clone(),
            supplier,
            sku: line.sku.clone(),
            is_one_of_several: self.input.catalog.has_several(part, seller),
            currency,
            unit_price: line.unit_price,
            bought: record.bought,
            thresholds: self.thresholds(part),
            down,
            up,
        })
    }
}

/// The order line with the most pieces of a part.
fn largest<'p>(plan: &'p Plan, part: &str) -> Option<(String, Currency, &'p OrderLine)> {
    let lines = plan.orders.iter().flat_map(|order| {
        let lines = order.lines.iter().filter(|line| line.part == part);
        lines.map(move |line| (order.supplier.clone(), order.currency.clone(), line))
    });
    lines.reduce(|best, next| if next.2.qty > best.2.qty { next } else { best })
}
