//! Rule `back shell`: same rear, and the cable goes through. Its exit and
//! colour are the rules `exit` and `colour`.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::BackShell;

/// Refuses a back shell for another rear, and one that is too narrow.
pub fn check<'a>(shell: &'a BackShell, rear: &str, end: &'a End) -> Option<Clash<'a>> {
    if shell.rear != rear {
        return Some(Clash::new(Rule::BackShell, end, Fact::Code(&shell.rear)));
    }
    diameter(shell, end)
}

/// Refuses a back shell that is too narrow.
pub fn diameter<'a>(shell: &BackShell, end: &'a End) -> Option<Clash<'a>> {
    let fact = Fact::Diameter(None, Some(shell.max_od));
    (end.cable_od > shell.max_od).then(|| Clash::new(Rule::BackShell, end, fact))
}
