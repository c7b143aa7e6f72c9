//! All rules that see one part at one end.

use super::place::Place;
use super::rule::Clash;
use super::{
    End, attach, back_shell, colour, current, exit, ferrule, pin, poles, protection, seal, voltage,
};
use crate::catalog::{Body, Part, Spec};
use crate::project::Settings;
use crate::units::Qty;

/// A rule that looks at a body.
type BodyRule = for<'a> fn(&'a Body, &'a End, &Settings) -> Option<Clash<'a>>;

/// The rules that look at a body; those first that refuse most for least work,
/// and last those that the shelf has already kept.
const BODY_RULES: [BodyRule; 10] = [
    current::check,
    voltage::check,
    exit::check,
    pin::check,
    ferrule::check,
    seal::check,
    colour::check,
    protection::check,
    poles::check,
    attach::check,
];

/// What stands against a body by itself: its fittings, its other half and its
/// supply are not looked at.
pub fn body<'a>(
    body: &'a Body,
    end: &'a End,
    settings: &'a Settings,
) -> impl Iterator<Item = Clash<'a>> {
    BODY_RULES
        .into_iter()
        .filter_map(move |check| check(body, end, settings))
}

/// What stands against a part in a place on a body; its supply is not looked at.
/// A part of another kind fills no place: no clash tells, so ask only for fittings.
pub fn fitting<'a>(
    part: &'a Part,
    place: &Place<'_>,
    end: &'a End,
    settings: &Settings,
) -> Vec<Clash<'a>> {
    match &part.spec {
        Spec::Body(_) => Vec::new(),
        Spec::Ferrule(f) => ferrule::check_ferrule(f, place.code, end)
            .into_iter()
            .collect(),
        Spec::Seal(s) => [
            seal::check_seal(s, place.code, end),
            protection::check_seal(s, end, settings),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Spec::BackShell(b) => [
            back_shell::check(b, place.code, end),
            exit::check_shell(b, place.exit, end),
            colour::check_shell(b, end),
        ]
        .into_iter()
        .flatten()
        .collect(),
    }
}

/// Pieces of a fitting that one body takes at this end.
pub fn pieces(part: &Part, end: &End) -> Qty {
    match &part.spec {
        Spec::Ferrule(_) => Qty::from(end.poles),
        Spec::BackShell(shell) => Qty::from(shell.pieces),
        Spec::Seal(_) | Spec::Body(_) => 1,
    }
}
