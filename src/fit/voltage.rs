//! Rule `voltage`: the rated voltage is at least the working voltage.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Extreme, Fact, Found};
use crate::catalog::Body;
use crate::units::Volt;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("voltage")
};

/// Refuses a body that is rated below the end's voltage.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    (body.rated_v < at.end.voltage).then(|| Box::new(Rated(body.rated_v)) as Found<'a>)
}

/// The body's rated voltage.
#[derive(Debug)]
struct Rated(Volt);

impl Fact for Rated {
    fn has(&self, _: &End) -> String {
        format!("is rated {}", self.0)
    }

    fn wants(&self, end: &End) -> String {
        format!("needs {}", end.voltage)
    }

    fn reason(&self, end: &End) -> String {
        format!("{} is below {}", self.0, end.voltage)
    }

    fn group(&self, end: &End) -> String {
        format!("rated below {}", end.voltage)
    }

    fn extreme(&self, _: &End) -> Option<Extreme> {
        Some(Extreme {
            value: self.0.0,
            word: "highest",
            amount: self.0.to_string(),
        })
    }
}
