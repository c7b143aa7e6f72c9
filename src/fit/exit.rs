//! Rule `exit`: the plug leaves as wanted; a back shell goes with its body.

use super::definition::{At, Definition};
use super::end::End;
use super::fact::{Fact, Found};
use crate::catalog::{BackShell, Body, Exit, Half};

pub(super) const RULE: Definition = Definition {
    body: Some(check),
    back_shell: Some(check_shell),
    ..Definition::named("exit")
};

/// Refuses a plug whose exit is not the exit wanted. A receptacle is not asked.
fn check<'a>(body: &'a Body, at: &At<'a>) -> Option<Found<'a>> {
    let wanted = at.end.exit;
    let asked = body.half == Half::Plug && wanted.is_some();
    (asked && body.exit != wanted).then(|| other(body.exit, wanted))
}

/// Refuses a back shell for another exit than its body's. A back shell without exit fits any.
fn check_shell<'a>(shell: &'a BackShell, at: &At<'a>) -> Option<Found<'a>> {
    let body = at.place?.exit;
    (shell.exit.is_some() && shell.exit != body).then(|| other(shell.exit, body))
}

fn other<'a>(has: Option<Exit>, wanted: Option<Exit>) -> Found<'a> {
    Box::new(OtherExit { has, wanted })
}

/// Exit of the part, and the exit that the end or the body asks for.
#[derive(Debug)]
struct OtherExit {
    has: Option<Exit>,
    wanted: Option<Exit>,
}

impl Fact for OtherExit {
    fn has(&self, _: &End) -> String {
        match self.has {
            Some(exit) => format!("is for a {exit} exit"),
            None => "states no exit".to_owned(),
        }
    }

    fn wants(&self, _: &End) -> String {
        match self.wanted {
            Some(exit) => format!("needs a {exit} exit"),
            None => "has a body without exit there".to_owned(),
        }
    }

    fn reason(&self, _: &End) -> String {
        format!("{} is not {}", word(self.has), word(self.wanted))
    }

    fn group(&self, _: &End) -> String {
        format!("no {} exit", word(self.wanted))
    }
}

fn word(exit: Option<Exit>) -> &'static str {
    exit.map_or("without exit", Exit::word)
}
