//! What the pooled program does not tell apart.

use crate::model::rows::Terms;
use crate::solve::VarId;
use crate::units::Qty;
use std::collections::BTreeMap;

/// Bodies that differ only in key and are offered alike, or one fitting.
#[derive(Debug, Clone)]
pub struct Bundle {
    /// By place in `Problem::parts`, rising.
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
    /// Offer of the first part, by place in `Problem::offers`, and break.
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
    /// The most identities.
    pub most: usize,
}
