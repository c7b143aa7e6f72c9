//! A smaller program whose least objective no plan is below, at any size.
//!
//! A relaxation in three ways; each maps a plan to a point of this program with
//! the same cost, so its bound is a true bound:
//! - Ends are told apart by kind (gauge and possible parts) or by cell, never
//!   by key. A plan's counts add up to this program's.
//! - Parts that differ only in key, and are offered alike, are one bundle: how
//!   many of them are used is one number, and so is how many of them are bought
//!   at a price break. A plan's numbers add up to them.
//! - What the locations impose comes back as capacities ([`Kinds::capacity`]):
//!   n identities serve at most C(K, n) ends of the kinds K, since at a location
//!   each serves one net. C is concave in n, so C(K, n) ≤ C(K, m) + (C(K, m + 1)
//!   − C(K, m)) (n − m) for every m is exact for whole n.

mod build;
mod cuts;
mod dive;
mod kinds;

use super::rows::{SupplierVars, Terms};
use super::search::Share;
use super::sets::Sets;
use crate::limit::Limit;
use crate::solve::{Program, Relaxation, SolveError, VarId};
use crate::units::Qty;
pub use cuts::{Facts, Rooted, plain, rounds};
pub use kinds::{Grain, Kinds};
use std::collections::BTreeMap;

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
    /// What one more of each variable would add at the root, once it is solved.
    reduced: Vec<f64>,
}

/// Bodies that differ only in key and are offered alike, or one fitting.
#[derive(Debug, Clone)]
pub struct Bundle {
    /// By place in `Sets::parts`, rising.
    pub parts: Vec<usize>,
    /// True for bodies.
    pub is_body: bool,
    /// How many of the parts are used.
    pub used: VarId,
    /// Kind, ends or places that get one of the parts, pieces on each.
    pub uses: Vec<(usize, VarId, Qty)>,
    /// Spare pieces.
    pub spare: Terms,
    /// For each offer and break of the parts.
    pub levels: Vec<Level>,
}

/// A price break of a bundle.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    /// Offer of the first part, by place in `Sets::offers`, and break.
    pub offer: (usize, usize),
    /// How many of the parts are bought at it.
    pub taken: VarId,
    /// Packs of all of them.
    pub packs: VarId,
    /// Pieces in a pack.
    pub pack: Qty,
}

/// Ends that some number of identities serve: Σ uses of kinds K ≤ C(K, Σ by).
#[derive(Debug, Clone)]
pub struct Cover {
    /// For each kind, its ends that are served.
    pub uses: BTreeMap<usize, Terms>,
    /// How many identities.
    pub by: Terms,
    /// The most of them.
    pub most: usize,
}

impl Pooled {
    /// Solves the relaxation, adding rows that it violates.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn root(&mut self, sets: &Sets, limit: &Limit) -> Result<Rooted, SolveError> {
        let facts = Facts {
            sets,
            kinds: &self.kinds,
            covers: &self.covers,
            bundles: &self.bundles,
        };
        let mut relaxation = Relaxation::new(&self.program)?;
        let rooted = rounds(
            &mut self.program,
            &mut relaxation,
            (&facts, f64::INFINITY),
            limit,
        )?;
        if let Rooted::Root(root) = &rooted {
            self.reduced.clone_from(&root.reduced);
        }
        Ok(rooted)
    }

    /// What a solution tells a search: what a piece of each part comes to, and
    /// how many ends of each kind get what.
    pub fn guide(&self, sets: &Sets, values: &[f64]) -> (Vec<f64>, Vec<Share>) {
        let of = |bundle: &Bundle| -> Vec<Share> {
            let share = |&(kind, x, _): &(usize, VarId, Qty)| Share {
                cell: self.kinds.list[kind].cell,
                parts: bundle.parts.clone(),
                ends: values[x.0],
                reduced: self.reduced.get(x.0).copied().unwrap_or(0.0),
            };
            bundle.uses.iter().map(share).collect()
        };
        let shares = self.bundles.iter().flat_map(of).collect();
        (self.prices(sets, values), shares)
    }

    /// What a piece of each part comes to in a solution, as a guide for a
    /// search; well above the lowest price where a part is not used.
    fn prices(&self, sets: &Sets, values: &[f64]) -> Vec<f64> {
        let mut prices = vec![0.0; sets.parts.len()];
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
            let on_hand = bundle.parts.iter().any(|&p| sets.parts[p].on_hand > 0);
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
