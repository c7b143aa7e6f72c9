//! Rule `attach`: the receptacle fixes to what the end has; the plug is crimped.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::{BUILT_IN, Body, CRIMP, Half};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    ..Definition::named("attach")
};

/// Refuses a receptacle for another device side, and a plug that is not crimped.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = match body.half {
        Half::Receptacle => at.end.attach.as_str(),
        Half::Plug => CRIMP,
    };
    let has = body.attach.as_str();
    (has != wanted).then(|| Box::new(Attaches { has, wanted }) as Found<'a>)
}

/// What the body fixes to, and what it should fix to.
#[derive(Debug)]
struct Attaches<'a> {
    has: &'a str,
    wanted: &'a str,
}

impl Fact for Attaches<'_> {
    fn has(&self, _: &End) -> String {
        format!("attaches by {}", self.has)
    }

    fn wants(&self, _: &End) -> String {
        match self.wanted {
            BUILT_IN => "has its receptacle built in there".to_owned(),
            wanted => format!("needs {wanted}"),
        }
    }

    fn reason(&self, _: &End) -> String {
        match self.wanted {
            BUILT_IN => "the device has its own receptacle".to_owned(),
            wanted => format!("{} is not {wanted}", self.has),
        }
    }

    fn group(&self, _: &End) -> String {
        format!("not by {}", self.wanted)
    }
}
