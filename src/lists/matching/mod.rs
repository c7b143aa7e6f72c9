//! Which articles of a list are which parts of ours.

mod likeness;
mod matched;

pub use likeness::{Likeness, Named, Proposal, bare};
pub use matched::{Matched, Sold, Telling, matched, skus};
