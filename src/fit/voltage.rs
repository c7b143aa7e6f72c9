//! Rule `voltage`: the rated voltage is at least the working voltage.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::Body;
use crate::project::Settings;

/// Refuses a body that is rated below the end's voltage.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    (body.rated_v < end.voltage).then(|| Clash::new(Rule::Voltage, end, Fact::Voltage(body)))
}
