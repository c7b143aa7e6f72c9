//! Rule `poles`: a body has one contact for each conductor that arrives.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::Body;
use crate::project::Settings;

/// Refuses a body with fewer or more contacts than the end has conductors.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    (body.poles != end.poles).then(|| Clash::new(Rule::Poles, end, Fact::Poles(body.poles)))
}
