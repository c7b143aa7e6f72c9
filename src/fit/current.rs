//! Rule `current`: the rated current, lowered for the ambient temperature, is
//! at least the circuit's.
//!
//! Heat rises with the square of the current, so the current that brings a
//! body to its limit goes with the root of the rise that is left:
//! `I = rated_a × sqrt((max_c − ambient) / (max_c − rated_c))`, and never more
//! than `rated_a`, because cable and terminal limit it too. The form is that of
//! the ambient correction in NFPA 70 table 310.15(B)(1); for a connector it is
//! an approximation.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::Body;
use crate::project::Settings;
use crate::units::{Ampere, Celsius};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

/// Refuses a body that cannot carry the end's current at the project's ambient
/// temperature, and one whose limit is no higher than that temperature.
pub fn check<'a>(body: &'a Body, end: &'a End, settings: &Settings) -> Option<Clash<'a>> {
    if let (Some(ambient), Some(max)) = (settings.ambient, body.max_c)
        && ambient >= max
    {
        return Some(Clash::new(Rule::Current, end, Fact::Hot(max, ambient)));
    }
    (!carries(body, end.current, settings.ambient))
        .then(|| Clash::new(Rule::Current, end, Fact::Current(body, settings.ambient)))
}

/// True if each contact carries `current` at `ambient`; exact, by squares.
pub fn carries(body: &Body, current: Ampere, ambient: Option<Celsius>) -> bool {
    if body.rated_a < current {
        return false;
    }
    match rises(body, ambient) {
        Some((left, _)) if left <= Decimal::ZERO => false,
        Some((left, full)) => square(body.rated_a, left) >= square(current, full),
        None => true,
    }
}

/// What each contact carries at `ambient`, rounded down to a tenth of an
/// ampere so that it never shows more than holds.
pub fn derated(body: &Body, ambient: Option<Celsius>) -> Ampere {
    let Some((left, full)) = rises(body, ambient) else {
        return body.rated_a;
    };
    if left <= Decimal::ZERO {
        return Ampere(Decimal::ZERO);
    }
    let share = (left / full).to_f64().unwrap_or_default();
    let root = Decimal::from_f64(share.sqrt()).unwrap_or_default();
    let mut tenths = (body.rated_a.0.saturating_mul(root) * Decimal::TEN).ceil() / Decimal::TEN;
    // The root is binary; the exact comparison says on which side of a tenth it is.
    while tenths > Decimal::ZERO && !carries(body, Ampere(tenths), ambient) {
        tenths -= Decimal::new(1, 1);
    }
    Ampere(tenths)
}

/// The rise that is left and the rise at `rated_a`, where they differ.
fn rises(body: &Body, ambient: Option<Celsius>) -> Option<(Decimal, Decimal)> {
    let (ambient, max) = (ambient?.0, body.max_c?.0);
    if ambient >= max {
        return Some((Decimal::ZERO, Decimal::ONE));
    }
    let rated = body.rated_c?.0;
    (ambient > rated).then_some((max - ambient, max - rated))
}

fn square(current: Ampere, rise: Decimal) -> Decimal {
    current.0.saturating_mul(current.0).saturating_mul(rise)
}
