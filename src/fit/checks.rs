//! All rules that see one part at one end.

use super::attribute;
use super::clash::Clash;
use super::definition::{At, Check};
use super::end::End;
use super::rules::Rule;
use crate::catalog::{Body, Part, Spec};
use crate::units::Qty;

/// What stands against a body by itself, in the order of the rules. Its
/// fittings, its other half and its supply are not looked at.
pub(super) fn body<'a>(
    part: &'a Part,
    body: &'a Body,
    at: At<'a>,
) -> impl Iterator<Item = Clash<'a>> {
    let by = move |rule: &Rule| clash(rule, rule.definition()?.body, body, &at);
    let early = Rule::EARLY.iter().filter_map(by);
    let late = Rule::LATE.iter().filter_map(by);
    early.chain(of_attributes(part, at)).chain(late)
}

/// What stands against a fitting, in the order of the rules. Its supply is not
/// looked at. For a body no clash is given, so ask for fittings alone.
pub(super) fn fitting<'a>(part: &'a Part, at: &At<'a>) -> Vec<Clash<'a>> {
    let by = |rule: &Rule| {
        let checks = rule.definition()?;
        match &part.spec {
            Spec::Body(_) => None,
            Spec::Ferrule(ferrule) => clash(rule, checks.ferrule, ferrule, at),
            Spec::Seal(seal) => clash(rule, checks.seal, seal, at),
            Spec::BackShell(shell) => clash(rule, checks.back_shell, shell, at),
        }
    };
    if part.body().is_some() {
        return Vec::new();
    }
    let early = Rule::EARLY.iter().filter_map(by);
    let late = Rule::LATE.iter().filter_map(by);
    early.chain(of_attributes(part, *at)).chain(late).collect()
}

fn of_attributes<'a>(part: &'a Part, at: At<'a>) -> impl Iterator<Item = Clash<'a>> {
    let end = at.end;
    let found = attribute::clashes(at.catalog, part, at);
    found.map(move |(rule, fact)| Clash { rule, end, fact })
}

fn clash<'a, P>(
    rule: &Rule,
    check: Option<Check<P>>,
    part: &'a P,
    at: &At<'a>,
) -> Option<Clash<'a>> {
    let fact = check?(part, at)?;
    let (rule, end) = (rule.clone(), at.end);
    Some(Clash { rule, end, fact })
}

/// Pieces of a fitting that one body takes at this end.
pub(super) fn pieces(part: &Part, end: &End) -> Qty {
    match &part.spec {
        Spec::Ferrule(_) => Qty::from(end.poles),
        Spec::BackShell(shell) => Qty::from(shell.pieces),
        Spec::Seal(_) | Spec::Body(_) => 1,
    }
}
