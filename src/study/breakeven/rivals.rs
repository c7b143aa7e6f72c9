//! Plans that a search knows, with their lines over the price of its part.

use super::line::{Crossing, Line, nearest};
use crate::model::Solution;
use rust_decimal::Decimal;

/// Plans that one search knows, with their lines.
pub(super) struct Rivals {
    pub(super) own: Line,
    pub(super) plans: Vec<Solution>,
    lines: Vec<Line>,
    /// The plan at the prices as they are.
    now: Solution,
    /// True where no edge is taken to be exact.
    pub(super) is_bracketed: bool,
}

impl Rivals {
    /// The plan as it is, and others; `line` gives a plan's line.
    pub(super) fn new(
        now: &Solution,
        pool: &[Solution],
        line: impl Fn(&Solution) -> Line,
    ) -> Rivals {
        Rivals {
            own: line(now),
            plans: pool.to_vec(),
            lines: pool.iter().map(line).collect(),
            now: now.clone(),
            is_bracketed: false,
        }
    }

    /// Takes a plan in.
    pub(super) fn add(&mut self, line: Line, plan: &Solution) {
        self.lines.push(line);
        self.plans.push(plan.clone());
    }

    /// Takes a plan in if it beats the present one at a factor.
    pub(super) fn learn(&mut self, line: Line, plan: &Solution, factor: Decimal) -> bool {
        let is_better = beats(line.at(factor), self.own.at(factor));
        if is_better {
            self.add(line, plan);
        }
        is_better
    }

    pub(super) fn nearest(&self, reach: Decimal) -> Option<Crossing> {
        nearest(&self.own, &self.lines, reach)
    }

    /// True if both plans of a crossing cost the same there, so that the crossing is
    /// the edge itself. False where a threshold is near at which the cost of a known
    /// plan jumps: the solver can't see the little that is missing to the threshold.
    pub(super) fn meets(&self, crossing: Crossing, tick: Decimal) -> bool {
        let by = crossing.by.and_then(|by| self.lines.get(by));
        let theirs = by.and_then(|line| line.at(crossing.factor));
        let costs = self.own.at(crossing.factor).zip(theirs);
        let mut lines = std::iter::once(&self.own).chain(&self.lines);
        costs.is_some_and(|(own, theirs)| (own - theirs).abs() <= TOLERANCE)
            && !self.is_bracketed
            && !lines.any(|line| line.jumps_near(crossing.factor, tick))
    }

    /// The cheapest plan known at a factor, and what it costs there; the plan as
    /// it is where no other is cheaper. No cost where no plan can be ordered.
    pub(super) fn cheapest(&self, factor: Decimal) -> (&Solution, Option<Decimal>) {
        let costs = self.lines.iter().zip(&self.plans);
        let costs = costs.filter_map(|(line, plan)| Some((line.at(factor)?, plan)));
        let least = costs.min_by(|a, b| a.0.cmp(&b.0));
        let own = self.own.at(factor);
        match least {
            Some((cost, plan)) if own.is_none_or(|own| cost < own) => (plan, Some(cost)),
            _ => (&self.now, own),
        }
    }
}

/// Less than this is no difference: ten times the solver's own tolerance, a millionth.
const TOLERANCE: Decimal = Decimal::from_parts(1, 0, 0, false, 5);

/// True if `cost` is less by more than the tolerance. A plan that can't be ordered
/// beats nothing.
pub(super) fn beats(cost: Option<Decimal>, than: Option<Decimal>) -> bool {
    match (cost, than) {
        (Some(cost), Some(than)) => cost < than - TOLERANCE,
        (Some(_), None) => true,
        (None, _) => false,
    }
}

/// True if `a` is nearer to 1 than `b`, or if there is no `b`.
pub(super) fn is_nearer(a: Crossing, b: Option<Crossing>) -> bool {
    let distance = |c: Crossing| (c.factor - Decimal::ONE).abs();
    b.is_none_or(|b| distance(a) + Decimal::new(1, 9) < distance(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::breakeven::line::tests::{dec, straight, tolled};

    fn known(own: Line, rival: Line) -> Rivals {
        let plan = Solution {
            sets: Vec::new(),
            purchases: Vec::new(),
        };
        let mut known = Rivals::new(&plan, &[], |_| own.clone());
        known.add(rival, &plan);
        known
    }

    #[test]
    fn plans_meet_where_they_cost_the_same_and_none_jumps() {
        let tick = dec("0.001");
        // At 0.8 both cost 8: there the plan comes to its least order, or does not.
        let rival = || straight("-4", "15");
        for (own, meets) in [
            (straight("0", "10"), true),
            (tolled("0", "10", ("0", None, Some("7.98"))), true),
            (tolled("0", "10", ("0", None, Some("7.991"))), false),
            (tolled("0", "10", ("0", None, Some("8"))), false),
            (tolled("0", "10", ("1", Some("8"), None)), false),
        ] {
            let known = known(own, rival());
            let crossing = known.nearest(Decimal::ZERO).unwrap();
            let at = Crossing {
                factor: dec("0.8"),
                ..crossing
            };
            assert_eq!(known.meets(at, tick), meets, "{:?}", known.own);
        }
        // The plans do not meet either where the other can be ordered from there on alone.
        let known = known(
            straight("0", "10"),
            tolled("-4", "15", ("0", None, Some("12"))),
        );
        let at = Crossing {
            factor: dec("0.8"),
            by: Some(0),
        };
        assert!(!known.meets(at, tick));
    }
}
