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
//! Each solve is a proof, and proofs are what takes the time. Any plan's line is
//! an upper bound on the least total at every price of every part, so what one
//! search finds serves all: plans that are nearly as cheap are found once, and
//! most searches then end with the one proof that nothing is cheaper at the
//! nearest crossing that is known.

mod line;

use super::answer::{self, Answer, Effort, Reply, StudyError, side_by_side};
use crate::catalog::{Offer, PartId};
use crate::fit::{Fit, fit};
use crate::input::Input;
use crate::model::Solution;
use crate::plan::{OrderLine, Plan};
use crate::units::{Currency, Money};
use line::{Crossing, Line, nearest};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, VecDeque};

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
    /// Suppliers of the part whose free shipping or least order makes the
    /// change one to bracket; none where the edges are exact.
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
    /// Stopped before it was known.
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

/// The ranges of all bought parts, or of one.
///
/// Searches go on side by side, so many at a time and one solve each; between
/// them what was found is shared. How many cores there are does not matter to
/// who learns what.
///
/// # Errors
/// Any [`StudyError`]; none once the plan is found and the search is merely
/// stopped.
pub fn breakeven(
    input: &Input,
    only: Option<PartId>,
    effort: &Effort,
) -> Result<Breakeven, StudyError> {
    let fit = fit(input)?;
    let now = answer::cheapest(input, &fit, effort)?;
    let study = Study {
        input,
        fit: &fit,
        now: &now,
        effort,
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
        solves: effort.solves(),
        plan: now.plan,
    })
}

/// A part, and the factor up or down to which its price is followed.
#[derive(Debug, Clone, Copy)]
struct Way {
    part: PartId,
    reach: Decimal,
}

/// Searches between two exchanges of what was found: a number that does not
/// depend on the machine, so that the outcome does not.
const BATCH: usize = 8;

/// What one solve of a search comes to.
enum Step {
    /// Its edge.
    Ends(Edge),
    /// A plan that brings the edge nearer.
    Learns(Solution),
}

struct Study<'a> {
    input: &'a Input,
    fit: &'a Fit,
    now: &'a Answer,
    effort: &'a Effort<'a>,
}

impl Study<'_> {
    /// The cheapest plan at a factor.
    fn solve(&self, way: Way, factor: Decimal, start: &Solution) -> Result<Reply, StudyError> {
        let input = priced(self.input, way.part, factor);
        answer::solve(&input, self.fit, self.effort, Some(start), false)
    }

    fn line(&self, part: PartId, solution: &Solution) -> Line {
        Line::new(self.input, self.fit, part, solution)
    }

    /// All edges, in the order of the ways.
    fn edges(&self, ways: &[Way]) -> Result<Vec<Edge>, StudyError> {
        self.effort.expect(ways.len());
        let mut edges: Vec<Edge> = vec![Edge::Untold; ways.len()];
        let mut pool: Vec<Solution> = Vec::new();
        let mut open: VecDeque<usize> = (0..ways.len()).collect();
        while !open.is_empty() {
            let batch: Vec<usize> = open.drain(..BATCH.min(open.len())).collect();
            let steps = side_by_side(&batch, self.effort.cores, |&at| {
                let step = self.step(ways[at], &pool);
                if let Ok(Step::Ends(_)) = step {
                    self.effort.one_done();
                }
                step
            });
            for (at, step) in batch.into_iter().zip(steps) {
                match step? {
                    Step::Ends(edge) => edges[at] = edge,
                    Step::Learns(plan) => {
                        open.push_back(at);
                        if !pool.contains(&plan) {
                            pool.push(plan);
                        }
                    }
                }
            }
        }
        Ok(edges)
    }

    /// One solve at the nearest crossing of what is known, or at the far end: if
    /// nothing is cheaper there, that is the edge.
    fn step(&self, way: Way, pool: &[Solution]) -> Result<Step, StudyError> {
        if !self.now.is_proven() {
            return Ok(Step::Ends(Edge::Untold));
        }
        let mut known = Known::new(self, way, pool);
        let crossing = known.nearest(way.reach);
        let at = self.test(way, crossing);
        if at != Decimal::ONE {
            let reply = self.solve(way, at, known.cheapest(at))?;
            if !settled(&reply) {
                return Ok(Step::Ends(Edge::Untold));
            }
            let answer = reply.found().map(|answer| answer.solution);
            if let Some(plan) =
                answer.filter(|plan| known.learn(self.line(way.part, plan), plan, at))
            {
                let nearest = known.nearest(way.reach);
                if nearest.is_some_and(|nearest| is_nearer(nearest, crossing)) {
                    return Ok(Step::Learns(plan));
                }
                if !self.tick(way.part).is_zero() {
                    return self.halve(way, (at, plan), &mut known).map(Step::Ends);
                }
            }
        }
        match crossing {
            Some(crossing) => self.turn(way, crossing, &known).map(Step::Ends),
            None => Ok(Step::Ends(Edge::Holds)),
        }
    }

    /// Where a cheaper plan can be ordered at a price and not just before it,
    /// as it comes to a least order there, its line tells nothing of the way: the
    /// edge is between halves then, the plan proven to be the cheapest at one end
    /// and not at the other.
    fn halve(
        &self,
        way: Way,
        (mut first, mut next): (Decimal, Solution),
        known: &mut Known,
    ) -> Result<Edge, StudyError> {
        let mut last = Decimal::ONE;
        while (first - last).abs() > Decimal::TWO * self.tick(way.part) {
            let middle = round((first + last) / Decimal::TWO);
            let reply = self.solve(way, middle, known.cheapest(middle))?;
            if !settled(&reply) {
                return Ok(Edge::Untold);
            }
            match reply.found().map(|answer| answer.solution) {
                Some(plan) if known.learn(self.line(way.part, &plan), &plan, middle) => {
                    (first, next) = (middle, plan);
                }
                _ => last = middle,
            }
        }
        self.changed_to(way, (last, first), Some(next))
    }

    /// Where to test whether the plan is still the cheapest.
    fn test(&self, way: Way, crossing: Option<Crossing>) -> Decimal {
        match crossing {
            Some(crossing) => towards_one(crossing.factor, self.tick(way.part)),
            None => way.reach,
        }
    }

    /// What the plan changes to: where edges are exact, a plan that costs the
    /// same there; else the cheapest just beyond.
    fn turn(&self, way: Way, at: Crossing, plans: &Known) -> Result<Edge, StudyError> {
        let tick = self.tick(way.part);
        let last = towards_one(at.factor, tick);
        let beyond = match way.reach > Decimal::ONE {
            true => (at.factor + tick).min(way.reach),
            false => (at.factor - tick).max(way.reach),
        };
        let first = if tick.is_zero() { last } else { round(beyond) };
        let known = at.by.and_then(|by| plans.plans.get(by));
        let next = match (known, tick.is_zero()) {
            (Some(solution), true) => Some(solution.clone()),
            _ => match self.solve(way, first, plans.cheapest(first))? {
                Reply::Found(answer) if answer.is_proven() => Some(answer.solution),
                Reply::Infeasible => None,
                _ => return Ok(Edge::Untold),
            },
        };
        self.changed_to(way, (last, first), next)
    }

    /// The edge between these factors, with the plan beyond it.
    fn changed_to(
        &self,
        way: Way,
        (last, first): (Decimal, Decimal),
        next: Option<Solution>,
    ) -> Result<Edge, StudyError> {
        let mut turn = Turn {
            last,
            first,
            total: None,
            parts_out: Vec::new(),
            parts_in: Vec::new(),
            moves: Vec::new(),
        };
        if let Some(solution) = next {
            let there = priced(self.input, way.part, first);
            let plan = answer::answer(&there, self.fit, solution, self.now.bound)?.plan;
            (turn.parts_out, turn.parts_in) = answer::exchanged(&self.now.plan, &plan);
            turn.moves = moves(&self.now.plan, &plan);
            turn.total = Some(plan.cost.total);
        }
        Ok(Edge::Turns(Box::new(turn)))
    }

    fn offers(&self, part: PartId) -> impl Iterator<Item = &Offer> {
        let usable = |id| self.fit.offers.binary_search(&id).is_ok();
        let offers = self.input.catalog.offers_of(part);
        offers
            .filter(move |(id, _)| usable(*id))
            .map(|(_, offer)| offer)
    }

    /// Suppliers of a part whose thresholds its price can move.
    fn thresholds(&self, part: PartId) -> Vec<String> {
        let suppliers = self
            .offers(part)
            .map(|o| self.input.catalog.supplier(o.supplier));
        suppliers
            .filter(|s| {
                (s.free_over.is_some() && s.shipping.is_positive()) || s.min_order.is_some()
            })
            .map(|s| s.name.clone())
            .collect()
    }

    /// Half the width of a bracket as a factor: half a cent of the highest
    /// price, at most a thousandth; nothing where edges are exact.
    fn tick(&self, part: PartId) -> Decimal {
        if self.thresholds(part).is_empty() {
            return Decimal::ZERO;
        }
        let prices = self
            .offers(part)
            .flat_map(|o| &o.breaks)
            .map(|b| b.unit_price.0);
        let highest = prices.max().unwrap_or_default();
        let half_cent = Decimal::new(5, 3).checked_div(highest);
        round(half_cent.unwrap_or(Decimal::ONE).min(Decimal::new(1, 3))).max(Decimal::new(1, 9))
    }

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

/// Plans that one search knows, with their lines.
struct Known {
    own: Line,
    plans: Vec<Solution>,
    lines: Vec<Line>,
    /// The plan at the prices as they are.
    now: Solution,
}

impl Known {
    fn new(study: &Study<'_>, way: Way, pool: &[Solution]) -> Known {
        let line = |plan| study.line(way.part, plan);
        Known {
            own: line(&study.now.solution),
            plans: pool.to_vec(),
            lines: pool.iter().map(line).collect(),
            now: study.now.solution.clone(),
        }
    }

    /// Takes a plan in if it beats the present one at a factor.
    fn learn(&mut self, line: Line, plan: &Solution, factor: Decimal) -> bool {
        let is_better = beats(&line, &self.own, factor);
        if is_better {
            self.lines.push(line);
            self.plans.push(plan.clone());
        }
        is_better
    }

    fn nearest(&self, reach: Decimal) -> Option<Crossing> {
        nearest(&self.own, &self.lines, reach)
    }

    /// The cheapest plan known at a factor.
    fn cheapest(&self, factor: Decimal) -> &Solution {
        let costs = self.lines.iter().zip(&self.plans);
        let costs = costs.filter_map(|(line, plan)| Some((line.at(factor)?, plan)));
        let least = costs.min_by(|a, b| a.0.cmp(&b.0));
        let own = self.own.at(factor);
        match least {
            Some((cost, plan)) if own.is_none_or(|own| cost < own) => plan,
            _ => &self.now,
        }
    }
}

/// True if the answer is proven, whatever it is.
fn settled(reply: &Reply) -> bool {
    match reply {
        Reply::Found(answer) => answer.is_proven(),
        Reply::Infeasible => true,
        Reply::Unknown => false,
    }
}

/// The solver's own tolerance is a millionth; less than ten of them is none.
const TOLERANCE: Decimal = Decimal::from_parts(1, 0, 0, false, 5);

fn beats(line: &Line, own: &Line, factor: Decimal) -> bool {
    match (line.at(factor), own.at(factor)) {
        (Some(cost), Some(own)) => cost < own - TOLERANCE,
        (Some(_), None) => true,
        (None, _) => false,
    }
}

/// Nearer to 1 than the other, or the first.
fn is_nearer(a: Crossing, b: Option<Crossing>) -> bool {
    let distance = |c: Crossing| (c.factor - Decimal::ONE).abs();
    b.is_none_or(|b| distance(a) + Decimal::new(1, 9) < distance(b))
}

/// Nearer to 1 by a tick, but not beyond it.
fn towards_one(factor: Decimal, tick: Decimal) -> Decimal {
    round(match factor > Decimal::ONE {
        true => (factor - tick).max(Decimal::ONE),
        false => (factor + tick).min(Decimal::ONE),
    })
}

/// To twelve decimals, so that prices stay within exact arithmetic.
fn round(factor: Decimal) -> Decimal {
    factor.round_dp(12).normalize()
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

fn moves(from: &Plan, to: &Plan) -> Vec<Move> {
    let (before, after) = (sources(from), sources(to));
    let moved = before.into_iter().filter_map(|(part, from)| {
        let to = after.get(&part).filter(|to| **to != from)?.clone();
        Some(Move { part, from, to })
    });
    moved.collect()
}

/// Who each bought part is bought from.
fn sources(plan: &Plan) -> BTreeMap<String, Vec<String>> {
    let mut sources: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for order in &plan.orders {
        for line in &order.lines {
            sources
                .entry(line.part.clone())
                .or_default()
                .push(order.supplier.clone());
        }
    }
    sources
}
