//! The edge of each way: lines near the plan first, then proofs of many ways
//! at once.

use super::known::{Known, beats, is_nearer};
use super::line::{Crossing, Line};
use super::{Edge, Move, Turn, priced};
use crate::catalog::{Offer, PartId};
use crate::fit::Fit;
use crate::input::Input;
use crate::model::{Claim, Scope, Solution, Verdict};
use crate::plan::Plan;
use crate::study::answer::{self, Answer, Effort, Reply, StudyError, side_by_side};
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

/// What their claims are above the least total as it is, together, at the most,
/// as a share of it. Claims near that total share a proof well, as what is hard
/// about it is the same; far ones only make it wider.
const ROOM: Decimal = Decimal::from_parts(2, 0, 0, false, 3);

/// Ways or groups between two exchanges of what was found: a number that does
/// not depend on the machine, so that the outcome does not.
const WAVE: usize = 8;

/// Looks near the plan for each way, at the most.
const LOOKS: usize = 6;

pub(super) struct Study<'a> {
    pub(super) input: &'a Input,
    pub(super) fit: &'a Fit,
    pub(super) now: &'a Answer,
    pub(super) effort: &'a Effort<'a>,
}

/// What a group comes to: the edges of its ways, and the plans found.
struct Proven {
    edges: Vec<Edge>,
    found: Vec<Solution>,
}

/// What one solve of a way by itself comes to.
enum Step {
    /// Its edge.
    Ends(Edge),
    /// A plan that brings the edge nearer.
    Learns(Solution),
}

/// A way of a group.
struct Member {
    way: Way,
    known: Known,
    test: Test,
    /// True if it is proven by itself, after the others.
    is_alone: bool,
}

/// What is put to the proof for a way.
#[derive(Clone, PartialEq)]
struct Test {
    crossing: Option<Crossing>,
    /// The plan is claimed to be the cheapest here.
    last: Decimal,
    /// Where the edge is bracketed: nothing is claimed to be cheaper here than
    /// the cheapest plan known, which costs so much.
    first: Option<(Decimal, Option<Decimal>)>,
}

impl Study<'_> {
    /// All edges, in the order of the ways.
    pub(super) fn edges(&self, ways: &[Way]) -> Result<Vec<Edge>, StudyError> {
        let mut edges: Vec<Edge> = vec![Edge::Untold; ways.len()];
        if !self.now.is_proven() {
            return Ok(edges);
        }
        self.effort.expect(ways.len());
        let mut pool: Vec<Solution> = Vec::new();
        for wave in ways.chunks(WAVE) {
            for found in side_by_side(wave, self.effort.cores, |&way| self.near(way, &pool)) {
                share(&mut pool, found?);
            }
        }
        let groups = self.groups(ways, &pool);
        for wave in groups.chunks(WAVE) {
            let proven = side_by_side(wave, self.effort.cores, |group| {
                let ways: Vec<Way> = group.iter().map(|&at| ways[at]).collect();
                let proven = self.prove(&ways, &pool);
                ways.iter().for_each(|_| self.effort.one_done());
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

    /// Ways to be proven together. By what is known, those first that turn
    /// soonest: that is what is asked first, and what is known when the search is
    /// stopped.
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

    fn known(&self, way: Way, pool: &[Solution]) -> Known {
        let line = |plan: &Solution| self.line(way.part, plan);
        Known::new(&self.now.solution, pool, line)
    }

    fn line(&self, part: PartId, solution: &Solution) -> Line {
        Line::new(self.input, self.fit, part, solution)
    }

    fn refute(&self, claims: &[Claim], scope: Scope) -> Result<Verdict, StudyError> {
        answer::refute(self.input, self.fit, self.effort, (claims, scope))
    }

    /// Plans that differ from the present one only where the part can be used,
    /// and that turn the way; the nearest last.
    fn near(&self, way: Way, pool: &[Solution]) -> Result<Vec<Solution>, StudyError> {
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

    /// The edges of some ways: what is claimed of all of them is put to one
    /// proof; where a plan shows a claim wrong, it is a line for all, and the
    /// claims are made anew.
    fn prove(&self, ways: &[Way], pool: &[Solution]) -> Result<Proven, StudyError> {
        let member = |&way: &Way| {
            let known = self.known(way, pool);
            Member {
                way,
                test: self.test(way, &known),
                known,
                is_alone: false,
            }
        };
        let mut members: Vec<Member> = ways.iter().map(member).collect();
        let mut found: Vec<Solution> = Vec::new();
        loop {
            let verdict = self.look(&mut members)?;
            if let Verdict::Wrong(plan) = verdict {
                self.teach(&mut members, &plan);
                found.push(*plan);
                continue;
            }
            let edges = members.iter().map(|member| match &verdict {
                _ if member.is_alone => self.by_itself(member.way, pool),
                Verdict::Hold => self.edge(member),
                Verdict::Wrong(_) | Verdict::Unknown => Ok(Edge::Untold),
            });
            let edges = edges.collect::<Result<_, _>>()?;
            return Ok(Proven { edges, found });
        }
    }

    /// Puts what is claimed of the members to the proof.
    fn look(&self, members: &mut [Member]) -> Result<Verdict, StudyError> {
        for member in members.iter_mut() {
            member.is_alone |= claims(member, &self.now.solution).is_none();
        }
        let together = members.iter().filter(|m| !m.is_alone);
        let claims = together.filter_map(|m| claims(m, &self.now.solution));
        let claims: Vec<Claim> = claims.flatten().collect();
        match claims.is_empty() {
            true => Ok(Verdict::Hold),
            false => self.refute(&claims, Scope::All),
        }
    }

    /// Gives all members a plan that showed a claim wrong. Where that moves none
    /// of their edges, as the plan can be ordered nowhere nearer, or is cheaper
    /// only by the solver's tolerance, those in question go by themselves.
    fn teach(&self, members: &mut [Member], plan: &Solution) {
        let mut is_moved = false;
        let mut is_wrong = vec![false; members.len()];
        for (member, is_wrong) in members.iter_mut().zip(&mut is_wrong) {
            let line = self.line(member.way.part, plan);
            let own = member.known.own.at(member.test.last);
            *is_wrong = !member.is_alone && beats(line.at(member.test.last), own);
            member.known.add(line, plan);
            let test = self.test(member.way, &member.known);
            is_moved |= !member.is_alone && test != member.test;
            member.test = test;
        }
        let nobody = !is_wrong.contains(&true);
        for (member, is_wrong) in members.iter_mut().zip(is_wrong) {
            member.is_alone |= !is_moved && (is_wrong || nobody);
        }
    }

    /// Where to test a way.
    fn test(&self, way: Way, known: &Known) -> Test {
        let crossing = known.nearest(way.reach);
        let tick = self.tick(way.part);
        let (last, first) = match crossing {
            None => (way.reach, None),
            Some(at) if tick.is_zero() || known.meets(at) => (round(at.factor), None),
            Some(at) => (
                towards_one(at.factor, tick),
                Some(beyond(at.factor, tick, way.reach)),
            ),
        };
        Test {
            crossing,
            last,
            first: first.map(|first| (first, known.cheapest(first).1)),
        }
    }

    /// The edge of a member whose claims hold.
    fn edge(&self, member: &Member) -> Result<Edge, StudyError> {
        let (test, known) = (&member.test, &member.known);
        let Some(crossing) = test.crossing else {
            return Ok(Edge::Holds);
        };
        let (first, next) = match test.first {
            Some((first, _)) => (first, Some(known.cheapest(first).0)),
            None => (test.last, crossing.by.and_then(|by| known.plans.get(by))),
        };
        self.changed_to(member.way, (test.last, first), next.cloned())
    }

    /// The edge of a way, one solve after another.
    fn by_itself(&self, way: Way, pool: &[Solution]) -> Result<Edge, StudyError> {
        let mut known = self.known(way, pool);
        loop {
            match self.step(way, &mut known)? {
                Step::Ends(edge) => return Ok(edge),
                Step::Learns(plan) => known.add(self.line(way.part, &plan), &plan),
            }
        }
    }

    /// The cheapest plan at a factor.
    fn solve(&self, way: Way, factor: Decimal, start: &Solution) -> Result<Reply, StudyError> {
        let input = priced(self.input, way.part, factor);
        answer::solve(&input, self.fit, self.effort, Some(start), false)
    }

    /// One solve at the nearest crossing of what is known, or at the far end: if
    /// nothing is cheaper there, that is the edge.
    fn step(&self, way: Way, known: &mut Known) -> Result<Step, StudyError> {
        let crossing = known.nearest(way.reach);
        let at = self.test(way, known).last;
        if at != Decimal::ONE {
            let reply = self.solve(way, at, known.cheapest(at).0)?;
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
                    return self.halve(way, (at, plan), known).map(Step::Ends);
                }
            }
        }
        match crossing {
            Some(_) => self.turn(way, known).map(Step::Ends),
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
            let reply = self.solve(way, middle, known.cheapest(middle).0)?;
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

    /// What the plan changes to: where the edge is exact, a plan that costs the
    /// same there; else the cheapest just beyond.
    fn turn(&self, way: Way, known: &Known) -> Result<Edge, StudyError> {
        let test = self.test(way, known);
        let by = test.crossing.and_then(|at| known.plans.get(at.by?));
        let (first, next) = match (test.first, by) {
            (None, Some(plan)) => (test.last, Some(plan.clone())),
            (first, _) => {
                let first = first.map_or(test.last, |first| first.0);
                let next = match self.solve(way, first, known.cheapest(first).0)? {
                    Reply::Found(answer) if answer.is_proven() => Some(answer.solution),
                    Reply::Infeasible => None,
                    _ => return Ok(Edge::Untold),
                };
                (first, next)
            }
        };
        self.changed_to(way, (test.last, first), next)
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
    pub(super) fn thresholds(&self, part: PartId) -> Vec<String> {
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
}

/// What a member's test claims; none where no plan is known that can be ordered
/// there.
fn claims<'m>(member: &'m Member, now: &'m Solution) -> Option<Vec<Claim<'m>>> {
    let (part, test, known) = (member.way.part, &member.test, &member.known);
    if let (Some(crossing), None) = (test.crossing, test.first) {
        crossing.by?;
    }
    let mut claims = Vec::new();
    if test.last != Decimal::ONE {
        claims.push(Claim {
            part,
            factor: test.last,
            least: known.own.at(test.last)?,
            kept: now,
        });
    }
    if let Some((factor, least)) = test.first {
        claims.push(Claim {
            part,
            factor,
            least: least?,
            kept: known.cheapest(factor).0,
        });
    }
    Some(claims)
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

/// True if the answer is proven, whatever it is.
fn settled(reply: &Reply) -> bool {
    match reply {
        Reply::Found(answer) => answer.is_proven(),
        Reply::Infeasible => true,
        Reply::Unknown => false,
    }
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
