//! Rule `current`: the rated current on the end's conductor, lowered for the ambient
//! temperature, is at least the circuit's. The rated current is that of the body, or of
//! the row of `ratings.csv` for the conductor's area.
//!
//! Heat rises with the square of the current, so the current that brings a
//! body to its limit goes with the root of the rise that is left:
//! `I = rated_a × sqrt((max_c − ambient) / (max_c − rated_c))`, and never more
//! than `rated_a`, because cable and terminal limit the current too. The form is that
//! of the ambient correction in NFPA 70 table 310.15(B)(1). For a connector the form
//! is an approximation.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Extreme, Fact, Found};
use crate::catalog::Body;
use crate::units::{Ampere, Celsius, Mm2};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("current")
};

/// Refuses a body that cannot carry the end's current at the project's ambient
/// temperature, and one whose limit is no higher than that temperature.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let ambient = at.settings.ambient;
    if let (Some(ambient), Some(limit)) = (ambient, body.max_c)
        && ambient >= limit
    {
        return Some(Box::new(Hot { limit, ambient }));
    }
    let on = Conductor {
        area: at.end.area,
        ambient,
    };
    (!carries(body, at.end.current, on)).then(|| Box::new(Carries { body, on }) as Found<'a>)
}

/// What a body is crimped onto, or the cable on its other half, and how warm it is there.
#[derive(Debug, Clone, Copy)]
pub struct Conductor {
    /// Conductor area.
    pub area: Mm2,
    /// Ambient temperature; none = no derating.
    pub ambient: Option<Celsius>,
}

/// True if each contact carries `current` there; exact, by squares.
pub fn carries(body: &Body, current: Ampere, on: Conductor) -> bool {
    let rated = body.rated_on(on.area);
    if rated < current {
        return false;
    }
    match rises(body, on.ambient) {
        Some((left, _)) if left <= Decimal::ZERO => false,
        Some((left, full)) => square(rated, left) >= square(current, full),
        None => true,
    }
}

/// What each contact carries there, rounded down to a tenth of an
/// ampere so that it never shows more than holds.
pub fn derated(body: &Body, on: Conductor) -> Ampere {
    let rated = body.rated_on(on.area);
    let Some((left, full)) = rises(body, on.ambient) else {
        return rated;
    };
    if left <= Decimal::ZERO {
        return Ampere(Decimal::ZERO);
    }
    let share = (left / full).to_f64().unwrap_or_default();
    let root = Decimal::from_f64(share.sqrt()).unwrap_or_default();
    let mut tenths = (rated.0.saturating_mul(root) * Decimal::TEN).ceil() / Decimal::TEN;
    // The root is binary; the exact comparison says on which side of a tenth it is.
    while tenths > Decimal::ZERO && !carries(body, Ampere(tenths), on) {
        tenths -= Decimal::new(1, 1);
    }
    Ampere(tenths)
}

/// The rise that is left and the rise at `rated_a`, in kelvin, where the two differ.
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

/// The body's limit is not above the ambient temperature.
#[derive(Debug)]
struct Hot {
    limit: Celsius,
    ambient: Celsius,
}

impl Fact for Hot {
    fn has(&self, _: &End) -> String {
        format!("has its limit at {}", self.limit)
    }

    fn wants(&self, _: &End) -> String {
        format!("is at {}", self.ambient)
    }

    fn reason(&self, _: &End) -> String {
        format!("its limit of {} is not above {}", self.limit, self.ambient)
    }

    fn group(&self, _: &End) -> String {
        format!("limit not above {}", self.ambient)
    }

    fn extreme(&self, _: &End) -> Option<Extreme> {
        Some(Extreme {
            value: self.limit.0,
            word: "highest",
            amount: self.limit.to_string(),
        })
    }
}

/// Current that the body carries at the ambient temperature.
#[derive(Debug)]
struct Carries<'a> {
    body: &'a Body,
    on: Conductor,
}

impl Carries<'_> {
    fn derated(&self) -> Ampere {
        derated(self.body, self.on)
    }

    fn rated(&self) -> Ampere {
        self.body.rated_on(self.on.area)
    }

    /// ` on 10 to 25 mm²`, where a row of ratings.csv counts.
    fn rating(&self) -> String {
        let rating = self.body.rating(self.on.area);
        rating.map_or_else(String::new, |r| {
            format!(" on {} to {}", r.min_mm2.0.normalize(), r.max_mm2)
        })
    }

    /// The ambient temperature where it lowers the current.
    fn felt(&self) -> Option<Celsius> {
        self.on.ambient.filter(|_| self.derated() < self.rated())
    }
}

impl Fact for Carries<'_> {
    fn has(&self, _: &End) -> String {
        let (carries, rated, rating) = (self.derated(), self.rated(), self.rating());
        match self.felt() {
            Some(t) => format!("carries {carries} at {t} (rated {rated}{rating})"),
            None => format!("is rated {carries}{rating}"),
        }
    }

    fn wants(&self, end: &End) -> String {
        format!("needs {}", end.current)
    }

    fn reason(&self, end: &End) -> String {
        let (carries, rating) = (self.derated(), self.rating());
        match self.felt() {
            Some(t) => format!("{carries}{rating} at {t} is below {}", end.current),
            None => format!("{carries}{rating} is below {}", end.current),
        }
    }

    fn group(&self, end: &End) -> String {
        match self.on.ambient {
            Some(t) => format!("below {} at {t}", end.current),
            None => format!("rated below {}", end.current),
        }
    }

    fn extreme(&self, _: &End) -> Option<Extreme> {
        let carries = self.derated();
        Some(Extreme {
            value: carries.0,
            word: "highest",
            amount: carries.to_string(),
        })
    }
}
