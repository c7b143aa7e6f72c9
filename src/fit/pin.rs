//! Rule `pin`: both halves have the keying position that the end is pinned to.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::Body;
use crate::project::Settings;

/// Refuses a body of another key, and one without keying where a key is wanted.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let wanted = end.key.as_deref()?;
    let fact = Fact::Key(&body.key, wanted);
    (body.key != wanted).then(|| Clash::new(Rule::Pin, end, fact))
}
