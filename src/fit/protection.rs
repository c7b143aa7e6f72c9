//! Rule `protection`: each body, and each seal that states a code, gives the
//! protection wanted.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::{Body, Seal};
use crate::units::Protection;

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    seal: Some(check_seal),
    ..Definition::named("protection")
};

/// Refuses a body that does not give the protection wanted, or states no protection.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.ip.as_ref()?;
    let has = body.ip.as_ref();
    (!has.is_some_and(|ip| ip.gives(wanted, at.settings.protection)))
        .then(|| Box::new(Less { has, wanted }) as Found<'a>)
}

/// Refuses a seal that states a code which does not give the protection wanted.
fn check_seal<'a>(seal: &'a Seal, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.ip.as_ref()?;
    let gives = seal.ip.as_ref()?;
    let has = Some(gives);
    (!gives.gives(wanted, at.settings.protection))
        .then(|| Box::new(Less { has, wanted }) as Found<'a>)
}

/// Protection of the part, and the protection wanted.
#[derive(Debug)]
struct Less<'a> {
    has: Option<&'a Protection>,
    wanted: &'a Protection,
}

impl Fact for Less<'_> {
    fn has(&self, _: &End) -> String {
        match self.has {
            Some(ip) => format!("gives {ip}"),
            None => "states no protection".to_owned(),
        }
    }

    fn wants(&self, _: &End) -> String {
        format!("needs {}", self.wanted)
    }

    fn reason(&self, _: &End) -> String {
        match self.has {
            Some(has) => format!("{has} does not give {}", self.wanted),
            None => format!("states no protection, {} is wanted", self.wanted),
        }
    }

    fn group(&self, _: &End) -> String {
        match self.has {
            Some(_) => format!("{} not given", self.wanted),
            None => format!("no protection stated, {} is wanted", self.wanted),
        }
    }
}
