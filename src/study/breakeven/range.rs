//! How far a price can move: what a break-even study finds.

use crate::catalog::PartId;
use crate::input::Input;
use crate::plan::Plan;
use crate::units::{Currency, Money};
use rust_decimal::Decimal;

/// Prices are followed down to nothing and up to this many times.
pub const HIGHEST: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// How far each price can move.
#[derive(Debug, Clone)]
pub struct Breakeven {
    /// The plan at the prices as they are.
    pub plan: Plan,
    /// The ranges, those first whose price has to move least, then by part code.
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
    /// The supplier that most of the part is bought from.
    pub supplier: String,
    /// The supplier's code for it; empty where the offer has none.
    pub sku: String,
    /// True if the supplier has several offers of the part.
    pub is_one_of_several: bool,
    /// That supplier's currency.
    pub currency: Currency,
    /// Price of a piece there, in that currency.
    pub unit_price: Money,
    /// Pieces bought from all suppliers.
    pub bought: u64,
    /// Suppliers of the part whose free shipping or least order can make what a
    /// plan costs jump; none where the edges are exact.
    pub thresholds: Vec<String>,
    /// The edge downwards, to nothing.
    pub down: Edge,
    /// The edge upwards, to [`HIGHEST`].
    pub up: Edge,
}

/// What happens on the way in one direction.
#[derive(Debug, Clone)]
pub enum Edge {
    /// The plan stays the cheapest.
    Holds,
    /// The plan does not stay the cheapest.
    Turns(Box<Turn>),
    /// The search was stopped before the edge was known, or the edge is not proven.
    Untold,
}

/// Where the plan stops being the cheapest.
#[derive(Debug, Clone)]
pub struct Turn {
    /// The plan is proven to be the cheapest at this factor of the price.
    pub last: Decimal,
    /// The plan is not the cheapest beyond this factor, which is `last` where the edge is exact.
    pub first: Decimal,
    /// Least total at `first`; none where no plan holds all limits.
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
    /// Suppliers before, each with the sku where the supplier has several offers of the
    /// part: `Nord (sku B-10)`.
    pub from: Vec<String>,
    /// Suppliers after, in the same way.
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
    /// How far the nearer edge is from 1.
    pub(super) fn least(&self) -> Decimal {
        let edges = [&self.down, &self.up].map(Edge::distance);
        edges.into_iter().flatten().min().unwrap_or(Decimal::MAX)
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
