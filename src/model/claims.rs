//! Whether no plan costs less than so much where one part has other
//! prices: many such claims are tested in one program.
//!
//! To prove that nothing is cheaper takes nearly the same work at any price, and
//! most of it is done before the solver branches; so the claims share it. y[j] =
//! 1 chooses claim j, Σ y = 1; for each break of its part's offers w = y[j] ·
//! packs, with w ≤ up · y, w ≤ packs and w ≥ packs − up · (1 − y). What a plan
//! costs at the chosen claim's prices, against what the claim says, is then
//! Σ cost + Σ (factor − 1) · pack cost · w + Σ (even − least) · y, with `even` the
//! largest of what is claimed; goods count likewise towards a supplier's
//! thresholds. The objective is below `even` just where a claim is wrong.
//!
//! The solver gets no start. With a start, and an objective near zero, the solver
//! has called a start optimal that was not optimal. A proof takes no longer
//! without a start.

use super::pooled::{Facts, Grain, Kinds};
use super::probe::{Probes, tighten};
use super::problem::{Problem, float};
use super::program::Built;
use super::rows::{Terms, sum};
use super::solution::Solution;
use super::{decode, start, terms};
use crate::catalog::PartId;
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::solve::{SolveError, Solved, Solver, Task, VarId, none_below, run};
use rust_decimal::Decimal;

/// What is claimed: where all prices of a part are times a factor, no plan costs
/// less than so much.
#[derive(Debug, Clone)]
pub struct Claim<'a> {
    /// The part.
    pub part: PartId,
    /// The factor, from 0 on.
    pub factor: Decimal,
    /// What is claimed, in the project's currency.
    pub least: Decimal,
    /// A plan that costs `least` at those prices.
    pub kept: &'a Solution,
}

/// Which plans are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// All plans.
    All,
    /// Plans that have other parts than the first claim's plan only at ends
    /// that can use a claim's part. Perhaps not all such plans are looked at.
    Near,
}

/// What a look at some claims comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// None of the plans looked at costs less.
    Hold,
    /// One of the claims is wrong: this plan costs less.
    Wrong(Box<Solution>),
    /// The work stopped before the answer was known.
    Unknown,
}

/// A plan counts as cheaper only if it is more than this below a claim, in the
/// project's currency: the solver's own tolerance.
const NOTHING: f64 = 2e-5;

/// The solver may stop at a plan that is so much below a claim, in the project's
/// currency: the plan serves as a line, and the claims are proven anew.
const ENOUGH: f64 = 1e-3;

/// Nodes of the search near a plan.
const NEAR_NODES: i32 = 20;

/// Looks for a plan that shows one of the claims wrong.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn refute(
    input: &Input,
    fit: &Fit,
    claims: &[Claim],
    scope: Scope,
    limit: &Limit,
) -> Result<Verdict, SolveError> {
    let mut asked = Asked::new(input, fit, claims);
    if scope == Scope::Near && !asked.stay_near(fit, claims) {
        return Ok(Verdict::Unknown);
    }
    if asked.settled(input, fit, limit)? {
        return Ok(Verdict::Hold);
    }
    let task = Task {
        proof: true,
        target: (scope == Scope::All).then_some(asked.even - ENOUGH),
        nodes: (scope == Scope::Near).then_some(NEAR_NODES),
        ..Task::new(&limit.exact(), &Solver::default())
    };
    let solved = run(&asked.built.program, &task, &mut |_| {})?;
    let verdict = asked.verdict(fit, solved);
    if verdict != Verdict::Hold || scope == Scope::Near {
        return Ok(verdict);
    }
    let second = none_below(&asked.built.program, asked.even - NOTHING, &task)?;
    Ok(asked.verdict(fit, second))
}

/// The program of some claims.
struct Asked {
    problem: Problem,
    built: Built,
    /// For each claim, 1 if it is chosen.
    chosen: Vec<VarId>,
    /// The objective where a plan costs just what is claimed.
    even: f64,
}

impl Asked {
    /// What an answer to the program says of the claims.
    fn verdict(&self, fit: &Fit, solved: Solved) -> Verdict {
        match solved {
            Solved::Optimal { objective, .. } if objective > self.even - NOTHING => Verdict::Hold,
            Solved::Optimal { values, objective }
            | Solved::Feasible {
                values, objective, ..
            } if objective <= self.even - NOTHING => {
                let found = decode::solution(fit, &self.problem, &self.built, &values);
                Verdict::Wrong(Box::new(found))
            }
            Solved::Infeasible => Verdict::Hold,
            _ => Verdict::Unknown,
        }
    }

    fn new(input: &Input, fit: &Fit, claims: &[Claim]) -> Asked {
        let factors: Vec<(PartId, Decimal)> = claims.iter().map(|c| (c.part, c.factor)).collect();
        let problem = Problem::at_prices(input, fit, &factors);
        let mut built = Built::open(&problem);
        // The objective stays far from zero. Near zero, the rest of a gap would be
        // called large or none.
        let even = claims.iter().map(|c| float(c.least)).fold(1.0, f64::max);
        let mut more: Vec<Terms> = vec![Terms::new(); problem.suppliers.len()];
        let chosen: Vec<VarId> = (claims.iter())
            .map(|claim| add_claim(&mut built, &problem, claim, even, &mut more))
            .collect();
        let one = sum(chosen.iter().copied(), 1.0);
        built.program.equal(one, 1.0);
        built.close(&problem, &more);
        Asked {
            problem,
            built,
            chosen,
            even,
        }
    }

    /// Fixes the ends that can use none of the claims' parts. False where the
    /// first claim's plan does not fit this program.
    fn stay_near(&mut self, fit: &Fit, claims: &[Claim]) -> bool {
        let Some(first) = claims.first() else {
            return false;
        };
        let Some(counts) = start::of_sets(fit, &self.problem, &self.built, &first.kept.sets) else {
            return false;
        };
        for (cell, vars) in self.problem.cells.iter().zip(&self.built.cells) {
            let mut parts = cell.parts_used();
            if parts.any(|part| claims.iter().any(|c| c.part == part)) {
                continue;
            }
            for x in vars.counts() {
                let var = &mut self.built.program.vars[x.0];
                (var.lo, var.up) = (counts[x.0] as f64, counts[x.0] as f64);
            }
        }
        true
    }

    /// Adds rows that the relaxation violates. Strikes claims that the relaxation
    /// proves by itself, and what no plan that shows a claim wrong can have. True
    /// if no claim is left.
    fn settled(&mut self, input: &Input, fit: &Fit, limit: &Limit) -> Result<bool, SolveError> {
        let kinds = Kinds::new(&self.problem, input, fit, Grain::Cell);
        let bundles = self.built.bundles(&self.problem);
        let facts = Facts {
            problem: &self.problem,
            kinds: &kinds,
            covers: &[],
            bundles: &bundles,
        };
        let trials = Probes::Of(&self.chosen, self.even - NOTHING);
        let bound = tighten(&mut self.built, Some(&facts), self.even, trials, limit)?;
        let vars = &self.built.program.vars;
        let is_struck = |y: &VarId| vars[y.0].up < 0.5;
        Ok(bound >= self.even || self.chosen.iter().all(is_struck))
    }
}

/// Adds the choice of a claim and, while it is chosen, what its factor adds to
/// the objective and to the goods of each supplier.
fn add_claim(
    built: &mut Built,
    problem: &Problem,
    claim: &Claim,
    even: f64,
    more: &mut [Terms],
) -> VarId {
    let y = built.program.binary(even - float(claim.least));
    let change = float(claim.factor - Decimal::ONE);
    for (offer, vars) in problem.offers.iter().zip(&built.offers) {
        if problem.parts[offer.part].id != claim.part || change == 0.0 {
            continue;
        }
        for (step, vars) in offer.breaks.iter().zip(vars) {
            let (up, packs) = (step.up as f64, vars.packs);
            let program = &mut built.program;
            let w = program.continuous(0.0, up, change * terms::pack(step));
            program.at_most(vec![(w, 1.0), (y, -up)], 0.0);
            program.at_most(vec![(w, 1.0), (packs, -1.0)], 0.0);
            program.at_least(vec![(w, 1.0), (packs, -1.0), (y, -up)], -up);
            more[offer.supplier].push((w, change * step.pack_goods));
        }
    }
    y
}
