//! Conflicts between limits: the exact words for each kind, and that what is
//! named is a minimal conflict and what is said to help does.

mod support;

use couplet::catalog::{BUILT_IN, Body, Kind, SupplierId};
use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::{Limit, Progress};
use couplet::model::{self, Outcome, Question};
use couplet::project::{Circuit, Distinct, Machine, Ordered, Per, Settings, Spares, circuit_name};
use couplet::report;
use couplet::study::conflict::{
    Change, Conflict, Easing, Group, Member, changed, find, groups, relaxed,
};
use couplet::units::{Money, Percent, Qty};
use jiff::civil::date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use support::brute::{self, Best};
use support::build::{self, Shop, circuit, ends, list, plug, receptacle};
use support::machines::purchase;
use support::random;

const LONGEST: Duration = Duration::from_secs(300);

fn limit() -> Limit {
    Limit::default().within(LONGEST)
}

fn conflict(input: &Input) -> Conflict {
    let maker = |input: &Input| fit(input).ok();
    find(input, &maker, &limit())
        .expect("the solver runs")
        .expect("every end has a set")
}

/// All lines but the last, which tells the time.
fn told(input: &Input) -> String {
    let mut lines = report::conflict::lines(input, &conflict(input));
    let last = lines.pop().expect("a line");
    assert!(last.starts_with("searched for "), "{last}");
    lines.join("\n")
}

/// Has pieces of a part ordered, from the first supplier.
fn order(input: &mut Input, code: &str, qty: Qty) {
    let part = build::id_of(&input.catalog, code);
    input.ordered.push(Ordered {
        sku: String::new(),
        note: String::new(),
        part,
        supplier: SupplierId(0),
        qty,
        unit_price: Money::ZERO,
        ordered_on: date(2026, 3, 1),
        received: 0,
        charges: Money::ZERO,
        row: build::row("ordered.csv", 0),
    });
}

/// Nets at `motor` with so many keys of face F on sale.
fn motor(nets: &str, keys: &[&str]) -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for key in keys {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, "5")]));
        }
    }
    shop.circuits.push(circuit("traction", nets, "motor"));
    shop
}

#[test]
fn keys_at_a_location() {
    assert_eq!(
        told(&motor("U V W", &["A", "B"]).finish()),
        "\
this limit alone leaves no plan:
  keying at motor: 3 nets (U, V and W; circuits.csv:2) need 3 keys, but only 2 fit (F A and F B)
    would help: 1 more key of F that fits at motor
proven: this limit alone rules every plan out"
    );
}

#[test]
fn keys_everywhere() {
    let mut shop = motor("U V", &["A", "B"]);
    shop.circuits.push(circuit("heater", "H+", "cabin"));
    shop.circuits[1].row.line = 3;
    shop.settings.keying.distinct = Distinct::Everywhere;
    shop.settings.rows.distinct = Some(build::row("project.toml", 19));
    assert_eq!(
        told(&shop.finish()),
        "\
these 3 limits cannot all hold:
  keying at cabin: H+ (circuits.csv:3) never shares interface and key
    would help: 1 more key of F that fits at cabin
  keying at motor: U and V (circuits.csv:2) never share interface and key
    would help: 1 more key of F that fits at motor
  keying.distinct = \"everywhere\" (project.toml:21): 3 nets (H+, U and V; circuits.csv:2 and circuits.csv:3) need 3 keys, but only 2 fit (F A and F B)
    would help: 1 more key of F, or keying.distinct = \"by-location\"
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn stock() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "5")]).stock(2));
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  stock of P at Nord: 2 (prices.csv:2); 3 are needed, spares included, and 2 can be had
    would help: 3 of P in stock at Nord
proven: this limit alone rules every plan out"
    );
}

#[test]
fn on_hand() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    shop.on_hand.insert("R".to_owned(), 2);
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  R: 2 on hand and no offer in the price list; 3 are needed, spares included, and 2 can be had
    would help: 3 of R on hand
proven: this limit alone rules every plan out"
    );
}

#[test]
fn on_hand_and_ordered() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    shop.on_hand.insert("R".to_owned(), 1);
    let mut input = shop.finish();
    order(&mut input, "R", 1);
    assert_eq!(
        told(&input),
        "\
this limit alone leaves no plan:
  R: 1 on hand, 1 ordered and no offer in the price list; 3 are needed, spares included, and 2 can be had
    would help: 2 of R on hand
proven: this limit alone rules every plan out"
    );
    // None on hand.
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    shop.on_hand.clear();
    let mut input = shop.finish();
    order(&mut input, "R", 2);
    assert_eq!(
        told(&input),
        "\
this limit alone leaves no plan:
  R: 0 on hand, 2 ordered and no offer in the price list; 3 are needed, spares included, and 2 can be had
    would help: 1 of R on hand
proven: this limit alone rules every plan out"
    );
}

/// What is ordered is there, so neither the parts nor their suppliers are short.
#[test]
fn what_is_ordered_is_no_shortage() {
    let mut shop = motor("U V W", &["A", "B"]);
    shop.supplier("South", "0", None, None);
    shop.circuits.push(circuit("heater", "H+", "cabin"));
    shop.circuits[1].from.attach = Some("panel".to_owned());
    shop.body(
        "Q",
        Body {
            attach: "panel".to_owned(),
            ..receptacle("F", "A")
        },
    );
    shop.offer("Q", "South", list(&[(1, "5")]));
    shop.settings.max_suppliers = Some(1);
    let mut input = shop.finish();
    order(&mut input, "Q", 1);
    let keying = "\
this limit alone leaves no plan:
  keying at motor: 3 nets (U, V and W; circuits.csv:2) need 3 keys, but only 2 fit (F A and F B)
    would help: 1 more key of F that fits at motor
proven: this limit alone rules every plan out";
    assert_eq!(told(&input), keying);
    // Nobody sells it any more.
    let part = build::id_of(&input.catalog, "Q");
    input.catalog.offers.retain(|offer| offer.part != part);
    assert_eq!(told(&input), keying);
}

/// Spares in number beyond any that are on hand.
#[test]
fn more_is_needed_than_anybody_has_on_hand() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    let rule = Spares {
        per: Per::Part,
        percent: Percent(Decimal::ZERO),
        minimum: 1_000_000_000,
    };
    shop.settings.spares.insert(Kind::Receptacle, rule);
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  R: 100 on hand and no offer in the price list; 1000000003 are needed, spares included, and 100 can be had
    would help: 1000000003 of R on hand
proven: this limit alone rules every plan out"
    );
}

#[test]
fn suppliers() {
    let mut shop = ends(2);
    shop.on_hand.clear();
    shop.supplier("South", "0", None, None);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    shop.offer("R", "South", list(&[(1, "5")]));
    shop.settings.max_suppliers = Some(1);
    shop.settings.rows.max_suppliers = Some(build::row("project.toml", 6));
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  max_suppliers = 1 (project.toml:8), but there is no other way than P from Nord and R from South
    would help: max_suppliers = 2 instead of 1
proven: this limit alone rules every plan out"
    );
}

#[test]
fn variants() {
    // Two nets at one location need two keys, so four bodies.
    let mut shop = motor("U V", &["A", "B", "C"]);
    shop.settings.max_variants = Some(3);
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  keying at motor: U and V (circuits.csv:2) never share interface and key
    more keys do not help here; ease another of these limits
  max_variants = 3
    would help: max_variants = 4 instead of 3
proven: leave out any one of these limits and the others can hold"
    );
    let mut shop = ends(2);
    shop.offer("P", "Nord", list(&[(1, "5")]));
    shop.settings.max_variants = Some(1);
    shop.settings.rows.max_variants = Some(build::row("project.toml", 5));
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  max_variants = 1 (project.toml:7), but 2 parts cannot be done without: P and R
    would help: max_variants = 2 instead of 1
proven: this limit alone rules every plan out"
    );
}

#[test]
fn least_order() {
    let mut shop = ends(2);
    shop.supplier("Nord", "0", None, Some("50"));
    shop.offer("P", "Nord", list(&[(1, "5.25")]).stock(4));
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  stock of P at Nord: 4 (prices.csv:2)
    would help: 10 of P in stock at Nord
  least order of Nord: 50.00 EUR (suppliers.csv:3); P is sold there alone, and all that can be bought there comes to 21.00 EUR
    would help: a least order of 21.00 EUR
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn lead_time() {
    let mut shop = ends(2);
    shop.supplier("South", "0", None, None);
    shop.supplier("West", "0", None, None);
    shop.offer("P", "Nord", list(&[(1, "5")]).stock(1).lead(3));
    shop.offer("P", "South", list(&[(1, "4")]).lead(60));
    shop.offer("P", "West", list(&[(1, "4")]).lead(45));
    shop.settings.max_lead_days = Some(30);
    shop.settings.rows.max_lead_days = Some(build::row("project.toml", 4));
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  stock of P at Nord: 1 (prices.csv:2); 2 are needed, spares included, and 1 can be had
    would help: 2 of P in stock at Nord
  max_lead_days = 30 (project.toml:6) leaves out 2 offers
    would help: max_lead_days = 45 instead of 30
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn excluded_parts() {
    let mut shop = ends(2);
    shop.body("P2", plug("F", "A"));
    shop.offer("P", "Nord", list(&[(1, "5")]).stock(1));
    shop.offer("P2", "Nord", list(&[(1, "6")]));
    shop.settings.exclude_parts.insert("P2".to_owned());
    let rows = &mut shop.settings.rows.exclude_parts;
    rows.insert("P2".to_owned(), build::row("project.toml", 9));
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  stock of P at Nord: 1 (prices.csv:2); 2 are needed, spares included, and 1 can be had
    would help: 2 of P in stock at Nord
  exclude_parts leaves out P2 (project.toml:11, bodies.csv:3)
    would help: P2 out of exclude_parts
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn excluded_suppliers() {
    let mut shop = ends(2);
    shop.supplier("South", "0", None, None);
    shop.offer("P", "Nord", list(&[(1, "5")]).stock(1));
    shop.offer("P", "South", list(&[(1, "6")]));
    shop.settings.exclude_suppliers.insert("South".to_owned());
    let rows = &mut shop.settings.rows.exclude_suppliers;
    rows.insert("South".to_owned(), build::row("project.toml", 10));
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  stock of P at Nord: 1 (prices.csv:2); 2 are needed, spares included, and 1 can be had
    would help: 2 of P in stock at Nord
  exclude_suppliers leaves out South (project.toml:12, suppliers.csv:3)
    would help: South out of exclude_suppliers
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn pins() {
    let mut shop = motor("U", &["A", "B"]);
    shop.circuits.push(circuit("pump", "V", "motor"));
    shop.circuits[1].row.line = 3;
    for circuit in &mut shop.circuits {
        circuit.from.key = Some("A".to_owned());
    }
    assert_eq!(
        told(&shop.finish()),
        "\
these 3 limits cannot all hold:
  keying at motor: 2 nets (U and V; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F A)
    more keys do not help here; ease another of these limits
  from_key of circuit traction at motor: A (circuits.csv:2)
    would help: from_key = B, or empty
  from_key of circuit pump at motor: A (circuits.csv:3)
    would help: from_key = B, or empty
proven: leave out any one of these limits and the others can hold"
    );
}

#[test]
fn a_pin_of_two_nets_has_no_one_key_instead() {
    let mut shop = motor("U V", &["A", "B"]);
    shop.circuits[0].from.key = Some("A".to_owned());
    let said = told(&shop.finish());
    assert!(said.contains("would help: from_key left empty\n"), "{said}");
}

/// Circuits of HV+ at the hub, each on a branch of its own, with these keys on sale.
fn hub(branches: &[&str], keys: &[&str]) -> Shop {
    let mut shop = motor("HV+", keys);
    shop.circuits.clear();
    for (place, branch) in branches.iter().enumerate() {
        let mut circuit = circuit(&format!("c{place}"), "HV+", "hub");
        circuit.branch = (*branch).to_owned();
        circuit.row.line = place as u64 + 2;
        shop.circuits.push(circuit);
    }
    shop
}

/// The keys that a net may have, in line 12 of project.toml.
fn net_keys(shop: &mut Shop, net: &str, keys: &[&str]) {
    let keys = keys.iter().map(|key| (*key).to_owned()).collect();
    shop.settings.keying.keys.insert(net.to_owned(), keys);
    let row = build::row("project.toml", 10);
    shop.settings.rows.net_keys.insert(net.to_owned(), row);
}

#[test]
fn branches_of_one_net() {
    let mut shop = hub(&["drive", "aux", ""], &["A", "B"]);
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  keying at hub: 3 nets, counted by branch (HV+ of no branch, HV+ of branch aux and HV+ of branch drive; circuits.csv:2, circuits.csv:3 and circuits.csv:4) need 3 keys, but only 2 fit (F A and F B)
    would help: 1 more key of F that fits at hub
proven: this limit alone rules every plan out"
    );
    // Two of them on one branch share a key.
    shop = hub(&["drive", "", ""], &["A", "B"]);
    assert!(has_plan(&shop.finish()));
    shop = hub(&["drive", "aux", "drive"], &["A", "B"]);
    assert!(has_plan(&shop.finish()));
}

#[test]
fn keys_of_a_net() {
    let mut shop = hub(&["drive", "aux"], &["A", "B", "C"]);
    net_keys(&mut shop, "HV+", &["B"]);
    // B of HV-, so C is the lesser change.
    net_keys(&mut shop, "HV-", &["A"]);
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  keying at hub: 2 nets, counted by branch (HV+ of branch aux and HV+ of branch drive; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F B)
    would help: 1 more key of F that fits at hub, also in keying.keys of HV+
  net HV+ keeps to key B (project.toml:12)
    would help: key C as well in keying.keys of HV+
proven: leave out any one of these limits and the others can hold"
    );
    // One more key in the list is enough.
    let mut shop = hub(&["drive", "aux"], &["A", "B", "C"]);
    net_keys(&mut shop, "HV+", &["B", "C"]);
    assert!(has_plan(&shop.finish()));
}

#[test]
fn two_more_keys_of_a_net() {
    let mut shop = hub(&["drive", "aux", ""], &["A", "B", "C", "D"]);
    net_keys(&mut shop, "HV+", &["C"]);
    let said = told(&shop.finish());
    let help = "would help: keys A and B as well in keying.keys of HV+\n";
    assert!(said.contains(help), "{said}");
}

/// Where the list is as long as the catalog, a further key has to be in the list too.
#[test]
fn a_list_with_every_key_that_there_is() {
    let mut shop = hub(&["drive", "aux", ""], &["A", "B"]);
    net_keys(&mut shop, "HV+", &["A", "B"]);
    assert_eq!(
        told(&shop.finish()),
        "\
this limit alone leaves no plan:
  keying at hub: 3 nets, counted by branch (HV+ of no branch, HV+ of branch aux and HV+ of branch drive; circuits.csv:2, circuits.csv:3 and circuits.csv:4) need 3 keys, but only 2 fit (F A and F B)
    would help: 1 more key of F that fits at hub, also in keying.keys of HV+
proven: this limit alone rules every plan out"
    );
}

#[test]
fn interfaces_that_ends_ask_for() {
    let mut shop = motor("U", &["A"]);
    for (half, body) in [("P", plug("G", "A")), ("R", receptacle("G", "A"))] {
        shop.body(&format!("{half}G"), body);
        shop.offer(&format!("{half}G"), "Nord", list(&[(1, "5")]));
    }
    shop.circuits.push(circuit("pump", "V", "motor"));
    shop.circuits[1].row.line = 3;
    for circuit in &mut shop.circuits {
        circuit.from.interface = Some("F".to_owned());
    }
    assert_eq!(
        told(&shop.finish()),
        "\
these 3 limits cannot all hold:
  keying at motor: 2 nets (U and V; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F A)
    would help: 1 more key of F that fits at motor
  from_interface of circuit traction at motor: F (circuits.csv:2)
    would help: from_interface = G, or empty
  from_interface of circuit pump at motor: F (circuits.csv:3)
    would help: from_interface = G, or empty
proven: leave out any one of these limits and the others can hold"
    );
}

/// What a device has built in is no limit, and no further key changes it: to leave the
/// location out of the rule is all that is left, and is said to switch the rule off.
#[test]
fn leaving_a_location_out_comes_last() {
    let mut shop = motor("U", &["A", "B"]);
    shop.circuits.push(circuit("pump", "V", "motor"));
    shop.circuits[1].row.line = 3;
    for circuit in &mut shop.circuits {
        circuit.from.attach = Some(BUILT_IN.to_owned());
        circuit.from.interface = Some("F".to_owned());
        circuit.from.key = Some("A".to_owned());
    }
    let both = "\
this limit alone leaves no plan:
  keying at motor: 2 nets (U and V; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F A)
    would help: motor in keying.ignore_at, and nothing else that was tried; it switches the keying rule off at motor, so plugs can be swapped there
proven: this limit alone rules every plan out";
    assert_eq!(told(&shop.finish()), both);
    // Of one that is pinned, the pin can be lifted, so the rule stays.
    let mut shop = motor("U", &["A", "B"]);
    shop.circuits.push(circuit("pump", "V", "motor"));
    shop.circuits[1].row.line = 3;
    shop.circuits[0].from.attach = Some(BUILT_IN.to_owned());
    shop.circuits[0].from.interface = Some("F".to_owned());
    for circuit in &mut shop.circuits {
        circuit.from.key = Some("A".to_owned());
    }
    assert_eq!(
        told(&shop.finish()),
        "\
these two limits cannot both hold:
  keying at motor: 2 nets (U and V; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F A)
    more keys do not help here; ease another of these limits
  from_key of circuit pump at motor: A (circuits.csv:3)
    would help: from_key = B, or empty
proven: leave out any one of these limits and the others can hold"
    );
}

/// A further key is none of a built-in receptacle without keying.
#[test]
fn a_built_in_receptacle_without_keying_takes_no_further_key() {
    let mut shop = motor("U", &[""]);
    shop.circuits.push(circuit("pump", "V", "motor"));
    shop.circuits[1].row.line = 3;
    shop.circuits[0].from.attach = Some(BUILT_IN.to_owned());
    shop.circuits[0].from.interface = Some("F".to_owned());
    let with_one = "\
this limit alone leaves no plan:
  keying at motor: 2 nets (U and V; circuits.csv:2 and circuits.csv:3) need 2 keys, but only 1 fits (F)
    would help: 1 more key of F that fits at motor
proven: this limit alone rules every plan out";
    assert_eq!(told(&shop.finish()), with_one);
}

/// Single pieces and bags are two offers of one supplier.
#[test]
fn stock_of_two_offers_of_one_supplier() {
    let mut shop = ends(9);
    shop.offer("P", "Nord", list(&[(1, "5")]).stock(2));
    let mut input = shop.finish();
    let mut bag = input.catalog.offers[0].clone();
    (bag.sku, bag.stock) = ("bag".to_owned(), Some(6));
    bag.breaks[0].row.line = 3;
    input.catalog.offers.push(bag);
    assert_eq!(
        told(&input),
        "\
these two limits cannot both hold:
  stock of P at Nord (sku Nord-P): 2 (prices.csv:2); 9 are needed, spares included, and 8 can be had
    would help: 3 of P in stock at Nord (sku Nord-P)
  stock of P at Nord (sku bag): 6 (prices.csv:3); 9 are needed, spares included, and 8 can be had
    would help: 7 of P in stock at Nord (sku bag)
proven: leave out any one of these limits and the others can hold"
    );
}

/// The motor of [`motor`] in two machines of two projects, with rules of their own.
fn two_motors(keys: &[&str]) -> Input {
    let mut shop = motor("U V", keys);
    let again = shop.circuits[0].clone();
    shop.circuits.push(again);
    let mut input = shop.finish();
    let names = [("ferry", 5), ("tender", 2)];
    let machine = |(name, count): (&str, Qty)| Machine {
        name: name.to_owned(),
        project: format!("../{name}"),
        count,
        settings: input.settings.clone(),
        row: build::row("purchase.toml", 0),
    };
    input.machines = names.map(machine).to_vec();
    for (machine, circuit) in input.circuits.iter_mut().enumerate() {
        (circuit.machine, circuit.copies) = (machine, input.machines[machine].count);
        circuit.name = circuit_name(&input.machines[machine].name, &circuit.name);
    }
    input
}

/// Only the machine that cannot be built is named, and its own rows.
#[test]
fn limits_are_those_of_a_machine() {
    let mut input = two_motors(&["A", "B"]);
    assert!(has_plan(&input));
    let lists = &mut input.rules_mut(1).keying.keys;
    for net in ["U", "V"] {
        lists.insert(net.to_owned(), ["A".to_owned()].into());
    }
    let said = told(&input);
    assert_eq!(
        said.lines().filter(|line| line.starts_with("  ")).count(),
        6,
        "{said}"
    );
    for line in [
        "  keying at motor of tender: 2 nets (U and V; ",
        "  net U of tender keeps to key A\n    would help: key B as well in keying.keys of U of tender\n",
        "  net V of tender keeps to key A\n    would help: key B as well in keying.keys of V of tender\n",
    ] {
        assert!(said.contains(line), "{line}: {said}");
    }
    assert!(!said.contains("ferry"), "{said}");

    // The same lists in the ferry, with keys everywhere.
    let mut input = two_motors(&["A"]);
    for net in [0, 1] {
        input.rules_mut(net).keying.distinct = Distinct::Off;
    }
    input.rules_mut(0).keying.distinct = Distinct::Everywhere;
    let said = told(&input);
    assert!(said.contains("keying at motor of ferry: 2 nets"), "{said}");
    assert!(
        said.contains("1 more key of F that fits at motor of ferry"),
        "{said}"
    );
    assert!(!said.contains("tender"), "{said}");
}

/// What all copies need is counted: five ferries and two tenders with two ends each.
#[test]
fn stock_is_for_all_copies() {
    let mut input = two_motors(&["A", "B"]);
    let plugs: Vec<usize> = (0..input.catalog.offers.len())
        .filter(|place| {
            let part = input.catalog.offers[*place].part;
            input.catalog.part(part).code == "PA"
        })
        .collect();
    for machine in [0, 1] {
        let lists = &mut input.rules_mut(machine).keying.keys;
        lists.insert("U".to_owned(), ["A".to_owned()].into());
    }
    let ends = fit(&input).expect("every end has a set").ends;
    let needed: Qty = (ends.iter().filter(|end| end.net == "U"))
        .map(|end| end.copies)
        .sum();
    assert!(needed.is_multiple_of(7), "{needed}");
    for place in &plugs {
        input.catalog.offers[*place].stock = Some(needed);
    }
    assert!(has_plan(&input));
    for place in plugs {
        input.catalog.offers[place].stock = Some(needed - 1);
    }
    let said = told(&input);
    let of = format!(
        "; {needed} are needed, spares included, and {} can be had",
        needed - 1
    );
    assert!(said.contains(&of), "{said}");
    assert!(
        said.contains(&format!("would help: {needed} of PA in stock")),
        "{said}"
    );
    assert!(said.contains("net U of ferry keeps to key A"), "{said}");
}

#[test]
fn progress_says_which_group_of_how_many() {
    let input = motor("U V W", &["A", "B"]).finish();
    let maker = |input: &Input| fit(input).ok();
    let said: Arc<Mutex<Vec<String>>> = Arc::default();
    let heard = Arc::clone(&said);
    let tell = move |now: &Progress| {
        let text = report::conflict::progress(now, LONGEST);
        heard.lock().unwrap().push(text);
    };
    find(&input, &maker, &limit().told_to(tell)).expect("the solver runs");
    let mut said = said.lock().unwrap().clone();
    said.dedup();
    assert_eq!(
        said.first().map(String::as_str),
        Some(
            "no plan holds all limits; looking for the smallest conflict: group 1 of 1, \
             trial 1, 300 s at most"
        )
    );
    let last = said.last().expect("a line");
    let easing = "no plan holds all limits; looking for the smallest change that helps: \
                  limit 1 of 1, trial ";
    assert!(last.starts_with(easing), "{last}");
}

#[test]
fn a_search_that_is_stopped_claims_nothing() {
    let maker = |input: &Input| fit(input).ok();
    let limit = limit();
    limit.stop.ask();
    let input = motor("U V W", &["A", "B"]).finish();
    let found = find(&input, &maker, &limit).unwrap().unwrap();
    assert!(!found.is_minimal);
    let lines = report::conflict::lines(&input, &found).join("\n");
    let proof = "not proven smallest: the search was stopped, so perhaps not all of these limits are needed";
    assert!(lines.contains(proof), "{lines}");
    let help = "what would help was not found before the search was stopped";
    assert!(lines.contains(help), "{lines}");
    assert!(!lines.contains("time"), "{lines}");
}

#[test]
fn a_second_conflict_is_told() {
    let mut shop = motor("U V W", &["A", "B"]);
    shop.circuits.push(circuit("far", "X Y Z", "tail"));
    let input = shop.finish();
    let said = told(&input);
    assert!(
        said.starts_with("this limit alone leaves no plan:\n  keying at "),
        "{said}"
    );
    let other = "that fits at tail (settles this conflict; there is another)";
    assert!(said.contains(other), "{said}");
}

#[test]
fn without_time_nothing_is_claimed() {
    let maker = |input: &Input| fit(input).ok();
    let limit = Limit::default().within(Duration::ZERO);
    let input = motor("U V W", &["A", "B"]).finish();
    let found = find(&input, &maker, &limit).unwrap().unwrap();
    assert!(!found.is_minimal);
    assert_eq!(found.members.len(), groups(&input).len());
    let lines = report::conflict::lines(&input, &found);
    assert!(
        lines
            .iter()
            .any(|l| l.starts_with("not proven smallest: the time ran out"))
    );
    assert!(lines[2].ends_with("what would help was not found in time"));
    assert!(lines.iter().all(|l| !l.contains("would help:")));
}

/// True if enumeration finds a plan; the search where that is too long.
fn has_plan(input: &Input) -> bool {
    if brute::size(input) <= 300 {
        return brute::best(input).is_some();
    }
    let Ok(fit) = fit(input) else { return false };
    let any = Question {
        ties: false,
        ..Question::default()
    };
    match model::solve(input, &fit, &any, &Limit::default()).expect("the solver runs") {
        Outcome::Found { .. } => true,
        Outcome::Infeasible => false,
        Outcome::Unknown => panic!("no limit was set"),
    }
}

/// A random project that is tightened until it has no plan, though each end
/// has a set.
fn tightened(seed: u64, (mut input, mut has_plan): (Input, bool)) -> Option<Input> {
    let mut rng = fastrand::Rng::with_seed(seed ^ 0x5eed);
    for _ in 0..12 {
        if fit(&input).is_err() {
            return None;
        }
        if !has_plan {
            return Some(input);
        }
        tighten(&mut input, &mut rng);
        has_plan = self::has_plan(&input);
    }
    None
}

/// Changes what a machine of a purchase lays down, and all machines of its project with it.
fn of_project(input: &mut Input, machine: usize, edit: impl Fn(&mut Settings)) {
    for machine in input.sharing(machine) {
        edit(input.rules_mut(machine));
    }
}

fn tighten(input: &mut Input, rng: &mut fastrand::Rng) {
    let parts = input.catalog.parts.len();
    match rng.u8(..11) {
        0 => input.settings.max_suppliers = Some(1),
        1 => input.settings.max_variants = Some(rng.u32(2..7)),
        2 => input.settings.keying.distinct = Distinct::Everywhere,
        3 => {
            let offers = input.catalog.offers.iter_mut();
            offers.for_each(|offer| offer.stock = Some(rng.u64(1..5)));
        }
        4 => {
            let suppliers = input.catalog.suppliers.iter_mut();
            suppliers.for_each(|s| s.min_order = Some(build::money("60")));
        }
        5 => input.settings.max_lead_days = Some(3),
        6 => {
            let part = &input.catalog.parts[rng.usize(..parts)];
            let code = part.code.clone();
            let is_of_all = input.machines.is_empty() || rng.bool();
            match is_of_all {
                true => drop(input.settings.exclude_parts.insert(code)),
                false => {
                    let machine = rng.usize(..input.machines.len());
                    of_project(input, machine, |settings| {
                        settings.exclude_parts.insert(code.clone());
                    });
                }
            }
        }
        7 if !input.machines.is_empty() => {
            let place = rng.usize(..input.circuits.len());
            let (machine, nets) = (input.circuits[place].machine, input.circuits[place].nets());
            let net = nets[rng.usize(..nets.len())].clone();
            let key = ["A", "B"][rng.usize(..2)].to_owned();
            of_project(input, machine, |settings| {
                let key = BTreeSet::from([key.clone()]);
                settings.keying.keys.insert(net.clone(), key);
            });
        }
        7 => {
            let nets: Vec<String> = input.circuits.iter().flat_map(Circuit::nets).collect();
            let net = nets[rng.usize(..nets.len())].clone();
            let key = ["A", "B"][rng.usize(..2)].to_owned();
            input.settings.keying.keys.insert(net, [key].into());
        }
        8 => {
            let place = rng.usize(..input.circuits.len());
            input.circuits[place].branch = ["drive", "aux"][rng.usize(..2)].to_owned();
        }
        kind => {
            let parts = &input.catalog.parts;
            let faces = parts.iter().filter_map(|part| part.body());
            let faces: Vec<String> = faces.map(|body| body.interface.clone()).collect();
            let face = faces[rng.usize(..faces.len())].clone();
            let place = rng.usize(..input.circuits.len());
            let circuit = &mut input.circuits[place];
            let end = if rng.bool() {
                &mut circuit.from
            } else {
                &mut circuit.to
            };
            match kind {
                // What is built in is as it is.
                _ if end.is_built_in() => {}
                9 => end.interface = Some(face),
                _ => end.key = Some(["A", "B"][rng.usize(..2)].to_owned()),
            }
        }
    }
}

#[test]
fn what_is_named_is_a_minimal_conflict() {
    let with = |(input, best): (Input, Option<Best>)| (input, best.is_some());
    let plain = (0..100).map(|seed| (seed, with(random::project(seed))));
    let rich = (0..100).map(|seed| (seed, with(random::with_facts(seed))));
    let (looked_at, seen) = minimal(plain.chain(rich));
    assert!(looked_at > 60, "{looked_at}");
    assert!(seen.len() >= 6, "{seen:?}");
    for kind in ["NetKeys", "KeyingAt", "Pin"] {
        assert!(seen.contains_key(kind), "{seen:?}");
    }
}

/// Machines with rules of their own, some of one project, so that a change of it is a change
/// for each.
#[test]
fn what_is_named_in_a_purchase_is_a_minimal_conflict() {
    let purchases = (160..300).map(|seed| {
        let (mut input, best) = purchase(seed);
        if seed % 4 == 1 {
            built_twice(&mut input);
            return (seed, (input.clone(), has_plan(&input)));
        }
        (seed, (input, best.is_some()))
    });
    let (looked_at, seen) = minimal(purchases);
    assert!(looked_at > 40, "{looked_at}");
    assert!(seen.len() >= 6, "{seen:?}");
    for kind in ["NetKeys", "KeyingAt", "Pin", "ExcludePart"] {
        assert!(seen.contains_key(kind), "{seen:?}");
    }
}

/// The first machine once more, under another name.
fn built_twice(input: &mut Input) {
    let machine = input.machines.len();
    let first = input.machines[0].clone();
    let own: Vec<Circuit> = (input.circuits.iter().filter(|c| c.machine == 0))
        .map(|circuit| Circuit {
            machine,
            copies: 2,
            name: circuit_name("Again", circuit.own_name(&input.machines)),
            ..circuit.clone()
        })
        .collect();
    input.circuits.extend(own);
    input.machines.push(Machine {
        name: "Again".to_owned(),
        count: 2,
        ..first
    });
}

/// Holds the conflict of each project that has no plan against plans; how many were looked
/// at, and how often each kind of limit was named.
fn minimal(
    projects: impl Iterator<Item = (u64, (Input, bool))>,
) -> (usize, BTreeMap<String, usize>) {
    let mut seen = BTreeMap::new();
    let mut looked_at = 0;
    for (seed, project) in projects {
        let Some(input) = tightened(seed, project) else {
            continue;
        };
        looked_at += 1;
        let found = conflict(&input);
        assert!(found.is_minimal, "seed {seed}");
        let members: BTreeSet<Group> = found.members.iter().map(|m| m.group.clone()).collect();
        for group in &members {
            let kind = format!("{group:?}");
            let kind = kind.split('(').next().unwrap_or_default().to_owned();
            *seen.entry(kind).or_insert(0) += 1;
        }
        let all = groups(&input);
        let others: BTreeSet<Group> = all.difference(&members).cloned().collect();
        assert!(
            !has_plan(&relaxed(&input, &others)),
            "seed {seed}: {members:?}"
        );
        for group in &members {
            let mut lifted = others.clone();
            lifted.insert(group.clone());
            assert!(
                has_plan(&relaxed(&input, &lifted)),
                "seed {seed}: {group:?}"
            );
        }
        assert_eq!(conflict(&input), found, "seed {seed}");
        for member in &found.members {
            helps(seed, (&input, &relaxed(&input, &others)), member);
        }
        last_resort(seed, &found);
    }
    (looked_at, seen)
}

/// A location is left out of the rule only where no other limit can be eased.
fn last_resort(seed: u64, found: &Conflict) {
    let is_last = |member: &&Member| {
        let leaves_out = matches!(
            member.easing,
            Easing::Found {
                change: Change::NoKeying,
                ..
            }
        );
        leaves_out && matches!(member.group, Group::KeyingAt(..))
    };
    let last = found.members.iter().filter(is_last).count();
    assert!(
        last == 0 || last == found.members.len(),
        "seed {seed}: {found:?}"
    );
}

/// What is said to help does, and one step less does not.
fn helps(seed: u64, (input, alone): (&Input, &Input), member: &Member) {
    let Easing::Found {
        change,
        is_enough,
        is_least,
    } = &member.easing
    else {
        let is_keying = matches!(member.group, Group::KeyingAt(..));
        assert!(
            is_keying && member.easing == Easing::Elsewhere,
            "seed {seed}: {member:?}"
        );
        return;
    };
    let base = if *is_enough { input } else { alone };
    let maker = |input: &Input| fit(input).ok();
    let with = |change: &Change| has_plan(&changed(base, &maker, &member.group, change));
    assert!(with(change), "seed {seed}: {member:?}");
    let less = match change {
        Change::Pieces(qty) => Change::Pieces(qty - 1),
        Change::Number(n) => Change::Number(n - 1),
        Change::Least(least) => Change::Least(*least + build::money("0.01")),
        Change::Keys {
            more: 2..,
            interface,
            nets,
        } => Change::Keys {
            interface: interface.clone(),
            more: 1,
            nets: nets.clone(),
        },
        Change::NetKeys(keys) => Change::NetKeys(keys[1..].to_vec()),
        _ => return,
    };
    assert!(*is_least && !with(&less), "seed {seed}: {member:?}");
}
