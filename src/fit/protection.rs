//! Rule `protection`: each body, and each seal that states a code, gives the
//! protection wanted.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{Body, Seal};
use crate::project::Settings;

/// Refuses a body that does not give the protection wanted, and one that states none.
pub fn check<'a>(body: &'a Body, end: &'a End, settings: &Settings) -> Option<Clash<'a>> {
    let wanted = end.ip.as_ref()?;
    let gives = body.ip.as_ref();
    (!gives.is_some_and(|ip| ip.gives(wanted, settings.protection)))
        .then(|| Clash::new(Rule::Protection, end, Fact::Protection(gives, wanted)))
}

/// Refuses a seal that states a code which does not give the protection wanted.
pub fn check_seal<'a>(seal: &'a Seal, end: &'a End, settings: &Settings) -> Option<Clash<'a>> {
    let wanted = end.ip.as_ref()?;
    let gives = seal.ip.as_ref()?;
    (!gives.gives(wanted, settings.protection))
        .then(|| Clash::new(Rule::Protection, end, Fact::Protection(Some(gives), wanted)))
}
