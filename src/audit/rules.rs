//! The rules of fit for the two bodies of an end.

use super::ends::{Served, Wanted};
use super::finding::{Finding, Rule, differs};
use crate::catalog::{Body, Half, Kind};
use crate::input::Input;
use crate::project::Circuit;
use crate::units::{Ampere, Celsius, Mm2};
use rust_decimal::Decimal;

/// A broken rule and why.
pub(super) type Refusal = (Rule, String);

pub(super) fn check(input: &Input, end: &Served, found: &mut Vec<Finding>) {
    let mut broken = Vec::new();
    for &half in end.halves() {
        let Some(code) = end.code(half) else { continue };
        part_checks(input, end.wanted, (code, half.into()), found);
        let Some(body) = end.body(input, half) else {
            continue;
        };
        let refusals = on_body(body, end.wanted).into_iter();
        broken.extend(refusals.map(|(rule, why)| (rule, format!("{half} {code}: {why}"))));
        identity(body, half, end, found);
    }
    broken.extend(mated(input, end));
    let name = &end.wanted.name;
    found.extend(
        broken
            .into_iter()
            .map(|(rule, why)| Finding::Broken(name.clone(), rule, why)),
    );
}

/// What is broken by one body.
fn on_body(body: &Body, end: &Wanted) -> Vec<Refusal> {
    let refusals = [
        poles(body, end),
        current(body, end.circuit, end.rules.ambient),
        voltage(body, end),
        attach(body, end),
        exit(body, end),
        protection(body, end),
        colour(body, end),
        interface(body, end),
        pin(body, end),
        net_key(body, end),
    ];
    let refusals = refusals.into_iter().flatten();
    refusals.chain(limits(body, end)).collect()
}

/// The two bodies mate, or the plug and the receptacle that the device has.
fn mated(input: &Input, end: &Served) -> Option<Refusal> {
    let plug = end.body(input, Half::Plug)?;
    if end.wanted.is_built_in {
        return device(plug, end.wanted);
    }
    mate(plug, end.body(input, Half::Receptacle)?)
}

/// A part is known, of the right kind and not excluded.
pub(super) fn part_checks(
    input: &Input,
    end: &Wanted,
    (code, want): (&str, Kind),
    found: &mut Vec<Finding>,
) {
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
    let lists = [&input.settings, end.rules].map(|settings| &settings.exclude_parts);
    if lists.iter().any(|list| list.contains(code)) {
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

/// The circuit says what the device has: an interface, and a key if there is one.
fn device(plug: &Body, end: &Wanted) -> Option<Refusal> {
    let interface = end.terminal.interface.as_deref().unwrap_or_default();
    let key = end.terminal.key.as_deref().unwrap_or_default();
    let equal = plug.interface == interface && plug.key == key;
    refuse(equal, Rule::Mate, || {
        format!(
            "the plug has interface {}, key {:?}, the built-in receptacle has interface {interface}, key {key:?}",
            plug.interface, plug.key
        )
    })
}

fn poles(body: &Body, end: &Wanted) -> Option<Refusal> {
    let equal = usize::try_from(body.poles) == Ok(end.poles);
    refuse(equal, Rule::Poles, || {
        format!("has {} contacts for {} conductors", body.poles, end.poles)
    })
}

/// The current of each contact before derating: the lowest of the ratings for the
/// conductor's area, or the body's own where there is none.
fn rated(body: &Body, area: Mm2) -> Ampere {
    let mut lowest = None;
    for row in &body.ratings {
        let is_lower = lowest.is_none_or(|lowest| row.rated_a < lowest);
        if row.min_mm2 <= area && area <= row.max_mm2 && is_lower {
            lowest = Some(row.rated_a);
        }
    }
    lowest.unwrap_or(body.rated_a)
}

/// Rated × derating ≥ current, squared on both sides so that no root is
/// taken: rated² × (max − ambient) ≥ current² × (max − rated at). The form is that of
/// the ambient correction in NFPA 70 table 310.15(B)(1).
fn current(body: &Body, circuit: &Circuit, ambient: Option<Celsius>) -> Option<Refusal> {
    let (current, area) = (circuit.current, circuit.gauge.area());
    let rated_a = rated(body, area);
    let why = || format!("is rated {rated_a} on {area}, but {current} is needed");
    let Some((ambient, max)) = ambient.zip(body.max_c) else {
        return refuse(rated_a >= current, Rule::Current, why);
    };
    if ambient >= max {
        return Some((
            Rule::Current,
            format!("the ambient is {ambient}, the limit is {max}"),
        ));
    }
    let derated = body.rated_c.filter(|rated| ambient > *rated);
    let Some(rated_c) = derated else {
        return refuse(rated_a >= current, Rule::Current, why);
    };
    let has = squared_times(rated_a.0, max.0, ambient.0);
    let needs = squared_times(current.0, max.0, rated_c.0);
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

fn protection(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.circuit.ip.as_ref()?;
    let gives = body
        .ip
        .as_ref()
        .is_some_and(|ip| ip.gives(wanted, end.rules.protection));
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

/// The mating face that the end asks for; at a built-in receptacle see [`device`].
fn interface(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.terminal.interface.as_ref();
    let wanted = wanted.filter(|_| !end.is_built_in)?;
    refuse(body.interface == *wanted, Rule::Interface, || {
        format!(
            "has interface {}, the end asks for {wanted}",
            body.interface
        )
    })
}

/// The key that the end is pinned to; at a built-in receptacle see [`device`].
fn pin(body: &Body, end: &Wanted) -> Option<Refusal> {
    let wanted = end.terminal.key.as_ref().filter(|_| !end.is_built_in)?;
    refuse(body.key == *wanted, Rule::Pin, || {
        format!("has key {:?}, the end is pinned to {wanted}", body.key)
    })
}

/// A body with a key has one of its net's, wherever it is and whatever the keying rule
/// says.
fn net_key(body: &Body, end: &Wanted) -> Option<Refusal> {
    let net = &end.name.net;
    let keys = end.rules.keying.keys.get(net)?;
    let is_free = body.key.is_empty();
    refuse(is_free || keys.contains(&body.key), Rule::NetKeys, || {
        let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
        let (key, keys) = (&body.key, keys.join(", "));
        format!("has key {key:?}, but net {net} keeps to {keys}")
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
