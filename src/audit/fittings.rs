//! The fittings of an end: those that its bodies need, no others, and all of them fit.

use super::attributes;
use super::ends::{Served, Wanted};
use super::finding::{Finding, Rule, differs};
use super::rules::{Refusal, part_checks, refuse};
use crate::catalog::{BackShell, Body, Ferrule, Fitting, Half, Seal, Spec};
use crate::input::Input;
use crate::plan::FittingRecord;
use crate::units::Qty;

type Place = (Half, Fitting);

const PLACES: [Place; 6] = [
    (Half::Receptacle, Fitting::Ferrule),
    (Half::Receptacle, Fitting::Seal),
    (Half::Receptacle, Fitting::BackShell),
    (Half::Plug, Fitting::Ferrule),
    (Half::Plug, Fitting::Seal),
    (Half::Plug, Fitting::BackShell),
];

pub(super) fn check(input: &Input, end: &Served, found: &mut Vec<Finding>) {
    order(end, found);
    for (half, fitting) in PLACES {
        let entries: Vec<&FittingRecord> = end
            .record
            .fittings
            .iter()
            .filter(|entry| place(entry) == Some((half, fitting)))
            .collect();
        for entry in &entries {
            part_checks(input, end.wanted, (&entry.part, fitting.into()), found);
        }
        if !end.halves().contains(&half) {
            let name = &end.wanted.name;
            let needless = || Finding::UnneededFitting(name.clone(), half, fitting);
            found.extend(entries.first().map(|_| needless()));
            continue;
        }
        for entry in &entries {
            let of = format!("{half}, {}", entry.part);
            attributes::on_part(input, end, &entry.part, &of, found);
        }
        if let Some(body) = end.body(input, half) {
            on_body(input, end, body, fitting, &entries, found);
        }
    }
}

/// Every entry has known words, and the entries stand in the order of places.
fn order(end: &Served, found: &mut Vec<Finding>) {
    let name = &end.wanted.name;
    let mut last = 0;
    let mut in_order = true;
    for entry in &end.record.fittings {
        let Some(at) = place(entry).and_then(|at| PLACES.iter().position(|p| *p == at)) else {
            let words = format!("{} {}", entry.half, entry.kind);
            found.push(Finding::UnknownWord(name.clone(), words));
            continue;
        };
        in_order &= at >= last;
        last = at;
    }
    if !in_order {
        found.push(Finding::FittingsOutOfOrder(name.clone()));
    }
}

fn place(entry: &FittingRecord) -> Option<Place> {
    PLACES
        .into_iter()
        .find(|(half, fitting)| half.word() == entry.half && fitting.word() == entry.kind)
}

fn on_body(
    input: &Input,
    end: &Served,
    body: &Body,
    fitting: Fitting,
    entries: &[&FittingRecord],
    found: &mut Vec<Finding>,
) {
    let (name, half) = (&end.wanted.name, body.half);
    let code = match fitting {
        Fitting::Ferrule => body.barrel.as_deref(),
        Fitting::Seal | Fitting::BackShell => body.rear.as_deref(),
    };
    let code = code.filter(|_| !body.includes.contains(&fitting));
    match (code, entries) {
        (None, []) => return,
        (None, _) => found.push(Finding::UnneededFitting(name.clone(), half, fitting)),
        (Some(_), []) => found.push(Finding::MissingFitting(name.clone(), half, fitting)),
        (Some(_), [_]) => {}
        (Some(_), _) => found.push(Finding::DoubledFitting(name.clone(), half, fitting)),
    }
    for entry in entries {
        one(input, end, body, code, entry, found);
    }
}

/// Checks one entry: its pieces, and the rules for its part.
fn one(
    input: &Input,
    end: &Served,
    body: &Body,
    code: Option<&str>,
    entry: &FittingRecord,
    found: &mut Vec<Finding>,
) {
    let Some((_, fitting)) = place(entry) else {
        return;
    };
    let Some(id) = input.catalog.find(&entry.part) else {
        return;
    };
    let (name, half) = (&end.wanted.name, body.half);
    let spec = &input.catalog.part(id).spec;
    let of = format!("{name}, {half}, {fitting} {}", entry.part);
    if let Some(fact) = differs(&of, "qty", entry.qty, pieces(spec, body)) {
        found.push(Finding::FittingQty(name.clone(), half, fitting, fact));
    }
    let refusals = match spec {
        Spec::Ferrule(ferrule) => vec![fits_ferrule(ferrule, code, end.wanted)],
        Spec::Seal(seal) => vec![
            fits_seal(seal, code, end.wanted),
            protection(seal, end.wanted),
        ],
        Spec::BackShell(shell) => fits_shell(shell, code, body, end.wanted),
        Spec::Body(_) => Vec::new(),
    };
    for (rule, why) in refusals.into_iter().flatten() {
        let why = format!("{half}, {}: {why}", entry.part);
        found.push(Finding::Broken(name.clone(), rule, why));
    }
}

/// Pieces that one body takes: a ferrule per pole, one seal, a shell's pieces.
fn pieces(spec: &Spec, body: &Body) -> Qty {
    match spec {
        Spec::Ferrule(_) => body.poles.into(),
        Spec::BackShell(shell) => shell.pieces.into(),
        Spec::Seal(_) | Spec::Body(_) => 1,
    }
}

fn fits_ferrule(ferrule: &Ferrule, barrel: Option<&str>, end: &Wanted) -> Option<Refusal> {
    let area = end.circuit.gauge.area();
    let same = barrel.is_none_or(|barrel| barrel == ferrule.barrel);
    let holds = same && ferrule.min_mm2 <= area && area <= ferrule.max_mm2;
    refuse(holds, Rule::Ferrule, || {
        format!(
            "is for barrel {}, {} to {}; the body has barrel {}, the conductor has {area}",
            ferrule.barrel,
            ferrule.min_mm2,
            ferrule.max_mm2,
            barrel.unwrap_or_default()
        )
    })
}

fn fits_seal(seal: &Seal, rear: Option<&str>, end: &Wanted) -> Option<Refusal> {
    let od = end.circuit.cable_od;
    let same = rear.is_none_or(|rear| rear == seal.rear);
    let holds = same && seal.min_od <= od && od <= seal.max_od;
    refuse(holds, Rule::Seal, || {
        format!(
            "is for rear {}, {} to {}; the body has rear {}, the cable has {od}",
            seal.rear,
            seal.min_od,
            seal.max_od,
            rear.unwrap_or_default()
        )
    })
}

fn protection(seal: &Seal, end: &Wanted) -> Option<Refusal> {
    let (wanted, ip) = end.circuit.ip.as_ref().zip(seal.ip.as_ref())?;
    let gives = ip.gives(wanted, end.rules.protection);
    refuse(gives, Rule::Protection, || {
        format!("{ip} does not give {wanted}")
    })
}

fn fits_shell(
    shell: &BackShell,
    rear: Option<&str>,
    body: &Body,
    end: &Wanted,
) -> Vec<Option<Refusal>> {
    let od = end.circuit.cable_od;
    let same = rear.is_none_or(|rear| rear == shell.rear);
    let fits = refuse(same && od <= shell.max_od, Rule::BackShell, || {
        format!(
            "is for rear {}, up to {}; the body has rear {}, the cable has {od}",
            shell.rear,
            shell.max_od,
            rear.unwrap_or_default()
        )
    });
    let exit = shell.exit.and_then(|exit| {
        refuse(body.exit == Some(exit), Rule::Exit, || {
            format!("is for exit {exit}, which its body has not")
        })
    });
    let colours = shell.colour.as_ref().zip(end.circuit.colour.as_ref());
    let colour = colours.and_then(|(has, wanted)| {
        refuse(has == wanted, Rule::Colour, || {
            format!("is {has}, not {wanted}")
        })
    });
    vec![fits, exit, colour]
}
