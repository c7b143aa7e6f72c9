//! The ends of a project, and every set that the rules of fit let serve one.

use couplet::catalog::{Body, CRIMP, Fitting, Half, Holds, IfEmpty, Part, PartId, Spec, Value};
use couplet::input::Input;
use couplet::project::{Cable, Circuit, Settings, Terminal};
use couplet::units::{Gauge, Qty};

/// Where one conductor or multi-core cable arrives.
#[derive(Debug, Clone)]
pub struct End {
    /// Its circuit's place.
    pub circuit: usize,
    /// Its machine's place; 0 in a project.
    pub machine: usize,
    /// How many of its machine are built, all alike.
    pub copies: Qty,
    /// Its net, or all nets joined.
    pub net: String,
    /// The branch of its circuit.
    pub branch: String,
    /// Where.
    pub location: String,
    /// Gauge.
    pub gauge: Gauge,
    poles: usize,
    terminal: Terminal,
}

impl End {
    /// True if the device has its receptacle.
    pub fn is_built_in(&self) -> bool {
        self.terminal.attach.as_deref() == Some("built-in")
    }

    /// True if the keying rule lets the two have one key: one net of one branch.
    pub fn is_line_of(&self, other: &End) -> bool {
        self.net == other.net && self.branch == other.branch
    }

    /// What its machine lays down, or the project.
    pub fn own<'i>(&self, input: &'i Input) -> &'i Settings {
        match input.machines.get(self.machine) {
            Some(machine) => &machine.settings,
            None => &input.settings,
        }
    }
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
    /// The receptacle; none where the device has its own.
    pub receptacle: Option<PartId>,
    /// The plug.
    pub plug: PartId,
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
                        machine: circuit.machine,
                        copies: (input.machines.get(circuit.machine)).map_or(1, |m| m.count),
                        net: net.clone(),
                        branch: circuit.branch.clone(),
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
    for (receptacle, plug) in pairs(input, end) {
        let body = |id: PartId| input.catalog.part(id).body().expect("a body");
        let on_receptacle = receptacle.map(|id| fittings(input, end, body(id)));
        for below in on_receptacle.unwrap_or_else(|| vec![Vec::new()]) {
            for above in fittings(input, end, body(plug)) {
                let bodies = receptacle.into_iter().chain([plug]);
                let bodies: Vec<Use> = bodies.map(|part| Use { part, qty: 1 }).collect();
                sets.push(Set {
                    identity: (body(plug).interface.clone(), body(plug).key.clone()),
                    receptacle,
                    plug,
                    uses: [&bodies[..], &below[..], &above[..]].concat(),
                });
            }
        }
    }
    sets
}

/// Receptacles and plugs that fit and mate; of what is built in, only that it mates.
fn pairs(input: &Input, end: &End) -> Vec<(Option<PartId>, PartId)> {
    let mut pairs = Vec::new();
    let plugs = bodies(input, end, Half::Plug);
    if end.is_built_in() {
        let face = end.terminal.interface.as_ref().expect("a built-in face");
        let key = end.terminal.key.clone().unwrap_or_default();
        let mating = plugs.into_iter();
        let mating = mating.filter(|(_, plug)| plug.interface == *face && plug.key == key);
        return mating.map(|(id, _)| (None, id)).collect();
    }
    for (receptacle_id, receptacle) in bodies(input, end, Half::Receptacle) {
        for &(plug_id, plug) in &plugs {
            let parts = [receptacle_id, plug_id].map(|id| input.catalog.part(id));
            if receptacle.interface == plug.interface
                && receptacle.key == plug.key
                && are_same(input, parts)
            {
                pairs.push((Some(receptacle_id), plug_id));
            }
        }
    }
    pairs
}

/// The two halves have the same words, or one of them none where that meets.
fn are_same(input: &Input, [one, other]: [&Part; 2]) -> bool {
    let attributes = input.catalog.attributes.iter().enumerate();
    let mut same = attributes.filter(|(_, attribute)| attribute.holds == Holds::Same);
    same.all(
        |(place, attribute)| match (&one.values[place], &other.values[place]) {
            (Some(one), Some(other)) => one == other,
            (None, None) => true,
            (None, Some(_)) | (Some(_), None) => attribute.if_empty == IfEmpty::Meets,
        },
    )
}

/// The part has of each attribute that is asked of its kind what the end wants.
fn has_wanted(input: &Input, end: &End, part: &Part) -> bool {
    let attributes = input.catalog.attributes.iter().enumerate();
    let mut asked = attributes.filter(|(_, a)| a.on.iter().any(|kind| *kind == part.kind()));
    asked.all(|(place, attribute)| {
        let Some(wanted) = end.terminal.wants.get(place).and_then(Option::as_ref) else {
            return true;
        };
        match (&part.values[place], wanted) {
            (None, _) => attribute.if_empty == IfEmpty::Meets,
            (Some(Value::Word(has)), Value::Word(wanted)) => has == wanted,
            (Some(Value::Words(has)), Value::Words(wanted)) => {
                wanted.iter().all(|word| has.iter().any(|own| own == word))
            }
            (Some(Value::Number(has)), Value::Number(wanted)) => match attribute.holds {
                Holds::AtLeast => has >= wanted,
                Holds::AtMost => has <= wanted,
                _ => panic!("{attribute:?} with a number"),
            },
            (has, wanted) => panic!("{has:?} against {wanted:?}"),
        }
    })
}

/// A body with a key has one of its net's.
fn has_net_key(input: &Input, end: &End, body: &Body) -> bool {
    match end.own(input).keying.keys.get(&end.net) {
        Some(keys) => body.key.is_empty() || keys.iter().any(|key| *key == body.key),
        None => true,
    }
}

/// Parts that the project does not exclude and that have what the end wants.
fn parts<'a>(input: &'a Input, end: &End) -> Vec<(PartId, &'a Part)> {
    let parts = input.catalog.iter();
    let lists = [&input.settings, end.own(input)].map(|settings| &settings.exclude_parts);
    let parts = parts.filter(move |(_, part)| lists.iter().all(|l| !l.contains(&part.code)));
    parts
        .filter(|(_, part)| has_wanted(input, end, part))
        .collect()
}

/// Bodies of one half that fit the end.
fn bodies<'a>(input: &'a Input, end: &End, half: Half) -> Vec<(PartId, &'a Body)> {
    let parts = parts(input, end).into_iter();
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
        && carries(input, end, body)
        && body.rated_v >= circuit.voltage
        && protects(input, end, body)
        && (circuit.colour.is_none() || body.colour == circuit.colour)
        && end.terminal.key.as_ref().is_none_or(|key| body.key == *key)
        && (end.terminal.interface.as_ref()).is_none_or(|face| body.interface == *face)
        && has_net_key(input, end, body)
        && box_fits(circuit, body)
}

/// rated × sqrt((max − ambient) / (max − rated_c)) ≥ current, squared; the root at most 1.
fn carries(input: &Input, end: &End, body: &Body) -> bool {
    let circuit = &input.circuits[end.circuit];
    let area = circuit.gauge.area();
    let on_area = body.ratings.iter();
    let on_area = on_area.filter(|row| row.min_mm2 <= area && area <= row.max_mm2);
    let lowest = on_area.map(|row| row.rated_a.0).min();
    let (rated, current) = (lowest.unwrap_or(body.rated_a.0), circuit.current.0);
    let (Some(ambient), Some(max)) = (end.own(input).ambient, body.max_c) else {
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

fn protects(input: &Input, end: &End, body: &Body) -> bool {
    let circuit = &input.circuits[end.circuit];
    let implied = end.own(input).protection;
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
                (Some(wanted), Some(ip)) => ip.gives(wanted, end.own(input).protection),
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
    let parts = parts(input, end).into_iter();
    parts
        .filter_map(|(part, p)| {
            Some(Use {
                part,
                qty: pieces(&p.spec)?,
            })
        })
        .collect()
}
