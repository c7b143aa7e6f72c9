//! The ends of a project, and every set that the rules of fit let serve one.

use couplet::catalog::{Body, CRIMP, Fitting, Half, PartId, Spec};
use couplet::input::Input;
use couplet::project::{Cable, Circuit, Terminal};
use couplet::units::{Gauge, Qty};

/// Where one conductor or multi-core cable arrives.
#[derive(Debug, Clone)]
pub struct End {
    /// Its circuit's place.
    pub circuit: usize,
    /// Its net, or all nets joined.
    pub net: String,
    /// Where.
    pub location: String,
    /// Gauge.
    pub gauge: Gauge,
    poles: usize,
    terminal: Terminal,
}

/// Pieces of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Use {
    /// The part.
    pub part: PartId,
    /// Pieces on one end.
    pub qty: Qty,
}

/// What serves one end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Set {
    /// Interface and key.
    pub identity: (String, String),
    /// Receptacle, plug, the receptacle's fittings, the plug's fittings. A part
    /// may stand twice.
    pub uses: Vec<Use>,
}

/// All ends: by circuit, then conductor, then from before to.
pub fn ends(input: &Input) -> Vec<End> {
    let mut ends = Vec::new();
    for (place, circuit) in input.circuits.iter().enumerate() {
        let (nets, poles) = match circuit.cable {
            Cable::Single => (circuit.conductors.clone(), 1),
            Cable::Multi => (vec![circuit.conductors.join(" ")], circuit.conductors.len()),
        };
        for net in nets {
            for terminal in [&circuit.from, &circuit.to] {
                if terminal.attach.is_some() {
                    ends.push(End {
                        circuit: place,
                        net: net.clone(),
                        location: terminal.location.clone(),
                        gauge: circuit.gauge,
                        poles,
                        terminal: terminal.clone(),
                    });
                }
            }
        }
    }
    ends
}

/// Every set that can serve an end.
pub fn sets(input: &Input, end: &End) -> Vec<Set> {
    let mut sets = Vec::new();
    for (receptacle_id, receptacle) in bodies(input, end, Half::Receptacle) {
        for (plug_id, plug) in bodies(input, end, Half::Plug) {
            if receptacle.interface != plug.interface || receptacle.key != plug.key {
                continue;
            }
            for below in fittings(input, end, receptacle) {
                for above in fittings(input, end, plug) {
                    let bodies = [receptacle_id, plug_id].map(|part| Use { part, qty: 1 });
                    sets.push(Set {
                        identity: (plug.interface.clone(), plug.key.clone()),
                        uses: [&bodies[..], &below[..], &above[..]].concat(),
                    });
                }
            }
        }
    }
    sets
}

/// Bodies of one half that fit the end.
fn bodies<'a>(input: &'a Input, end: &End, half: Half) -> Vec<(PartId, &'a Body)> {
    let parts = input.catalog.iter();
    let parts = parts.filter(|(_, part)| !input.settings.exclude_parts.contains(&part.code));
    let bodies = parts.filter_map(|(id, part)| Some((id, part.body()?)));
    bodies
        .filter(|(_, body)| body.half == half && body_fits(input, end, body))
        .collect()
}

fn body_fits(input: &Input, end: &End, body: &Body) -> bool {
    let circuit = &input.circuits[end.circuit];
    let attach = match body.half {
        Half::Plug => CRIMP,
        Half::Receptacle => end.terminal.attach.as_deref().expect("an end"),
    };
    let exit = match (body.half, end.terminal.exit) {
        (Half::Plug, Some(wanted)) => body.exit == Some(wanted),
        _ => true,
    };
    body.poles as usize == end.poles
        && body.attach == attach
        && exit
        && carries(input, circuit, body)
        && body.rated_v >= circuit.voltage
        && protects(input, circuit, body)
        && (circuit.colour.is_none() || body.colour == circuit.colour)
        && end.terminal.key.as_ref().is_none_or(|key| body.key == *key)
        && box_fits(circuit, body)
}

/// rated × sqrt((max − ambient) / (max − rated_c)) ≥ current, squared; the root at most 1.
fn carries(input: &Input, circuit: &Circuit, body: &Body) -> bool {
    let (rated, current) = (body.rated_a.0, circuit.current.0);
    let (Some(ambient), Some(max)) = (input.settings.ambient, body.max_c) else {
        return rated >= current;
    };
    if ambient >= max {
        return false;
    }
    let Some(at) = body.rated_c else {
        return rated >= current;
    };
    let derated = rated * rated * (max.0 - ambient.0) >= current * current * (max.0 - at.0);
    rated >= current && derated
}

fn protects(input: &Input, circuit: &Circuit, body: &Body) -> bool {
    let implied = input.settings.protection;
    match (&circuit.ip, &body.ip) {
        (None, _) => true,
        (Some(wanted), Some(ip)) => ip.gives(wanted, implied),
        (Some(_), None) => false,
    }
}

/// What comes in the box fits the cable.
fn box_fits(circuit: &Circuit, body: &Body) -> bool {
    let area = circuit.gauge.area();
    let od = circuit.cable_od;
    let ferrule =
        body.min_mm2.is_none_or(|min| min <= area) && body.max_mm2.is_none_or(|max| area <= max);
    let seal = body.min_od.is_none_or(|min| min <= od) && body.max_od.is_none_or(|max| od <= max);
    (ferrule || !body.includes.contains(&Fitting::Ferrule))
        && (seal || !body.includes.contains(&Fitting::Seal))
}

/// Every choice of ferrule, seal and back shell on a body.
fn fittings(input: &Input, end: &End, body: &Body) -> Vec<Vec<Use>> {
    let mut choices = vec![Vec::new()];
    if body.attach != CRIMP {
        return choices;
    }
    for kind in [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell] {
        let code = match kind {
            Fitting::Ferrule => &body.barrel,
            Fitting::Seal | Fitting::BackShell => &body.rear,
        };
        let Some(code) = code.as_ref().filter(|_| !body.includes.contains(&kind)) else {
            continue;
        };
        let options = options(input, end, (kind, code), body);
        choices = choices
            .iter()
            .flat_map(|chosen: &Vec<Use>| {
                let more = options.iter().cloned();
                more.map(|option| [chosen.as_slice(), &[option]].concat())
            })
            .collect();
    }
    choices
}

/// Fittings of one kind for one code that go on a body at an end.
fn options(input: &Input, end: &End, want: (Fitting, &String), body: &Body) -> Vec<Use> {
    let (kind, code) = want;
    let circuit = &input.circuits[end.circuit];
    let (area, od) = (circuit.gauge.area(), circuit.cable_od);
    let pieces = |spec: &Spec| match (kind, spec) {
        (Fitting::Ferrule, Spec::Ferrule(f)) => {
            let fits = f.barrel == *code && f.min_mm2 <= area && area <= f.max_mm2;
            fits.then_some(Qty::from(body.poles))
        }
        (Fitting::Seal, Spec::Seal(s)) => {
            let gives = match (&circuit.ip, &s.ip) {
                (Some(wanted), Some(ip)) => ip.gives(wanted, input.settings.protection),
                _ => true,
            };
            (s.rear == *code && s.min_od <= od && od <= s.max_od && gives).then_some(1)
        }
        (Fitting::BackShell, Spec::BackShell(b)) => {
            let exit = b.exit.is_none() || b.exit == body.exit;
            let colour =
                circuit.colour.is_none() || b.colour.is_none() || b.colour == circuit.colour;
            let fits = b.rear == *code && exit && colour && od <= b.max_od;
            fits.then_some(Qty::from(b.pieces))
        }
        _ => None,
    };
    let parts = input.catalog.iter();
    let parts = parts.filter(|(_, part)| !input.settings.exclude_parts.contains(&part.code));
    parts
        .filter_map(|(part, p)| {
            Some(Use {
                part,
                qty: pieces(&p.spec)?,
            })
        })
        .collect()
}
