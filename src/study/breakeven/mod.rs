//! How far the price of a part can move before another plan is cheapest.
//!
//! All prices of one part are multiplied by a factor. Where each plan's cost
//! is linear in it, the least total is concave and piecewise linear, so its
//! breakpoints are found by intersecting the lines of the plans found so far,
//! each intersection settled by a proven solve (M. J. Eisner and D. G.
//! Severance, "Mathematical techniques for efficient record segmentation in
//! large shared databases", Journal of the ACM 23 (1976), pages 619–635).
//! Free shipping and least orders at a supplier of the part break that: there
//! a change is bracketed between a price at which the plan is proven to be
//! cheapest and one, a cent or less beyond, at which it is not.
//!
//! Proofs are what takes the time. So plans that differ only a little from the
//! present one are looked for first: any plan's line is an upper bound on the
//! least total at every price of every part, and most of them are the ones that
//! count. What the lines then say of several parts is put to one proof (see
//! `model::Claim`); a plan that shows it wrong is a line more.

mod alone;
mod group;
mod known;
mod line;
mod search;

use super::answer::{self, StudyError};
use super::recall::Trust;
use crate::catalog::PartId;
use crate::fit::fit;
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::plan::{OrderLine, Plan};
use crate::units::{Currency, Money};
use rust_decimal::Decimal;
use search::{Study, Way};

/// Prices are followed down to nothing and up to this many times.
pub const HIGHEST: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// How far each price can move.
#[derive(Debug, Clone)]
pub struct Breakeven {
    /// The plan at the prices as they are.
    pub plan: Plan,
    /// By how little it takes, then by part code.
    pub ranges: Vec<Range>,
    /// Plans solved.
    pub solves: usize,
}

/// How far the price of one part can move.
#[derive(Debug, Clone)]
pub struct Range {
    /// Part code.
    pub part: String,
    /// Its kind.
    pub kind: String,
    /// Where most of it is bought.
    pub supplier: String,
    /// That supplier's currency.
    pub currency: Currency,
    /// What is paid for a piece there.
    pub unit_price: Money,
    /// Pieces bought of all suppliers.
    pub bought: u64,
    /// Suppliers of the part whose free shipping or least order can make what a
    /// plan costs jump; none where the edges are exact.
    pub thresholds: Vec<String>,
    /// Downwards, to nothing.
    pub down: Edge,
    /// Upwards, to [`HIGHEST`].
    pub up: Edge,
}

/// What happens on the way in one direction.
#[derive(Debug, Clone)]
pub enum Edge {
    /// The plan stays the cheapest.
    Holds,
    /// It does not.
    Turns(Box<Turn>),
    /// Stopped before it was known, or not proven.
    Untold,
}

/// Where the plan stops being the cheapest.
#[derive(Debug, Clone)]
pub struct Turn {
    /// It is proven to be at this factor,
    pub last: Decimal,
    /// and not beyond this one; both are the same where the edge is exact.
    pub first: Decimal,
    /// Least total there; none where no plan holds all limits.
    pub total: Option<Money>,
    /// Parts that leave, by code.
    pub parts_out: Vec<String>,
    /// Parts that come in.
    pub parts_in: Vec<String>,
    /// Parts that are bought elsewhere.
    pub moves: Vec<Move>,
}

/// A part that is bought before and after, but elsewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// Part code.
    pub part: String,
    /// Suppliers before.
    pub from: Vec<String>,
    /// Suppliers after.
    pub to: Vec<String>,
}

impl Edge {
    /// How far from 1 the plan turns, if it does.
    pub fn distance(&self) -> Option<Decimal> {
        match self {
            Edge::Turns(turn) => Some((turn.first - Decimal::ONE).abs()),
            Edge::Holds | Edge::Untold => None,
        }
    }
}

impl Range {
    fn least(&self) -> Decimal {
        let edges = [&self.down, &self.up].map(Edge::distance);
        edges.into_iter().flatten().min().unwrap_or(Decimal::MAX)
    }
}

/// The ranges of all bought parts, or of one; of the plan on record, where that
/// is proven and of the project as it is now.
///
/// Proofs go on side by side, so many at a time; between them what was found is
/// shared. How many cores there are does not matter to who learns what.
///
/// # Errors
/// Any [`StudyError`]; none once the plan is found and the search is merely
/// stopped.
pub fn breakeven(
    input: &Input,
    only: Option<PartId>,
    limit: &Limit,
    record: Option<&Plan>,
) -> Result<Breakeven, StudyError> {
    let fit = fit(input)?;
    let limit = &limit.doing(Doing::Studying);
    let now = answer::on_record(input, &fit, limit, (record, Trust::Proven))?;
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
        ranges.extend(study.range(part, (next(), next())));
    }
    ranges.sort_by_key(|range| range.least());
    Ok(Breakeven {
        ranges,
        solves: limit.solves(),
        plan: now.plan,
    })
}

impl Study<'_> {
    fn range(&self, part: PartId, (down, up): (Edge, Edge)) -> Option<Range> {
        let code = &self.input.catalog.part(part).code;
        let record = self.now.plan.parts.iter().find(|p| p.part == *code)?;
        let (supplier, currency, line) = largest(&self.now.plan, code)?;
        Some(Range {
            part: code.clone(),
            kind: record.kind.clone(),
            supplier,
            currency,
            unit_price: line.unit_price,
            bought: record.bought,
            thresholds: self.thresholds(part),
            down,
            up,
        })
    }
}

/// The project with all prices of a part multiplied.
pub fn priced(input: &Input, part: PartId, factor: Decimal) -> Input {
    let mut input = input.clone();
    for offer in input.catalog.offers.iter_mut().filter(|o| o.part == part) {
        for step in &mut offer.breaks {
            step.unit_price = Money((step.unit_price.0 * factor).normalize());
        }
    }
    input
}

/// The order line with the most pieces of a part.
fn largest<'p>(plan: &'p Plan, part: &str) -> Option<(String, Currency, &'p OrderLine)> {
    let lines = plan.orders.iter().flat_map(|order| {
        let lines = order.lines.iter().filter(|line| line.part == part);
        lines.map(move |line| (order.supplier.clone(), order.currency.clone(), line))
    });
    lines.reduce(|best, next| if next.2.qty > best.2.qty { next } else { best })
}
