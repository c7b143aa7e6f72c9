//! How far a plan is proven: bound, gap, status.

use super::error::PlanError;
use super::exact::product;
use super::form::Status;
use crate::units::Money;
use rust_decimal::{Decimal, RoundingStrategy};

/// Decimals of the bound and of the gap.
const PLACES: u32 = 4;

/// What the search says about the total.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// No plan costs less than this, in the project's currency.
    pub lower: f64,
    /// Runs of the solver that prove that nothing is cheaper; 0 where nothing
    /// is proven.
    pub witnesses: u8,
    /// The gap in percent that was asked for, if any.
    pub wanted_gap: Option<Decimal>,
}

pub(super) struct Proof {
    pub(super) status: Status,
    pub(super) bound: Money,
    pub(super) gap_percent: Decimal,
    pub(super) witnesses: Option<u8>,
}

/// Status, bound and gap of a plan with this total.
pub(super) fn proof(total: Money, bound: Bound) -> Result<Proof, PlanError> {
    if bound.witnesses > 0 {
        return Ok(Proof {
            status: Status::Optimal,
            bound: total,
            gap_percent: Decimal::ZERO,
            witnesses: Some(bound.witnesses),
        });
    }
    let lower = lower(total, bound.lower);
    let down = lower.round_dp_with_strategy(PLACES, RoundingStrategy::ToNegativeInfinity);
    // Whether the gap is met is told before rounding, which only widens the gap.
    let gap = gap(total.0, lower)?;
    let met = bound.wanted_gap.is_some_and(|wanted| gap <= wanted);
    Ok(Proof {
        status: if met {
            Status::WithinGap
        } else {
            Status::TimeLimit
        },
        bound: Money(down),
        gap_percent: self::gap(total.0, down)?
            .round_dp_with_strategy(PLACES, RoundingStrategy::ToPositiveInfinity),
        witnesses: None,
    })
}

/// The solver's bound as a decimal, from zero (no cost term is negative) to the
/// total; zero where the solver has none.
fn lower(total: Money, bound: f64) -> Decimal {
    if bound == f64::INFINITY {
        return total.0;
    }
    Decimal::from_f64_retain(bound)
        .unwrap_or_default()
        .max(Decimal::ZERO)
        .min(total.0)
}

/// (total − bound) / total in percent; zero where the total is zero.
fn gap(total: Decimal, bound: Decimal) -> Result<Decimal, PlanError> {
    if total.is_zero() {
        return Ok(Decimal::ZERO);
    }
    let missing = product(total - bound, Decimal::ONE_HUNDRED, "the gap")?;
    missing
        .checked_div(total)
        .ok_or(PlanError::TooLarge("the gap"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn proof_of(total: &str, lower: f64, wanted: Option<&str>) -> (Status, String, String) {
        let bound = Bound {
            lower,
            witnesses: 0,
            wanted_gap: wanted.map(|gap| gap.parse().unwrap()),
        };
        let proof = proof(total.parse().unwrap(), bound).unwrap();
        let gap = proof.gap_percent.normalize().to_string();
        (proof.status, proof.bound.to_string(), gap)
    }

    #[test]
    fn the_bound_is_rounded_down_and_the_gap_up() {
        // 300 − 200.1234 = 99.8766; / 300 = 33.2922 %.
        let (status, bound, gap) = proof_of("300", 200.12349, None);
        assert_eq!(status, Status::TimeLimit);
        assert_eq!(bound, "200.1234");
        assert_eq!(gap, "33.2922");
        // 1/3 does not end.
        assert_eq!(proof_of("300", 200.0, None).2, "33.3334");
    }

    #[test]
    fn a_gap_that_was_asked_for_is_met_up_to_its_edge() {
        assert_eq!(proof_of("100", 99.0, Some("1")).0, Status::WithinGap);
        assert_eq!(proof_of("100", 98.9999, Some("1")).0, Status::TimeLimit);
        assert_eq!(proof_of("100", 99.0, None).0, Status::TimeLimit);
    }

    #[test]
    fn rounding_the_bound_does_not_undo_a_gap_that_is_met() {
        // 0.99 would be at the edge; the solver's bound lies just above it.
        let (status, bound, gap) = proof_of("1", 0.990_099_9, Some("0.991"));
        assert_eq!((status, bound.as_str()), (Status::WithinGap, "0.99"));
        assert_eq!(gap, "1");
    }

    #[test]
    fn the_bound_stays_between_zero_and_the_total() {
        for (lower, bound) in [
            (f64::NAN, "0.00"),
            (f64::NEG_INFINITY, "0.00"),
            (-3.0, "0.00"),
            (100.000_1, "100.00"),
            (f64::INFINITY, "100.00"),
        ] {
            assert_eq!(proof_of("100", lower, None).1, bound, "{lower}");
        }
    }

    #[test]
    fn a_plan_that_costs_nothing_has_no_gap() {
        let (_, bound, gap) = proof_of("0", 0.0, Some("0"));
        assert_eq!((bound.as_str(), gap.as_str()), ("0.00", "0"));
    }

    #[test]
    fn a_proven_plan_has_its_total_as_bound() {
        let bound = Bound {
            lower: 12.0,
            witnesses: 2,
            wanted_gap: None,
        };
        let proof = proof("12.345678".parse().unwrap(), bound).unwrap();
        assert_eq!(proof.status, Status::Optimal);
        assert_eq!(proof.bound.to_string(), "12.345678");
        assert_eq!(proof.gap_percent, Decimal::ZERO);
    }
}
