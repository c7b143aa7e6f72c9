//! What fewer kinds of part, suppliers or crimp dies cost: for each number the
//! cheapest plan that does with it.

use super::answer::{self, Answer, Reply, side_by_side};
use super::failure::Failure;
use crate::fit::{Fit, fit};
use crate::input::Input;
use crate::limit::Limit;
use crate::model::Solution;
use crate::plan::{Plan, PlanError, dies_to_buy};
use crate::units::Money;
use rust_decimal::Decimal;
use std::collections::BTreeMap;
use std::time::Duration;

/// One point takes at most this part of a limit on time. So there is a curve even
/// where no point is proven.
const POINTS: u32 = 8;

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Distinct parts fitted.
    Variants,
    /// Suppliers with an order.
    Suppliers,
    /// Crimp dies bought.
    Dies,
}

/// The cheapest plan for each number, from what the cheapest of all uses down
/// to the least that any compatible plan can do with.
#[derive(Debug, Clone)]
pub struct Frontier {
    /// What is counted.
    pub by: By,
    /// The points from the largest number down; at least one. Where the search was
    /// stopped, these are the points found so far.
    pub points: Vec<Point>,
    /// No plan does with fewer than this number.
    pub least: u32,
    /// True if every point from the cheapest down to `least` is there.
    pub is_whole: bool,
    /// Plans solved.
    pub solves: usize,
}

impl Frontier {
    /// A point's plan as a plan of the project without the limit on the number. The
    /// plan is held against the cheapest plan of all.
    ///
    /// # Errors
    /// As [`Plan::beside`].
    pub fn kept(&self, point: &Point) -> Result<Plan, PlanError> {
        let plan = point.plan.clone();
        match self.points.first() {
            Some(top) if top.plan != plan => plan.beside(&top.plan),
            _ => Ok(plan),
        }
    }
}

/// The cheapest plan with at most a given number of what is counted.
#[derive(Debug, Clone)]
pub struct Point {
    /// The most that was allowed.
    pub at_most: u32,
    /// How many the plan uses.
    pub uses: u32,
    /// The plan, audited with that limit.
    pub plan: Plan,
    /// What the plan costs beyond the cheapest plan of all.
    pub extra: Money,
    /// What changes from the point before.
    pub change: Change,
}

/// What changes from one plan to the next.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Change {
    /// Parts that leave, by code.
    pub parts_out: Vec<String>,
    /// Parts that come in.
    pub parts_in: Vec<String>,
    /// Suppliers or dies that leave; nothing where variants are counted.
    pub out: Vec<String>,
    /// Suppliers or dies that come in.
    pub into: Vec<String>,
}

impl By {
    /// The word in the singular: `variant`, `supplier`, `die`.
    pub fn word(self) -> &'static str {
        match self {
            By::Variants => "variant",
            By::Suppliers => "supplier",
            By::Dies => "die",
        }
    }

    /// The names of what a plan uses; part codes for variants.
    pub fn used(self, input: &Input, plan: &Plan) -> Vec<String> {
        match self {
            By::Variants => plan.parts.iter().map(|p| p.part.clone()).collect(),
            By::Suppliers => plan.orders.iter().map(|o| o.supplier.clone()).collect(),
            By::Dies => (dies_to_buy(input, plan).into_iter())
                .map(|die| input.catalog.die(die).name.clone())
                .collect(),
        }
    }

    fn count(self, input: &Input, plan: &Plan) -> u32 {
        self.used(input, plan).len() as u32
    }

    /// The project with the limit on what is counted set to `most`.
    pub fn limited(self, input: &Input, most: u32) -> Input {
        let mut input = input.clone();
        let settings = &mut input.settings;
        match self {
            By::Variants => settings.max_variants = Some(most),
            By::Suppliers => settings.max_suppliers = Some(most),
            By::Dies => settings.max_dies = Some(most),
        }
        input
    }

    /// The project where each thing that is counted costs 1, and nothing else
    /// costs anything. Least orders are left out, since without prices no order
    /// reaches them. The total bounds the least number from below.
    fn counted(self, input: &Input) -> Input {
        let one = Money(Decimal::ONE);
        let of = |counts: bool| if counts { one } else { Money::ZERO };
        let mut input = input.clone();
        for offer in &mut input.catalog.offers {
            for step in &mut offer.breaks {
                step.unit_price = Money::ZERO;
            }
        }
        for supplier in &mut input.catalog.suppliers {
            supplier.shipping = of(self == By::Suppliers);
            supplier.free_over = None;
            supplier.min_order = None;
        }
        for die in &mut input.catalog.dies {
            die.cost = of(self == By::Dies);
        }
        for rate in input.settings.rates.values_mut() {
            *rate = Decimal::ONE;
        }
        input.settings.line_cost = of(self == By::Variants);
        input
    }
}

/// The whole frontier of a project.
///
/// The ends of the range are solved first, then the middle of each gap. So the
/// start of a point does not depend on which point is done first.
///
/// A recorded plan of the project as it is now is taken for the cheapest, as far
/// as that plan is proven. That plan is not searched for again.
///
/// # Errors
/// Any [`Failure`]. A stop after the cheapest plan is found is no failure.
pub fn frontier(
    input: &Input,
    by: By,
    limit: &Limit,
    record: Option<&Plan>,
) -> Result<Frontier, Failure> {
    let fit = fit(input)?;
    let tracing = Tracing {
        input,
        fit: &fit,
        by,
        limit,
        longest: limit.left().map(|left| left / POINTS),
    };
    let (top, below) = tracing.ends(record)?;
    let highest = tracing.count(&top);
    let mut known = BTreeMap::from([(highest, top)]);
    let least = tracing.bottom(&mut known, below)?;
    while let Some(gaps) = tracing.gaps(&known) {
        if !tracing.fill(&mut known, &gaps)? {
            break;
        }
    }
    tracing.level(&mut known)?;
    tracing.finish(known, least)
}

/// Points that are solved, by the number allowed.
type Solved = BTreeMap<u32, Answer>;

struct Tracing<'a> {
    input: &'a Input,
    fit: &'a Fit,
    by: By,
    limit: &'a Limit,
    /// The most time for one point, under a limit on time.
    longest: Option<Duration>,
}

impl Tracing<'_> {
    fn solve(&self, input: &Input, starts: &[&Solution], ties: bool) -> Result<Reply, Failure> {
        let point = self.longest.map(|longest| self.limit.within(longest));
        let limit = point.as_ref().unwrap_or(self.limit);
        answer::solve(input, self.fit, limit, starts, ties)
    }

    fn count(&self, answer: &Answer) -> u32 {
        self.by.count(self.input, &answer.plan)
    }

    /// The cheapest plan of all, and a plan that does with few. The bound of the
    /// second plan bounds the least number.
    fn ends(&self, record: Option<&Plan>) -> Result<(Answer, Option<Answer>), Failure> {
        let counted = self.by.counted(self.input);
        let cheapest = || answer::cheapest(self.input, self.fit, self.limit, record);
        let mut both = side_by_side(&[false, true], self.limit.threads, |&is_few| match is_few {
            false => cheapest().map(Some),
            true => self.solve(&counted, &[], false).map(Reply::found),
        });
        let few = both.pop().transpose()?.flatten();
        let top = both.pop().transpose()?.flatten();
        Ok((top.ok_or(Failure::OutOfTime)?, few))
    }

    /// Goes up from the least thinkable number to the first number that has a plan.
    /// Gives that number, or the last bound where the search was stopped.
    fn bottom(&self, known: &mut Solved, few: Option<Answer>) -> Result<u32, Failure> {
        let highest = known.keys().next_back().copied().unwrap_or(0);
        let mut least = few.as_ref().map_or(0, |few| self.bound(few)).min(highest);
        let start: Vec<&Solution> = few.iter().map(|few| &few.solution).collect();
        let solve = |most| self.solve(&self.by.limited(self.input, most), &start, true);
        while least < highest {
            match solve(least)? {
                Reply::Found(answer) => {
                    known.insert(least, *answer);
                    break;
                }
                Reply::Infeasible => least += 1,
                Reply::Unknown => {
                    // Nothing is told, but a plan that does with few may be in hand.
                    let few = few.as_ref().map_or(highest, |few| self.count(few));
                    let found = match few < highest {
                        true => solve(few)?.found(),
                        false => None,
                    };
                    known.extend(found.map(|answer| (few, answer)));
                    break;
                }
            }
        }
        Ok(least)
    }

    /// The count of a plan that is proven least, else a number that no plan goes below.
    fn bound(&self, few: &Answer) -> u32 {
        if few.is_proven() {
            return self.count(few);
        }
        // The solver's bound, rounded up with room for its tolerance.
        (few.bound.lower - 1e-6).ceil().clamp(0.0, 1e6) as u32
    }

    /// The numbers to solve next, as pairs: the lower end of a gap and its middle.
    /// None when no gap is left or the search is over.
    fn gaps(&self, known: &Solved) -> Option<Vec<(u32, u32)>> {
        if self.limit.is_over() {
            return None;
        }
        let pairs = known.iter().zip(known.iter().skip(1));
        let gaps: Vec<(u32, u32)> = pairs
            .filter(|((_, low), (_, high))| !same(low, high))
            // A plan that uses fewer than allowed is the cheapest down to what it uses.
            .map(|((&low, _), (&high, plan))| (low, self.count(plan).min(high)))
            .filter(|&(low, high)| high > low + 1)
            .map(|(low, high)| (low, low + (high - low) / 2))
            .collect();
        (!gaps.is_empty()).then_some(gaps)
    }

    /// Solves the middles of these gaps; false if no point was found.
    fn fill(&self, known: &mut Solved, gaps: &[(u32, u32)]) -> Result<bool, Failure> {
        let replies = side_by_side(gaps, self.limit.threads, |&(low, middle)| {
            // Taking out of the plan above comes to better plans than adding to the
            // plan below, which is a plan here already.
            let above = known.range(middle..).next().map(|(_, answer)| answer);
            let both = above.into_iter().chain(known.get(&low));
            let starts: Vec<&Solution> = both.map(|answer| &answer.solution).collect();
            let limited = self.by.limited(self.input, middle);
            self.solve(&limited, &starts, true)
        });
        let before = known.len();
        for (&(_, middle), reply) in gaps.iter().zip(replies) {
            known.extend(reply?.found().map(|answer| (middle, answer)));
        }
        Ok(known.len() > before)
    }

    /// A plan for fewer is also a plan for more. So such a plan takes the place of
    /// a dearer plan that the search was stopped at, with the dearer plan's bound.
    fn level(&self, known: &mut Solved) -> Result<(), Failure> {
        let mut best: Option<Answer> = None;
        for (&at, answer) in known.iter_mut() {
            match best.take() {
                Some(below) if below.total() < answer.total() => {
                    let limited = self.by.limited(self.input, at);
                    let solution = below.solution.clone();
                    *answer = answer::answer(&limited, self.fit, solution, answer.bound)?;
                    best = Some(below);
                }
                _ => best = Some(answer.clone()),
            }
        }
        Ok(())
    }

    /// Gives a plan to every number between two points with one total, and down
    /// to what a plan uses. Each plan is audited with its limit.
    fn finish(&self, mut known: Solved, least: u32) -> Result<Frontier, Failure> {
        let solved: Vec<(u32, u32)> = (known.iter())
            .map(|(&at, answer)| (at, self.count(answer)))
            .collect();
        for (place, &(at, uses)) in solved.iter().enumerate() {
            let above = solved.get(place + 1).map(|&(high, _)| high);
            let flat = above.filter(|high| same(&known[&at], &known[high]));
            for other in (uses..at).chain(at + 1..flat.unwrap_or(at + 1)) {
                if !known.contains_key(&other) {
                    let Answer {
                        solution, bound, ..
                    } = known[&at].clone();
                    let limited = self.by.limited(self.input, other);
                    let answer = answer::answer(&limited, self.fit, solution, bound)?;
                    known.insert(other, answer);
                }
            }
        }
        let points = self.points(&known);
        let bottom = points.last().map_or(0, |p| p.at_most);
        Ok(Frontier {
            by: self.by,
            is_whole: bottom == least && points.len() as u32 == known_span(&known),
            points,
            least,
            solves: self.limit.solves(),
        })
    }

    fn points(&self, known: &Solved) -> Vec<Point> {
        let cheapest = known
            .values()
            .next_back()
            .map_or(Money::ZERO, Answer::total);
        let mut before: Option<&Plan> = None;
        let mut points = Vec::new();
        for (&at_most, answer) in known.iter().rev() {
            let plan = &answer.plan;
            points.push(Point {
                at_most,
                uses: self.count(answer),
                extra: answer.total() - cheapest,
                change: before.map_or_else(Change::default, |before| self.change(before, plan)),
                plan: plan.clone(),
            });
            before = Some(plan);
        }
        points
    }

    fn change(&self, from: &Plan, to: &Plan) -> Change {
        let (parts_out, parts_in) = answer::exchanged(from, to);
        let (out, into) = match self.by {
            By::Variants => Default::default(),
            by => answer::differ(&by.used(self.input, from), &by.used(self.input, to)),
        };
        Change {
            parts_out,
            parts_in,
            out,
            into,
        }
    }
}

/// True for two proven points with one total: all points between have that total.
fn same(low: &Answer, high: &Answer) -> bool {
    low.is_proven() && high.is_proven() && low.total() == high.total()
}

/// How many numbers there are from the least known to the highest.
fn known_span(known: &Solved) -> u32 {
    match (known.keys().next(), known.keys().next_back()) {
        (Some(low), Some(high)) => high - low + 1,
        _ => 0,
    }
}
