//! What keeps an answer from becoming a record.

use crate::units::{Currency, Qty};

/// Why a solver's answer makes no record. All but [`PlanError::TooLarge`] are
/// defects of the program: a checked input and a right model never lead there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// There is not one set for each end.
    #[error("the answer has {sets} sets for {ends} ends")]
    Sets {
        /// Sets in the answer.
        sets: usize,
        /// Ends that need a set.
        ends: usize,
    },
    /// A part is bought, but nothing uses it.
    #[error("the answer buys part {0}, which it does not fit")]
    NotFitted(String),
    /// A line has fewer pieces than the supplier sells.
    #[error("the answer buys {qty} of part {part} from {supplier}, below its least quantity")]
    BelowLeast {
        /// Part code.
        part: String,
        /// Supplier by name.
        supplier: String,
        /// Pieces.
        qty: Qty,
    },
    /// A part has fewer pieces than are needed.
    #[error("the answer has {have} of part {part}, but {need} are needed")]
    Short {
        /// Part code.
        part: String,
        /// Pieces fitted and spare.
        need: Qty,
        /// Pieces on hand, ordered and bought.
        have: Qty,
    },
    /// A supplier's currency has no rate.
    #[error("currency {0} has no rate")]
    NoRate(Currency),
    /// A number is beyond what exact decimals hold.
    #[error("{0} is too large to add up exactly")]
    TooLarge(&'static str),
}
