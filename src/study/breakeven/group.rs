//! The edges of several ways by one proof.

use super::range::Edge;
use super::rivals::{Rivals, beats};
use super::search::{Study, Test, Way};
use crate::model::{Claim, Scope, Solution, Verdict};
use crate::study::failure::Failure;
use rust_decimal::Decimal;

/// What a group comes to: the edges of its ways, and the plans found.
pub(super) struct Proven {
    pub(super) edges: Vec<Edge>,
    pub(super) found: Vec<Solution>,
}

/// A way of a group.
struct Member {
    way: Way,
    known: Rivals,
    test: Test,
    /// True if the way is proven by itself, after the others.
    is_alone: bool,
}

impl Study<'_> {
    /// The edges of some ways. What is claimed of all of them is put to one proof.
    /// Where a plan shows a claim wrong, that plan is a line for all ways, and the
    /// claims are made anew.
    pub(super) fn prove(&self, ways: &[Way], pool: &[Solution]) -> Result<Proven, Failure> {
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
    fn look(&self, members: &mut [Member]) -> Result<Verdict, Failure> {
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

    /// Gives all members a plan that showed a claim wrong. The plan may move none
    /// of their edges: it can be ordered nowhere nearer, or is cheaper only by the
    /// solver's tolerance. Then the members in question go by themselves.
    fn teach(&self, members: &mut [Member], plan: &Solution) {
        let mut is_moved = false;
        let mut is_wrong = vec![false; members.len()];
        for (member, is_wrong) in members.iter_mut().zip(&mut is_wrong) {
            let line = self.line(member.way.part, plan);
            let own = &member.known.own;
            let mut tested = [Some(member.test.last), member.test.before].into_iter();
            let is_beaten = tested.any(|at| at.is_some_and(|at| beats(line.at(at), own.at(at))));
            *is_wrong = !member.is_alone && is_beaten;
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

    /// The edge of a member whose claims hold.
    fn edge(&self, member: &Member) -> Result<Edge, Failure> {
        let (test, known) = (&member.test, &member.known);
        let Some(crossing) = test.crossing else {
            return Ok(Edge::Holds);
        };
        let (first, next) = match test.first {
            Some((first, _)) => (first, Some(known.cheapest(first).0)),
            None => (test.last, crossing.by.and_then(|by| known.plans.get(by))),
        };
        self.changed_to(member.way, test.last, first, next.cloned())
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
    let is_kept = Some(test.last).filter(|last| *last != Decimal::ONE);
    for factor in test.before.into_iter().chain(is_kept) {
        claims.push(Claim {
            part,
            factor,
            least: known.own.at(factor)?,
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
