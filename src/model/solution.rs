//! What a plan is to the program: a set for each end, and packs of each offer.

use crate::catalog::{Fitting, Half, OfferId, PartId};
use crate::units::Qty;

/// What serves one end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Set {
    /// The receptacle; none where the device has its own.
    pub receptacle: Option<PartId>,
    /// The plug.
    pub plug: PartId,
    /// The receptacle's fittings, then the plug's; on each half ferrule, seal, back shell.
    pub fittings: Vec<Fitted>,
}

/// A fitting on one body of a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fitted {
    /// The half that it is on.
    pub half: Half,
    /// Its kind.
    pub fitting: Fitting,
    /// The part.
    pub part: PartId,
    /// Pieces on this body.
    pub qty: Qty,
}

/// A compatible set for every end and what to buy for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// One per end, in the order of `Fit::ends`.
    pub sets: Vec<Set>,
    /// Packs from each offer that is used, by offer; never zero.
    pub purchases: Vec<(OfferId, Qty)>,
}

/// For each end, in the order of `Fit::ends`, the set that another plan has for
/// it; none where that plan has no such set.
pub type Given = Vec<Option<Set>>;

impl Set {
    /// Every part of it with its pieces.
    pub fn pieces(&self) -> impl Iterator<Item = (PartId, Qty)> {
        let bodies = self.receptacle.into_iter().chain([self.plug]);
        let fittings = self.fittings.iter().map(|f| (f.part, f.qty));
        bodies.map(|part| (part, 1)).chain(fittings)
    }
}

impl Solution {
    /// Its sets, for another search to start from.
    pub fn given(&self) -> Given {
        self.sets.iter().cloned().map(Some).collect()
    }
}
