//! Puts features of the catalog and the circuits under a plan that stays right:
//! attributes, ratings, branches, keys of nets, interfaces, built-in receptacles, skus.

use couplet::catalog::{
    Attribute, BUILT_IN, Body, Half, Holds, IfEmpty, Kind, Offer, OfferId, PartId, Rating, Spec,
    Value,
};
use couplet::diag::Row;
use couplet::fit::{End, Side, ends};
use couplet::input::Input;
use couplet::model::{Set, Solution};
use couplet::project::Terminal;
use couplet::units::{Ampere, Mm2, Money, Qty};
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

const KINDS: [Kind; 5] = Kind::ALL;

/// Gives the input some of all features, so that the sets still fit.
pub fn dress(rng: &mut Rng, input: &mut Input, solution: &mut Solution) {
    if rng.u32(..3) == 0 {
        twin(rng, input, solution);
    }
    skus(rng, input, solution);
    built_in(rng, input, solution);
    faces(rng, input, solution);
    branches(rng, input, solution);
    net_keys(rng, input, solution);
    ratings(rng, input, solution);
    for _ in 0..rng.usize(2..6) {
        attribute(rng, input, solution);
    }
}

/// A row of an attribute.
pub fn attribute_row(name: &str, on: BTreeSet<Kind>, holds: Holds, if_empty: IfEmpty) -> Attribute {
    Attribute {
        name: name.into(),
        on,
        holds,
        if_empty,
        description: String::new(),
        note: String::new(),
        row: Row {
            file: "attributes.csv".into(),
            line: 2,
        },
    }
}

/// Adds an attribute that no part has and no end wants; its place.
pub fn add_attribute(input: &mut Input, attribute: Attribute) -> usize {
    input.catalog.attributes.push(attribute);
    let count = input.catalog.attributes.len();
    let parts = input.catalog.parts.iter_mut().map(|p| &mut p.values);
    let circuits = input.circuits.iter_mut();
    let wants = circuits.flat_map(|c| [&mut c.from.wants, &mut c.to.wants]);
    parts.chain(wants).for_each(|v| v.resize(count, None));
    count - 1
}

fn body(input: &Input, id: PartId) -> &Body {
    input.catalog.part(id).body().unwrap()
}

fn body_mut(input: &mut Input, id: PartId) -> &mut Body {
    match &mut input.catalog.parts[id.0 as usize].spec {
        Spec::Body(body) => body,
        _ => panic!("no body"),
    }
}

fn terminal(input: &mut Input, at: (usize, Side)) -> &mut Terminal {
    let circuit = &mut input.circuits[at.0];
    match at.1 {
        Side::From => &mut circuit.from,
        Side::To => &mut circuit.to,
    }
}

/// A side of a circuit with its ends and their sets.
type Sides = BTreeMap<(usize, Side), Vec<usize>>;

fn sides(ends: &[End]) -> Sides {
    let mut sides = Sides::new();
    for (place, end) in ends.iter().enumerate() {
        let of = (end.circuit, end.side);
        sides.entry(of).or_default().push(place);
    }
    sides
}

/// The same circuit once more, with the same sets from the shelf: two circuits with
/// the same nets at the same locations.
fn twin(rng: &mut Rng, input: &mut Input, solution: &mut Solution) {
    let place = rng.usize(..input.circuits.len());
    let mut circuit = input.circuits[place].clone();
    circuit.name.push('b');
    let all = ends(&input.circuits);
    let ends = all.iter().zip(&solution.sets);
    let copies = ends.filter(|(end, _)| end.circuit == place);
    let copies: Vec<Set> = copies.map(|(_, set)| set.clone()).collect();
    // Enough for the spares as well.
    for (part, qty) in copies.iter().flat_map(Set::pieces) {
        *input.on_hand.entry(part).or_default() += 2 * qty;
    }
    input.circuits.push(circuit);
    solution.sets.extend(copies);
}

/// Some offers are there under a second sku, at another price; some of what is bought,
/// or all of it, is bought there.
fn skus(rng: &mut Rng, input: &mut Input, solution: &mut Solution) {
    let bought = solution.purchases.clone();
    for (id, packs) in bought.into_iter().rev() {
        if rng.bool() {
            continue;
        }
        let offer = input.catalog.offer(id).clone();
        let second = second(rng, &offer);
        let key = |o: &Offer| (o.part, o.supplier, o.sku.clone());
        let offers = &mut input.catalog.offers;
        let place = offers.partition_point(|o| key(o) < key(&second));
        offers.insert(place, second);
        for (id, _) in &mut solution.purchases {
            id.0 += u32::from(id.0 as usize >= place);
        }
        let moved = match rng.u32(..4) {
            0 => 0,
            1 => packs,
            _ => packs / 2,
        };
        let is_enough = |packs: Qty| packs == 0 || packs * offer.pack >= offer.breaks[0].min_qty;
        if moved > 0 && is_enough(moved) && is_enough(packs - moved) {
            let lines = &mut solution.purchases;
            lines.retain(|(other, _)| *other != id);
            lines.push((OfferId(place as u32), moved));
            lines.extend((packs > moved).then_some((id, packs - moved)));
        }
        solution.purchases.sort();
    }
}

fn second(rng: &mut Rng, offer: &Offer) -> Offer {
    let mut second = offer.clone();
    second.sku.push_str("-2");
    for step in &mut second.breaks {
        step.unit_price.0 += Decimal::new(rng.i64(1..200), 2);
    }
    second
}

/// Some devices have their receptacle already: what the plug mates with.
fn built_in(rng: &mut Rng, input: &mut Input, solution: &mut Solution) {
    for (at, places) in sides(&ends(&input.circuits)) {
        let Some(interface) = common(input, solution, &places, |b| b.interface.clone()) else {
            continue;
        };
        let Some(key) = common(input, solution, &places, |b| b.key.clone()) else {
            continue;
        };
        if rng.u32(..4) > 0 {
            continue;
        }
        let terminal = terminal(input, at);
        terminal.attach = Some(BUILT_IN.to_owned());
        terminal.interface = Some(interface);
        terminal.key = Some(key).filter(|key| !key.is_empty());
        for place in places {
            let set = &mut solution.sets[place];
            set.receptacle = None;
            set.fittings.retain(|f| f.half == Half::Plug);
        }
    }
    let fitted: BTreeSet<PartId> = solution
        .sets
        .iter()
        .flat_map(Set::pieces)
        .map(|p| p.0)
        .collect();
    let lines = &mut solution.purchases;
    lines.retain(|(id, _)| fitted.contains(&input.catalog.offer(*id).part));
}

/// What the plugs of these ends have in common.
fn common(
    input: &Input,
    solution: &Solution,
    places: &[usize],
    of: fn(&Body) -> String,
) -> Option<String> {
    let plugs = places.iter().map(|&place| solution.sets[place].plug);
    let all: BTreeSet<String> = plugs.map(|id| of(body(input, id))).collect();
    (all.len() == 1).then(|| all.into_iter().next())?
}

/// Some ends ask for the interface that they have.
fn faces(rng: &mut Rng, input: &mut Input, solution: &Solution) {
    for (at, places) in sides(&ends(&input.circuits)) {
        let interface = common(input, solution, &places, |b| b.interface.clone());
        if let Some(interface) = interface.filter(|_| rng.u32(..3) == 0) {
            terminal(input, at).interface = Some(interface);
        }
    }
}

/// Circuits that share a net with an interface and key, anywhere, are on one branch.
fn branches(rng: &mut Rng, input: &mut Input, solution: &Solution) {
    let ends = ends(&input.circuits);
    let mut group: Vec<usize> = (0..input.circuits.len()).collect();
    let mut first: BTreeMap<(String, String, String), usize> = BTreeMap::new();
    for (end, set) in ends.iter().zip(&solution.sets) {
        let plug = body(input, set.plug);
        let shared = (end.net.clone(), plug.interface.clone(), plug.key.clone());
        let other = *first.entry(shared).or_insert(end.circuit);
        let (from, to) = (group[end.circuit], group[other]);
        for of in group.iter_mut().filter(|of| **of == from) {
            *of = to;
        }
    }
    let names: Vec<&str> = (group.iter())
        .map(|_| ["", "", "drive", "aux"][rng.usize(..4)])
        .collect();
    for (circuit, group) in input.circuits.iter_mut().zip(&group) {
        circuit.branch = names[*group].to_owned();
    }
}

/// Some nets have the keys that their bodies have, or one more.
fn net_keys(rng: &mut Rng, input: &mut Input, solution: &Solution) {
    let mut used: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (end, set) in ends(&input.circuits).iter().zip(&solution.sets) {
        let key = body(input, set.plug).key.clone();
        used.entry(end.net.clone()).or_default().insert(key);
    }
    for (net, mut keys) in used {
        if rng.bool() {
            continue;
        }
        keys.remove("");
        if rng.bool() || keys.is_empty() {
            keys.insert("spare".to_owned());
        }
        input.settings.keying.keys.insert(net, keys);
    }
}

/// What a body carries on this area, as its rows say.
fn rated(body: &Body, area: Mm2) -> Ampere {
    let rows = body.ratings.iter();
    let here = rows.filter(|r| r.min_mm2 <= area && area <= r.max_mm2);
    here.map(|r| r.rated_a).min().unwrap_or(body.rated_a)
}

/// Some bodies have their currents from rows for the areas that they are used on, and
/// hardly any current anywhere else.
fn ratings(rng: &mut Rng, input: &mut Input, solution: &Solution) {
    let mut areas: BTreeMap<PartId, BTreeSet<Mm2>> = BTreeMap::new();
    for (end, set) in ends(&input.circuits).iter().zip(&solution.sets) {
        for id in set.receptacle.into_iter().chain([set.plug]) {
            areas.entry(id).or_default().insert(end.area);
        }
    }
    for (id, areas) in areas {
        if rng.bool() {
            continue;
        }
        let little = Ampere(Decimal::new(1, 1));
        let rng_area = Decimal::new(rng.i64(0..10), 4);
        let body = body_mut(input, id);
        let row = |low: Decimal, high: Decimal, rated_a| Rating {
            min_mm2: Mm2(low),
            max_mm2: Mm2(high),
            rated_a,
        };
        let mut rows: Vec<Rating> = (areas.iter())
            .map(|&area| row(area.0, area.0 + rng_area, rated(body, area)))
            .collect();
        let above = areas.last().unwrap().0 + Decimal::ONE;
        rows.push(row(above, above + Decimal::ONE, little));
        rng.shuffle(&mut rows);
        (body.ratings, body.rated_a) = (rows, little);
    }
}

/// Some attribute: most parts have a value, and each side of a circuit may want what
/// all its parts have.
fn attribute(rng: &mut Rng, input: &mut Input, solution: &Solution) {
    let holds = Holds::ALL[rng.usize(..5)];
    let if_empty = match rng.bool() {
        true => IfEmpty::Refuses,
        false => IfEmpty::Meets,
    };
    let mut on: BTreeSet<Kind> = KINDS.into_iter().filter(|_| rng.u32(..3) == 0).collect();
    on.insert(KINDS[rng.usize(..5)]);
    if holds == Holds::Same {
        on = [Kind::Plug, Kind::Receptacle].into();
    }
    let name = format!("attribute_{}", input.catalog.attributes.len());
    let row = attribute_row(&name, on.clone(), holds, if_empty);
    let place = add_attribute(input, row);
    give(rng, input, solution, place);
    let ends = ends(&input.circuits);
    let sides = sides(&ends);
    for circuit in 0..input.circuits.len() {
        for side in [Side::From, Side::To] {
            let at = (circuit, side);
            let places = sides.get(&at).into_iter().flatten();
            let sets = places.map(|&place| &solution.sets[place]);
            let parts = sets
                .flat_map(Set::pieces)
                .map(|(id, _)| input.catalog.part(id));
            let asked = parts.filter(|part| on.contains(&part.kind()));
            let has: Vec<Option<Value>> = asked.map(|part| part.values[place].clone()).collect();
            if rng.u32(..4) > 0 {
                terminal(input, at).wants[place] = wanted(rng, (holds, if_empty), &has);
            }
        }
    }
}

/// Gives the parts their values.
fn give(rng: &mut Rng, input: &mut Input, solution: &Solution, place: usize) {
    let attribute = input.catalog.attributes[place].clone();
    let usual = any(rng, attribute.holds);
    let mut values: BTreeMap<PartId, Option<Value>> = BTreeMap::new();
    for (id, part) in input.catalog.iter() {
        if !attribute.on.contains(&part.kind()) {
            continue;
        }
        let value = match rng.u32(..10) {
            0 => None,
            1..3 => Some(any(rng, attribute.holds)),
            _ => Some(usual.clone()),
        };
        values.insert(id, value);
    }
    if attribute.holds == Holds::Same {
        agree(&mut values, solution);
        let meets = attribute.if_empty == IfEmpty::Meets;
        for value in values.values_mut().filter(|_| meets) {
            *value = value.take().filter(|_| rng.u32(..5) > 0);
        }
    }
    for (id, value) in values {
        input.catalog.parts[id.0 as usize].values[place] = value;
    }
}

/// Gives halves that stand together the same value, also over several ends.
fn agree(values: &mut BTreeMap<PartId, Option<Value>>, solution: &Solution) {
    let mut group: BTreeMap<PartId, PartId> = values.keys().map(|id| (*id, *id)).collect();
    for set in &solution.sets {
        let Some(receptacle) = set.receptacle else {
            continue;
        };
        let (from, to) = (group[&receptacle], group[&set.plug]);
        for of in group.values_mut().filter(|of| **of == from) {
            *of = to;
        }
    }
    let given = values.clone();
    for (id, value) in values {
        value.clone_from(&given[&group[id]]);
    }
}

fn any(rng: &mut Rng, holds: Holds) -> Value {
    const WORDS: [&str; 3] = ["tin", "silver", "gold"];
    match holds {
        Holds::Equal | Holds::Same => Value::Word(WORDS[rng.usize(..3)].to_owned()),
        Holds::Has => {
            let mut words: BTreeSet<String> = (WORDS.into_iter())
                .filter(|_| rng.bool())
                .map(str::to_owned)
                .collect();
            words.insert("usual".to_owned());
            Value::Words(words)
        }
        Holds::AtLeast | Holds::AtMost => Value::Number(Decimal::new(rng.i64(-20..200), 1)),
    }
}

/// Something that all of these have; none where there is no such thing.
fn wanted(rng: &mut Rng, ways: (Holds, IfEmpty), has: &[Option<Value>]) -> Option<Value> {
    let (holds, if_empty) = ways;
    if has.contains(&None) && if_empty == IfEmpty::Refuses {
        return None;
    }
    let given: Vec<&Value> = has.iter().flatten().collect();
    let Some(&first) = given.first() else {
        return Some(any(rng, holds));
    };
    let step = Decimal::new(rng.i64(0..3), 6);
    match holds {
        Holds::Equal | Holds::Same => given.iter().all(|v| *v == first).then(|| first.clone()),
        Holds::AtLeast => number(given.into_iter().min()?).map(|n| Value::Number(n - step)),
        Holds::AtMost => number(given.into_iter().max()?).map(|n| Value::Number(n + step)),
        Holds::Has => {
            let all = given.into_iter().map(|value| match value {
                Value::Words(words) => words.clone(),
                _ => BTreeSet::new(),
            });
            let mut shared = all.reduce(|a, b| &a & &b)?;
            shared.retain(|word| word == "usual" || rng.bool());
            Some(Value::Words(shared))
        }
    }
}

fn number(value: &Value) -> Option<Decimal> {
    match value {
        Value::Number(number) => Some(*number),
        _ => None,
    }
}

/// Money to the cent.
pub fn price(rng: &mut Rng) -> Money {
    Money(Decimal::new(rng.i64(1..5_000), 2))
}
