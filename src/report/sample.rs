//! A catalog and plans built in code, for tests. All data is invented.

use crate::catalog::*;
use crate::diag::Row;
use crate::input::{Input, InputFile, PriceList};
use crate::plan::*;
use crate::project::*;
use crate::units::*;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

pub fn money(text: &str) -> Money {
    text.parse().unwrap()
}

fn eur() -> Currency {
    Currency("EUR".into())
}

fn row() -> Row {
    Row {
        file: "catalog/x.csv".into(),
        line: 2,
    }
}

fn part(code: &str, description: &str, spec: Spec) -> Part {
    Part {
        code: code.into(),
        description: description.into(),
        spec,
        values: Vec::new(),
        note: String::new(),
        row: row(),
    }
}

fn body(half: Half, key: &str) -> Body {
    let crimped = half == Half::Plug;
    Body {
        half,
        interface: "M8".into(),
        key: key.into(),
        poles: 1,
        rated_a: Ampere(Decimal::from(200)),
        rated_v: Volt(Decimal::from(600)),
        rated_c: None,
        max_c: None,
        attach: if crimped { CRIMP } else { "busbar" }.into(),
        exit: crimped.then_some(Exit::Straight),
        barrel: crimped.then(|| "B8".into()),
        rear: crimped.then(|| "R8".into()),
        ip: "IP67".parse().ok(),
        colour: Some("orange".into()),
        includes: Vec::new(),
        min_mm2: None,
        max_mm2: None,
        min_od: None,
        max_od: None,
        ratings: Vec::new(),
    }
}

pub fn ferrule(min: i64, max: i64) -> Spec {
    Spec::Ferrule(Ferrule {
        barrel: "B8".into(),
        min_mm2: Mm2(min.into()),
        max_mm2: Mm2(max.into()),
        die: None,
        die_name: None,
    })
}

fn price(min_qty: Qty, unit_price: &str) -> Break {
    Break {
        min_qty,
        unit_price: money(unit_price),
        quoted: None,
        note: String::new(),
        row: row(),
    }
}

pub fn offer(part: u32, supplier: u32, pack: Qty, breaks: &[(Qty, &str)]) -> Offer {
    Offer {
        part: PartId(part),
        supplier: SupplierId(supplier),
        sku: "N-1".into(),
        pack,
        stock: None,
        lead_days: None,
        breaks: breaks.iter().map(|(q, p)| price(*q, p)).collect(),
    }
}

pub fn supplier(name: &str, currency: &str, shipping: &str) -> Supplier {
    Supplier {
        name: name.into(),
        currency: Currency(currency.into()),
        shipping: money(shipping),
        free_over: None,
        min_order: None,
        duty_percent: Percent(Decimal::ZERO),
        note: String::new(),
        row: row(),
    }
}

/// Two keys, two ferrules, a seal and a back shell at two suppliers.
pub fn catalog() -> Catalog {
    let seal = Spec::Seal(Seal {
        rear: "R8".into(),
        min_od: Mm(12.into()),
        max_od: Mm(16.into()),
        ip: None,
    });
    let shell = Spec::BackShell(BackShell {
        rear: "R8".into(),
        exit: None,
        max_od: Mm(16.into()),
        colour: None,
        pieces: 1,
    });
    let bodies = |half, key: &str| Spec::Body(Box::new(body(half, key)));
    Catalog {
        parts: vec![
            part("B-8", "back shell with a strain relief", shell),
            part("F-50", "ferrule 50 mm2", ferrule(45, 50)),
            part("F-70", "ferrule 70 mm2", ferrule(60, 70)),
            part("P-8-A", "plug, key A, straight", bodies(Half::Plug, "A")),
            part("P-8-B", "plug, key B, straight", bodies(Half::Plug, "B")),
            part("R-8-A", "receptacle, key A", bodies(Half::Receptacle, "A")),
            part("R-8-B", "receptacle, key B", bodies(Half::Receptacle, "B")),
            part("S-8", "seal 12 to 16 mm", seal),
        ],
        offers: vec![
            offer(0, 0, 1, &[(1, "4.105")]),
            offer(1, 0, 1, &[(1, "1.60")]),
            offer(2, 0, 10, &[(1, "1.60"), (20, "1.10")]),
            offer(3, 0, 1, &[(1, "21.00"), (10, "18.50")]),
            offer(3, 1, 1, &[(1, "22.00")]),
            offer(4, 0, 1, &[(1, "21.00")]),
            offer(5, 0, 1, &[(1, "15.00")]),
            offer(6, 0, 1, &[(1, "15.00")]),
            offer(7, 1, 5, &[(5, "0.333")]),
        ],
        suppliers: vec![
            supplier("Nord", "EUR", "9.50"),
            supplier("West & Co", "USD", "12.00"),
        ],
        dies: Vec::new(),
        attributes: Vec::new(),
    }
}

fn end(net: &str, side: &str, location: &str, key: &str) -> EndRecord {
    let fitting = |kind: &str, part: &str| FittingRecord {
        half: "plug".into(),
        kind: kind.into(),
        part: part.into(),
        qty: 1,
    };
    EndRecord {
        machine: String::new(),
        circuit: "pack to inverter".into(),
        net: net.into(),
        end: side.into(),
        location: location.into(),
        gauge: "70 mm2".into(),
        plug: format!("P-8-{key}"),
        receptacle: Some(format!("R-8-{key}")),
        key: key.into(),
        interface: "M8".into(),
        fittings: vec![
            fitting("ferrule", "F-70"),
            fitting("seal", "S-8"),
            fitting("back-shell", "B-8"),
        ],
    }
}

fn used(part: &str, kind: &str, fitted: Qty, spare: Qty, bought: Qty) -> PartRecord {
    PartRecord {
        part: part.into(),
        kind: kind.into(),
        fitted,
        spare,
        on_hand_used: 0,
        ordered_used: 0,
        bought,
        surplus: bought - fitted - spare,
    }
}

fn line(part: &str, qty: Qty, pack: Qty, unit_price: &str) -> OrderLine {
    OrderLine {
        part: part.into(),
        sku: "N-1".into(),
        qty,
        packs: qty / pack,
        unit_price: money(unit_price),
        line_total: money(unit_price).times(qty),
    }
}

fn order(supplier: &str, currency: &str, lines: Vec<OrderLine>, shipping: &str) -> Order {
    let goods: Money = lines.iter().map(|l| l.line_total).sum();
    Order {
        supplier: supplier.into(),
        currency: Currency(currency.into()),
        lines,
        goods,
        duty: Money::ZERO,
        shipping: money(shipping),
        total: goods + money(shipping),
    }
}

/// The plan of one two-pole circuit from a pack to an inverter.
pub fn plan() -> Plan {
    let nord = vec![
        line("B-8", 4, 1, "4.105"),
        line("F-70", 10, 10, "1.60"),
        line("P-8-A", 2, 1, "21.00"),
        line("P-8-B", 2, 1, "21.00"),
        line("R-8-A", 2, 1, "15.00"),
        line("R-8-B", 2, 1, "15.00"),
    ];
    let west = vec![line("S-8", 5, 5, "0.333")];
    let orders = vec![
        order("Nord", "EUR", nord, "9.50"),
        order("West & Co", "USD", west, "12.00"),
    ];
    let rate = Decimal::new(92, 2);
    let goods = orders[0].goods + orders[1].goods * rate;
    let shipping = orders[0].shipping + orders[1].shipping * rate;
    let total = goods + shipping;
    let tax = total.percent(20.into());
    let none = Money::ZERO;
    Plan {
        schema: SCHEMA.into(),
        project: "Test boat".into(),
        currency: eur(),
        as_of: None,
        prices: None,
        status: Status::Optimal,
        total_bound: total,
        gap_percent: Decimal::ZERO,
        proof: Some(2),
        doubts: 0,
        cost: Cost {
            goods,
            duty: none,
            shipping,
            dies: none,
            lines: none,
            total,
            tax,
            total_with_tax: total + tax,
        },
        spent: none,
        ordered: Vec::new(),
        machines: Vec::new(),
        ends: vec![
            end("HV+", "from", "pack", "A"),
            end("HV+", "to", "inverter", "A"),
            end("HV-", "from", "pack", "B"),
            end("HV-", "to", "inverter", "B"),
        ],
        parts: vec![
            used("B-8", "back-shell", 4, 0, 4),
            used("F-70", "ferrule", 4, 1, 10),
            used("P-8-A", "plug", 2, 0, 2),
            used("P-8-B", "plug", 2, 0, 2),
            used("R-8-A", "receptacle", 2, 0, 2),
            used("R-8-B", "receptacle", 2, 0, 2),
            used("S-8", "seal", 4, 0, 5),
        ],
        orders,
        inputs: vec![InputFile {
            file: "project.toml".into(),
            sha256: "00".into(),
        }],
    }
}

/// The plan of a project without circuits.
pub fn empty_plan() -> Plan {
    let mut plan = plan();
    plan.ends.clear();
    plan.parts.clear();
    plan.orders.clear();
    plan.total_bound = Money::ZERO;
    plan.cost = Cost {
        goods: Money::ZERO,
        duty: Money::ZERO,
        shipping: Money::ZERO,
        dies: Money::ZERO,
        lines: Money::ZERO,
        total: Money::ZERO,
        tax: Money::ZERO,
        total_with_tax: Money::ZERO,
    };
    plan
}

fn circuit() -> Circuit {
    let terminal = |location: &str| Terminal {
        location: location.into(),
        attach: Some("busbar".into()),
        exit: None,
        interface: None,
        key: None,
        wants: Vec::new(),
    };
    Circuit {
        machine: 0,
        copies: 1,
        name: "pack to inverter".into(),
        conductors: vec!["HV+".into(), "HV-".into()],
        cable: Cable::Single,
        from: terminal("pack"),
        to: terminal("inverter"),
        current: Ampere(150.into()),
        voltage: Volt(350.into()),
        gauge: Gauge::Metric(Mm2(70.into())),
        cable_od: Mm(15.into()),
        ip: None,
        colour: None,
        branch: String::new(),
        note: String::new(),
        row: row(),
    }
}

/// The project that [`plan`] is for.
pub fn input() -> Input {
    Input {
        catalog: catalog(),
        settings: Settings {
            name: "Test boat".into(),
            currency: eur(),
            catalog: "catalog".into(),
            prices: None,
            ambient: None,
            max_lead_days: None,
            protection: Implied::Strict,
            tax_percent: Percent(20.into()),
            line_cost: Money::ZERO,
            max_variants: None,
            max_suppliers: None,
            max_dies: None,
            rows: Default::default(),
            exclude_parts: BTreeSet::new(),
            exclude_suppliers: BTreeSet::new(),
            rates: BTreeMap::from([(Currency("USD".into()), Decimal::new(92, 2))]),
            keying: Keying {
                distinct: Distinct::ByLocation,
                ignore_at: BTreeSet::new(),
                keys: BTreeMap::new(),
            },
            spares: BTreeMap::new(),
            budget: None,
            worth_changing: Money::ZERO,
        },
        machines: Vec::new(),
        circuits: vec![circuit()],
        on_hand: OnHand::new(),
        ordered: Vec::new(),
        dies_ordered: Vec::new(),
        as_of: None,
        prices: PriceList::default(),
        files: Vec::new(),
    }
}

/// One ferrule bought at Nord.
pub struct OneLine {
    pub pack: Qty,
    pub breaks: &'static [(Qty, &'static str)],
    pub needed: Qty,
    pub bought: Qty,
    pub free_over: Option<Money>,
    pub min_order: Option<Money>,
}

impl Default for OneLine {
    fn default() -> Self {
        Self {
            pack: 1,
            breaks: &[(1, "1.60")],
            needed: 18,
            bought: 18,
            free_over: None,
            min_order: None,
        }
    }
}

/// A catalog of that one offer and the plan that buys from it.
pub fn one_line(case: &OneLine) -> (Catalog, Plan) {
    let offer = offer(0, 0, case.pack, case.breaks);
    let unit_price = offer.break_at(case.bought).unwrap().unit_price;
    let bought = line("F-70", case.bought, case.pack, &unit_price.to_string());
    let catalog = Catalog {
        parts: vec![part("F-70", "", ferrule(60, 70))],
        offers: vec![offer],
        suppliers: vec![Supplier {
            free_over: case.free_over,
            min_order: case.min_order,
            ..supplier("Nord", "EUR", "9.50")
        }],
        dies: Vec::new(),
        attributes: Vec::new(),
    };
    let mut plan = plan();
    plan.parts = vec![used("F-70", "ferrule", case.needed, 0, case.bought)];
    plan.orders = vec![order("Nord", "EUR", vec![bought], "9.50")];
    (catalog, plan)
}
