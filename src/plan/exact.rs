//! Arithmetic of a record in exact decimals, and why there is none.

use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;

/// Why a solver's answer makes no record. All but [`PlanError::TooLarge`] are
/// defects of the program: a checked input and a right model never lead there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// Not one set for each end.
    #[error("the answer has {sets} sets for {ends} ends")]
    Sets {
        /// In the answer.
        sets: usize,
        /// That need one.
        ends: usize,
    },
    /// Bought, but nothing uses it.
    #[error("the answer buys part {0}, which it does not fit")]
    NotFitted(String),
    /// Fewer pieces than the supplier sells.
    #[error("the answer buys {qty} of part {part} from {supplier}, below its least quantity")]
    BelowLeast {
        /// Part code.
        part: String,
        /// Supplier by name.
        supplier: String,
        /// Pieces.
        qty: Qty,
    },
    /// Fewer pieces than are needed.
    #[error("the answer has {have} of part {part}, but {need} are needed")]
    Short {
        /// Part code.
        part: String,
        /// Fitted and spare.
        need: Qty,
        /// On hand, ordered and bought.
        have: Qty,
    },
    /// A supplier's currency has no rate.
    #[error("currency {0} has no rate")]
    NoRate(Currency),
    /// A number beyond what exact decimals hold.
    #[error("{0} is too large to add up exactly")]
    TooLarge(&'static str),
}

/// Product of two decimals, or that it is too large.
pub(super) fn product(a: Decimal, b: Decimal, what: &'static str) -> Result<Decimal, PlanError> {
    a.checked_mul(b).ok_or(PlanError::TooLarge(what))
}

/// Sum of amounts, or that it is too large.
pub(super) fn sum(
    amounts: impl IntoIterator<Item = Money>,
    what: &'static str,
) -> Result<Money, PlanError> {
    amounts
        .into_iter()
        .try_fold(Decimal::ZERO, |sum, amount| sum.checked_add(amount.0))
        .map(Money)
        .ok_or(PlanError::TooLarge(what))
}

/// `percent` hundredths of an amount.
pub(super) fn hundredths(
    amount: Money,
    percent: Decimal,
    what: &'static str,
) -> Result<Money, PlanError> {
    product(amount.0, percent, what)?
        .checked_div(Decimal::ONE_HUNDRED)
        .map(Money)
        .ok_or(PlanError::TooLarge(what))
}
