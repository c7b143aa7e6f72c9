//! The wording of one clash.

use crate::catalog::{Body, Exit, Fitting, Half, Kind, Part, Spec};
use crate::fit::explain::Refusal;
use crate::fit::rule::{Clash, Fact, Rule};
use crate::fit::supply::Lack;
use crate::fit::{End, Identity, current, place::Place};
use crate::input::Input;
use crate::units::Gauge;
use rust_decimal::Decimal;
use std::fmt::Display;

/// The part of a group that comes nearest by its rule.
pub(in crate::fit) struct Extreme {
    /// The higher, the nearer.
    pub value: Decimal,
    /// `highest: P-1 at 350 A`.
    pub text: String,
}

/// A refusal with its facts worded.
pub(in crate::fit) fn refusal(input: &Input, part: &Part, clash: &Clash<'_>) -> Refusal {
    let circuit = &input.circuits[clash.end.circuit];
    Refusal {
        rule: clash.rule,
        kind: part.kind(),
        part: part.code.clone(),
        has: has(clash),
        needs: format!("circuit {} {}", circuit.name, wants(clash)),
        reason: reason(clash),
        part_row: part.row.clone(),
        end_row: circuit.row.clone(),
    }
}

/// `plug P-1 is rated 350 A, circuit pump needs 400 A (catalog/bodies.csv:12, circuits.csv:4)`.
pub(in crate::fit) fn sentence(r: &Refusal) -> String {
    format!(
        "{} {} {}, {} ({}, {})",
        name(r.kind),
        r.part,
        r.has,
        r.needs,
        r.part_row,
        r.end_row
    )
}

/// `nets HV+ and HV- at motor would both have interface I, key A`.
pub(in crate::fit) fn keying(one: &End, other: &End, shared: &Identity) -> String {
    let shared = identity(&shared.interface, &shared.key);
    let (a, b) = (&one.net, &other.net);
    match (&one.location, &other.location) {
        (at, there) if at == there => format!("nets {a} and {b} at {at} would both have {shared}"),
        (at, there) => format!("net {a} at {at} and net {b} at {there} would both have {shared}"),
    }
}

/// The part's fact.
fn has(clash: &Clash<'_>) -> String {
    match &clash.fact {
        Fact::Attach(has, _) => format!("attaches by {has}"),
        Fact::Poles(has) => format!("has {}", count(u64::from(*has), "pole")),
        Fact::Voltage(body) => format!("is rated {}", body.rated_v),
        Fact::Current(body, ambient) => {
            let carries = current::derated(body, *ambient);
            match ambient.filter(|_| carries < body.rated_a) {
                Some(t) => format!("carries {carries} at {t} (rated {})", body.rated_a),
                None => format!("is rated {carries}"),
            }
        }
        Fact::Hot(limit, _) => format!("has its limit at {limit}"),
        Fact::Exit(Some(exit), _) => format!("is for a {exit} exit"),
        Fact::Exit(None, _) => "states no exit".to_owned(),
        Fact::Colour(Some(colour), _) => format!("is {colour}"),
        Fact::Colour(None, _) => "states no colour".to_owned(),
        Fact::Protection(Some(ip), _) => format!("gives {ip}"),
        Fact::Protection(None, _) => "states no protection".to_owned(),
        Fact::Key("", _) => "has no keying".to_owned(),
        Fact::Key(key, _) => format!("has key {key}"),
        Fact::Area(min, max) => format!("takes {}", range(*min, *max)),
        Fact::Diameter(min, max) => format!("takes cables of {}", range(*min, *max)),
        Fact::Code(code) => format!("is for {} {code}", code_word(clash.rule)),
        Fact::Unfilled(..) => format!("cannot be filled: {}", reason(clash)),
        Fact::Supply(lack) => lack_words(lack),
        Fact::Partner(_) => format!("has no mate: {}", reason(clash)),
        Fact::Unused(code) => format!("is for {} {code}", code_word(clash.rule)),
    }
}

/// What the end wants of it, after `circuit pump`.
fn wants(clash: &Clash<'_>) -> String {
    let end = clash.end;
    match &clash.fact {
        Fact::Attach(_, wanted) => format!("needs {wanted}"),
        Fact::Poles(_) => format!("needs {}", count(u64::from(end.poles), "pole")),
        Fact::Voltage(_) => format!("needs {}", end.voltage),
        Fact::Current(..) => format!("needs {}", end.current),
        Fact::Hot(_, ambient) => format!("is at {ambient}"),
        Fact::Exit(_, Some(exit)) => format!("needs a {exit} exit"),
        Fact::Exit(_, None) => "has a body without exit there".to_owned(),
        Fact::Colour(_, wanted) => format!("needs {wanted}"),
        Fact::Protection(_, wanted) => format!("needs {wanted}"),
        Fact::Key(_, wanted) => format!("is pinned to key {wanted} there"),
        Fact::Area(..) => format!("needs {}", area(end)),
        Fact::Diameter(..) => format!("has a cable of {}", end.cable_od),
        Fact::Code(_) => "has a body of another code there".to_owned(),
        Fact::Unfilled(_, _, Some((_, inner))) => wants(inner),
        Fact::Unfilled(place, ..) if place.fitting == Fitting::Ferrule => {
            format!("needs {}", area(end))
        }
        Fact::Unfilled(..) => format!("has a cable of {}", end.cable_od),
        Fact::Supply(_) => "needs a part that can be had".to_owned(),
        Fact::Partner(_) => "needs both halves".to_owned(),
        Fact::Unused(_) => "has no body that fits and takes it".to_owned(),
    }
}

/// Both facts at once, short.
fn reason(clash: &Clash<'_>) -> String {
    let end = clash.end;
    match &clash.fact {
        Fact::Attach(has, wanted) => format!("{has} is not {wanted}"),
        Fact::Poles(has) => format!("{} for {}", count(u64::from(*has), "pole"), end.poles),
        Fact::Voltage(body) => format!("{} is below {}", body.rated_v, end.voltage),
        Fact::Current(body, ambient) => {
            let carries = current::derated(body, *ambient);
            match ambient.filter(|_| carries < body.rated_a) {
                Some(t) => format!("{carries} at {t} is below {}", end.current),
                None => format!("{carries} is below {}", end.current),
            }
        }
        Fact::Hot(limit, ambient) => format!("its limit of {limit} is not above {ambient}"),
        Fact::Exit(has, wanted) => format!("{} is not {}", exit(*has), exit(*wanted)),
        Fact::Colour(Some(has), wanted) => format!("{has} is not {wanted}"),
        Fact::Colour(None, wanted) => format!("states no colour, {wanted} is wanted"),
        Fact::Protection(Some(has), wanted) => format!("{has} does not give {wanted}"),
        Fact::Protection(None, wanted) => format!("states no protection, {wanted} is wanted"),
        Fact::Key("", wanted) => format!("it has no keying, key {wanted} is wanted"),
        Fact::Key(key, wanted) => format!("key {key} is not {wanted}"),
        Fact::Area(min, max) => outside(end.area, *min, *max),
        Fact::Diameter(min, max) => outside(end.cable_od, *min, *max),
        Fact::Unfilled(place, parts, near) => unfilled(end, place, parts, near.as_ref()),
        Fact::Supply(lack) => lack_words(lack),
        Fact::Partner(body) => format!(
            "no {} with {} fits here",
            mate(body),
            identity(&body.interface, &body.key)
        ),
        Fact::Code(code) | Fact::Unused(code) => {
            format!(
                "no body that fits here has {} {code}",
                code_word(clash.rule)
            )
        }
    }
}

/// What equal refusals have in common, after `14 plugs: `.
pub(in crate::fit) fn group(clash: &Clash<'_>) -> String {
    let end = clash.end;
    match &clash.fact {
        Fact::Attach(_, wanted) => format!("not by {wanted}"),
        Fact::Poles(_) => format!("not {}", count(u64::from(end.poles), "pole")),
        Fact::Voltage(_) => format!("rated below {}", end.voltage),
        Fact::Current(_, Some(t)) => format!("below {} at {t}", end.current),
        Fact::Current(_, None) => format!("rated below {}", end.current),
        Fact::Hot(_, ambient) => format!("limit not above {ambient}"),
        Fact::Exit(_, wanted) => format!("no {} exit", exit(*wanted)),
        Fact::Colour(Some(_), wanted) => format!("not {wanted}"),
        Fact::Colour(None, wanted) => format!("no colour stated, {wanted} is wanted"),
        Fact::Protection(Some(_), wanted) => format!("{wanted} not given"),
        Fact::Protection(None, wanted) => format!("no protection stated, {wanted} is wanted"),
        Fact::Key("", wanted) => format!("no keying, key {wanted} is wanted"),
        Fact::Key(_, wanted) => format!("not key {wanted}"),
        Fact::Area(..) => format!("not for a conductor of {}", area(end)),
        Fact::Diameter(..) => format!("not for a cable of {}", end.cable_od),
        Fact::Supply(Lack::Excluded) => "in exclude_parts".to_owned(),
        Fact::Supply(Lack::Supplier) => "sold by excluded suppliers only".to_owned(),
        Fact::Supply(Lack::Slow { limit, .. }) => format!("slower than max_lead_days = {limit}"),
        Fact::Supply(Lack::Short { .. }) => "less in stock than the least order".to_owned(),
        Fact::Supply(Lack::NoOffer) => "no offer and none on hand".to_owned(),
        Fact::Partner(body) => {
            format!("no {} of the same interface and key fits here", mate(body))
        }
        Fact::Unfilled(..) | Fact::Code(_) | Fact::Unused(_) => reason(clash),
    }
}

/// How near a clash comes, where that can be measured.
pub(in crate::fit) fn extreme(code: &str, clash: &Clash<'_>) -> Option<Extreme> {
    let new = |value: Decimal, word: &str, shown: &dyn Display| Extreme {
        value,
        text: format!("{word}: {code} at {shown}"),
    };
    match &clash.fact {
        Fact::Voltage(body) => Some(new(body.rated_v.0, "highest", &body.rated_v)),
        Fact::Current(body, ambient) => {
            let carries = current::derated(body, *ambient);
            Some(new(carries.0, "highest", &carries))
        }
        Fact::Hot(limit, _) => Some(new(limit.0, "highest", limit)),
        Fact::Area(_, Some(max)) if *max < clash.end.area => Some(new(max.0, "highest", max)),
        Fact::Area(Some(min), _) => Some(new(-min.0, "lowest", min)),
        Fact::Diameter(_, Some(max)) if *max < clash.end.cable_od => {
            Some(new(max.0, "highest", max))
        }
        Fact::Diameter(Some(min), _) => Some(new(-min.0, "lowest", min)),
        Fact::Supply(Lack::Slow { days, .. }) => Some(new(
            -Decimal::from(*days),
            "fastest",
            &count(u64::from(*days), "day"),
        )),
        _ => None,
    }
}

/// Why no fitting fills a place.
fn unfilled(
    end: &End,
    place: &Place<'_>,
    parts: &[&Part],
    near: Option<&(&Part, Box<Clash<'_>>)>,
) -> String {
    let (name, code) = (name(place.fitting.into()), place.code);
    let of = format!("{name} of {} {code}", place_word(place.fitting));
    if let Some((part, clash)) = near {
        let of = of.replacen(name, &format!("{name} {}", part.code), 1);
        return format!("{of}: {}, {}", reason(clash), part.row);
    }
    let Some(first) = parts.first() else {
        return format!("the catalog has no {of}");
    };
    let file = &first.row.file;
    let limits: Vec<(Option<Decimal>, Decimal)> =
        parts.iter().filter_map(|part| limits(part)).collect();
    let (size, unit) = match place.fitting {
        Fitting::Ferrule => (end.area.0, "mm²"),
        Fitting::Seal | Fitting::BackShell => (end.cable_od.0, "mm"),
    };
    let highest = limits.iter().map(|l| l.1).max().unwrap_or_default();
    let lowest = limits.iter().filter_map(|l| l.0).min().unwrap_or_default();
    let takes = limits
        .iter()
        .any(|(min, max)| min.is_none_or(|min| min <= size) && size <= *max);
    let bound = |word: &str, limit: Decimal| {
        format!("no {of} in {file} goes {word} {} {unit}", limit.normalize())
    };
    match () {
        () if highest < size => bound("above", highest),
        () if lowest > size => bound("below", lowest),
        () if !takes => format!("no {of} in {file} takes {} {unit}", size.normalize()),
        () => format!(
            "no {of} in {file} that fits otherwise takes {} {unit}",
            size.normalize()
        ),
    }
}

/// Least and greatest size that a fitting takes.
fn limits(part: &Part) -> Option<(Option<Decimal>, Decimal)> {
    match &part.spec {
        Spec::Ferrule(f) => Some((Some(f.min_mm2.0), f.max_mm2.0)),
        Spec::Seal(s) => Some((Some(s.min_od.0), s.max_od.0)),
        Spec::BackShell(b) => Some((None, b.max_od.0)),
        Spec::Body(_) => None,
    }
}

pub(super) fn lack_words(lack: &Lack) -> String {
    match lack {
        Lack::Excluded => "is in exclude_parts".to_owned(),
        Lack::NoOffer => "has no offer and none is on hand".to_owned(),
        Lack::Supplier => "is sold by excluded suppliers only".to_owned(),
        Lack::Slow { days, limit } => {
            let days = count(u64::from(*days), "day");
            format!("takes {days}, max_lead_days is {limit}")
        }
        Lack::Short { stock, least } => {
            format!("has {stock} in stock, the least order is {least}")
        }
    }
}

/// `70 mm²`, `67.4309 mm² (2/0 AWG)`.
pub(super) fn area(end: &End) -> String {
    match end.gauge {
        Gauge::Metric(area) => area.to_string(),
        Gauge::Awg(_) => format!("{} ({})", end.area, end.gauge),
    }
}

/// What a fitting is for: `rear R1`, `barrel B1`; none for a body.
pub(in crate::fit) fn place(part: &Part) -> Option<String> {
    match &part.spec {
        Spec::Ferrule(f) => Some(format!("barrel {}", f.barrel)),
        Spec::Seal(s) => Some(format!("rear {}", s.rear)),
        Spec::BackShell(b) => Some(format!("rear {}", b.rear)),
        Spec::Body(_) => None,
    }
}

/// A kind in running text.
pub(super) fn name(kind: Kind) -> &'static str {
    match kind {
        Kind::BackShell => "back shell",
        kind => kind.word(),
    }
}

/// What mates with the body.
fn mate(body: &Body) -> Half {
    match body.half {
        Half::Plug => Half::Receptacle,
        Half::Receptacle => Half::Plug,
    }
}

fn identity(interface: &str, key: &str) -> String {
    match key {
        "" => format!("interface {interface}"),
        key => format!("interface {interface}, key {key}"),
    }
}

fn exit(exit: Option<Exit>) -> &'static str {
    exit.map_or("without exit", Exit::word)
}

/// The code that ties a fitting to a body.
fn place_word(fitting: Fitting) -> &'static str {
    match fitting {
        Fitting::Ferrule => "barrel",
        Fitting::Seal | Fitting::BackShell => "rear",
    }
}

fn code_word(rule: Rule) -> &'static str {
    match rule {
        Rule::Ferrule => "barrel",
        _ => "rear",
    }
}

fn range<T: Display>(min: Option<T>, max: Option<T>) -> String {
    match (min, max) {
        (Some(min), Some(max)) => format!("{min} to {max}"),
        (Some(min), None) => format!("{min} and above"),
        (None, Some(max)) => format!("up to {max}"),
        (None, None) => "any size".to_owned(),
    }
}

fn outside<T: Display + PartialOrd>(size: T, min: Option<T>, max: Option<T>) -> String {
    match (min, max) {
        (Some(min), _) if size < min => format!("{size} is below {min}"),
        (_, Some(max)) => format!("{size} is above {max}"),
        (min, None) => format!("{size} is outside {}", range(min, None)),
    }
}

pub(super) fn count(number: u64, word: &str) -> String {
    match number {
        1 => format!("1 {word}"),
        _ => format!("{number} {}", plural(word)),
    }
}

pub(super) fn plural(word: &str) -> String {
    format!("{word}s")
}
