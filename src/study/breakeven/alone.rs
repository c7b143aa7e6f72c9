//! The edge of a way by itself, one proven solve after another. A way goes by itself
//! where a plan can be ordered at a price and nowhere nearer, or where no plan is known
//! beyond the price.

use super::range::{Edge, priced};
use super::rivals::{Rivals, is_nearer};
use super::search::{Study, Way, round};
use crate::model::Solution;
use crate::study::answer::{self, Reply};
use crate::study::failure::Failure;
use rust_decimal::Decimal;

/// What one solve of a way by itself comes to.
enum Step {
    /// The edge of the way.
    Ends(Edge),
    /// A plan that brings the edge nearer.
    Learns(Solution),
}

impl Study<'_> {
    /// The edge of a way, one solve after another.
    pub(super) fn by_itself(&self, way: Way, pool: &[Solution]) -> Result<Edge, Failure> {
        let mut known = self.known(way, pool);
        loop {
            match self.step(way, &mut known)? {
                Step::Ends(edge) => return Ok(edge),
                Step::Learns(plan) => known.add(self.line(way.part, &plan), &plan),
            }
        }
    }

    /// The cheapest plan at a factor.
    fn solve(&self, way: Way, factor: Decimal, start: &Solution) -> Result<Reply, Failure> {
        let input = priced(self.input, way.part, factor);
        answer::solve(&input, self.fit, self.limit, &[start], false)
    }

    /// One solve at the nearest crossing of what is known, or at the far end: if
    /// nothing is cheaper there, the edge is there.
    fn step(&self, way: Way, known: &mut Rivals) -> Result<Step, Failure> {
        let crossing = known.nearest(way.reach);
        let test = self.test(way, known);
        let at = test.last;
        if at != Decimal::ONE {
            let reply = match self.solve(way, at, known.cheapest(at).0) {
                // A plan just misses a threshold here, and the solver took it for a plan
                // that reaches the threshold. A tick away the solver can't.
                Err(Failure::Defect(_)) if test.is_exact() && !known.is_bracketed => {
                    known.is_bracketed = true;
                    return self.step(way, known);
                }
                reply => reply?,
            };
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

    /// The edge by halving. A cheaper plan may reach a least order at a price, so that
    /// the plan can be ordered there and not just before. Then its line tells nothing
    /// of the way. Halving ends between a factor where the present plan is proven to be
    /// the cheapest and a factor where it is not.
    fn halve(
        &self,
        way: Way,
        (mut first, mut next): (Decimal, Solution),
        known: &mut Rivals,
    ) -> Result<Edge, Failure> {
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
        self.changed_to(way, last, first, Some(next))
    }

    /// What the plan changes to: where the edge is exact, a plan that costs the
    /// same there; else the cheapest just beyond.
    fn turn(&self, way: Way, known: &Rivals) -> Result<Edge, Failure> {
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
        self.changed_to(way, test.last, first, next)
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
