//! A place on a body that nothing fills.

use super::clash::Clash;
use super::end::End;
use super::fact::Fact;
use super::phrase::{area, code_word, name};
use super::place::Place;
use crate::catalog::{Fitting, Part, Spec};
use rust_decimal::Decimal;

/// The place, the fittings of its code, and one of these fittings that the diameter or
/// area does not rule out.
#[derive(Debug)]
pub(super) struct Unfilled<'a> {
    pub place: Place<'a>,
    pub parts: Vec<&'a Part>,
    pub near: Option<NearFitting<'a>>,
}

/// A fitting that is ruled out by something else than its size.
#[derive(Debug)]
pub(super) struct NearFitting<'a> {
    pub part: &'a Part,
    pub clash: Clash<'a>,
}

impl Fact for Unfilled<'_> {
    fn has(&self, end: &End) -> String {
        format!("cannot be filled: {}", self.reason(end))
    }

    fn wants(&self, end: &End) -> String {
        match (&self.near, self.place.fitting) {
            (Some(near), _) => near.clash.wants(),
            (None, Fitting::Ferrule) => format!("needs {}", area(end)),
            (None, Fitting::Seal | Fitting::BackShell) => {
                format!("has a cable of {}", end.cable_od)
            }
        }
    }

    fn reason(&self, end: &End) -> String {
        let (fitting, code) = (self.place.fitting, self.place.code);
        let name = name(fitting.into());
        let of = format!("of {} {code}", code_word(fitting));
        if let Some(NearFitting { part, clash }) = &self.near {
            let reason = clash.reason();
            return format!("{name} {} {of}: {reason}, {}", part.code, part.row);
        }
        match self.parts.first() {
            Some(first) => self.out_of_reach(end, &format!("no {name} {of} in {}", first.row.file)),
            None => format!("the catalog has no {name} {of}"),
        }
    }

    fn group(&self, end: &End) -> String {
        self.reason(end)
    }
}

impl Unfilled<'_> {
    /// How far the fittings go, where no fitting takes the size; `none` is `no seal of rear R1 in …`.
    fn out_of_reach(&self, end: &End, none: &str) -> String {
        let limits: Vec<SizeSpan> = self.parts.iter().filter_map(|part| limits(part)).collect();
        let (size, unit) = match self.place.fitting {
            Fitting::Ferrule => (end.area.0, "mm²"),
            Fitting::Seal | Fitting::BackShell => (end.cable_od.0, "mm"),
        };
        let highest = limits.iter().map(|l| l.max).max().unwrap_or_default();
        let lowest = limits
            .iter()
            .filter_map(|l| l.min)
            .min()
            .unwrap_or_default();
        let takes = limits
            .iter()
            .any(|l| l.min.is_none_or(|min| min <= size) && size <= l.max);
        let bound =
            |word: &str, limit: Decimal| format!("{none} goes {word} {} {unit}", limit.normalize());
        match () {
            () if highest < size => bound("above", highest),
            () if lowest > size => bound("below", lowest),
            () if !takes => format!("{none} takes {} {unit}", size.normalize()),
            () => format!(
                "{none} that fits otherwise takes {} {unit}",
                size.normalize()
            ),
        }
    }
}

/// Least and greatest size that a fitting takes.
struct SizeSpan {
    min: Option<Decimal>,
    max: Decimal,
}

fn limits(part: &Part) -> Option<SizeSpan> {
    let (min, max) = match &part.spec {
        Spec::Ferrule(f) => (Some(f.min_mm2.0), f.max_mm2.0),
        Spec::Seal(s) => (Some(s.min_od.0), s.max_od.0),
        Spec::BackShell(b) => (None, b.max_od.0),
        Spec::Body(_) => return None,
    };
    Some(SizeSpan { min, max })
}
