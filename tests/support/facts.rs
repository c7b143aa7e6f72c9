//! What a user adds to a project as [`super::random`] draws it: attributes of parts,
//! ratings by gauge, built-in receptacles, interfaces and keys wanted at an end, keys
//! of nets, branches, and several offers of one part from one supplier.

use super::build;
use super::dec;
use couplet::catalog::{
    Attribute, BUILT_IN, Body, CRIMP, Half, Holds, IfEmpty, Kind, Offer, Part, Rating, Spec,
    SupplierId, Value, Values,
};
use couplet::input::Input;
use couplet::project::{Distinct, Terminal};
use couplet::units::{Ampere, Mm2, Money, Qty};
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Adds all of it, each by chance.
pub fn add(rng: &mut Rng, input: &mut Input) {
    let mut draw = Draw { rng, input };
    draw.faces_without_keys();
    draw.ratings();
    draw.attributes();
    draw.terminals();
    draw.keying();
    draw.branches();
    draw.offers();
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
        let parts = self.input.catalog.parts.iter_mut();
        parts.filter_map(|part| match &mut part.spec {
            Spec::Body(body) => Some((part.code.as_str(), &mut **body)),
            _ => None,
        })
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
        let count = self.pick(&[1, 1, 2, 2, 3]);
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
        on.extend(Kind::ALL.into_iter().filter(|_| self.rng.u32(..100) < 35));
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
            Holds::Equal => self.word(&["yes", "yes", "yes", "no"]),
            Holds::Has => self.words(75),
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
                let wanted = (self.chance(45)).then(|| self.wanted_of(attribute.holds));
                let other = (self.chance(20)).then(|| self.wanted_of(attribute.holds));
                let from_differs = self.rng.bool();
                ends[usize::from(from_differs)].push(wanted.clone());
                ends[usize::from(!from_differs)].push(if self.chance(30) { other } else { wanted });
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
        if self.chance(15) {
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
            let branch = self.pick(&["", "", "drive", "drive", "heat"]);
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

/// The code of a body without its key, which is the last letter.
fn but_key(code: &str) -> &str {
    &code[..code.len() - 1]
}
