//! The total divided by circuit, kind, supplier and gauge, worked out by hand.
//!
//! Five ends: four of `battery` on 50 mm2, one of `heater` on 1/0 AWG. Nord
//! sells the back shells (12.00; 6 of 8 fitted, 2 surplus), the ferrules (12.50;
//! 5 of 10 fitted, 2 spare, 3 surplus) and the plugs (90.00 and 62.00); South
//! the receptacles (69.00) and the seals (5.083; 3 of 5 fitted, 2 spare), with
//! 2.5 percent of duty.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::input::Input;
use couplet::plan::Plan;
use couplet::study::budget::{Group, Key, Term, Terms, breakdown, share};
use couplet::units::Money;
use plan_world::*;
use rust_decimal::Decimal;

/// Name and amounts in the order of [`Term::ALL`].
fn told(groups: &[Group]) -> Vec<(String, String)> {
    let row = |group: &Group| (group.name.clone(), amounts(&group.terms));
    groups.iter().map(row).collect()
}

fn amounts(terms: &Terms) -> String {
    let all = Term::ALL.map(|term| terms.of(term).to_string());
    all.join(" ")
}

#[track_caller]
fn divides(input: &Input, plan: &Plan, key: Key, want: &[(&str, &str)]) {
    let groups = told(&breakdown(input, plan).groups[&key]);
    let own = |(name, row): &(&str, &str)| ((*name).to_owned(), (*row).to_owned());
    assert_eq!(groups, want.iter().map(own).collect::<Vec<_>>());
}

#[test]
fn the_terms_are_those_of_the_record_to_the_cent() {
    let world = World::new();
    let plan = world.plan();
    let terms = breakdown(&world.input, &plan).terms;
    // 239.2998, 4.5332, 6.75, 1.852075, 28.30, 45, 3.50: of 329.235075, so two
    // cents more than all rounded down.
    assert_eq!(amounts(&terms), "239.30 4.54 6.75 1.85 28.30 45.00 3.50");
    assert_eq!(terms.total().to_string(), "329.24");
}

#[test]
fn by_supplier_each_has_what_it_bills() {
    let world = World::new();
    let rows = [
        ("Nord", "167.25 2.50 6.75 0.00 9.90 0.00 0.00"),
        ("South", "72.05 2.04 0.00 1.85 18.40 0.00 0.00"),
        ("", "0.00 0.00 0.00 0.00 0.00 45.00 3.50"),
    ];
    divides(&world.input, &world.plan(), Key::Supplier, &rows);
}

#[test]
fn by_kind_in_the_order_of_kinds() {
    let world = World::new();
    let rows = [
        ("plug", "152.00 0.00 0.00 0.00 8.53 0.00 1.00"),
        ("receptacle", "69.00 0.00 0.00 1.72 17.14 0.00 1.00"),
        ("ferrule", "6.25 2.50 3.75 0.00 0.70 45.00 0.50"),
        ("seal", "3.05 2.04 0.00 0.13 1.26 0.00 0.50"),
        ("back-shell", "9.00 0.00 3.00 0.00 0.67 0.00 0.50"),
    ];
    divides(&world.input, &world.plan(), Key::Kind, &rows);
}

/// Of what the parts cost, `battery` has 4/5 of the ferrules and back shells,
/// 2/3 of the plugs P-A, receptacles R-A and seals, all of P-B and R-B.
const BATTERY: &str = "182.23 3.36 5.40 1.23 20.21 36.00 2.80";
const HEATER: &str = "57.07 1.18 1.35 0.62 8.09 9.00 0.70";

#[test]
fn by_circuit_in_their_order_and_by_gauge_in_that_of_the_ends() {
    let mut world = World::new();
    let plan = world.plan();
    let circuits = [("battery", BATTERY), ("heater", HEATER)];
    divides(&world.input, &plan, Key::Circuit, &circuits);
    world.input.circuits.reverse();
    let circuits = [("heater", HEATER), ("battery", BATTERY)];
    divides(&world.input, &plan, Key::Circuit, &circuits);
    let gauges = [("50 mm2", BATTERY), ("1/0 AWG", HEATER)];
    divides(&world.input, &plan, Key::Gauge, &gauges);
}

#[test]
fn where_goods_cost_nothing_shipping_goes_by_their_pieces() {
    let mut world = World::new();
    for offer in [R_A_SOUTH, S_1_SOUTH] {
        world.offer(offer).breaks[0].unit_price = Money::ZERO;
    }
    let plan = world.plan();
    let terms = breakdown(&world.input, &plan).terms;
    assert_eq!(amounts(&terms), "167.25 2.50 6.75 0.00 28.30 45.00 3.50");
    // Of the 18.40 of South 3/8 for the receptacles and 5/8 for the seals.
    let kinds = [
        ("plug", "152.00 0.00 0.00 0.00 8.53 0.00 1.00"),
        ("receptacle", "0.00 0.00 0.00 0.00 6.90 0.00 1.00"),
        ("ferrule", "6.25 2.50 3.75 0.00 0.70 45.00 0.50"),
        ("seal", "0.00 0.00 0.00 0.00 11.50 0.00 0.50"),
        ("back-shell", "9.00 0.00 3.00 0.00 0.67 0.00 0.50"),
    ];
    divides(&world.input, &plan, Key::Kind, &kinds);
    // For `battery` 2/3: two of three receptacles and of three seals.
    let circuits = [
        ("battery", "134.20 2.00 5.40 0.00 20.21 36.00 2.80"),
        ("heater", "33.05 0.50 1.35 0.00 8.09 9.00 0.70"),
    ];
    divides(&world.input, &plan, Key::Circuit, &circuits);
}

#[test]
fn a_die_that_is_owned_costs_nothing() {
    let mut world = World::new();
    world.input.catalog.dies[0].owned = true;
    let plan = world.plan();
    let terms = breakdown(&world.input, &plan).terms;
    assert_eq!(terms.of(Term::Dies), Money::ZERO);
    assert_eq!(terms.total(), plan.cost.total.cents());
}

#[test]
fn what_on_hand_and_ordered_pieces_serve_is_not_paid_again() {
    let mut world = World::new();
    world.order(P_A, NORD, 2, "29.00", "0");
    world.buy(P_A_NORD, 1);
    let plan = world.plan();
    let parts = breakdown(&world.input, &plan);
    // One plug is bought; all three share what it costs.
    assert_eq!(parts.terms.of(Term::Fitted).to_string(), "179.30");
    assert_eq!(parts.terms.total(), plan.cost.total.cents());
    let plugs = parts.groups[&Key::Kind][0].terms.of(Term::Fitted);
    assert_eq!(plugs.to_string(), "92.00");
}

#[test]
fn shares_go_to_the_largest_remainders() {
    let shares = |amount: &str, weights: &[&str]| {
        let weights: Vec<Decimal> = weights.iter().map(|w| w.parse().unwrap()).collect();
        let shares = share(money(amount), &weights);
        let all: Vec<String> = shares.iter().map(Money::to_string).collect();
        all.join(" ")
    };
    // 3.33…, 6.66…: the second has the larger remainder.
    assert_eq!(shares("0.10", &["1", "2"]), "0.03 0.07");
    assert_eq!(shares("0.10", &["2", "1"]), "0.07 0.03");
    // 4.5 each: the first.
    assert_eq!(shares("0.09", &["1", "1"]), "0.05 0.04");
    // 1.42…, 2.85…, 5.71…: the second and the third.
    assert_eq!(shares("0.10", &["0.1", "0.2", "0.4"]), "0.01 0.03 0.06");
    assert_eq!(shares("10", &["0", "0", "0"]), "3.34 3.33 3.33");
    assert_eq!(shares("10", &["0", "1", "0"]), "0.00 10.00 0.00");
    assert_eq!(shares("0", &["1", "2"]), "0.00 0.00");
    assert_eq!(shares("1.005", &["1"]), "1.01");
}
