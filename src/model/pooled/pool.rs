//! The pooled program as a value: its root, and what it tells a search.

use super::bundle::{Bundle, Cover, Level};
use super::cuts::{Facts, Rooted, rounds};
use super::kinds::Kinds;
use crate::limit::Limit;
use crate::model::problem::Problem;
use crate::model::rows::SupplierVars;
use crate::model::search::{Hints, Share};
use crate::solve::{Program, Relaxation, SolveError, VarId};
use crate::units::Qty;

/// The program and the meaning of its variables.
#[derive(Debug, Clone, Default)]
pub struct Pooled {
    /// What the solver gets.
    pub program: Program,
    /// Ends that are not told apart.
    pub kinds: Kinds,
    /// Parts that are not told apart.
    pub bundles: Vec<Bundle>,
    /// What so many identities serve.
    pub covers: Vec<Cover>,
    /// For each supplier.
    pub suppliers: Vec<SupplierVars>,
    /// For each die, 1 if it is bought.
    pub dies: Vec<VarId>,
    /// What one more of each variable would add at the root, once the root is solved.
    pub(super) reduced: Vec<f64>,
}

impl Pooled {
    /// Solves the relaxation, adding rows that it violates, up to `limit`. At `end` a
    /// solve is broken off in its midst.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn root(
        &mut self,
        problem: &Problem,
        limit: &Limit,
        end: &Limit,
    ) -> Result<Rooted, SolveError> {
        let facts = Facts {
            problem,
            kinds: &self.kinds,
            covers: &self.covers,
            bundles: &self.bundles,
        };
        let mut relaxation = Relaxation::new(&self.program, end)?;
        let rooted = rounds(
            &mut self.program,
            &mut relaxation,
            &facts,
            f64::INFINITY,
            limit,
        )?;
        if let Rooted::Root(root) = &rooted {
            self.reduced.clone_from(&root.reduced);
        }
        Ok(rooted)
    }

    /// What a solution tells a search: what a piece of each part comes to, and
    /// how many ends of each kind get what.
    pub fn guide(&self, problem: &Problem, values: &[f64]) -> Hints {
        let of = |bundle: &Bundle| -> Vec<Share> {
            let share = |&(kind, x, _): &(usize, VarId, Qty)| Share {
                cell: self.kinds.list[kind].cell,
                parts: bundle.parts.clone(),
                ends: values[x.0],
                reduced: self.reduced.get(x.0).copied().unwrap_or(0.0),
            };
            bundle.uses.iter().map(share).collect()
        };
        Hints {
            prices: self.prices(problem, values),
            shares: self.bundles.iter().flat_map(of).collect(),
        }
    }

    /// What a piece of each part comes to in a solution, as a guide for a
    /// search; well above the lowest price where a part is not used.
    fn prices(&self, problem: &Problem, values: &[f64]) -> Vec<f64> {
        let mut prices = vec![0.0; problem.parts.len()];
        for bundle in &self.bundles {
            let fitted: f64 = (bundle.uses.iter())
                .map(|&(_, x, qty)| values[x.0] * qty as f64)
                .sum();
            let cost = |level: &Level| self.program.vars[level.packs.0].cost;
            let paid: f64 = (bundle.levels.iter())
                .map(|l| values[l.packs.0] * cost(l))
                .sum();
            let lowest = (bundle.levels.iter())
                .map(|l| cost(l) / l.pack as f64)
                .fold(f64::INFINITY, f64::min);
            let on_hand = bundle.parts.iter().any(|&p| problem.parts[p].on_hand > 0);
            let price = match fitted > 1e-6 {
                true => paid / fitted,
                false if on_hand => 0.5 * lowest,
                false => 2.0 * lowest,
            };
            for &part in &bundle.parts {
                prices[part] = if price.is_finite() { price } else { 0.0 };
            }
        }
        prices
    }
}
