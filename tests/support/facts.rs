//! What a user adds to a project as [`super::random`] draws it: twins of parts, attributes,
//! ratings by gauge, built-in receptacles, interfaces and keys wanted at an end, keys
//! of nets, branches, and several offers of one part from one supplier.

use super::build;
use super::dec;
use couplet::catalog::{
    Attribute, BUILT_IN, Body, CRIMP, Half, Holds, IfEmpty, Kind, Offer, Part, PartId, Rating,
    Spec, SupplierId, Value, Values,
};
use couplet::input::Input;
use couplet::project::{Distinct, Terminal};
use couplet::units::{Ampere, Mm2, Money, Qty, Volt};
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Adds all of it, each by chance.
pub fn add(rng: &mut Rng, input: &mut Input) {
    let mut draw = Draw { rng, input };
    draw.ease();
    draw.faces_without_keys();
    draw.twins();
    draw.ratings();
    draw.attributes();
    draw.terminals();
    draw.nets();
    draw.keying();
    draw.branches();
    draw.offers();
}

/// The project for one who overlooks one of these things, by its name: each as if it
/// were not there.
pub fn overlooked(input: &Input) -> Vec<(&'static str, Input)> {
    let mut list = Vec::new();
    let mut add = |name, change: &dyn Fn(&mut Input)| {
        let mut other = input.clone();
        change(&mut other);
        if other != *input {
            list.push((name, other));
        }
    };
    for (name, holds) in ATTRIBUTES {
        add(name, &|input| {
            let attributes = input.catalog.attributes.iter().enumerate();
            let places = attributes.filter(|(_, a)| a.holds == holds);
            for place in places.map(|(place, _)| place).collect::<Vec<_>>() {
                let parts = input.catalog.parts.iter_mut();
                parts.for_each(|part| part.values[place] = None);
                let terminals = input.circuits.iter_mut();
                let terminals = terminals.flat_map(|c| [&mut c.from, &mut c.to]);
                terminals.for_each(|terminal| terminal.wants[place] = None);
            }
        });
    }
    add("a part without a value", &|input| {
        for attribute in &mut input.catalog.attributes {
            attribute.if_empty = match attribute.if_empty {
                IfEmpty::Refuses => IfEmpty::Meets,
                IfEmpty::Meets => IfEmpty::Refuses,
            };
        }
    });
    add("kinds that are asked", &|input| {
        let parts = input.catalog.attributes.iter_mut();
        for attribute in parts.filter(|a| a.holds != Holds::Same) {
            attribute.on = Kind::ALL.into();
        }
    });
    add("one end is not the other", &|input| {
        for circuit in &mut input.circuits {
            circuit.to.wants.clone_from(&circuit.from.wants);
        }
    });
    add("ratings", &|input| {
        bodies(input).for_each(|(_, body)| body.ratings.clear());
    });
    add("the lowest of several ratings", &|input| {
        for (_, body) in bodies(input) {
            body.ratings.sort_by_key(|row| row.rated_a);
            let highest = body.ratings.pop();
            body.ratings = Vec::from_iter(highest);
        }
    });
    let at = |input: &mut Input, change: &dyn Fn(&mut Terminal)| {
        for circuit in &mut input.circuits {
            change(&mut circuit.from);
            change(&mut circuit.to);
        }
    };
    add("interface", &|input| {
        at(input, &|terminal| {
            terminal.interface = terminal.interface.take().filter(|_| terminal.is_built_in());
        });
    });
    add("built in", &|input| {
        at(input, &|terminal| {
            if terminal.is_built_in() {
                terminal.attach = Some("busbar".to_owned());
            }
        });
    });
    add("keys of nets", &|input| input.settings.keying.keys.clear());
    add("branches", &|input| {
        input.circuits.iter_mut().for_each(|c| c.branch.clear());
    });
    add("several offers", &|input| {
        let offers = &mut input.catalog.offers;
        offers.dedup_by_key(|offer| (offer.part, offer.supplier));
    });
    list
}

fn bodies(input: &mut Input) -> impl Iterator<Item = (&str, &mut Body)> {
    let parts = input.catalog.parts.iter_mut();
    parts.filter_map(|part| match &mut part.spec {
        Spec::Body(body) => Some((part.code.as_str(), &mut **body)),
        _ => None,
    })
}

/// Each attribute's name, and how it holds.
const ATTRIBUTES: [(&str, Holds); 5] = [
    ("interlock", Holds::Equal),
    ("approvals", Holds::Has),
    ("temperature", Holds::AtLeast),
    ("mating_force", Holds::AtMost),
    ("plating", Holds::Same),
];

struct Draw<'a> {
    rng: &'a mut Rng,
    input: &'a mut Input,
}

/// What an offer is but for its part and its name.
type Content = (SupplierId, Qty, Option<Qty>, Vec<(Qty, Money)>);

impl Draw<'_> {
    fn chance(&mut self, percent: u32) -> bool {
        self.rng.u32(..100) < percent
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.rng.usize(..from.len())]
    }

    fn bodies(&mut self) -> impl Iterator<Item = (&str, &mut Body)> {
        bodies(self.input)
    }

    /// Less is asked otherwise, so that what is added decides more often.
    fn ease(&mut self) {
        for place in 0..self.input.circuits.len() {
            let is_eased = self.chance(75);
            let circuit = &mut self.input.circuits[place];
            if is_eased {
                (circuit.ip, circuit.colour) = (None, None);
                (circuit.from.exit, circuit.to.exit) = (None, None);
                circuit.voltage = Volt(dec("350"));
                circuit.current = Ampere(dec("90"));
            }
        }
        if self.chance(75) {
            self.input.settings.exclude_parts.clear();
            self.input.settings.exclude_suppliers.clear();
            self.input.settings.max_lead_days = None;
        }
        if self.chance(60) {
            let offers = self.input.catalog.offers.iter_mut();
            offers.for_each(|offer| offer.stock = None);
        }
    }

    /// Some mating faces of one key have none.
    fn faces_without_keys(&mut self) {
        let mut keys: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for (_, body) in self.bodies() {
            let of_face = keys.entry(body.interface.clone()).or_default();
            of_face.insert(body.key.clone());
        }
        for face in keys.into_iter().filter(|(_, keys)| keys.len() == 1) {
            if self.chance(40) {
                let own = self.bodies().filter(|(_, body)| body.interface == face.0);
                own.for_each(|(_, body)| body.key.clear());
            }
        }
    }

    /// Some parts stand a second time, under another code and at other prices: what users
    /// add tells the two apart.
    fn twins(&mut self) {
        for _ in 0..self.rng.usize(1..=4) {
            let parts = &self.input.catalog.parts;
            let bodies = (0..parts.len()).filter(|&at| parts[at].body().is_some());
            let bodies: Vec<usize> = bodies.collect();
            let place = match self.rng.usize(..parts.len() + bodies.len()) {
                at if at < parts.len() => at,
                at => bodies[at - parts.len()],
            };
            let mut part = self.input.catalog.parts[place].clone();
            let code = format!("{}x", part.code);
            if self.input.catalog.find(&code).is_some() {
                continue;
            }
            part.code.clone_from(&code);
            let share = dec(self.pick(&["0.6", "0.8", "0.9", "1.2"]));
            let own = self.input.catalog.offers.iter();
            let own = own.filter(|o| o.part.0 as usize == place).cloned();
            let offers: Vec<Offer> = own.collect();
            let id = self.insert(part);
            for mut offer in offers {
                offer.part = id;
                offer.sku.push('x');
                for step in &mut offer.breaks {
                    let price = (step.unit_price.0 * share).round_dp(3);
                    step.unit_price = Money(price.max(dec("0.001")));
                }
                self.input.catalog.offers.push(offer);
            }
            let offers = &mut self.input.catalog.offers;
            offers.sort_by_key(|o| (o.part, o.supplier));
        }
    }

    /// Puts a part at its place by code; all that names a part keeps to it.
    fn insert(&mut self, part: Part) -> PartId {
        let parts = &mut self.input.catalog.parts;
        let place = parts.partition_point(|p| p.code < part.code);
        parts.insert(place, part);
        let moved = |id: PartId| match id.0 as usize >= place {
            true => PartId(id.0 + 1),
            false => id,
        };
        for offer in &mut self.input.catalog.offers {
            offer.part = moved(offer.part);
        }
        let on_hand = std::mem::take(&mut self.input.on_hand);
        let on_hand = on_hand.into_iter().map(|(id, qty)| (moved(id), qty));
        self.input.on_hand = on_hand.collect();
        PartId(place as u32)
    }

    /// In some projects many circuits are of one net, and begin at one place.
    fn nets(&mut self) {
        let (one_net, one_place) = (self.chance(50), self.chance(50));
        for circuit in &mut self.input.circuits {
            let plus = "HV+".to_owned();
            if one_net && !circuit.conductors.contains(&plus) {
                circuit.conductors[0] = plus;
            }
            if one_place {
                circuit.from.location = "pack".to_owned();
            }
        }
    }

    /// Some bodies carry another current on some areas; those that differ only in key
    /// mostly the same.
    fn ratings(&mut self) {
        let mut known: BTreeMap<String, Vec<Rating>> = BTreeMap::new();
        let codes: Vec<String> = self.bodies().map(|(code, _)| code.to_owned()).collect();
        for code in codes {
            let drawn = self.body_ratings();
            let model = known.entry(but_key(&code).to_owned()).or_insert(drawn);
            let ratings = model.clone();
            let mut own = self.bodies().filter(|(own, _)| *own == code);
            own.next().expect("its own").1.ratings = ratings;
        }
    }

    fn body_ratings(&mut self) -> Vec<Rating> {
        let ranges = [
            ("10", "35"),
            ("16", "16"),
            ("35", "70"),
            ("67", "95"),
            ("10", "95"),
        ];
        let rows = if self.chance(40) {
            self.rng.usize(1..=3)
        } else {
            0
        };
        let row = |draw: &mut Self| {
            let (min, max) = draw.pick(&ranges);
            let rated = draw.pick(&["19", "20", "60", "90", "120", "180", "300"]);
            Rating {
                min_mm2: Mm2(dec(min)),
                max_mm2: Mm2(dec(max)),
                rated_a: Ampere(dec(rated)),
            }
        };
        (0..rows).map(|_| row(self)).collect()
    }

    /// Up to three attributes, what parts have of them, and what circuits want.
    fn attributes(&mut self) {
        let mut kinds = ATTRIBUTES;
        self.rng.shuffle(&mut kinds);
        let count = self.pick(&[1, 2, 2, 3, 4]);
        for (place, (name, holds)) in kinds.into_iter().take(count).enumerate() {
            let attribute = Attribute {
                name: name.into(),
                on: self.asked_of(holds),
                holds,
                if_empty: match self.rng.bool() {
                    true => IfEmpty::Refuses,
                    false => IfEmpty::Meets,
                },
                description: String::new(),
                note: String::new(),
                row: build::row("attributes.csv", place),
            };
            self.input.catalog.attributes.push(attribute);
        }
        let attributes = self.input.catalog.attributes.clone();
        let mut known: BTreeMap<String, Values> = BTreeMap::new();
        for place in 0..self.input.catalog.parts.len() {
            let part = self.input.catalog.parts[place].clone();
            let drawn = (attributes.iter())
                .map(|a| self.value_of(a, &part))
                .collect();
            let model = match part.body() {
                Some(_) if self.chance(90) => but_key(&part.code),
                _ => &part.code,
            };
            let values: &Values = known.entry(model.to_owned()).or_insert(drawn);
            self.input.catalog.parts[place].values = values.clone();
        }
    }

    fn asked_of(&mut self, holds: Holds) -> BTreeSet<Kind> {
        if holds == Holds::Same {
            return BTreeSet::from([Kind::Plug, Kind::Receptacle]);
        }
        let mut on = BTreeSet::from([self.pick(&Kind::ALL)]);
        on.extend(Kind::ALL.into_iter().filter(|_| self.rng.u32(..100) < 40));
        on
    }

    fn value_of(&mut self, attribute: &Attribute, part: &Part) -> Option<Value> {
        let has_one = match attribute.if_empty {
            IfEmpty::Refuses => 85,
            IfEmpty::Meets => 55,
        };
        if !attribute.on.contains(&part.kind()) || !self.chance(has_one) {
            return None;
        }
        Some(match attribute.holds {
            Holds::Equal => self.word(&["yes", "yes", "no"]),
            Holds::Has => self.words(60),
            Holds::AtLeast => self.number(&["85", "105", "105", "125"]),
            Holds::AtMost => self.number(&["40", "40.5", "60", "80"]),
            Holds::Same => self.word(&["silver", "silver", "tin"]),
        })
    }

    fn wanted_of(&mut self, holds: Holds) -> Value {
        match holds {
            Holds::Equal => self.word(&["yes", "yes", "no"]),
            Holds::Has => self.words(40),
            Holds::AtLeast => self.number(&["85", "105", "105.0"]),
            Holds::AtMost => self.number(&["40.5", "60", "80"]),
            Holds::Same => self.word(&["silver", "silver", "tin"]),
        }
    }

    fn word(&mut self, from: &[&str]) -> Value {
        Value::Word(self.pick(from).to_owned())
    }

    fn words(&mut self, percent: u32) -> Value {
        let all = ["ce", "gl", "ul"];
        let mut words = BTreeSet::from([self.pick(&all).to_owned()]);
        for word in all {
            if self.chance(percent) {
                words.insert(word.to_owned());
            }
        }
        Value::Words(words)
    }

    fn number(&mut self, from: &[&str]) -> Value {
        Value::Number(dec(self.pick(from)))
    }

    /// What is wanted at both ends of a circuit or at one, and what is built in there.
    fn terminals(&mut self) {
        let attributes = self.input.catalog.attributes.clone();
        for place in 0..self.input.circuits.len() {
            let mut ends: [Values; 2] = Default::default();
            for attribute in &attributes {
                let wanted = (self.chance(60)).then(|| self.wanted_of(attribute.holds));
                let other = (self.chance(40)).then(|| self.wanted_of(attribute.holds));
                let from_differs = self.rng.bool();
                ends[usize::from(from_differs)].push(wanted.clone());
                ends[usize::from(!from_differs)].push(if self.chance(60) { other } else { wanted });
            }
            let [from, to] = ends;
            let poles = self.input.circuits[place].nets().len();
            let poles = self.input.circuits[place].conductors.len() / poles;
            for (is_from, wants) in [(true, from), (false, to)] {
                let circuit = &self.input.circuits[place];
                let terminal = match is_from {
                    true => circuit.from.clone(),
                    false => circuit.to.clone(),
                };
                let terminal = self.terminal(terminal, poles);
                let circuit = &mut self.input.circuits[place];
                let slot = match is_from {
                    true => &mut circuit.from,
                    false => &mut circuit.to,
                };
                *slot = Terminal { wants, ..terminal };
            }
        }
    }

    fn terminal(&mut self, mut terminal: Terminal, poles: usize) -> Terminal {
        let attach = terminal.attach.clone();
        let identities: Vec<(String, String)> = (self.bodies())
            .filter(|(_, b)| b.half == Half::Plug && b.poles as usize == poles)
            .map(|(_, b)| (b.interface.clone(), b.key.clone()))
            .collect();
        if identities.is_empty() || attach.is_none() {
            return terminal;
        }
        let (face, key) = identities[self.rng.usize(..identities.len())].clone();
        let key = Some(key).filter(|key| !key.is_empty());
        if attach.as_deref() != Some(CRIMP) && self.chance(25) {
            terminal.attach = Some(BUILT_IN.to_owned());
            terminal.interface = Some(face);
            terminal.key = key;
            return terminal;
        }
        if self.chance(30) {
            terminal.interface = Some(face);
        }
        if self.chance(12) {
            terminal.key = key;
        }
        terminal
    }

    /// The rule for the whole machine in some projects, and keys of some nets.
    fn keying(&mut self) {
        if self.chance(35) {
            self.input.settings.keying.distinct = Distinct::Everywhere;
        }
        let circuits = &self.input.circuits;
        let nets: BTreeSet<String> = circuits.iter().flat_map(|c| c.nets()).collect();
        for net in nets {
            if self.chance(25) {
                let all = ["A", "B", "C", "Z"].map(str::to_owned);
                let few = all.into_iter().filter(|_| self.rng.bool());
                let mut keys: BTreeSet<String> = few.collect();
                if keys.is_empty() {
                    keys.insert("B".to_owned());
                }
                self.input.settings.keying.keys.insert(net, keys);
            }
        }
    }

    fn branches(&mut self) {
        for place in 0..self.input.circuits.len() {
            let branch = self.pick(&["", "drive", "heat"]);
            self.input.circuits[place].branch = branch.to_owned();
        }
    }

    /// Some offers stand a second time, in bags. Offers that are alike stand in bags
    /// that are alike, under names in another order for some parts.
    fn offers(&mut self) {
        let mut known: BTreeMap<Content, Option<Offer>> = BTreeMap::new();
        for offer in self.input.catalog.offers.clone() {
            let drawn = (self.chance(40)).then(|| self.in_bags(&offer));
            let bags = known.entry(content(&offer)).or_insert(drawn).clone();
            if let Some(bags) = bags {
                let sku = match self.chance(20) {
                    true => format!("0-{}", offer.sku),
                    false => format!("{}-bag", offer.sku),
                };
                let part = offer.part;
                self.input.catalog.offers.push(Offer { part, sku, ..bags });
            }
        }
        let offers = &mut self.input.catalog.offers;
        offers.sort_by(|a, b| (a.part, a.supplier, &a.sku).cmp(&(b.part, b.supplier, &b.sku)));
    }

    fn in_bags(&mut self, offer: &Offer) -> Offer {
        let mut bags = offer.clone();
        bags.pack = self.pick(&[1, 2, 3, 5, 10]);
        bags.stock = (self.chance(35)).then(|| bags.pack * self.rng.u64(1..=3));
        bags.breaks.truncate(self.pick(&[1, 1, 2]));
        let share = dec(self.pick(&["0.5", "0.8", "0.9", "1.1"]));
        for step in &mut bags.breaks {
            step.unit_price = Money((step.unit_price.0 * share).round_dp(3));
        }
        bags.breaks.retain(|b| b.unit_price.0 > Decimal::ZERO);
        match bags.breaks.is_empty() {
            true => offer.clone(),
            false => bags,
        }
    }
}

fn content(offer: &Offer) -> Content {
    let breaks = offer.breaks.iter().map(|b| (b.min_qty, b.unit_price));
    (offer.supplier, offer.pack, offer.stock, breaks.collect())
}

/// The code of a body without its key, which is the last capital letter.
fn but_key(code: &str) -> &str {
    match code.strip_suffix('x') {
        // A twin is a model of its own.
        Some(_) => code,
        None => &code[..code.len() - 1],
    }
}
