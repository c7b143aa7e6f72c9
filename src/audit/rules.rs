//! The rules of fit for the two bodies of an end.

use super::ends::{Served, Wanted};
use super::finding::{Finding, Rule, differs};
use crate::catalog::{Body, Half, Kind};
use crate::input::Input;
use crate::units::{Ampere, Celsius};
use rust_decimal::Decimal;

/// A broken rule and why.
pub(super) type Refusal = (Rule, String);

pub(super) fn check(input: &Input, end: &Served, found: &mut Vec<Finding>) {
    let plug = body(input, end, Half::Plug, found);
    let receptacle = body(input, end, Half::Receptacle, found);
    let mut broken = Vec::new();
    for (half, body) in [(Half::Receptacle, receptacle), (Half::Plug, plug)] {
        let Some(body) = body else { continue };
        let refusals = [
            poles(body, end.wanted),
            current(body, end.wanted.circuit.current, input.settings.ambient),
            voltage(body, end.wanted),
            attach(body, end.wanted),
            exit(body, end.wanted),
            protection(input, body, end.wanted),
            colour(body, end.wanted),
            pin(body, end.wanted),
        ];
        let refusals = refusals
            .into_iter()
            .flatten()
            .chain(limits(body, end.wanted));
        broken.extend(
            refusals.map(|(rule, why)| (rule, format!("{half} {}: {why}", end.code(half)))),
        );
        identity(body, half, end, found);
    }
    if let (Some(plug), Some(receptacle)) = (plug, receptacle) {
        broken.extend(mate(plug, receptacle));
    }
    let name = &end.wanted.name;
    found.extend(
        broken
            .into_iter()
            .map(|(rule, why)| Finding::Broken(name.clone(), rule, why)),
    );
}

fn body<'i>(
    input: &'i Input,
    end: &Served,
    half: Half,
    found: &mut Vec<Finding>,
) -> Option<&'i Body> {
    let code = end.code(half);
    part_checks(input, code, half.into(), found);
    end.body(input, half)
}

/// A part is known, of the right kind and not excluded.
pub(super) fn part_checks(input: &Input, code: &str, want: Kind, found: &mut Vec<Finding>) {
    let Some(id) = input.catalog.find(code) else {
        found.push(Finding::UnknownPart(code.to_owned()));
        return;
    };
    if input.catalog.part(id).kind() != want {
        found.push(Finding::WrongKind {
            part: code.to_owned(),
            want,
        });
    }
    if input.settings.exclude_parts.contains(code) {
        found.push(Finding::ExcludedPart(code.to_owned()));
    }
}

/// The record's key and interface are the body's.
fn identity(body: &Body, half: Half, end: &Served, found: &mut Vec<Finding>) {
    let of = format!("{}, {half}", end.wanted.name);
    let facts = [
        differs(&of, "interface", &end.record.interface, &body.interface),
        differs(&of, "key", &end.record.key, &body.key),
    ];
    let name = &end.wanted.name;
    let facts = facts.into_iter().flatten();
    found.extend(facts.map(|fact| Finding::End(name.clone(), fact)));
}

fn mate(plug: &Body, receptacle: &Body) -> Option<Refusal> {
    let equal = plug.interface == receptacle.interface && plug.key == receptacle.key;
    refuse(equal, Rule::Mate, || {
        format!(
            "the plug has interface {}, key {:?}, the receptacle has interface {}, key {:?}",
            plug.interface, plug.key, receptacle.interface, receptacle.key
        )
    })
}

fn poles(body: &Body, end: &Wanted) -> Option<Refusal> {
    let equal = usize::try_from(body.poles) == Ok(end.poles);
    refuse(equal, Rule::Poles, || {
        format!("has {} contacts for {} conductors", body.poles, end.poles)
    })
}

/// `rated_a` × derating ≥ current, squared on both sides so that no root is
/// taken: rated² × (max − ambient) ≥ current² × (max − rated at). The form is that of
/// the ambient correction in NFPA 70 table 310.15(B)(1).
fn current(body: &Body, current: Ampere, ambient: Option<Celsius>) -> Option<Refusal> {
    let why = || format!("is rated {}, but {current} is needed", body.rated_a);
    let Some((ambient, max)) = ambient.zip(body.max_c) else {
        return refuse(body.rated_a >= current, Rule::Current, why);
    };
    if ambient >= max {
        return Some((
            Rule::Current,
            format!("the ambient is {ambient}, the limit is {max}"),
        ));
    }
    let derated = body.rated_c.filter(|rated| ambient > *rated);
    let Some(rated) = derated else {
        return refuse(body.rated_a >= current, Rule::Current, why);
    };
    let has = squared_times(body.rated_a.0, max.0, ambient.0);
    let needs = squared_times(current.0, max.0, rated.0);
    let holds = has.zip(needs).is_some_and(|(has, needs)| has >= needs);
    refuse(holds, Rule::Current, || {
        format!("{}: the rating is lowered at {ambient}", why())
    })
}

/// value² × (high − low).
fn squared_times(value: Decimal, high: Decimal, low: Decimal) -> Option<Decimal> {
    value
        .checked_mul(value)?
        .checked_mul(high.checked_sub(low)?)
}

fn voltage(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.circuit.voltage;
    refuse(body.rated_v >= wanted, Rule::Voltage, || {
        format!("is rated {}, but {wanted} is needed", body.rated_v)
    })
}

fn attach(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = match body.half {
        Half::Plug => "crimp",
        Half::Receptacle => end.attach,
    };
    refuse(body.attach == wanted, Rule::Attach, || {
        format!("attaches to {}, not {wanted}", body.attach)
    })
}

fn exit(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.terminal.exit.filter(|_| body.half == Half::Plug)?;
    refuse(body.exit == Some(wanted), Rule::Exit, || {
        format!("exit is not {wanted}")
    })
}

fn protection(input: &Input, body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.circuit.ip.as_ref()?;
    let gives = body
        .ip
        .as_ref()
        .is_some_and(|ip| ip.gives(wanted, input.settings.protection));
    refuse(gives, Rule::Protection, || {
        format!("does not give {wanted}")
    })
}

fn colour(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.circuit.colour.as_ref()?;
    refuse(body.colour.as_ref() == Some(wanted), Rule::Colour, || {
        format!("is not {wanted}")
    })
}

fn pin(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.terminal.key.as_ref()?;
    refuse(body.key == *wanted, Rule::Pin, || {
        format!("has key {:?}, the end is pinned to {wanted}", body.key)
    })
}

/// The body's own limits on area and diameter, where it gives any.
fn limits(body: &Body, end: &Wanted) -> impl Iterator<Item = Refusal> {
    let (area, od) = (end.circuit.gauge.area(), end.circuit.cable_od);
    let area_holds =
        body.min_mm2.is_none_or(|min| min <= area) && body.max_mm2.is_none_or(|max| area <= max);
    let od_holds =
        body.min_od.is_none_or(|min| min <= od) && body.max_od.is_none_or(|max| od <= max);
    [
        refuse(area_holds, Rule::Ferrule, || {
            format!("does not take {area}")
        }),
        refuse(od_holds, Rule::Seal, || format!("does not take {od}")),
    ]
    .into_iter()
    .flatten()
}

/// The refusal, unless the rule holds.
pub(super) fn refuse(holds: bool, rule: Rule, why: impl FnOnce() -> String) -> Option<Refusal> {
    (!holds).then(|| (rule, why()))
}
