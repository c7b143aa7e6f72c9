//! Which of several cheapest plans: fewest variants, then least money in
//! surplus; what is left is settled by part codes (see `order`).
//!
//! Each stage asks whether a plan of the same total exists that is better in
//! its own term, with the outcome of the earlier stages as rows, until there is
//! none. What is found is taken only if its exact worth is better.

use super::probe;
use super::program::{Built, Terms, sum};
use super::sets::{Sets, float};
use super::{Solution, Worth};
use crate::solve::{Limits, Program, SolveError, Solved, VarId, run};
use std::time::Instant;

/// Above so many open decisions ties are left as the solver found them: to
/// prove a tie is as hard as to prove the total.
const MOST_OPEN: usize = 900;

/// How many decisions are tried before the stages.
const PROBES: usize = 400;

/// A solution with the solver's values that it was read from.
#[derive(Debug, Clone)]
pub(super) struct Incumbent {
    /// Values of all variables of [`Built::program`].
    pub values: Vec<f64>,
    /// What they mean.
    pub solution: Solution,
    /// What that is worth.
    pub worth: Worth,
}

/// The stages in their order.
pub(super) struct Ties<'a> {
    /// Sets of the program.
    pub sets: &'a Sets,
    /// The program.
    pub built: &'a Built,
    /// Reads a solution off values and weighs it.
    pub read: &'a dyn Fn(Vec<f64>) -> Incumbent,
    /// No stage goes on after this.
    pub until: Option<Instant>,
    /// What every solve is held to, but for time and nodes.
    pub limits: &'a Limits,
}

impl Ties<'_> {
    /// The first in the order of plans among those with the least total.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn first(&self, cheapest: Incumbent) -> Result<Incumbent, SolveError> {
        let mut built = self.built.clone();
        let total = built.program.objective(&cheapest.values);
        probe::tighten(&mut built, total, 0, self.until)?;
        if open(&built.program) > MOST_OPEN {
            return Ok(cheapest);
        }
        probe::tighten(&mut built, total, PROBES, self.until)?;
        let mut program = built.program;
        let costs: Terms = (program.vars.iter().enumerate())
            .filter(|(_, v)| v.cost != 0.0)
            .map(|(i, v)| (VarId(i), v.cost))
            .collect();
        program.at_most(costs, total + 1e-6 + total.abs() * 1e-9);

        let variants = sum(self.built.parts.iter().map(|p| p.used), 1.0);
        let count = |worth: &Worth| worth.variants as f64;
        let best = self.least(&program, (&variants, &count), 1.0, cheapest)?;
        program.at_most(variants, best.worth.variants as f64 + 1e-6);
        // Parts of a cent are the finest money that a price list knows.
        let money = |worth: &Worth| float(worth.surplus.0);
        self.least(&program, (&self.surplus(), &money), 1e-4, best)
    }

    fn surplus(&self) -> Terms {
        let mut surplus = Terms::new();
        for (part, vars) in self.sets.parts.iter().zip(&self.built.parts) {
            let value = part.surplus_value;
            surplus.extend(vars.surplus.iter().map(|&(x, q)| (x, q * value)));
        }
        surplus
    }

    /// Goes from better to better in `term`, each time by at least `grain`.
    fn least(
        &self,
        program: &Program,
        (term, exact): (&Terms, &dyn Fn(&Worth) -> f64),
        grain: f64,
        mut best: Incumbent,
    ) -> Result<Incumbent, SolveError> {
        loop {
            let left = |t: Instant| t.saturating_duration_since(Instant::now()).as_secs_f64();
            let seconds = self.until.map_or(1e9, left);
            if seconds <= 0.0 || self.limits.stopped() {
                return Ok(best);
            }
            let mut program = program.clone();
            program.at_most(term.clone(), exact(&best.worth) - grain);
            let limits = Limits {
                seconds,
                start: None,
                ..self.limits.clone()
            };
            let found = match run(&program, &limits, &mut |_| {})? {
                Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => {
                    (self.read)(values)
                }
                Solved::Infeasible | Solved::Unknown { .. } => return Ok(best),
            };
            if found.worth >= best.worth {
                return Ok(best);
            }
            best = found;
        }
    }
}

/// Whole-number variables that are not settled.
fn open(program: &Program) -> usize {
    (program.vars.iter())
        .filter(|v| v.integer && v.lo < v.up)
        .count()
}
