//! Rule `attach`: the receptacle fixes to what the end has; the plug is crimped.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{Body, CRIMP, Half};
use crate::project::Settings;

/// Refuses a receptacle for another device side, and a plug that is not crimped.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let wanted = match body.half {
        Half::Receptacle => end.attach.as_str(),
        Half::Plug => CRIMP,
    };
    (body.attach != wanted)
        .then(|| Clash::new(Rule::Attach, end, Fact::Attach(&body.attach, wanted)))
}
