//! A small project in code: one end that exactly one set serves, and ways to
//! change it. All parts are invented.
#![allow(dead_code)] // each test file uses its share

use couplet::catalog::*;
use couplet::diag::Row;
use couplet::fit::{Fit, NoSet, Rule, Unfit, ends, fit, refusals};
use couplet::input::Input;
use couplet::project::*;
use couplet::units::*;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// A decimal from its digits.
pub fn dec(text: &str) -> Decimal {
    text.parse().expect("a number")
}

/// A protection code.
pub fn ip(text: &str) -> Option<Protection> {
    Some(text.parse().expect("a code"))
}

pub fn row(file: &str, line: usize) -> Row {
    Row {
        file: file.into(),
        line: line as u64,
    }
}

/// What an [`Input`] is made from; parts and suppliers by name.
#[derive(Clone)]
pub struct Bench {
    pub parts: Vec<Part>,
    pub offers: Vec<(String, String, Offer)>,
    pub suppliers: Vec<String>,
    pub attributes: Vec<Attribute>,
    pub circuits: Vec<Circuit>,
    pub settings: Settings,
    pub on_hand: Vec<(String, Qty)>,
}

impl Bench {
    /// One end: 70 mm² in a 19 mm cable, 300 A, 400 V, at a busbar. `P` with
    /// `F`, `S`, `B` and `R` serve it, each sold by `Nord`.
    pub fn new() -> Bench {
        let mut bench = Bench {
            parts: Vec::new(),
            offers: Vec::new(),
            suppliers: vec!["Nord".into()],
            attributes: Vec::new(),
            circuits: Vec::new(),
            settings: settings(),
            on_hand: Vec::new(),
        };
        bench.circuit("pump");
        bench.body("P", Half::Plug);
        bench.body("R", Half::Receptacle);
        bench.ferrule("F", "B1", "50", "70");
        bench.seal("S", "R1", "18", "20");
        bench.shell("B", "R1", "22");
        bench
    }

    pub fn circuit(&mut self, name: &str) -> &mut Circuit {
        let line = self.circuits.len() + 2;
        self.circuits.push(Circuit {
            machine: 0,
            copies: 1,
            name: name.into(),
            conductors: vec!["HV+".into()],
            cable: Cable::Single,
            from: terminal("battery", Some("busbar")),
            to: terminal("motor", None),
            current: Ampere(dec("300")),
            voltage: Volt(dec("400")),
            gauge: "70 mm2".parse().expect("a gauge"),
            cable_od: Mm(dec("19")),
            ip: None,
            colour: None,
            branch: String::new(),
            note: String::new(),
            row: row("circuits.csv", line),
        });
        self.circuits.last_mut().expect("just pushed")
    }

    /// The first circuit.
    pub fn pump(&mut self) -> &mut Circuit {
        &mut self.circuits[0]
    }

    pub fn body(&mut self, code: &str, half: Half) -> &mut Body {
        let plug = half == Half::Plug;
        let body = Body {
            half,
            interface: "I".into(),
            key: "A".into(),
            poles: 1,
            rated_a: Ampere(dec("350")),
            rated_v: Volt(dec("1000")),
            rated_c: None,
            max_c: None,
            attach: if plug { CRIMP } else { "busbar" }.into(),
            exit: plug.then_some(Exit::Straight),
            barrel: plug.then(|| "B1".into()),
            rear: plug.then(|| "R1".into()),
            ip: None,
            colour: None,
            includes: Vec::new(),
            min_mm2: None,
            max_mm2: None,
            min_od: None,
            max_od: None,
            ratings: Vec::new(),
        };
        self.part(code, "catalog/bodies.csv", Spec::Body(Box::new(body)));
        self.body_mut(code)
    }

    pub fn body_mut(&mut self, code: &str) -> &mut Body {
        match self.spec(code) {
            Spec::Body(body) => body,
            _ => panic!("{code} is no body"),
        }
    }

    pub fn spec(&mut self, code: &str) -> &mut Spec {
        let part = self.parts.iter_mut().find(|p| p.code == code);
        &mut part.expect("a part").spec
    }

    pub fn ferrule(&mut self, code: &str, barrel: &str, min: &str, max: &str) {
        let spec = Spec::Ferrule(Ferrule {
            barrel: barrel.into(),
            min_mm2: Mm2(dec(min)),
            max_mm2: Mm2(dec(max)),
            die: None,
            die_name: None,
        });
        self.part(code, "catalog/ferrules.csv", spec);
    }

    pub fn seal(&mut self, code: &str, rear: &str, min: &str, max: &str) -> &mut Seal {
        let spec = Spec::Seal(Seal {
            rear: rear.into(),
            min_od: Mm(dec(min)),
            max_od: Mm(dec(max)),
            ip: None,
        });
        self.part(code, "catalog/seals.csv", spec);
        match self.spec(code) {
            Spec::Seal(seal) => seal,
            _ => panic!("{code} is no seal"),
        }
    }

    pub fn shell(&mut self, code: &str, rear: &str, max: &str) -> &mut BackShell {
        let spec = Spec::BackShell(BackShell {
            rear: rear.into(),
            exit: None,
            max_od: Mm(dec(max)),
            colour: None,
            pieces: 2,
        });
        self.part(code, "catalog/backshells.csv", spec);
        self.shell_mut(code)
    }

    pub fn shell_mut(&mut self, code: &str) -> &mut BackShell {
        match self.spec(code) {
            Spec::BackShell(shell) => shell,
            _ => panic!("{code} is no back shell"),
        }
    }

    /// An attribute that is asked of these kinds.
    pub fn attribute(&mut self, name: &str, on: &[Kind], holds: Holds, if_empty: IfEmpty) {
        let line = self.attributes.len() + 2;
        self.attributes.push(Attribute {
            name: name.into(),
            on: on.iter().copied().collect(),
            holds,
            if_empty,
            description: String::new(),
            note: String::new(),
            row: row("catalog/attributes.csv", line),
        });
    }

    /// What a text says of an attribute.
    fn value(&self, name: &str, text: &str) -> (usize, Value) {
        let mut places = self.attributes.iter();
        let place = places.position(|a| &*a.name == name).expect("an attribute");
        let value = match self.attributes[place].holds {
            Holds::Equal | Holds::Same => Value::Word(text.into()),
            Holds::Has => Value::Words(text.split(' ').map(str::to_owned).collect()),
            Holds::AtLeast | Holds::AtMost => Value::Number(dec(text)),
        };
        (place, value)
    }

    /// A part has this of an attribute.
    pub fn has(&mut self, code: &str, name: &str, text: &str) {
        let (place, value) = self.value(name, text);
        let part = self.parts.iter_mut().find(|p| p.code == code);
        let values = &mut part.expect("a part").values;
        values.resize(self.attributes.len(), None);
        values[place] = Some(value);
    }

    /// The first circuit wants this of an attribute at its `from`.
    pub fn wants(&mut self, name: &str, text: &str) {
        let (place, value) = self.value(name, text);
        let count = self.attributes.len();
        let wants = &mut self.pump().from.wants;
        wants.resize(count, None);
        wants[place] = Some(value);
    }

    /// A part with an offer of `Nord`.
    fn part(&mut self, code: &str, file: &str, spec: Spec) {
        let line = self.parts.len() + 2;
        self.parts.push(Part {
            code: code.into(),
            description: String::new(),
            spec,
            values: Vec::new(),
            note: String::new(),
            row: row(file, line),
        });
        self.offer(code, "Nord");
    }

    pub fn offer(&mut self, code: &str, supplier: &str) -> &mut Offer {
        let line = self.offers.len() + 2;
        let offer = Offer {
            part: PartId(0),
            supplier: SupplierId(0),
            sku: String::new(),
            pack: 1,
            stock: None,
            lead_days: None,
            breaks: vec![Break {
                min_qty: 1,
                unit_price: Money(dec("1")),
                quoted: None,
                note: String::new(),
                row: row("catalog/prices.csv", line),
            }],
        };
        self.offers.push((code.into(), supplier.into(), offer));
        &mut self.offers.last_mut().expect("just pushed").2
    }

    /// The first offer of a part.
    pub fn offer_mut(&mut self, code: &str) -> &mut Offer {
        let found = self.offers.iter_mut().find(|o| o.0 == code);
        &mut found.expect("an offer").2
    }

    /// Takes a part out of the catalog.
    pub fn remove(&mut self, code: &str) {
        self.parts.retain(|p| p.code != code);
        self.offers.retain(|o| o.0 != code);
    }

    pub fn input(&self) -> Input {
        let mut catalog = Catalog {
            parts: self.parts.clone(),
            attributes: self.attributes.clone(),
            ..Catalog::default()
        };
        for part in &mut catalog.parts {
            part.values.resize(self.attributes.len(), None);
        }
        catalog.parts.sort_by(|a, b| a.code.cmp(&b.code));
        let mut names = self.suppliers.clone();
        names.sort();
        catalog.suppliers = names.iter().enumerate().map(supplier).collect();
        for (code, name, offer) in &self.offers {
            let mut offer = offer.clone();
            offer.part = catalog.find(code).expect("a part");
            offer.supplier = catalog.find_supplier(name).expect("a supplier");
            catalog.offers.push(offer);
        }
        (catalog.offers)
            .sort_by(|a, b| (a.part, a.supplier, &a.sku).cmp(&(b.part, b.supplier, &b.sku)));
        let mut circuits = self.circuits.clone();
        for circuit in &mut circuits {
            for terminal in [&mut circuit.from, &mut circuit.to] {
                terminal.wants.resize(self.attributes.len(), None);
            }
        }
        let on_hand = self
            .on_hand
            .iter()
            .map(|(code, qty)| (catalog.find(code).expect("a part"), *qty))
            .collect();
        Input {
            catalog,
            settings: self.settings.clone(),
            machines: Vec::new(),
            circuits,
            on_hand,
            ordered: Vec::new(),
            dies_ordered: Vec::new(),
            as_of: None,
            prices: Default::default(),
            files: Vec::new(),
        }
    }

    pub fn fit(&self) -> Result<Fit, NoSet> {
        fit(&self.input()).map_err(|unfit| match unfit {
            Unfit::NoSet(none) => none,
            Unfit::TooLarge { .. } => panic!("{unfit}"),
        })
    }

    /// What fits; panics with the explanation if an end has no set.
    pub fn fits(&self) -> Fit {
        self.fit().unwrap_or_else(|no_set| panic!("{no_set}"))
    }

    /// Why nothing fits; panics if something does.
    pub fn no_set(&self) -> NoSet {
        self.fit().expect_err("an end without a set")
    }

    /// The only rule without which a set exists at the first end.
    pub fn only_rule(&self) -> Rule {
        let no_set = self.no_set();
        match no_set.ends[0].without.as_slice() {
            [rules] if rules.len() == 1 => rules[0].clone(),
            other => panic!("{other:?}\n{no_set}"),
        }
    }

    /// The rules that refuse a part at the first end.
    pub fn refused_by(&self, code: &str) -> Vec<Rule> {
        let input = self.input();
        let end = ends(&input.circuits).remove(0);
        let part = input.catalog.find(code).expect("a part");
        refusals(&input, &end, part)
            .iter()
            .map(|r| r.rule.clone())
            .collect()
    }

    /// The lines of the explanation.
    pub fn lines(&self) -> String {
        self.no_set().to_string()
    }
}

pub fn terminal(location: &str, attach: Option<&str>) -> Terminal {
    Terminal {
        location: location.into(),
        attach: attach.map(str::to_owned),
        exit: None,
        interface: None,
        key: None,
        wants: Vec::new(),
    }
}

fn supplier((i, name): (usize, &String)) -> Supplier {
    Supplier {
        name: name.clone(),
        currency: Currency("EUR".into()),
        shipping: Money::ZERO,
        free_over: None,
        min_order: None,
        duty_percent: Percent(Decimal::ZERO),
        note: String::new(),
        row: row("catalog/suppliers.csv", i + 2),
    }
}

fn settings() -> Settings {
    Settings {
        name: "bench".into(),
        currency: Currency("EUR".into()),
        catalog: "catalog".into(),
        prices: None,
        ambient: None,
        max_lead_days: None,
        protection: Implied::Strict,
        tax_percent: Percent(Decimal::ZERO),
        line_cost: Money::ZERO,
        max_variants: None,
        max_suppliers: None,
        max_dies: None,
        rows: Default::default(),
        exclude_parts: BTreeSet::new(),
        exclude_suppliers: BTreeSet::new(),
        rates: BTreeMap::new(),
        keying: Keying {
            distinct: Distinct::ByLocation,
            ignore_at: BTreeSet::new(),
            keys: BTreeMap::new(),
        },
        spares: BTreeMap::new(),
        budget: None,
        worth_changing: Money::ZERO,
    }
}
