//! Which of several cheapest plans: fewest variants, then least money in
//! surplus, then the first by part code.
//!
//! Each stage is a program of its own, with the outcome of the earlier ones as
//! rows. What a stage finds is taken only if its exact worth is no worse.

use super::program::{Built, Terms, sum};
use super::sets::Sets;
use super::{Solution, Worth};
use crate::solve::{Limits, Program, SolveError, Solved, VarId, run};
use std::time::Instant;

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
    /// Threads for the solver.
    pub threads: u32,
}

impl Ties<'_> {
    /// The first in the order of plans among those with the least total.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn first(&self, cheapest: Incumbent) -> Result<Incumbent, SolveError> {
        let mut best = cheapest;
        let costs: Terms = (self.built.program.vars.iter().enumerate())
            .filter(|(_, v)| v.cost != 0.0)
            .map(|(i, v)| (VarId(i), v.cost))
            .collect();
        let variants = sum(self.built.parts.iter().map(|p| p.used), 1.0);
        let mut surplus = Terms::new();
        for (part, vars) in self.sets.parts.iter().zip(&self.built.parts) {
            let value = part.surplus_value;
            surplus.extend(vars.surplus.iter().map(|&(x, q)| (x, q * value)));
        }
        let mut program = self.built.program.clone();
        hold(&mut program, costs, &best);
        loop {
            let mut p = program.clone();
            p.at_most(variants.clone(), best.worth.variants as f64 - 1.0);
            let r = run(
                &p,
                &Limits {
                    threads: self.threads,
                    ..Limits::default()
                },
                &mut |_| {},
            )?;
            match r {
                Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => {
                    let f = (self.read)(values);
                    if f.worth < best.worth {
                        best = f
                    } else {
                        break;
                    }
                }
                _ => break,
            }
        }
        loop {
            let mut p = program.clone();
            p.at_most(variants.clone(), best.worth.variants as f64);
            let value: f64 = surplus.iter().map(|&(x, c)| c * best.values[x.0]).sum();
            p.at_most(surplus.clone(), value - 0.005);
            let r = run(
                &p,
                &Limits {
                    threads: self.threads,
                    ..Limits::default()
                },
                &mut |_| {},
            )?;
            match r {
                Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => {
                    let f = (self.read)(values);
                    if f.worth < best.worth {
                        best = f
                    } else {
                        break;
                    }
                }
                _ => break,
            }
        }
        Ok(best)
    }

    /// Makes `objective` least; plans closer than `grain` count as equal.
    fn stage(
        &self,
        program: &Program,
        objective: &Terms,
        grain: f64,
        best: Incumbent,
    ) -> Result<Incumbent, SolveError> {
        let mut program = program.clone();
        for var in &mut program.vars {
            var.cost = 0.0;
        }
        for &(var, cost) in objective {
            program.vars[var.0].cost += cost;
        }
        let left = |t: Instant| t.saturating_duration_since(Instant::now()).as_secs_f64();
        let seconds = self.until.map_or(1e9, left);
        if seconds <= 0.0 {
            return Ok(best);
        }
        let limits = Limits {
            seconds,
            absolute_gap: grain,
            threads: self.threads,
            start: Some(best.values.clone()),
            ..Limits::default()
        };
        let r = run(&program, &limits, &mut |_| {})?;
        let found = match r {
            Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => (self.read)(values),
            Solved::Infeasible | Solved::Unknown { .. } => return Ok(best),
        };
        Ok(if found.worth <= best.worth {
            found
        } else {
            best
        })
    }

    /// First by part code, as one number: each use of a part counts by the
    /// square of the part's place in the list of codes, and more at an end that
    /// comes earlier; the least sum comes first. Squares, so that using the
    /// first and the third is not the same as using the second twice.
    fn places(&self) -> Terms {
        let mut order: Vec<usize> = (0..self.sets.cells.len()).collect();
        order.sort_by_key(|&c| self.sets.cells[c].ends.first().copied());
        let cells = order.len() as f64;
        let mut terms = Terms::new();
        for (rank, &c) in order.iter().enumerate() {
            let weight = 2.0 * cells - rank as f64;
            let (cell, vars) = (&self.sets.cells[c], &self.built.cells[c]);
            let bodies = vars.receptacles.iter().chain(&vars.plugs);
            let bodies = cell.bodies().zip(bodies).map(|(b, &x)| (b.part, x));
            let fittings = (cell.slots.iter().zip(&vars.slots))
                .flat_map(|(slot, xs)| slot.options.iter().zip(xs))
                .map(|(&(_, part, _), &x)| (part, x));
            for (part, x) in bodies.chain(fittings) {
                let place = part as f64 + 1.0;
                terms.push((x, weight * place * place));
            }
        }
        terms
    }
}

/// Adds the row `terms ≤ what they come to now`, with room for the solver's
/// own tolerance only; the exact worth is compared apart.
fn hold(program: &mut Program, terms: Terms, best: &Incumbent) {
    let value: f64 = terms.iter().map(|&(x, c)| c * best.values[x.0]).sum();
    program.at_most(terms, value + 1e-6 + value.abs() * 1e-9);
}
