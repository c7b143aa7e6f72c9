//! Nothing in a record can be changed without the audit telling, and nothing
//! that stands in one makes it panic.

#[path = "audit_teeth/case.rs"]
mod case;
#[path = "audit_teeth/dress.rs"]
mod dress;
#[path = "common/plan_world.rs"]
mod plan_world;
mod support;
#[path = "audit_teeth/wrong.rs"]
mod wrong;
#[path = "audit_teeth/wrong_offers.rs"]
mod wrong_offers;
#[path = "audit_teeth/wrong_rules.rs"]
mod wrong_rules;

use case::Case;

use couplet::audit::audit;
use couplet::plan::Plan;
use plan_world::{S_1, S_1_BAG, SOUTH, World};
use serde_json::{Value, json};

/// Every place in a document, as a JSON pointer.
fn places(value: &Value, at: &str, out: &mut Vec<String>) {
    out.push(at.to_owned());
    match value {
        Value::Array(items) => {
            for (place, item) in items.iter().enumerate() {
                places(item, &format!("{at}/{place}"), out);
            }
        }
        Value::Object(fields) => {
            for (name, field) in fields {
                places(field, &format!("{at}/{name}"), out);
            }
        }
        _ => {}
    }
}

/// Other values for one place.
fn others(value: &Value) -> Vec<Value> {
    match value {
        Value::Number(n) => match n.as_u64() {
            Some(n) => vec![
                json!(n + 1),
                json!(n.saturating_sub(1)),
                json!(0),
                json!(u64::MAX),
                json!(1e25),
            ],
            None => vec![json!(0.0001), json!(-1.0), json!(1e25)],
        },
        Value::String(text) => {
            let mut others = vec![json!(""), json!(format!("{text}x"))];
            if text.contains('.') && text.parse::<f64>().is_ok() {
                others.extend([
                    json!(format!("{text}1")),
                    json!(format!("-{text}")),
                    json!("79228162514264337593543950335"),
                    json!("-79228162514264337593543950335"),
                ]);
            }
            let codes = ["BS-1", "F-50", "F-70", "P-A", "P-B", "R-A", "R-B", "S-1"];
            let words = [
                "plug",
                "receptacle",
                "seal",
                "from",
                "to",
                "Nord",
                "South",
                "USD",
                "S-S1",
                "S-S1-BAG",
            ];
            others.extend(codes.into_iter().chain(words).map(|w| json!(w)));
            others.push(Value::Null);
            others
        }
        Value::Null => vec![json!(""), json!("R-A"), json!("P-A"), json!("FOREIGN")],
        Value::Array(items) => {
            let mut others = vec![json!([])];
            for place in 0..items.len() {
                let mut without = items.clone();
                let item = without.remove(place);
                others.push(json!(without));
                let mut doubled = items.clone();
                doubled.insert(place, item);
                others.push(json!(doubled));
                let mut turned = items.clone();
                turned.rotate_left(place);
                others.push(json!(turned));
            }
            others
        }
        _ => vec![Value::Null],
    }
}

/// A world with each thing that a record can say: a built-in receptacle, two skus of
/// one part, orders of both.
fn whole_world() -> World {
    let mut world = World::new();
    world.build_in(4);
    world.sell_bags();
    world.buy(S_1_BAG, 1);
    for (sku, qty) in [("S-S1", 2), ("S-S1-BAG", 1)] {
        world.order(S_1, SOUTH, qty, "1.00", "0.20");
        world.input.ordered.last_mut().unwrap().sku = sku.to_owned();
    }
    world
}

#[test]
fn every_single_change_of_a_record_is_told() {
    for world in [World::new(), whole_world()] {
        every_change_is_told(&world);
    }
}

fn every_change_is_told(world: &World) {
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    let document = serde_json::to_value(&plan).unwrap();
    let mut at = Vec::new();
    places(&document, "", &mut at);
    let mut changed = 0;
    for place in at.iter().filter(|place| !place.is_empty()) {
        for other in others(document.pointer(place).unwrap()) {
            let mut document = document.clone();
            *document.pointer_mut(place).unwrap() = other.clone();
            // What is no record any more is refused by the reader.
            let Ok(wrong) = serde_json::from_value::<Plan>(document) else {
                continue;
            };
            // How many runs proved a plan is the solver's word: no audit can tell.
            let is_a_count = matches!(wrong.proof, None | Some(1 | 2));
            if wrong == plan || (place == "/proof" && is_a_count) {
                continue;
            }
            changed += 1;
            let found = audit(&world.input, &wrong);
            assert!(!found.is_empty(), "{place} = {other}");
            for finding in found {
                let text = finding.to_string();
                assert!(!text.is_empty() && !text.ends_with('.'), "{finding:?}");
            }
        }
    }
    // 5 ends, 7 parts, 2 orders: far more than a thousand changes.
    assert!(changed > 1000, "{changed}");
}

#[test]
fn several_changes_at_once_never_panic() {
    let world = whole_world();
    let document = serde_json::to_value(world.plan()).unwrap();
    let mut at = Vec::new();
    places(&document, "", &mut at);
    at.retain(|place| !place.is_empty());
    let mut random = fastrand::Rng::with_seed(7);
    let mut read = 0;
    for _ in 0..5_000 {
        let mut document = document.clone();
        for _ in 0..random.usize(2..8) {
            let place = &at[random.usize(..at.len())];
            // An earlier change may have removed the place.
            if let Some(value) = document.pointer_mut(place) {
                let others = others(value);
                *value = others[random.usize(..others.len())].clone();
            }
        }
        if let Ok(plan) = serde_json::from_value::<Plan>(document) {
            read += 1;
            audit(&world.input, &plan);
        }
    }
    assert!(read > 500, "{read}");
}

/// Projects that the kinds of wrong plans are made on.
const SEEDS: u64 = 120;

/// Every kind of wrong plan, at a random place of each random plan: the audit
/// names it, and names nothing that is not its consequence.
#[test]
fn every_kind_of_wrong_plan_is_named() {
    let cases: Vec<(u64, Case)> = (0..SEEDS)
        .filter_map(|seed| Some((seed, Case::new(seed)?)))
        .collect();
    assert!(cases.len() > 60, "{} plans", cases.len());
    let kinds = [wrong::ALL, wrong_rules::ALL, wrong_offers::ALL];
    for (kind, make) in kinds.into_iter().flatten() {
        let mut made = 0;
        for (seed, right) in &cases {
            let mut case = right.clone();
            let Some(expect) = make(&mut case) else {
                continue;
            };
            made += 1;
            let found = case.audit();
            for (n, must) in expect.must.iter().enumerate() {
                let is_named = found.iter().any(must);
                assert!(is_named, "{kind} ({n}), seed {seed}: {found:#?}");
            }
            for finding in &found {
                let is_expected = expect.must.iter().any(|m| m(finding)) || (expect.may)(finding);
                assert!(is_expected, "{kind}, seed {seed}: {finding}\n{found:#?}");
            }
        }
        assert!(made >= 5, "{kind}: {made} made");
    }
}

/// The audit shares no code with what makes a plan.
#[test]
fn the_audit_knows_neither_the_fit_nor_the_model() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/audit");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        for word in [
            "crate::fit",
            "crate::model",
            "crate::solve",
            "crate::refusal",
            "plan::record",
            "break_at",
            ".needs(",
            ".rating(",
            "rated_on(",
            ".allows(",
            ".bodies()",
            ".nets()",
            ".is_built_in()",
            "attributes_on(",
            "has_several(",
        ] {
            assert!(!text.contains(word), "{} has {word}", path.display());
        }
        files += 1;
    }
    assert!(files > 5);
}
