//! Rule `exit`: the plug leaves as wanted; a back shell goes with its body.

use super::End;
use super::rule::{Clash, Fact, Rule};
use crate::catalog::{BackShell, Body, Exit, Half};
use crate::project::Settings;

/// Refuses a plug whose exit is not the one wanted. A receptacle is not asked.
pub fn check<'a>(body: &'a Body, end: &'a End, _: &Settings) -> Option<Clash<'a>> {
    let asked = body.half == Half::Plug && end.exit.is_some();
    (asked && body.exit != end.exit)
        .then(|| Clash::new(Rule::Exit, end, Fact::Exit(body.exit, end.exit)))
}

/// Refuses a back shell for another exit than its body's; one without exit fits any.
pub fn check_shell<'a>(shell: &BackShell, body: Option<Exit>, end: &'a End) -> Option<Clash<'a>> {
    (shell.exit.is_some() && shell.exit != body)
        .then(|| Clash::new(Rule::Exit, end, Fact::Exit(shell.exit, body)))
}
