//! All rules that see one part at one end.

use super::clash::Clash;
use super::definition::{At, Check};
use super::end::End;
use super::rules::Rule;
use crate::catalog::{Body, Part, Spec};
use crate::project::Settings;
use crate::units::Qty;

/// What stands against a body by itself, in the order of the rules. Its
/// fittings, its other half and its supply are not looked at.
pub(super) fn body<'a>(
    body: &'a Body,
    end: &'a End,
    settings: &'a Settings,
) -> impl Iterator<Item = Clash<'a>> {
    let at = At {
        end,
        settings,
        place: None,
    };
    (Rule::ALL.into_iter()).filter_map(move |rule| clash(rule, rule.definition().body, body, &at))
}

/// What stands against a fitting, in the order of the rules. Its supply is not
/// looked at. For a body no clash is given, so ask for fittings alone.
pub(super) fn fitting<'a>(part: &'a Part, at: &At<'a>) -> Vec<Clash<'a>> {
    let by = |rule: Rule| {
        let checks = rule.definition();
        match &part.spec {
            Spec::Body(_) => None,
            Spec::Ferrule(ferrule) => clash(rule, checks.ferrule, ferrule, at),
            Spec::Seal(seal) => clash(rule, checks.seal, seal, at),
            Spec::BackShell(shell) => clash(rule, checks.back_shell, shell, at),
        }
    };
    Rule::ALL.into_iter().filter_map(by).collect()
}

fn clash<'a, P>(
    rule: Rule,
    check: Option<Check<P>>,
    part: &'a P,
    at: &At<'a>,
) -> Option<Clash<'a>> {
    let fact = check?(part, at)?;
    let end = at.end;
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
