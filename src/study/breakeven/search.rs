//! The edge of each way: lines near the plan first, then proofs of many ways
//! at once.

use super::line::{Crossing, Line};
use super::range::{Edge, Move, Turn, priced};
use super::rivals::Rivals;
use crate::catalog::{Offer, PartId};
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::model::{Claim, Scope, Solution, Verdict};
use crate::plan::Plan;
use crate::study::answer::{self, Answer, side_by_side};
use crate::study::failure::Failure;
use crate::study::offers::{Several, with_sku};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// A part, and the factor up or down to which its price is followed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    pub(super) part: PartId,
    pub(super) reach: Decimal,
}

/// Ways that are proven together, at the most.
const GROUP: usize = 8;

/// How far the claims of a group, added up, may lie above the present least total, as
/// a share of that total. Claims near the total share a proof well, since the same is
/// hard about all of them. Far claims only make a proof wider.
const ROOM: Decimal = Decimal::from_parts(2, 0, 0, false, 3);

/// Ways or groups between two exchanges of what was found. The number does not depend
/// on the machine, so the outcome does not either.
const WAVE: usize = 8;

/// The most looks near the plan for each way.
const LOOKS: usize = 6;

pub(super) struct Study<'a> {
    pub(super) input: &'a Input,
    pub(super) fit: &'a Fit,
    pub(super) now: &'a Answer,
    pub(super) limit: &'a Limit,
}

/// What is put to the proof for a way.
#[derive(Clone, PartialEq)]
pub(super) struct Test {
    pub(super) crossing: Option<Crossing>,
    /// The plan is claimed to be the cheapest here.
    pub(super) last: Decimal,
    /// The plan is claimed to be the cheapest here too, a hundredth before the edge,
    /// where a threshold may make a change that comes and goes.
    pub(super) before: Option<Decimal>,
    /// Where the edge is bracketed: nothing is claimed to be cheaper here than
    /// the cheapest plan known, which costs so much.
    pub(super) first: Option<(Decimal, Option<Decimal>)>,
}

impl Test {
    /// True where two lines meet.
    pub(super) fn is_exact(&self) -> bool {
        self.crossing.is_some() && self.first.is_none()
    }
}

impl Study<'_> {
    /// All edges, in the order of the ways.
    pub(super) fn edges(&self, ways: &[Way]) -> Result<Vec<Edge>, Failure> {
        let mut edges: Vec<Edge> = vec![Edge::Untold; ways.len()];
        if !self.now.is_proven() {
            return Ok(edges);
        }
        // Each way is looked at twice: near the plan, and for the proof.
        self.limit.expect(2 * ways.len());
        let mut pool: Vec<Solution> = Vec::new();
        for wave in ways.chunks(WAVE) {
            let found = side_by_side(wave, self.limit.threads, |&way| {
                self.begins(&[way]);
                let found = self.near(way, &pool);
                self.limit.one_done();
                found
            });
            for found in found {
                share(&mut pool, found?);
            }
        }
        let groups = self.groups(ways, &pool);
        for wave in groups.chunks(WAVE) {
            let proven = side_by_side(wave, self.limit.threads, |group| {
                let ways: Vec<Way> = group.iter().map(|&at| ways[at]).collect();
                self.begins(&ways);
                let proven = self.prove(&ways, &pool);
                ways.iter().for_each(|_| self.limit.one_done());
                proven
            });
            for (group, proven) in wave.iter().zip(proven) {
                let proven = proven?;
                for (&at, edge) in group.iter().zip(proven.edges) {
                    edges[at] = edge;
                }
                share(&mut pool, proven.found);
            }
        }
        Ok(edges)
    }

    /// Tells which parts the search is at.
    fn begins(&self, ways: &[Way]) {
        let code = |way: &Way| self.input.catalog.part(way.part).code.as_str();
        match ways {
            [] => {}
            [one] => self.limit.begins(code(one)),
            [one, rest @ ..] => {
                let text = format!("{} and {} more", code(one), rest.len());
                self.limit.begins(&text);
            }
        }
    }

    /// Ways to be proven together, by their places. By what is known, the ways that
    /// turn soonest come first: users ask for these first, and these are known when
    /// the search is stopped.
    fn groups(&self, ways: &[Way], pool: &[Solution]) -> Vec<Vec<usize>> {
        let total = self.now.total().0;
        let mut order: Vec<(Decimal, Decimal, usize)> = (ways.iter().enumerate())
            .map(|(at, &way)| {
                let known = self.known(way, pool);
                let crossing = known.nearest(way.reach);
                let factor = crossing.map_or(way.reach, |c| c.factor);
                let distance = crossing.map_or(Decimal::MAX, |_| (factor - Decimal::ONE).abs());
                let claimed = known.own.at(factor).unwrap_or(Decimal::MAX);
                (distance, (claimed.saturating_sub(total)).abs(), at)
            })
            .collect();
        order.sort();
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut left = Decimal::ZERO;
        for (_, room, at) in order {
            match groups
                .last_mut()
                .filter(|g| g.len() < GROUP && room <= left)
            {
                Some(group) => group.push(at),
                None => {
                    groups.push(vec![at]);
                    left = total * ROOM;
                }
            }
            left = left.saturating_sub(room);
        }
        groups
    }

    pub(super) fn known(&self, way: Way, pool: &[Solution]) -> Rivals {
        let line = |plan: &Solution| self.line(way.part, plan);
        Rivals::new(&self.now.solution, pool, line)
    }

    pub(super) fn line(&self, part: PartId, solution: &Solution) -> Line {
        Line::new(self.input, self.fit, part, solution)
    }

    pub(super) fn refute(&self, claims: &[Claim], scope: Scope) -> Result<Verdict, Failure> {
        answer::refute(self.input, self.fit, self.limit, claims, scope)
    }

    /// Plans that differ from the present one only where the part can be used,
    /// and that turn the way; the nearest last.
    fn near(&self, way: Way, pool: &[Solution]) -> Result<Vec<Solution>, Failure> {
        let mut known = self.known(way, pool);
        for _ in 0..LOOKS {
            let factor = known.nearest(way.reach).map_or(way.reach, |c| c.factor);
            let Some(least) = known.own.at(factor).filter(|_| factor != Decimal::ONE) else {
                break;
            };
            let claim = Claim {
                part: way.part,
                factor,
                least,
                kept: &self.now.solution,
            };
            let Verdict::Wrong(plan) = self.refute(&[claim], Scope::Near)? else {
                break;
            };
            if !known.learn(self.line(way.part, &plan), &plan, factor) {
                break;
            }
        }
        Ok(known.plans.split_off(pool.len()))
    }

    /// Where to test a way.
    pub(super) fn test(&self, way: Way, known: &Rivals) -> Test {
        let crossing = known.nearest(way.reach);
        let tick = self.tick(way.part);
        let (last, first) = match crossing {
            None => (way.reach, None),
            Some(at) if tick.is_zero() || known.meets(at, tick) => (round(at.factor), None),
            Some(at) => (
                towards_one(at.factor, tick),
                Some(beyond(at.factor, tick, way.reach)),
            ),
        };
        let before = round(match way.reach > Decimal::ONE {
            true => last - last / Decimal::ONE_HUNDRED,
            false => last + last / Decimal::ONE_HUNDRED,
        });
        let is_inside = (before - Decimal::ONE) * (way.reach - Decimal::ONE) > Decimal::ZERO;
        Test {
            crossing,
            last,
            before: Some(before).filter(|before| is_inside && *before != last && !tick.is_zero()),
            first: first.map(|first| (first, known.cheapest(first).1)),
        }
    }

    /// The edge between these factors, with the plan beyond it.
    pub(super) fn changed_to(
        &self,
        way: Way,
        last: Decimal,
        first: Decimal,
        next: Option<Solution>,
    ) -> Result<Edge, Failure> {
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
            let several = Several::of(&self.input.catalog);
            turn.moves = moves(&self.now.plan, &plan, &several);
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

    /// Suppliers of a part that have a threshold: free shipping or a least order.
    pub(super) fn thresholds(&self, part: PartId) -> Vec<String> {
        let suppliers = self
            .offers(part)
            .map(|o| self.input.catalog.supplier(o.supplier));
        let mut names: Vec<String> = suppliers
            .filter(|s| {
                (s.free_over.is_some() && s.shipping.is_positive()) || s.min_order.is_some()
            })
            .map(|s| s.name.clone())
            .collect();
        // A supplier may have several offers, which stand together.
        names.dedup();
        names
    }

    /// Half the width of a bracket as a factor: half a cent of the highest
    /// price, at most a thousandth; nothing where edges are exact.
    pub(super) fn tick(&self, part: PartId) -> Decimal {
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
}

/// Takes in plans that are not there yet.
fn share(pool: &mut Vec<Solution>, found: Vec<Solution>) {
    for plan in found {
        if !pool.contains(&plan) {
            pool.push(plan);
        }
    }
}

/// Beyond a factor by a tick, but not beyond the reach.
fn beyond(factor: Decimal, tick: Decimal, reach: Decimal) -> Decimal {
    round(match reach > Decimal::ONE {
        true => (factor + tick).min(reach),
        false => (factor - tick).max(reach),
    })
}

/// Nearer to 1 by a tick, but not beyond it.
fn towards_one(factor: Decimal, tick: Decimal) -> Decimal {
    round(match factor > Decimal::ONE {
        true => (factor - tick).max(Decimal::ONE),
        false => (factor + tick).min(Decimal::ONE),
    })
}

/// Rounds to twelve decimals, so that prices stay within exact arithmetic.
pub(super) fn round(factor: Decimal) -> Decimal {
    factor.round_dp(12).normalize()
}

fn moves(from: &Plan, to: &Plan, several: &Several) -> Vec<Move> {
    let (before, after) = (sources(from, several), sources(to, several));
    let moved = before.into_iter().filter_map(|(part, from)| {
        let to = after.get(&part).filter(|to| **to != from)?.clone();
        Some(Move { part, from, to })
    });
    moved.collect()
}

/// Who each bought part is bought from.
fn sources(plan: &Plan, several: &Several) -> BTreeMap<String, Vec<String>> {
    let mut sources: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for order in &plan.orders {
        for line in &order.lines {
            let sku = several.sku(&line.part, &order.supplier, &line.sku);
            let source = with_sku(&order.supplier, sku.as_deref());
            sources.entry(line.part.clone()).or_default().push(source);
        }
    }
    sources
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dec(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn a_bracket_has_the_plan_on_the_near_side_and_not_on_the_far_one() {
        let (tick, highest) = (dec("0.001"), dec("3"));
        for (factor, last, first, reach) in [
            ("1.25", "1.249", "1.251", highest),
            ("0.75", "0.751", "0.749", Decimal::ZERO),
            // Neither is beyond what is asked: the prices as they are, and the reach.
            ("1.0004", "1", "1.0014", highest),
            ("0.9996", "1", "0.9986", Decimal::ZERO),
            ("2.9995", "2.9985", "3", highest),
            ("0.0005", "0.0015", "0", Decimal::ZERO),
        ] {
            assert_eq!(towards_one(dec(factor), tick), dec(last), "{factor}");
            assert_eq!(beyond(dec(factor), tick, reach), dec(first), "{factor}");
        }
    }

    #[test]
    fn factors_have_twelve_decimals_the_nearest() {
        assert_eq!(round(dec("5") / dec("3")), dec("1.666666666667"));
        assert_eq!(round(dec("4") / dec("3")), dec("1.333333333333"));
        assert_eq!(round(dec("1.2500")), dec("1.25"));
    }
}
