//! The end of a solve: the whole program, a second opinion, ties.

use super::frame::{Run, Start};
use super::known::Known;
use crate::model::hunt::Hunt;
use crate::model::pooled::{Facts, Grain, Kinds, Pooled};
use crate::model::probe::{self, Probes};
use crate::model::problem::float;
use crate::model::program::Built;
use crate::model::question::Outcome;
use crate::model::solution::Solution;
use crate::model::tie::{Incumbent, Ties};
use crate::model::worth::worth;
use crate::solve::{Fault, Proved, SolveError, Solved, Task, confirm, near, none_below, prove};
use std::cell::Cell;
use std::sync::Arc;

/// Up to so many counts of ends the whole program is solved; beyond, only
/// after pooled program and search have come to their end.
pub(super) const MANY_COUNTS: usize = 7_000;

impl Run<'_> {
    /// Counts of ends in the whole program.
    pub(super) fn counts(&self) -> usize {
        self.problem
            .cells
            .iter()
            .map(|c| c.parts_used().count())
            .sum()
    }

    /// Solves the whole program, if time is left and plan and bound are not near.
    ///
    /// The second witness runs at the same time where `beside`.
    pub(super) fn last(
        &self,
        hunt: Hunt,
        mut known: Known,
        pooled: Option<&Pooled>,
        beside: bool,
    ) -> Result<Outcome, SolveError> {
        if self.limit.is_over() || self.is_near(hunt.total(), known.bound) {
            return self.better(Outcome::Unknown, hunt, known.bound, pooled);
        }
        let built = known.build(|| Built::new(&self.problem));
        let start = match hunt.best() {
            Some(plan) => self.as_start(&built, &plan.sets)?,
            None => None,
        };
        match self.exactly(&built, start, &mut known, beside)? {
            // There is a plan: the end came before the plan was a start.
            Outcome::Unknown | Outcome::Infeasible if hunt.best().is_some() => {
                self.better(Outcome::Unknown, hunt, known.bound, pooled)
            }
            // Another way may have come to plan and bound meanwhile.
            open @ Outcome::Found { witnesses: 0, .. } => {
                self.better(open, hunt, known.bound, pooled)
            }
            outcome => Ok(outcome),
        }
    }

    /// The cheaper of an outcome and a hunt's best plan; the higher of two bounds.
    /// Where plan and bound meet, one run says that nothing is cheaper, and another
    /// run is asked.
    pub(super) fn better(
        &self,
        outcome: Outcome,
        hunt: Hunt,
        reached: f64,
        pooled: Option<&Pooled>,
    ) -> Result<Outcome, SolveError> {
        let total = |s: &Solution| float(worth(self.input, self.fit, s).total.0);
        let (known, bound) = match outcome {
            Outcome::Found {
                witnesses: 0,
                solution,
                bound,
            } => (Some(solution), bound),
            Outcome::Unknown => (None, 0.0),
            Outcome::Found { .. } | Outcome::Infeasible => return Ok(outcome),
        };
        let bound = bound.max(reached);
        let plans = known.into_iter().chain(hunt.take());
        let best = plans.min_by(|a, b| total(a).total_cmp(&total(b)));
        let Some(best) = best else {
            return Ok(Outcome::Unknown);
        };
        let least = total(&best);
        if bound < least - 1e-6 {
            return Ok(Outcome::Found {
                witnesses: 0,
                solution: self.in_order(best)?,
                bound,
            });
        }
        let second = self.second_opinion(&best, pooled)?;
        let (best, tied) = match self.limit.is_over() {
            true => (best, 2),
            false => self.first_of_equals(best)?,
        };
        Ok(match second {
            Some(witnesses) => Outcome::Found {
                witnesses: tied.min(1 + witnesses),
                solution: self.in_order(best)?,
                bound,
            },
            // Something is cheaper, so the bound was wrong.
            None => Outcome::Found {
                witnesses: 0,
                solution: self.in_order(best)?,
                bound: f64::NEG_INFINITY,
            },
        })
    }

    /// Whether another way says that nothing is cheaper: 1 if it says so, 0 if it
    /// was not finished; none where something is cheaper. The pooled program is
    /// asked first, where there is one, since it is smaller.
    fn second_opinion(
        &self,
        plan: &Solution,
        pooled: Option<&Pooled>,
    ) -> Result<Option<u8>, SolveError> {
        let least = float(worth(self.input, self.fit, plan).total.0);
        if let Some(pooled) = pooled
            && !self.limit.is_over()
            && none_below(&pooled.program, least - 1e-6, &self.exact_task())? == Solved::Infeasible
        {
            return Ok(Some(1));
        }
        if self.limit.is_over() || self.counts() > MANY_COUNTS {
            return Ok(Some(0));
        }
        let built = Built::new(&self.problem);
        let start = self.as_start(&built, &plan.sets)?;
        let task = Task {
            start: start.map(|start| start.values),
            ..self.exact_task()
        };
        Ok(match confirm(&built.program, &task)?.solved {
            Solved::Optimal { objective, .. } if objective < least - 1e-5 => None,
            Solved::Optimal { .. } | Solved::Infeasible => Some(1),
            Solved::Feasible { objective, .. } if objective < least - 1e-5 => None,
            Solved::Feasible { .. } | Solved::Unknown { .. } => Some(0),
        })
    }

    /// Settles ties of a plan of the proven total, and gives the fewest runs behind
    /// the end of a stage.
    fn first_of_equals(&self, plan: Solution) -> Result<(Solution, u8), SolveError> {
        if !self.question.ties {
            return Ok((plan, 2));
        }
        let built = Built::new(&self.problem);
        let Some(start) = self.as_start(&built, &plan.sets)? else {
            return Ok((plan, 2));
        };
        let incumbent = self.read(&built, start.values);
        let (settled, witnesses) = self.settled(&built, incumbent)?;
        Ok((settled.solution, witnesses))
    }

    fn settled(&self, built: &Built, incumbent: Incumbent) -> Result<(Incumbent, u8), SolveError> {
        let ties = Ties {
            input: self.input,
            fit: self.fit,
            problem: &self.problem,
            built,
            read: &|values| self.read(built, values),
            task: &self.task(),
            witnesses: Cell::new(2),
        };
        let settled = ties.first(incumbent)?;
        Ok((settled, ties.witnesses.get()))
    }

    /// Solves the whole program to its end, then settles ties.
    fn exactly(
        &self,
        built: &Built,
        start: Option<Start>,
        known: &mut Known,
        beside: bool,
    ) -> Result<Outcome, SolveError> {
        let total = start.as_ref().map(|s| s.objective);
        let mut tight = built.clone();
        if let Some(total) = total.filter(|_| !self.limit.is_over())
            && let Some((better, bound)) = self.tight(built, total)?
        {
            tight = better;
            known.tell(Some(total), bound);
        }
        let task = Task {
            start: start.as_ref().map(|s| s.values.clone()),
            given: known.given.clone(),
            ..self.task()
        };
        let mut in_hand = total;
        let root = known.bound;
        let proved = match self.limit.is_over() {
            true => Proved::nothing(known.bound),
            false => prove(
                &tight.program,
                &task,
                beside,
                Some(&self.met),
                &mut |pulse| {
                    let best = pulse.best.into_iter().chain(in_hand).reduce(f64::min);
                    if let Some(values) = &pulse.found {
                        known.hand_on(|| self.read(built, values.to_vec()).solution);
                        in_hand = best;
                    }
                    known.pulse(best, &pulse);
                    self.meet(known.least(in_hand), known.bound);
                },
            )?,
        };
        let mut bound = known.bound;
        let mut witnesses = proved.witnesses;
        let found = match proved.solved {
            Solved::Optimal { values, objective } => {
                bound = objective;
                Some(Start { values, objective })
            }
            Solved::Feasible {
                values,
                objective,
                bound: reached,
            } => {
                bound = match reached.is_finite() {
                    true => bound.max(reached),
                    // The runs contradicted one another: what they said is worth nothing.
                    false => {
                        known.bound = root;
                        root
                    }
                };
                Some(Start { values, objective })
            }
            Solved::Infeasible if start.is_none() && witnesses > 1 => {
                return Ok(Outcome::Infeasible);
            }
            Solved::Infeasible => {
                witnesses = 0;
                None
            }
            Solved::Unknown { bound: reached } => {
                bound = bound.max(reached);
                None
            }
        };
        let Some(best) = cheaper(found, start) else {
            return Ok(Outcome::Unknown);
        };
        let objective = best.objective;
        let mut incumbent = self.read(built, best.values);
        let exact = float(incumbent.worth.total.0);
        if witnesses > 0 && (objective - exact).abs() > near(exact) {
            // What was proven is of another plan than the one that was read off.
            self.question
                .solver
                .doubts
                .add(&tight.program, Fault::Objective);
            (witnesses, bound, known.bound) = (0, root, root);
        }
        if witnesses > 0 && self.question.ties {
            let (settled, tied) = self.settled(built, incumbent)?;
            incumbent = settled;
            witnesses = witnesses.min(tied);
        }
        Ok(Outcome::Found {
            solution: self.in_order(incumbent.solution)?,
            bound: bound.max(0.0),
            witnesses,
        })
    }

    /// The program without what no plan of this total can have, and a bound.
    fn tight(&self, built: &Built, total: f64) -> Result<Option<(Built, f64)>, SolveError> {
        let kinds = Kinds::new(&self.problem, self.input, self.fit, Grain::Cell);
        let (problem, limit) = (Arc::clone(&self.problem), self.limit.clone());
        let mut built = built.clone();
        let tight = self.apart(move || {
            let bundles = built.bundles(&problem);
            let facts = Facts {
                problem: &problem,
                kinds: &kinds,
                covers: &[],
                bundles: &bundles,
            };
            let trials = Probes::Most(0);
            let bound = probe::tighten(&mut built, Some(&facts), total, trials, &limit)?;
            Ok((built, bound))
        })?;
        tight.transpose()
    }
}

/// The cheaper of two, the first where they are equal.
fn cheaper(one: Option<Start>, other: Option<Start>) -> Option<Start> {
    let both = [one, other].into_iter().flatten();
    both.min_by(|a, b| a.objective.total_cmp(&b.objective))
}
