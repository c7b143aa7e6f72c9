//! A small invented project with a solver's answer for it, built by hand.
//!
//! Two circuits: `battery` with HV+ and HV- from pack to inverter on 50 mm²,
//! `heater` with H+ on 1/0 AWG and a connector only at its far end. Five ends.
#![allow(dead_code)]

use couplet::catalog::*;
use couplet::diag::Row;
use couplet::fit::{End, Fit, Side};
use couplet::input::{Input, InputFile};
use couplet::model::{Fitted, Set, Solution};
use couplet::plan::{Bound, Plan, record};
use couplet::project::*;
use couplet::units::*;
use std::collections::{BTreeMap, BTreeSet};

pub const BS_1: PartId = PartId(0);
pub const F_50: PartId = PartId(1);
pub const F_70: PartId = PartId(2);
pub const P_A: PartId = PartId(3);
pub const P_B: PartId = PartId(4);
pub const R_A: PartId = PartId(5);
pub const R_B: PartId = PartId(6);
pub const S_1: PartId = PartId(7);

/// Places of the offers in the catalog.
pub const BS_1_NORD: usize = 0;
pub const F_50_NORD: usize = 1;
pub const F_70_NORD: usize = 2;
pub const P_A_NORD: usize = 3;
pub const P_B_NORD: usize = 4;
pub const R_A_SOUTH: usize = 5;
pub const S_1_SOUTH: usize = 6;
/// Where it is sold at all, see [`World::sell_bags`].
pub const S_1_BAG: usize = 7;

pub const NORD: usize = 0;
pub const SOUTH: usize = 1;

/// Input, what fits, and an answer.
#[derive(Clone)]
pub struct World {
    pub input: Input,
    pub fit: Fit,
    pub solution: Solution,
}

impl World {
    pub fn new() -> World {
        let input = input();
        let fit = fit(&input);
        let solution = solution();
        World {
            input,
            fit,
            solution,
        }
    }

    /// The same with rows of what is ordered: two of one part, one of it from
    /// someone else, some of a part of which four pieces are on hand, and one of
    /// a part that no end has.
    pub fn with_ordered() -> World {
        let mut world = World::new();
        world.order(P_A, NORD, 2, "29.00", "3.00");
        world.order(P_A, NORD, 3, "28.00", "0");
        world.order(P_A, SOUTH, 1, "20.00", "0");
        world.order(BS_1, NORD, 20, "1.40", "0");
        world.order(S_1, SOUTH, 10, "1.00", "0.50");
        world.order(F_70, NORD, 1, "3.00", "0");
        for offer in [P_A_NORD, BS_1_NORD, S_1_SOUTH] {
            world.buy(offer, 0);
        }
        world
    }

    /// The record of the answer, proven.
    pub fn plan(&self) -> Plan {
        record(&self.input, &self.fit, &self.solution, proven()).unwrap()
    }

    pub fn body(&mut self, id: PartId) -> &mut Body {
        match &mut self.part(id).spec {
            Spec::Body(body) => body,
            _ => panic!("no body"),
        }
    }

    pub fn ferrule(&mut self, id: PartId) -> &mut Ferrule {
        match &mut self.part(id).spec {
            Spec::Ferrule(ferrule) => ferrule,
            _ => panic!("no ferrule"),
        }
    }

    pub fn seal(&mut self) -> &mut Seal {
        match &mut self.part(S_1).spec {
            Spec::Seal(seal) => seal,
            _ => panic!("no seal"),
        }
    }

    pub fn shell(&mut self) -> &mut BackShell {
        match &mut self.part(BS_1).spec {
            Spec::BackShell(shell) => shell,
            _ => panic!("no back shell"),
        }
    }

    pub fn part(&mut self, id: PartId) -> &mut Part {
        &mut self.input.catalog.parts[id.0 as usize]
    }

    pub fn offer(&mut self, place: usize) -> &mut Offer {
        &mut self.input.catalog.offers[place]
    }

    pub fn supplier(&mut self, place: usize) -> &mut Supplier {
        &mut self.input.catalog.suppliers[place]
    }

    /// Has pieces ordered already, at a price and with charges in the supplier's
    /// currency.
    pub fn order(&mut self, part: PartId, supplier: usize, qty: Qty, price: &str, charges: &str) {
        self.input.ordered.push(Ordered {
            sku: String::new(),
            note: String::new(),
            part,
            supplier: SupplierId(supplier as u32),
            qty,
            unit_price: money(price),
            ordered_on: "2026-02-01".parse().unwrap(),
            received: 0,
            charges: money(charges),
            row: row(),
        });
    }

    /// Has the crimp die of 50 mm² ordered already.
    pub fn order_die(&mut self, cost: &str) {
        self.input.dies_ordered.push(DieOrdered {
            note: String::new(),
            die: DieId(0),
            cost: money(cost),
            ordered_on: "2026-02-01".parse().unwrap(),
            row: row(),
        });
    }

    /// Has South sell seals in bags of ten under a sku of their own as well.
    pub fn sell_bags(&mut self) {
        let bag = offer(S_1, SOUTH, "S-S1-BAG", 10, vec![step(10, "0.90")]);
        self.input.catalog.offers.push(bag);
    }

    /// The side of a circuit that an end is on.
    pub fn terminal(&mut self, end: usize) -> &mut Terminal {
        let End { circuit, side, .. } = self.fit.ends[end];
        let circuit = &mut self.input.circuits[circuit];
        match side {
            Side::From => &mut circuit.from,
            Side::To => &mut circuit.to,
        }
    }

    /// Has the device of an end, and of all ends on that side of its circuit, come with a
    /// receptacle of interface M8 and key A.
    pub fn build_in(&mut self, end: usize) {
        let End { circuit, side, .. } = self.fit.ends[end];
        let terminal = self.terminal(end);
        terminal.attach = Some(BUILT_IN.to_owned());
        terminal.interface = Some("M8".to_owned());
        terminal.key = Some("A".to_owned());
        let ends = self.fit.ends.iter().zip(&mut self.solution.sets);
        for (_, set) in ends.filter(|(e, _)| (e.circuit, e.side) == (circuit, side)) {
            set.receptacle = None;
        }
    }

    /// Adds an attribute without any values; its place.
    pub fn ask(&mut self, name: &str, on: &[Kind], holds: Holds, if_empty: IfEmpty) -> usize {
        self.input.catalog.attributes.push(Attribute {
            name: name.into(),
            on: on.iter().copied().collect(),
            holds,
            if_empty,
            description: String::new(),
            note: String::new(),
            row: row(),
        });
        let parts = self.input.catalog.parts.iter_mut().map(|p| &mut p.values);
        let circuits = self.input.circuits.iter_mut();
        let ends = circuits.flat_map(|c| [&mut c.from.wants, &mut c.to.wants]);
        for values in parts.chain(ends) {
            values.push(None);
        }
        self.input.catalog.attributes.len() - 1
    }

    /// Buys so many packs from an offer in place of what was bought there.
    pub fn buy(&mut self, place: usize, packs: Qty) {
        let id = OfferId(place as u32);
        self.solution.purchases.retain(|(offer, _)| *offer != id);
        if packs > 0 {
            self.solution.purchases.push((id, packs));
            self.solution.purchases.sort();
        }
    }
}

pub fn proven() -> Bound {
    Bound {
        lower: 0.0,
        witnesses: 2,
        wanted_gap: None,
    }
}

pub fn money(text: &str) -> Money {
    text.parse().unwrap()
}

pub fn of<T: From<rust_decimal::Decimal>>(text: &str) -> T {
    text.parse::<rust_decimal::Decimal>().unwrap().into()
}

fn row() -> Row {
    Row {
        file: "catalog/test.csv".into(),
        line: 2,
    }
}

pub fn currency(code: &str) -> Currency {
    Currency::parse(code).unwrap()
}

fn part(code: &str, spec: Spec) -> Part {
    Part {
        code: code.to_owned(),
        description: String::new(),
        spec,
        values: Vec::new(),
        note: String::new(),
        row: row(),
    }
}

fn a_body(half: Half, key: &str) -> Body {
    let plug = half == Half::Plug;
    Body {
        half,
        interface: "M8".to_owned(),
        key: key.to_owned(),
        poles: 1,
        rated_a: of("200"),
        rated_v: of("600"),
        rated_c: None,
        max_c: None,
        attach: if plug { "crimp" } else { "busbar" }.to_owned(),
        exit: plug.then_some(Exit::Straight),
        barrel: plug.then(|| "B50".to_owned()),
        rear: plug.then(|| "R1".to_owned()),
        ip: Some("IP67".parse().unwrap()),
        colour: Some("orange".to_owned()),
        includes: Vec::new(),
        min_mm2: None,
        max_mm2: None,
        min_od: None,
        max_od: None,
        ratings: Vec::new(),
    }
}

fn body(half: Half, key: &str) -> Spec {
    Spec::Body(Box::new(a_body(half, key)))
}

/// With the seal in its box.
fn plug_b() -> Spec {
    Spec::Body(Box::new(Body {
        includes: vec![Fitting::Seal],
        min_od: Some(of("10")),
        max_od: Some(of("16")),
        ..a_body(Half::Plug, "B")
    }))
}

fn ferrule(min: &str, max: &str, die: Option<DieId>) -> Spec {
    Spec::Ferrule(Ferrule {
        barrel: "B50".to_owned(),
        min_mm2: of(min),
        max_mm2: of(max),
        die,
        die_name: die.map(|_| "D-50".to_owned()),
    })
}

fn parts() -> Vec<Part> {
    let shell = BackShell {
        rear: "R1".to_owned(),
        exit: None,
        max_od: of("16"),
        colour: None,
        pieces: 2,
    };
    let seal = Seal {
        rear: "R1".to_owned(),
        min_od: of("12"),
        max_od: of("16"),
        ip: Some("IP67".parse().unwrap()),
    };
    vec![
        part("BS-1", Spec::BackShell(shell)),
        part("F-50", ferrule("40", "60", Some(DieId(0)))),
        part("F-70", ferrule("60.1", "80", None)),
        part("P-A", body(Half::Plug, "A")),
        part("P-B", plug_b()),
        part("R-A", body(Half::Receptacle, "A")),
        part("R-B", body(Half::Receptacle, "B")),
        part("S-1", Spec::Seal(seal)),
    ]
}

pub fn step(min_qty: Qty, price: &str) -> Break {
    Break {
        min_qty,
        unit_price: money(price),
        quoted: None,
        note: String::new(),
        row: row(),
    }
}

fn offer(part: PartId, supplier: usize, sku: &str, pack: Qty, breaks: Vec<Break>) -> Offer {
    Offer {
        part,
        supplier: SupplierId(supplier as u32),
        sku: sku.to_owned(),
        pack,
        stock: Some(50),
        lead_days: Some(10),
        breaks,
    }
}

fn offers() -> Vec<Offer> {
    let ferrules = vec![step(1, "2.00"), step(10, "1.25")];
    vec![
        offer(BS_1, NORD, "N-BS", 4, vec![step(4, "1.50")]),
        offer(F_50, NORD, "N-F50", 1, ferrules),
        offer(F_70, NORD, "N-F70", 1, vec![step(1, "3.00")]),
        offer(P_A, NORD, "N-PA", 1, vec![step(1, "30.00")]),
        offer(P_B, NORD, "N-PB", 1, vec![step(1, "31.00")]),
        offer(R_A, SOUTH, "S-RA", 1, vec![step(1, "25.00")]),
        offer(S_1, SOUTH, "S-S1", 5, vec![step(5, "1.105")]),
    ]
}

fn suppliers() -> Vec<Supplier> {
    vec![
        Supplier {
            name: "Nord".to_owned(),
            currency: currency("EUR"),
            shipping: money("9.90"),
            free_over: Some(money("200")),
            min_order: Some(money("50")),
            duty_percent: of("0"),
            note: String::new(),
            row: row(),
        },
        Supplier {
            name: "South".to_owned(),
            currency: currency("USD"),
            shipping: money("20"),
            free_over: None,
            min_order: None,
            duty_percent: of("2.5"),
            note: String::new(),
            row: row(),
        },
    ]
}

fn settings() -> Settings {
    let spares = |per, percent: &str, minimum| Spares {
        per,
        percent: of(percent),
        minimum,
    };
    Settings {
        name: "Test bench cart".to_owned(),
        currency: currency("EUR"),
        catalog: "catalog".to_owned(),
        prices: None,
        ambient: Some(of("40")),
        max_lead_days: Some(30),
        protection: Implied::Strict,
        tax_percent: of("20"),
        line_cost: money("0.50"),
        max_variants: Some(7),
        max_suppliers: Some(2),
        max_dies: None,
        rows: Default::default(),
        exclude_parts: BTreeSet::new(),
        exclude_suppliers: BTreeSet::new(),
        rates: BTreeMap::from([(currency("USD"), of("0.92"))]),
        keying: Keying {
            distinct: Distinct::ByLocation,
            ignore_at: BTreeSet::new(),
            keys: BTreeMap::new(),
        },
        spares: BTreeMap::from([
            (Kind::Ferrule, spares(Per::Gauge, "10", 1)),
            (Kind::Seal, spares(Per::Part, "50", 0)),
        ]),
        budget: None,
        worth_changing: Money::ZERO,
    }
}

fn terminal(location: &str, attach: Option<&str>) -> Terminal {
    Terminal {
        location: location.to_owned(),
        attach: attach.map(str::to_owned),
        exit: None,
        interface: None,
        key: None,
        wants: Vec::new(),
    }
}

fn circuit(name: &str, nets: &[&str], gauge: &str, from: Terminal, to: Terminal) -> Circuit {
    Circuit {
        machine: 0,
        copies: 1,
        name: name.to_owned(),
        conductors: nets.iter().map(|net| (*net).to_owned()).collect(),
        cable: Cable::Single,
        from,
        to,
        current: of("100"),
        voltage: of("400"),
        gauge: gauge.parse().unwrap(),
        cable_od: of("14"),
        ip: Some("IP67".parse().unwrap()),
        colour: Some("orange".to_owned()),
        branch: String::new(),
        note: String::new(),
        row: row(),
    }
}

fn input() -> Input {
    let busbar = Some("busbar");
    Input {
        catalog: Catalog {
            parts: parts(),
            offers: offers(),
            suppliers: suppliers(),
            dies: vec![Die {
                name: "D-50".to_owned(),
                description: String::new(),
                cost: money("45"),
                owned: false,
                note: String::new(),
                row: row(),
            }],
            attributes: Vec::new(),
        },
        settings: settings(),
        machines: Vec::new(),
        circuits: vec![
            circuit(
                "battery",
                &["HV+", "HV-"],
                "50 mm2",
                terminal("pack", busbar),
                terminal("inverter", busbar),
            ),
            circuit(
                "heater",
                &["H+"],
                "1/0 AWG",
                terminal("pack", None),
                terminal("heater", busbar),
            ),
        ],
        on_hand: BTreeMap::from([(BS_1, 4), (R_B, 5)]),
        ordered: Vec::new(),
        dies_ordered: Vec::new(),
        as_of: Some("2026-03-01".parse().unwrap()),
        prices: Default::default(),
        files: vec![InputFile {
            file: "circuits.csv".to_owned(),
            sha256: "00".repeat(32),
        }],
    }
}

/// The ends by hand: circuit, net, side.
fn fit(input: &Input) -> Fit {
    let ends = [
        (0, "HV+", Side::From),
        (0, "HV+", Side::To),
        (0, "HV-", Side::From),
        (0, "HV-", Side::To),
        (1, "H+", Side::To),
    ];
    let end = |(place, net, side): (usize, &str, Side)| {
        let circuit = &input.circuits[place];
        let at = match side {
            Side::From => &circuit.from,
            Side::To => &circuit.to,
        };
        End {
            machine: 0,
            copies: 1,
            circuit: place,
            net: net.to_owned(),
            branch: circuit.branch.clone(),
            side,
            location: at.location.clone(),
            gauge: circuit.gauge,
            area: circuit.gauge.area(),
            cable_od: circuit.cable_od,
            current: circuit.current,
            voltage: circuit.voltage,
            poles: 1,
            attach: at.attach.clone().unwrap(),
            exit: at.exit,
            ip: circuit.ip.clone(),
            colour: circuit.colour.clone(),
            interface: at.interface.clone(),
            key: at.key.clone(),
            wants: at.wants.clone(),
        }
    };
    Fit {
        ends: ends.into_iter().map(end).collect(),
        classes: Vec::new(),
        identities: Vec::new(),
        offers: Vec::new(),
    }
}

fn solution() -> Solution {
    let fitted = |fitting, part, qty| Fitted {
        half: Half::Plug,
        fitting,
        part,
        qty,
    };
    let set_a = Set {
        receptacle: Some(R_A),
        plug: P_A,
        fittings: vec![
            fitted(Fitting::Ferrule, F_50, 1),
            fitted(Fitting::Seal, S_1, 1),
            fitted(Fitting::BackShell, BS_1, 2),
        ],
    };
    let set_b = Set {
        receptacle: Some(R_B),
        plug: P_B,
        fittings: vec![
            fitted(Fitting::Ferrule, F_50, 1),
            fitted(Fitting::BackShell, BS_1, 2),
        ],
    };
    let packs = [
        (BS_1_NORD, 2),
        (F_50_NORD, 10),
        (P_A_NORD, 3),
        (P_B_NORD, 2),
        (R_A_SOUTH, 3),
        (S_1_SOUTH, 1),
    ];
    Solution {
        sets: vec![set_a.clone(), set_a.clone(), set_b.clone(), set_b, set_a],
        purchases: packs
            .map(|(place, packs)| (OfferId(place as u32), packs))
            .into(),
    }
}
