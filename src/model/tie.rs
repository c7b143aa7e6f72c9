//! Which of several cheapest plans: fewest variants, then fewest keys that a
//! net has beyond one of each interface, then least money in surplus; what is
//! left is settled by part codes (see `order`).
//!
//! Each stage asks whether a plan of the same total exists that is better in
//! its own term, with the outcome of the earlier stages as rows, until there is
//! none. What is found is taken only if its exact worth is better.

use super::net_keys::{NetKeys, least_thinkable};
use super::probe::Probes;
use super::problem::{Problem, float};
use super::program::Built;
use super::rows::{Terms, sum};
use super::solution::Solution;
use super::worth::{Worth, worth};
use super::{order, probe};
use crate::fit::Fit;
use crate::input::Input;
use crate::project::Per;
use crate::solve::{Fault, Program, Proved, SolveError, Solved, Task, VarId, confirm, near, run};
use std::cell::Cell;

/// Above so many open decisions variants and surplus are left as the solver
/// found them, and keys are as few as the same order gives: to prove a tie is as
/// hard as to prove the total.
const MOST_OPEN: usize = 900;

/// How many decisions are tried before the stages.
const PROBES: usize = 400;

/// Nodes of the search for the fewest keys thinkable.
const FLOOR_NODES: i32 = 2_000;

/// A solution with the solver's values that it was read from.
#[derive(Debug, Clone)]
pub(super) struct Incumbent {
    /// Values of all variables of [`Built::program`].
    pub values: Vec<f64>,
    /// The solution that the values mean.
    pub solution: Solution,
    /// What the solution is worth.
    pub worth: Worth,
}

/// What the stages work on.
pub(super) struct Ties<'a> {
    /// What the program is made from.
    pub problem: &'a Problem,
    /// The program.
    pub built: &'a Built,
    /// Reads a solution off values and weighs it.
    pub read: &'a dyn Fn(Vec<f64>) -> Incumbent,
    /// What every solve is held to, but for nodes.
    pub task: &'a Task,
    /// The project.
    pub input: &'a Input,
    /// What fits it.
    pub fit: &'a Fit,
    /// The fewest runs of the solver behind the end of a stage so far.
    pub witnesses: Cell<u8>,
}

/// A stage: what is to be least, and its exact value.
struct Stage<'a> {
    term: &'a Terms,
    exact: &'a dyn Fn(&Worth) -> f64,
    /// The least step that counts.
    grain: f64,
    /// The keys of nets in the program, where the program has them.
    keys: Option<&'a NetKeys>,
}

/// What a stage came to.
struct Staged {
    best: Incumbent,
    /// False where the solver still gave better values, but the plan read off
    /// them was not better.
    is_settled: bool,
}

impl Ties<'_> {
    /// The first in the order of plans among those with the least total.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn first(&self, cheapest: Incumbent) -> Result<Incumbent, SolveError> {
        let mut built = self.built.clone();
        let total = built.program.objective(&cheapest.values);
        probe::tighten(&mut built, None, total, Probes::Most(0), &self.task.limit)?;
        if open(&built.program) > MOST_OPEN {
            return self.same_order(cheapest);
        }
        probe::tighten(
            &mut built,
            None,
            total,
            Probes::Most(PROBES),
            &self.task.limit,
        )?;
        let mut program = built.program;
        let costs: Terms = (program.vars.iter().enumerate())
            .filter(|(_, v)| v.cost != 0.0)
            .map(|(i, v)| (VarId(i), v.cost))
            .collect();
        program.at_most(costs, total + near(total));

        let variants = sum(self.built.parts.iter().map(|p| p.used), 1.0);
        let fewest = Stage {
            term: &variants,
            exact: &|worth| worth.variants as f64,
            grain: 1.0,
            keys: None,
        };
        let best = self.least(&program, &fewest, cheapest)?.best;
        program.at_most(variants, best.worth.variants as f64 + 1e-6);
        self.keys_and_surplus(&program, best)
    }

    /// The stages after the variants. In each stage a cheap way is tried first: the
    /// sets dealt out anew are held against the fewest keys thinkable, and the
    /// surplus is made least without the rows of the keys.
    fn keys_and_surplus(&self, plain: &Program, best: Incumbent) -> Result<Incumbent, SolveError> {
        let mut best = self.dealt_anew(best)?;
        let mut keyed = plain.clone();
        let keys = NetKeys::add(&mut keyed, self.input, self.fit, self.problem, self.built);
        if best.worth.keys > self.fewest_thinkable()? {
            let stage = Stage {
                term: &keys.extra,
                exact: &|worth| worth.keys as f64,
                grain: 1.0,
                keys: Some(&keys),
            };
            best = self.least(&keyed, &stage, best)?.best;
        }
        let surplus = self.surplus();
        let mut stage = Stage {
            term: &surplus,
            exact: &|worth| float(worth.surplus.0),
            grain: grain(&surplus),
            keys: None,
        };
        let without = self.least(plain, &stage, best)?;
        if without.is_settled {
            return Ok(without.best);
        }
        let best = without.best;
        keyed.at_most(keys.extra.clone(), best.worth.keys as f64 + 1e-6);
        stage.keys = Some(&keys);
        Ok(self.least(&keyed, &stage, best)?.best)
    }

    /// The fewest extra keys with the order as it is: as many pieces of every part
    /// are fitted, on every gauge where its spares are counted by gauge. So nothing
    /// else that the plan is worth changes.
    fn same_order(&self, best: Incumbent) -> Result<Incumbent, SolveError> {
        let mut best = self.dealt_anew(best)?;
        if best.worth.keys <= self.fewest_thinkable()? {
            return Ok(best);
        }
        let mut program = self.built.program.clone();
        for var in &mut program.vars {
            var.cost = 0.0;
        }
        for var in self.decisions() {
            let value = best.values[var.0];
            (program.vars[var.0].lo, program.vars[var.0].up) = (value, value);
        }
        for row in self.fitted_units() {
            let value = row.iter().map(|&(x, q)| best.values[x.0] * q).sum();
            program.equal(row, value);
        }
        let keys = NetKeys::add(&mut program, self.input, self.fit, self.problem, self.built);
        for &(var, cost) in &keys.extra {
            program.vars[var.0].cost = cost;
        }
        let task = Task {
            nodes: Some(FLOOR_NODES),
            start: None,
            absolute_gap: 0.5,
            ..self.task.exact()
        };
        if let Some(values) = run(&program, &task, &mut |_| {})?.into_values() {
            let found = self.found_by(&keys, values);
            if found.worth < best.worth {
                best = found;
            }
        }
        Ok(best)
    }

    /// The decisions: which part is used, what is bought where, which die is bought.
    fn decisions(&self) -> impl Iterator<Item = VarId> {
        let packs = self.built.offers.iter().flatten().map(|b| b.packs);
        probe::decisions(self.built).chain(packs)
    }

    /// Fitted pieces of each part: on each gauge where its spares are counted by
    /// gauge, else on all gauges together.
    fn fitted_units(&self) -> Vec<Terms> {
        let mut units = Vec::new();
        for (part, vars) in self.problem.parts.iter().zip(&self.built.parts) {
            let by_gauge = vars.fitted.values().cloned();
            match part.spares.map(|rule| rule.per) {
                Some(Per::Gauge) => units.extend(by_gauge),
                Some(Per::Part) | None => units.push(by_gauge.flatten().collect()),
            }
        }
        units
    }

    /// The fewest extra keys that the keying rule and the parts leave, whatever
    /// the parts cost; 0 where that number is not known.
    fn fewest_thinkable(&self) -> Result<usize, SolveError> {
        let program = least_thinkable(self.input, self.fit);
        let task = Task {
            nodes: Some(FLOOR_NODES),
            start: None,
            ..self.task.clone()
        };
        let solved = run(&program, &task, &mut |_| {})?;
        let Solved::Optimal { values, .. } = solved else {
            return Ok(0);
        };
        let task = Task {
            start: Some(values),
            ..task
        };
        Ok(match confirm(&program, &task)? {
            Proved {
                solved: Solved::Optimal { objective, .. },
                witnesses: 1..,
            } => objective.round() as usize,
            _ => 0,
        })
    }

    /// The same sets dealt out anew among ends of like needs, where that gives fewer
    /// keys.
    fn dealt_anew(&self, best: Incumbent) -> Result<Incumbent, SolveError> {
        if best.worth.keys == 0 {
            return Ok(best);
        }
        let sets = order::deal(self.input, self.fit, &best.solution.sets, self.task)?;
        let dealt = Solution {
            sets: sets.unwrap_or_else(|| best.solution.sets.clone()),
            purchases: best.solution.purchases.clone(),
        };
        let worth = worth(self.input, self.fit, &dealt);
        Ok(match worth < best.worth {
            true => Incumbent {
                solution: dealt,
                worth,
                ..best
            },
            false => best,
        })
    }

    fn surplus(&self) -> Terms {
        let mut surplus = Terms::new();
        for (part, vars) in self.problem.parts.iter().zip(&self.built.parts) {
            let value = part.surplus_value;
            surplus.extend(vars.surplus.iter().map(|&(x, q)| (x, q * value)));
        }
        surplus
    }

    /// Goes from better to better in the stage's term, each time by at least
    /// its grain.
    fn least(
        &self,
        program: &Program,
        stage: &Stage,
        mut best: Incumbent,
    ) -> Result<Staged, SolveError> {
        loop {
            if self.task.limit.is_over() {
                return Ok(Staged {
                    best,
                    is_settled: true,
                });
            }
            let mut program = program.clone();
            program.at_most(stage.term.clone(), (stage.exact)(&best.worth) - stage.grain);
            let task = Task {
                start: None,
                ..self.task.clone()
            };
            let mut solved = run(&program, &task, &mut |_| {})?;
            if solved == Solved::Infeasible {
                solved = confirm(&program, &task)?.solved;
                match solved {
                    Solved::Infeasible => {}
                    Solved::Unknown { .. } => self.witnesses.set(self.witnesses.get().min(1)),
                    _ => self.task.solver.doubts.add(&program, Fault::Infeasible),
                }
            }
            let Some(values) = solved.into_values() else {
                return Ok(Staged {
                    best,
                    is_settled: true,
                });
            };
            let found = self.found(stage, values)?;
            if found.worth >= best.worth {
                return Ok(Staged {
                    best,
                    is_settled: false,
                });
            }
            best = found;
        }
    }

    fn found(&self, stage: &Stage, values: Vec<f64>) -> Result<Incumbent, SolveError> {
        let Some(keys) = stage.keys else {
            return self.dealt_anew((self.read)(values));
        };
        Ok(self.found_by(keys, values))
    }

    /// The solution with each net's keys as the values say.
    fn found_by(&self, keys: &NetKeys, values: Vec<f64>) -> Incumbent {
        let mut found = (self.read)(values.clone());
        found.solution.sets = keys.dealt(self.fit, self.problem, &found.solution.sets, &values);
        found.worth = worth(self.input, self.fit, &found.solution);
        found
    }
}

/// The least difference in a sum of money that counts: parts of a cent, the finest
/// that a price list knows. With dear pieces the grain is at least what the solver
/// allows whole numbers to be off; else the solver would find a step that is none.
fn grain(sum: &Terms) -> f64 {
    let dearest = sum
        .iter()
        .fold(0.0, |most: f64, term| most.max(term.1.abs()));
    (dearest * 2e-6).max(1e-4)
}

/// How many whole-number variables are not settled.
fn open(program: &Program) -> usize {
    (program.vars.iter())
        .filter(|v| v.integer && v.lo < v.up)
        .count()
}
