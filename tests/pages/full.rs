//! A project with something of everything that stands in a document, a plan for
//! it, and what the tests themselves know of both.

use crate::any_plan::{any_plan, generated};
use couplet::catalog::{Catalog, Fitting, PartId, Spec, SupplierId};
use couplet::diag::Row;
use couplet::input::Input;
use couplet::plan::{EndRecord, Plan};
use couplet::project::{self, Circuit, Ordered, Terminal};
use couplet::units::Money;
use jiff::civil::date;
use rust_decimal::{Decimal, RoundingStrategy};

/// Seeds and numbers of circuits. Together they have every kind of end.
pub const ALL: [(u64, usize); 3] = [(1, 8), (2, 30), (9, 16)];

/// The generated project, with descriptions, a cost for each variant, seals that
/// come in a box, stock on hand and orders; bought is far more than is needed.
pub fn full(seed: u64, circuits: usize) -> (Input, Plan) {
    let (mut input, plan) = generated(seed, circuits);
    for (place, part) in input.catalog.parts.iter_mut().enumerate() {
        part.description = format!("thing {}", part.code);
        if let Spec::Body(body) = &mut part.spec
            && body.rear.is_some()
            && place % 3 == 0
        {
            body.includes = vec![Fitting::Seal];
        }
    }
    for (place, die) in input.catalog.dies.iter_mut().enumerate() {
        die.description = format!("die {place}");
        die.owned = place % 2 == 0;
    }
    input.settings.line_cost = "0.355".parse().expect("money");
    for (place, record) in plan.parts.iter().enumerate() {
        let part = input.catalog.find(&record.part).expect("a part");
        let qty = 1 + place as u64 % 5;
        if place % 4 < 2 {
            input.on_hand.insert(part, qty);
        }
        if place % 4 > 0 && place % 4 < 3 {
            input.ordered.push(ordered(part, qty + 1, place));
        }
    }
    let plan = any_plan(&input);
    (input, plan)
}

fn ordered(part: PartId, qty: u64, place: usize) -> Ordered {
    Ordered {
        sku: String::new(),
        note: String::new(),
        part,
        supplier: SupplierId(place as u32 % 3),
        qty,
        unit_price: "1.375".parse().expect("money"),
        ordered_on: date(2026, 1, 2),
        received: 0,
        charges: "2.5".parse().expect("money"),
        row: Row {
            file: "ordered.csv".into(),
            line: place as u64 + 2,
        },
    }
}

/// To the cent, half away from zero.
pub fn cents(amount: Money) -> String {
    let half_up = RoundingStrategy::MidpointAwayFromZero;
    format!("{:.2}", amount.0.round_dp_with_strategy(2, half_up))
}

/// A shown amount.
pub fn dec(text: &str) -> Decimal {
    Decimal::from_str_exact(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}

/// A shown amount is less than a cent off the exact one, and in whole cents.
pub fn is_near(shown: &str, exact: Money) -> bool {
    let shown = dec(shown);
    shown.scale() == 2 && (shown - exact.0).abs() < Decimal::new(1, 2)
}

/// What the catalog says of a part.
pub fn description(catalog: &Catalog, code: &str) -> String {
    let mut parts = catalog.parts.iter().filter(|part| part.code == code);
    parts.next().expect("a part").description.clone()
}

/// One end of a cable as the circuits have it, with the record's pair.
pub struct End<'a> {
    /// Place of the circuit in its file, from 1.
    pub number: usize,
    pub circuit: &'a Circuit,
    pub net: String,
    pub side: &'static str,
    pub here: &'a Terminal,
    pub there: &'a Terminal,
    /// None where no connector is wanted.
    pub pair: Option<&'a EndRecord>,
}

/// Both ends of each cable, in the order of the circuits.
pub fn ends<'a>(input: &'a Input, plan: &'a Plan) -> Vec<End<'a>> {
    let mut ends = Vec::new();
    for (place, circuit) in input.circuits.iter().enumerate() {
        let nets = match circuit.cable {
            project::Cable::Single => circuit.conductors.clone(),
            project::Cable::Multi => vec![circuit.conductors.join(" ")],
        };
        for net in nets {
            for (side, here, there) in [
                ("from", &circuit.from, &circuit.to),
                ("to", &circuit.to, &circuit.from),
            ] {
                let is_it = |end: &&EndRecord| {
                    (&end.circuit, &end.net, end.end.as_str()) == (&circuit.name, &net, side)
                };
                let pair = plan.ends.iter().find(is_it);
                assert_eq!(pair.is_some(), here.attach.is_some());
                ends.push(End {
                    number: place + 1,
                    circuit,
                    net: net.clone(),
                    side,
                    here,
                    there,
                    pair,
                });
            }
        }
    }
    let pairs = ends.iter().filter(|end| end.pair.is_some()).count();
    assert_eq!(pairs, plan.ends.len());
    ends
}

/// `1 HV+ from`.
pub fn label(end: &End) -> String {
    format!("{} {} {}", end.number, end.net, end.side)
}

/// Interface and key, where there is one.
pub fn mating(pair: &EndRecord) -> String {
    let words = [pair.interface.as_str(), pair.key.as_str()];
    words.join(" ").trim().to_owned()
}

/// The plans hold what the documents are to be looked at for.
#[test]
fn there_is_something_of_everything() {
    let plans: Vec<(Input, Plan)> = ALL.map(|(seed, circuits)| full(seed, circuits)).into();
    let any = |is: &dyn Fn(&Input, &Plan) -> bool| plans.iter().any(|(i, p)| is(i, p));
    let part =
        |is: &dyn Fn(&couplet::plan::PartRecord) -> bool| any(&|_, plan| plan.parts.iter().any(is));
    assert!(part(&|p| p.on_hand_used > 0 && p.ordered_used > 0));
    assert!(part(&|p| p.spare > 0 && p.surplus > 0) && part(&|p| p.spare == 0));
    let fitting = |is: &dyn Fn(&couplet::plan::FittingRecord) -> bool| {
        any(&|_, plan| plan.ends.iter().flat_map(|end| &end.fittings).any(is))
    };
    assert!(fitting(&|f| f.half == "receptacle") && fitting(&|f| f.qty > 1));
    assert!(any(&|input, _| input
        .circuits
        .iter()
        .any(|c| c.to.attach.is_none())));
    let multi = |c: &Circuit| c.cable == project::Cable::Multi;
    assert!(any(&|input, _| input.circuits.iter().any(multi)));
    for (_, plan) in &plans {
        let cost = &plan.cost;
        for term in [cost.goods, cost.dies, cost.lines, cost.tax, plan.spent] {
            assert!(term.is_positive());
        }
        assert_ne!(cost.total, cost.total_with_tax);
    }
    assert!(any(&|_, plan| plan.cost.duty.is_positive()));
    assert!(any(&|_, plan| plan.cost.shipping.is_positive()));
}
