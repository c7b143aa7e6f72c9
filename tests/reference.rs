//! The reference that the optimum is held against, against cases worked out by hand.

mod support;

use couplet::catalog::{Fitting, Kind, Spec};
use couplet::project::{Cable, Distinct, Per, Spares};
use couplet::units::{Currency, Percent};
use support::brute::{Best, best};
use support::build::{
    Shop, back_shell, circuit, ends, ferrule, list, money, plug, receptacle, seal,
};
use support::dec;

/// Total, variants and money in surplus.
#[track_caller]
fn expect(shop: Shop, total: &str, variants: usize, surplus: &str) -> Best {
    let best = best(&shop.finish()).expect("a plan");
    let figures = (best.total, best.variants, best.surplus);
    assert_eq!(figures, (dec(total), variants, dec(surplus)));
    best
}

fn spares(per: Per, percent: &str, minimum: u64) -> Spares {
    Spares {
        per,
        percent: Percent(dec(percent)),
        minimum,
    }
}

#[test]
fn packs_round_up() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "2.50")]).pack(2));
    expect(shop, "10", 2, "2.50");
    let mut shop = ends(4);
    shop.offer("P", "Nord", list(&[(1, "2.50")]).pack(2));
    expect(shop, "10", 2, "0");
}

#[test]
fn least_quantity_that_is_no_whole_pack() {
    let mut shop = ends(1);
    shop.offer("P", "Nord", list(&[(3, "2")]).pack(2));
    expect(shop, "8", 2, "6"); // 4 pieces
}

#[test]
fn a_break_is_cheaper_than_fewer_pieces() {
    let breaks = [(1, "5"), (5, "3.75")];
    let mut shop = ends(4);
    shop.offer("P", "Nord", list(&breaks));
    expect(shop, "18.75", 2, "3.75"); // 5 × 3.75 before 4 × 5
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&breaks));
    expect(shop, "15", 2, "0"); // 3 × 5 before 18.75
}

#[test]
fn equal_cost_takes_the_least_surplus() {
    let mut shop = ends(4);
    shop.offer("P", "Nord", list(&[(1, "5"), (5, "4")]));
    expect(shop, "20", 2, "0");
}

#[test]
fn surplus_reaches_free_shipping() {
    let shop = |shipping| {
        let mut shop = ends(4);
        shop.supplier("Nord", shipping, Some("50"), None);
        shop.offer("P", "Nord", list(&[(1, "10")]));
        shop
    };
    expect(shop("10.01"), "50", 2, "10"); // a fifth piece before 50.01
    expect(shop("9.99"), "49.99", 2, "0");
}

#[test]
fn free_shipping_counts_from_the_very_amount() {
    for (over, total) in [("40", "40"), ("40.01", "45")] {
        let mut shop = ends(4);
        shop.supplier("Nord", "5", Some(over), None);
        shop.offer("P", "Nord", list(&[(1, "10")]));
        expect(shop, total, 2, "0");
    }
}

#[test]
fn minimum_order_is_filled_up() {
    for (least, total, surplus) in [("20", "20", "0"), ("20.01", "30", "10")] {
        let mut shop = ends(2);
        shop.supplier("Nord", "0", None, Some(least));
        shop.offer("P", "Nord", list(&[(1, "10")]));
        expect(shop, total, 2, surplus);
    }
}

#[test]
fn only_what_is_fitted_fills_an_order() {
    // the cheap part Q fits nothing, so it can't fill the minimum order
    let mut shop = ends(1);
    shop.supplier("Nord", "0", None, Some("11"));
    shop.offer("P", "Nord", list(&[(1, "10")]));
    shop.body("Q", plug("G", "A"));
    shop.offer("Q", "Nord", list(&[(1, "1")]));
    expect(shop, "20", 2, "10");
}

#[test]
fn a_part_on_hand_fills_an_order() {
    // R is needed no more, but fitted: one more is cheaper than a second plug
    let mut shop = ends(1);
    shop.supplier("Nord", "0", None, Some("11"));
    shop.offer("P", "Nord", list(&[(1, "10")]));
    shop.offer("R", "Nord", list(&[(1, "1")]));
    expect(shop, "11", 2, "1");
}

#[test]
fn stock_splits_over_two_suppliers() {
    let mut shop = ends(5);
    shop.supplier("Sued", "4", None, None);
    shop.offer("P", "Nord", list(&[(1, "3")]).stock(3));
    shop.offer("P", "Sued", list(&[(1, "7")]));
    let best = expect(shop, "27", 2, "0"); // 3 × 3 + 2 × 7 + 4
    assert_eq!(best.lines.len(), 2);
    let mut shop = ends(5);
    shop.supplier("Sued", "4", None, None);
    shop.offer("P", "Nord", list(&[(1, "3")]).stock(3));
    shop.offer("P", "Sued", list(&[(1, "7")]));
    shop.settings.max_suppliers = Some(1);
    expect(shop, "39", 2, "0"); // 5 × 7 + 4
}

#[test]
fn surplus_is_valued_at_the_lowest_price_offered() {
    // For 5 pieces a pack of 2 at 3, all there is, and a pack of 4 at 7: one is left.
    let mut shop = ends(5);
    shop.supplier("Sued", "0", None, None);
    shop.offer("P", "Nord", list(&[(1, "3")]).pack(2).stock(2));
    shop.offer("P", "Sued", list(&[(1, "7")]).pack(4));
    expect(shop, "34", 2, "3");
    // A break that is not reached counts; an offer that cannot be had does not.
    let mut shop = ends(3);
    shop.supplier("Sued", "0", None, None);
    shop.offer("P", "Nord", list(&[(1, "3"), (100, "2")]).pack(2));
    shop.offer("P", "Sued", list(&[(5, "1")]).stock(4));
    expect(shop, "12", 2, "2");
}

#[test]
fn on_hand_serves_spares_too() {
    let mut shop = ends(3);
    shop.offer("P", "Nord", list(&[(1, "3")]));
    let rule = spares(Per::Part, "34", 0);
    shop.settings.spares.insert(Kind::Plug, rule); // ceil(1.02) = 2
    shop.on_hand.insert("P".to_owned(), 4);
    expect(shop, "3", 2, "0");
}

/// Plus and minus at one location, key B dearer than key A.
fn plus_and_minus() -> Shop {
    let mut shop = ends(0);
    shop.circuits.push(circuit("C", "HV+ HV-", "pack"));
    shop.body("PB", plug("F", "B"));
    shop.body("RB", receptacle("F", "B"));
    shop.offer("P", "Nord", list(&[(1, "10")]));
    shop.offer("PB", "Nord", list(&[(1, "17")]));
    shop.offer("RB", "Nord", list(&[(1, "5")]));
    shop
}

#[test]
fn keying_forces_a_second_key() {
    expect(plus_and_minus(), "32", 4, "0");
    let mut off = plus_and_minus();
    off.settings.keying.distinct = Distinct::Off;
    expect(off, "20", 2, "0");
    let mut ignored = plus_and_minus();
    let places = &mut ignored.settings.keying.ignore_at;
    places.insert("pack".to_owned());
    expect(ignored, "20", 2, "0");
}

#[test]
fn three_nets_and_two_keys_have_no_plan() {
    let mut shop = plus_and_minus();
    shop.circuits.push(circuit("D", "PE", "pack"));
    assert_eq!(best(&shop.finish()), None);
    let mut shop = plus_and_minus();
    shop.circuits.push(circuit("D", "HV+", "pack"));
    expect(shop, "42", 4, "0");
}

/// Plug P takes ferrule FE; plug Q of another face has its ferrule in the box.
fn boxed_or_not(price_of_q: &str) -> Shop {
    let mut shop = ends(1);
    let mut body = plug("F", "A");
    body.barrel = Some("B".to_owned());
    shop.body("P", body.clone());
    body.interface = "G".to_owned();
    body.includes = vec![Fitting::Ferrule];
    shop.body("Q", body);
    shop.body("S", receptacle("G", "A"));
    shop.on_hand.insert("S".to_owned(), 1);
    shop.part("FE", Spec::Ferrule(ferrule("B", None)));
    for (part, price) in [("P", "10"), ("FE", "2"), ("Q", price_of_q)] {
        shop.offer(part, "Nord", list(&[(1, price)]));
    }
    shop
}

#[test]
fn equal_cost_takes_the_fewest_variants() {
    expect(boxed_or_not("12"), "12", 2, "0");
    expect(boxed_or_not("12.001"), "12", 3, "0");
}

#[test]
fn variants_have_a_price_and_a_limit() {
    let mut shop = boxed_or_not("13");
    shop.settings.line_cost = money("0.99");
    expect(shop, "14.97", 3, "0"); // before 13 + 2 × 0.99 = 14.98
    let mut shop = boxed_or_not("13");
    shop.settings.line_cost = money("1.01");
    expect(shop, "15.02", 2, "0"); // before 12 + 3 × 1.01 = 15.03
    let mut shop = boxed_or_not("13");
    shop.settings.max_variants = Some(2);
    expect(shop, "13", 2, "0");
    let mut shop = boxed_or_not("13");
    shop.settings.max_variants = Some(1);
    assert_eq!(best(&shop.finish()), None);
}

/// One end on 70 mm² and two on 2/0 AWG, whose plug takes ferrule F at 2.
fn two_gauges() -> Shop {
    let mut shop = ends(3);
    let mut body = plug("F", "A");
    body.barrel = Some("B".to_owned());
    shop.body("P", body);
    shop.offer("P", "Nord", list(&[(1, "10")]));
    shop.part("FE", Spec::Ferrule(ferrule("B", None)));
    shop.offer("FE", "Nord", list(&[(1, "2")]));
    for circuit in &mut shop.circuits[1..] {
        circuit.gauge = "2/0 AWG".parse().expect("a gauge");
    }
    shop
}

#[test]
fn spares_per_gauge_and_per_part() {
    let with = |rule| {
        let mut shop = two_gauges();
        shop.settings.spares.insert(Kind::Ferrule, rule);
        shop
    };
    expect(with(spares(Per::Gauge, "10", 1)), "40", 3, "0"); // 1 + 1 spares
    expect(with(spares(Per::Part, "10", 1)), "38", 3, "0"); // 1 spare
    expect(with(spares(Per::Gauge, "100", 2)), "44", 3, "0"); // 2 + 2
    expect(with(spares(Per::Part, "100", 2)), "42", 3, "0"); // 3
    expect(with(spares(Per::Part, "0", 0)), "36", 3, "0");
}

#[test]
fn a_die_or_a_dearer_ferrule() {
    let shop = |cost, owned| {
        let mut shop = two_gauges();
        shop.part("FE", Spec::Ferrule(ferrule("B", Some("D"))));
        shop.part("FX", Spec::Ferrule(ferrule("B", None)));
        shop.offer("FX", "Nord", list(&[(1, "7")]));
        shop.die("D", cost, owned);
        shop
    };
    expect(shop("14.99", false), "50.99", 3, "0"); // 30 + 6 + 14.99
    expect(shop("15.01", false), "51", 3, "0"); // 30 + 21
    expect(shop("99", true), "36", 3, "0");
}

#[test]
fn duty_and_rate() {
    let mut shop = ends(3);
    shop.supplier("Nord", "7.50", None, None);
    let nord = shop.suppliers.get_mut("Nord").expect("Nord");
    nord.currency = Currency("USD".to_owned());
    nord.duty_percent = Percent(dec("2.5"));
    shop.settings
        .rates
        .insert(Currency("USD".to_owned()), dec("0.92"));
    shop.offer("P", "Nord", list(&[(1, "9.125")]).pack(5));
    // (5 × 9.125 × 1.025 + 7.50) × 0.92; two left over at 9.125 × 0.92
    expect(shop, "49.924375", 2, "16.79");
}

#[test]
fn slow_and_excluded_offers_are_left_out() {
    let shop = || {
        let mut shop = ends(1);
        shop.supplier("Sued", "0", None, None);
        shop.offer("P", "Nord", list(&[(1, "3")]).lead(31));
        shop.offer("P", "Sued", list(&[(1, "7")]).lead(30));
        shop
    };
    expect(shop(), "3", 2, "0");
    let mut fast = shop();
    fast.settings.max_lead_days = Some(30);
    expect(fast, "7", 2, "0");
    let mut excluded = shop();
    let names = &mut excluded.settings.exclude_suppliers;
    names.insert("Nord".to_owned());
    expect(excluded, "7", 2, "0");
    let mut none = shop();
    none.settings.exclude_parts.insert("P".to_owned());
    assert_eq!(best(&none.finish()), None);
}

#[test]
fn a_joint_needs_fittings_on_both_halves() {
    let mut shop = ends(1);
    shop.circuits[0].cable = Cable::Multi;
    shop.circuits[0].conductors = vec!["U".to_owned(), "V".to_owned()];
    shop.circuits[0].from.attach = Some("crimp".to_owned());
    let mut half = plug("J", "");
    half.poles = 2;
    half.barrel = Some("B".to_owned());
    half.rear = Some("A".to_owned());
    let mut other = half.clone();
    other.half = couplet::catalog::Half::Receptacle;
    half.includes = vec![Fitting::Seal];
    shop.body("JP", half);
    shop.body("JR", other);
    shop.part("FE", Spec::Ferrule(ferrule("B", None)));
    shop.part("SE", Spec::Seal(seal("A")));
    shop.part("SH", Spec::BackShell(back_shell("A", 2)));
    for (part, price) in [
        ("JP", "1000"),
        ("JR", "500"),
        ("FE", "10"),
        ("SE", "3"),
        ("SH", "0.1"),
    ] {
        shop.offer(part, "Nord", list(&[(1, price)]));
    }
    // 4 ferrules, the receptacle's seal alone, 2 × 2 back shells
    expect(shop, "1543.4", 5, "0");
}
