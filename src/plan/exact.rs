//! Decimals that are exact, or the error that they are not.

use super::error::PlanError;
use crate::units::Money;
use rust_decimal::Decimal;

/// Product of two decimals, or the error that it is too large.
pub(super) fn product(a: Decimal, b: Decimal, what: &'static str) -> Result<Decimal, PlanError> {
    a.checked_mul(b).ok_or(PlanError::TooLarge(what))
}

/// Sum of amounts, or the error that it is too large.
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
