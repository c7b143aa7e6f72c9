//! The record: its numbers against numbers worked out by hand, and its file.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::catalog::{DieId, Kind, OfferId};
use couplet::plan::{
    Bound, Order, PartRecord, Plan, PlanError, ReadError, SCHEMA, Status, dies_to_buy, dies_used,
    read, record, write,
};
use couplet::project::{Per, Spares};
use plan_world::*;
use rust_decimal::Decimal;
use std::fs;

fn part<'a>(plan: &'a Plan, code: &str) -> &'a PartRecord {
    plan.parts.iter().find(|p| p.part == code).unwrap()
}

/// Fitted, spare, from the shelf, bought, surplus.
fn counts(plan: &Plan, code: &str) -> [u64; 5] {
    let p = part(plan, code);
    [p.fitted, p.spare, p.on_hand_used, p.bought, p.surplus]
}

fn order<'a>(plan: &'a Plan, supplier: &str) -> &'a Order {
    plan.orders.iter().find(|o| o.supplier == supplier).unwrap()
}

fn bill(order: &Order) -> [String; 4] {
    [order.goods, order.duty, order.shipping, order.total].map(|m| m.to_string())
}

#[test]
fn counts_by_hand() {
    let plan = World::new().plan();
    let codes: Vec<&str> = plan.parts.iter().map(|p| p.part.as_str()).collect();
    assert_eq!(codes, ["BS-1", "F-50", "P-A", "P-B", "R-A", "R-B", "S-1"]);
    // Two pieces on each of five plugs; four are on the shelf, packs of four.
    assert_eq!(counts(&plan, "BS-1"), [10, 0, 4, 8, 2]);
    // Per gauge: 4 on 50 mm² and 1 on 1/0 AWG, one spare each.
    assert_eq!(counts(&plan, "F-50"), [5, 2, 0, 10, 3]);
    assert_eq!(counts(&plan, "P-A"), [3, 0, 0, 3, 0]);
    assert_eq!(counts(&plan, "P-B"), [2, 0, 0, 2, 0]);
    assert_eq!(counts(&plan, "R-A"), [3, 0, 0, 3, 0]);
    // Wholly from the shelf: five are there, two are used, none is bought.
    assert_eq!(counts(&plan, "R-B"), [2, 0, 2, 0, 0]);
    // Per part: half of 3, rounded up.
    assert_eq!(counts(&plan, "S-1"), [3, 2, 0, 5, 0]);
    assert_eq!(part(&plan, "BS-1").kind, "back-shell");
}

#[test]
fn what_is_ordered_by_hand() {
    let plan = World::with_ordered().plan();
    let used: Vec<(&str, u64)> = plan
        .parts
        .iter()
        .map(|p| (p.part.as_str(), p.ordered_used))
        .collect();
    let none = ["F-50", "P-B", "R-A", "R-B"].map(|part| (part, 0));
    assert_eq!(
        used,
        [
            ("BS-1", 6),
            none[0],
            ("P-A", 3),
            none[1],
            none[2],
            none[3],
            ("S-1", 5)
        ]
    );
    assert_eq!(counts(&plan, "BS-1"), [10, 0, 4, 0, 0]);
    assert_eq!(counts(&plan, "P-A"), [3, 0, 0, 0, 0]);
    let told: Vec<(&str, &str, u64, u64, String)> = plan
        .ordered
        .iter()
        .map(|o| {
            let worth = o.worth.to_string();
            (o.part.as_str(), o.supplier.as_str(), o.qty, o.unused, worth)
        })
        .collect();
    let entry =
        |part, supplier, qty, unused, worth: &str| (part, supplier, qty, unused, worth.to_owned());
    assert_eq!(
        told,
        [
            entry("BS-1", "Nord", 20, 14, "19.60"),
            entry("F-70", "Nord", 1, 1, "3.00"),
            // Two of the first row and one of the second are used.
            entry("P-A", "Nord", 5, 2, "56.00"),
            // 20 USD
            entry("P-A", "South", 1, 1, "18.40"),
            entry("S-1", "South", 10, 5, "4.60"),
        ]
    );
    // 61 + 84 + 28 + 3, and (20 + 10.50) × 0.92
    assert_eq!(plan.spent.to_string(), "204.06");
    // What is bought beside it stays as it is.
    assert_eq!(bill(order(&plan, "Nord"))[0], "74.50");
}

#[test]
fn what_is_ordered_needs_a_rate() {
    let mut world = World::with_ordered();
    world.input.settings.rates.clear();
    world.buy(R_A_SOUTH, 0);
    world.input.on_hand.insert(R_A, 3);
    let err = record(&world.input, &world.fit, &world.solution, proven()).unwrap_err();
    assert_eq!(err, PlanError::NoRate(currency("USD")));
}

#[test]
fn no_packs_are_no_line() {
    let mut world = World::new();
    world.input.on_hand.insert(P_B, 2);
    world.buy(P_B_NORD, 0);
    let plan = world.plan();
    world.solution.purchases.push((OfferId(P_B_NORD as u32), 0));
    assert_eq!(world.plan(), plan);
}

#[test]
fn orders_by_hand() {
    let plan = World::new().plan();
    let nord = order(&plan, "Nord");
    let lines: Vec<(&str, &str, u64, u64, String, String)> = nord
        .lines
        .iter()
        .map(|l| {
            let price = l.unit_price.to_string();
            let total = l.line_total.to_string();
            (
                l.part.as_str(),
                l.sku.as_str(),
                l.qty,
                l.packs,
                price,
                total,
            )
        })
        .collect();
    let line = |part, sku, qty, packs, price: &str, total: &str| {
        (part, sku, qty, packs, price.to_owned(), total.to_owned())
    };
    assert_eq!(
        lines,
        [
            line("BS-1", "N-BS", 8, 2, "1.50", "12.00"),
            line("F-50", "N-F50", 10, 10, "1.25", "12.50"),
            line("P-A", "N-PA", 3, 3, "30.00", "90.00"),
            line("P-B", "N-PB", 2, 2, "31.00", "62.00"),
        ]
    );
    assert_eq!(bill(nord), ["176.50", "0.00", "9.90", "186.40"]);
    // 3 × 25 + 5 × 1.105; duty 2.5 % of 80.525.
    let south = order(&plan, "South");
    assert_eq!(south.currency.to_string(), "USD");
    assert_eq!(bill(south), ["80.525", "2.013125", "20.00", "102.538125"]);
    let names: Vec<&str> = plan.orders.iter().map(|o| o.supplier.as_str()).collect();
    assert_eq!(names, ["Nord", "South"]);
}

#[test]
fn cost_by_hand() {
    let cost = World::new().plan().cost;
    // 176.50 + 80.525 × 0.92
    assert_eq!(cost.goods.to_string(), "250.583");
    assert_eq!(cost.duty.to_string(), "1.852075");
    // 9.90 + 20 × 0.92
    assert_eq!(cost.shipping.to_string(), "28.30");
    assert_eq!(cost.dies.to_string(), "45.00");
    assert_eq!(cost.lines.to_string(), "3.50");
    assert_eq!(cost.total.to_string(), "329.235075");
    assert_eq!(cost.tax.to_string(), "65.847015");
    assert_eq!(cost.total_with_tax.to_string(), "395.08209");
}

#[test]
fn ends_and_head_by_hand() {
    let plan = World::new().plan();
    assert_eq!(plan.schema, SCHEMA);
    assert_eq!(plan.project, "Test bench cart");
    assert_eq!(plan.as_of.unwrap().to_string(), "2026-03-01");
    assert_eq!(
        (plan.status, plan.total_bound),
        (Status::Optimal, plan.cost.total)
    );
    let ends: Vec<String> = plan
        .ends
        .iter()
        .map(|e| {
            let fittings: Vec<String> = e
                .fittings
                .iter()
                .map(|f| format!("{} {} {} {}", f.half, f.kind, f.part, f.qty))
                .collect();
            format!(
                "{} {} {} {} {} {}-{} {}/{}: {}",
                e.circuit,
                e.net,
                e.end,
                e.location,
                e.gauge,
                e.interface,
                e.key,
                e.receptacle.as_ref().unwrap(),
                e.plug,
                fittings.join(", ")
            )
        })
        .collect();
    assert_eq!(
        ends[1],
        "battery HV+ to inverter 50 mm2 M8-A R-A/P-A: \
         plug ferrule F-50 1, plug seal S-1 1, plug back-shell BS-1 2"
    );
    assert_eq!(
        ends[2],
        "battery HV- from pack 50 mm2 M8-B R-B/P-B: plug ferrule F-50 1, plug back-shell BS-1 2"
    );
    assert!(ends[4].starts_with("heater H+ to heater 1/0 AWG M8-A"));
}

#[test]
fn a_price_break_holds_from_its_least_quantity_on() {
    let mut world = World::new();
    for (qty, total) in [(9, "18.00"), (10, "12.50"), (11, "13.75")] {
        world.buy(F_50_NORD, qty);
        let plan = world.plan();
        let line = &order(&plan, "Nord").lines[1];
        assert_eq!(line.line_total.to_string(), total);
    }
}

/// South sells seals in bags of ten as well.
fn with_bags() -> World {
    let mut world = World::new();
    world.sell_bags();
    world
}

#[test]
fn two_offers_of_one_part_and_supplier_are_two_lines() {
    let mut world = with_bags();
    // Each offer has its packs and its breaks: what is in the bag counts for no other price.
    world.offer(S_1_SOUTH).breaks.push(step(10, "0.50"));
    world.buy(S_1_BAG, 2);
    let plan = world.plan();
    let lines = order(&plan, "South").lines.iter().map(|l| {
        let total = l.line_total.to_string();
        (l.part.as_str(), l.sku.as_str(), l.qty, l.packs, total)
    });
    assert_eq!(
        lines.collect::<Vec<_>>(),
        [
            ("R-A", "S-RA", 3, 3, "75.00".to_owned()),
            ("S-1", "S-S1", 5, 1, "5.525".to_owned()),
            ("S-1", "S-S1-BAG", 20, 2, "18.00".to_owned()),
        ]
    );
    assert_eq!(counts(&plan, "S-1"), [3, 2, 0, 25, 20]);
}

#[test]
fn what_is_ordered_stands_apart_by_sku() {
    let mut world = with_bags();
    for (sku, qty, price) in [
        ("S-S1-BAG", 10, "0.90"),
        ("", 1, "2.00"),
        ("S-S1", 1, "2.10"),
    ] {
        world.order(S_1, SOUTH, qty, price, "0");
        world.input.ordered.last_mut().unwrap().sku = sku.to_owned();
    }
    world.buy(S_1_SOUTH, 0);
    let plan = world.plan();
    let told = plan.ordered.iter().map(|o| {
        let worth = o.worth.0.normalize().to_string();
        (o.sku.as_str(), o.qty, o.unused, worth)
    });
    // Five of the bag are needed; the rows after it are left. 1 USD is 0.92 EUR.
    assert_eq!(
        told.collect::<Vec<_>>(),
        [
            ("", 1, 1, "1.84".to_owned()),
            ("S-S1", 1, 1, "1.932".to_owned()),
            ("S-S1-BAG", 10, 5, "4.14".to_owned()),
        ]
    );
}

#[test]
fn a_built_in_receptacle_is_null_and_not_counted() {
    let mut world = World::new();
    world.build_in(4);
    world.buy(R_A_SOUTH, 2);
    let plan = world.plan();
    let written = serde_json::to_value(&plan).unwrap();
    assert!(written["ends"][4]["receptacle"].is_null());
    assert_eq!(written["ends"][4]["interface"], "M8");
    assert_eq!(written["ends"][4]["key"], "A");
    assert_eq!(counts(&plan, "R-A"), [2, 0, 0, 2, 0]);
}

#[test]
fn an_order_below_the_least_quantity_is_refused() {
    let mut world = World::new();
    world.offer(P_A_NORD).breaks[0].min_qty = 3;
    world.plan();
    world.offer(P_A_NORD).breaks[0].min_qty = 4;
    let error = record(&world.input, &world.fit, &world.solution, proven()).unwrap_err();
    let want = PlanError::BelowLeast {
        part: "P-A".to_owned(),
        supplier: "Nord".to_owned(),
        qty: 3,
    };
    assert_eq!(error, want);
}

#[test]
fn goods_at_the_edge_ship_free() {
    let mut world = World::new();
    for (free_over, shipping) in [("176.51", "9.90"), ("176.50", "0.00"), ("176.49", "0.00")] {
        world.supplier(NORD).free_over = Some(money(free_over));
        assert_eq!(
            bill(order(&world.plan(), "Nord"))[2],
            shipping,
            "{free_over}"
        );
    }
}

#[test]
fn a_supplier_without_lines_has_no_order_and_no_shipping() {
    let mut world = World::new();
    world.input.on_hand.extend([(R_A, 3), (S_1, 5)]);
    world.buy(R_A_SOUTH, 0);
    world.buy(S_1_SOUTH, 0);
    let plan = world.plan();
    assert_eq!(plan.orders.len(), 1);
    assert_eq!(plan.cost.shipping.to_string(), "9.90");
    assert_eq!(counts(&plan, "R-A"), [3, 0, 3, 0, 0]);
}

#[test]
fn an_owned_die_costs_nothing_and_a_named_one_is_paid_once() {
    let mut world = World::new();
    world.ferrule(F_70).die = world.ferrule(F_50).die;
    world.solution.sets[0].fittings[0].part = F_70;
    world.buy(F_70_NORD, 2);
    assert_eq!(world.plan().cost.dies.to_string(), "45.00");
    world.input.catalog.dies[0].owned = true;
    assert_eq!(world.plan().cost.dies.to_string(), "0.00");
}

#[test]
fn an_ordered_die_is_owned_and_its_cost_is_spent() {
    let mut world = World::with_ordered();
    let before = world.plan();
    assert_eq!(dies_to_buy(&world.input, &before), [DieId(0)]);
    world.order_die("40.25");
    let plan = world.plan();
    assert_eq!(plan.cost.dies.to_string(), "0.00");
    // 204.06 of the lines, and what the die cost then; now it would be 45.00.
    assert_eq!(plan.spent.to_string(), "244.31");
    let total = before.cost.total - money("45");
    assert_eq!(plan.cost.total, total);
    assert_eq!(dies_used(&world.input.catalog, &plan), [DieId(0)]);
    assert_eq!(dies_to_buy(&world.input, &plan), []);
    // Also where it came and is owned.
    world.input.catalog.dies[0].owned = true;
    assert_eq!(world.plan(), plan);
}

#[test]
fn an_order_has_a_total_at_home() {
    let mut world = World::new();
    let plan = world.plan();
    let home = |world: &World, name| {
        let total = order(&plan, name).total_at_home(&world.input.settings);
        total.map(|total| total.0.normalize())
    };
    let nord = order(&plan, "Nord").total.0;
    assert_eq!(home(&world, "Nord"), Some(nord.normalize()));
    let south = order(&plan, "South").total.0 * Decimal::new(92, 2);
    assert_eq!(home(&world, "South"), Some(south.normalize()));
    assert_eq!(
        nord + south + plan.cost.dies.0 + plan.cost.lines.0,
        plan.cost.total.0
    );
    world.input.settings.rates.clear();
    assert_eq!(home(&world, "South"), None);
}

#[test]
fn spares_are_rounded_up_exactly_and_at_least_the_minimum() {
    let mut world = World::new();
    world.buy(P_A_NORD, 20);
    // Three are fitted: 2 on 50 mm², 1 on 1/0 AWG.
    for (per, percent, minimum, spare) in [
        (Per::Part, "0", 0, 0),
        (Per::Part, "0.0001", 0, 1),
        (Per::Part, "100", 0, 3),
        (Per::Part, "100.01", 0, 4),
        (Per::Part, "100", 4, 4),
        (Per::Gauge, "100", 0, 3),
        (Per::Gauge, "50", 0, 2),
        (Per::Gauge, "50.01", 0, 3),
        (Per::Gauge, "0", 2, 4),
    ] {
        let rule = Spares {
            per,
            percent: of(percent),
            minimum,
        };
        world.input.settings.spares.insert(Kind::Plug, rule);
        // P-B has two on one gauge.
        world.buy(P_B_NORD, 10);
        assert_eq!(
            counts(&world.plan(), "P-A")[1],
            spare,
            "{per:?} {percent} {minimum}"
        );
    }
}

#[test]
fn an_answer_that_makes_no_plan_is_refused() {
    let refused =
        |world: &World| record(&world.input, &world.fit, &world.solution, proven()).unwrap_err();
    let mut world = World::new();
    world.solution.sets.pop();
    assert_eq!(refused(&world), PlanError::Sets { sets: 4, ends: 5 });

    let mut world = World::new();
    world.buy(F_70_NORD, 1);
    assert_eq!(refused(&world), PlanError::NotFitted("F-70".to_owned()));

    let mut world = World::new();
    world.buy(P_A_NORD, 2);
    let short = PlanError::Short {
        part: "P-A".to_owned(),
        need: 3,
        have: 2,
    };
    assert_eq!(refused(&world), short);

    let mut world = World::new();
    world.input.settings.rates.clear();
    assert_eq!(refused(&world), PlanError::NoRate(currency("USD")));

    let mut world = World::new();
    world.offer(F_50_NORD).breaks[1].unit_price = money("70000000000000000000000000000");
    assert!(matches!(refused(&world), PlanError::TooLarge(_)));
    world.buy(F_50_NORD, u64::MAX);
    world.offer(F_50_NORD).pack = 2;
    assert!(matches!(refused(&world), PlanError::TooLarge(_)));
}

#[test]
fn a_plan_that_is_not_proven_says_how_far_it_is() {
    let world = World::new();
    let bound = |lower, wanted: Option<&str>| Bound {
        lower,
        witnesses: 0,
        wanted_gap: wanted.map(|w| w.parse().unwrap()),
    };
    let plan = record(
        &world.input,
        &world.fit,
        &world.solution,
        bound(328.0, Some("1")),
    )
    .unwrap();
    // (329.235075 − 328) / 329.235075 = 0.37513...
    assert_eq!(plan.status, Status::WithinGap);
    assert_eq!(plan.total_bound.to_string(), "328.00");
    assert_eq!(plan.gap_percent.to_string(), "0.3752");
    let plan = record(
        &world.input,
        &world.fit,
        &world.solution,
        bound(300.0, Some("1")),
    )
    .unwrap();
    assert_eq!(plan.status, Status::TimeLimit);
}

#[test]
fn no_circuits_make_an_empty_plan_that_costs_nothing() {
    let mut world = World::new();
    world.input.circuits.clear();
    world.fit.ends.clear();
    world.solution.sets.clear();
    world.solution.purchases.clear();
    let plan = world.plan();
    assert_eq!(plan.cost.total_with_tax, money("0"));
    assert!(plan.parts.is_empty() && plan.orders.is_empty());
}

#[test]
fn what_is_written_is_read_back_and_the_same_plan_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    let mut plan = World::new().plan();
    plan.status = Status::TimeLimit;
    plan.gap_percent = "12.3457".parse().unwrap();
    write(&path, &plan).unwrap();
    assert_eq!(read(&path).unwrap(), plan);
    let first = fs::read(&path).unwrap();
    assert!(first.ends_with(b"}\n"));
    write(&path, &plan).unwrap();
    assert_eq!(fs::read(&path).unwrap(), first);
    // Nothing else is left in the folder.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn the_longest_numbers_survive_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    let mut world = World::new();
    let rate = "0.9199632014719411223344".parse().unwrap();
    world.input.settings.rates.insert(currency("USD"), rate);
    let plan = world.plan();
    assert!(couplet::audit::audit(&world.input, &plan).is_empty());
    write(&path, &plan).unwrap();
    assert_eq!(read(&path).unwrap(), plan);
}

#[test]
fn a_write_that_fails_leaves_the_old_things_alone() {
    let folder = tempfile::tempdir().unwrap();
    let plan = World::new().plan();

    let taken = folder.path().join("taken");
    fs::create_dir(&taken).unwrap();
    fs::write(taken.join("inside"), "kept").unwrap();
    let error = write(&taken, &plan).unwrap_err();
    assert!(error.to_string().contains("taken cannot be written"));
    assert_eq!(error.help(), "name a file, not a folder");
    assert_eq!(fs::read_to_string(taken.join("inside")).unwrap(), "kept");

    let missing = folder.path().join("nowhere").join("plan.json");
    let error = write(&missing, &plan).unwrap_err();
    assert_eq!(error.help(), "make the folder first, or name another file");

    // A file in the place of the folder.
    let old = folder.path().join("plan.json");
    fs::write(&old, "old").unwrap();
    assert!(write(&old.join("plan.json"), &plan).is_err());
    assert_eq!(fs::read_to_string(&old).unwrap(), "old");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_rights_are_kept() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().unwrap();
    let (real, link) = (
        folder.path().join("real.json"),
        folder.path().join("plan.json"),
    );
    fs::write(&real, "old").unwrap();
    fs::set_permissions(&real, PermissionsExt::from_mode(0o640)).unwrap();
    symlink(&real, &link).unwrap();
    let plan = World::new().plan();
    write(&link, &plan).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(read(&real).unwrap(), plan);
    assert_eq!(
        fs::metadata(&real).unwrap().permissions().mode() & 0o777,
        0o640
    );
}

#[test]
fn what_is_no_plan_is_told_with_its_place_and_cure() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    let error_of = |text: &[u8]| {
        fs::write(&path, text).unwrap();
        read(&path).unwrap_err()
    };

    let newer = error_of(br#"{"schema": "couplet.plan/3", "later": 1}"#);
    assert!(matches!(newer, ReadError::Newer { ref found, .. } if found == "couplet.plan/3"));
    assert!(newer.help().contains("plan again"));
    for other in ["couplet.plan/0", "couplet.plan/x", "other/2", ""] {
        let text = format!("{{\"schema\": \"{other}\"}}");
        let error = error_of(text.as_bytes());
        assert!(matches!(error, ReadError::Foreign { .. }), "{other}");
    }

    let error = error_of(b"{\n  \"schema\": 5\n}");
    let ReadError::Json { line, column, .. } = error else {
        panic!("{error}")
    };
    assert_eq!((line, column), (2, 13));
    for bad in [&b""[..], b"[", b"\xff\xfe", b"{}", b"null"] {
        let error = error_of(bad);
        assert!(matches!(error, ReadError::Json { .. }), "{error}");
        assert!(!error.to_string().contains(" at line"), "{error}");
    }
    // Right schema, fields missing; deep nesting.
    for known in ["couplet.plan/1", "couplet.plan/2"] {
        let error = error_of(format!("{{\"schema\": \"{known}\"}}").as_bytes());
        assert!(error.to_string().contains("missing field"), "{known}");
    }
    assert!(matches!(
        error_of("[".repeat(100_000).as_bytes()),
        ReadError::Json { .. }
    ));

    fs::remove_file(&path).unwrap();
    assert!(matches!(read(&path).unwrap_err(), ReadError::Missing(_)));
    assert!(matches!(
        read(folder.path()).unwrap_err(),
        ReadError::Io { .. }
    ));
}

#[test]
fn an_unknown_field_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    write(&path, &World::new().plan()).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("{", "{ \"more\": 1,", 1)).unwrap();
    assert!(
        read(&path)
            .unwrap_err()
            .to_string()
            .contains("unknown field")
    );
}

#[test]
fn a_file_beyond_the_limit_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    let file = fs::File::create(&path).unwrap();
    file.set_len(couplet::plan::MAX_BYTES + 1).unwrap();
    assert!(matches!(read(&path).unwrap_err(), ReadError::TooLarge(_)));
    file.set_len(couplet::plan::MAX_BYTES).unwrap();
    assert!(matches!(read(&path).unwrap_err(), ReadError::Json { .. }));
}

#[test]
fn purchases_from_one_offer_are_one_line_at_the_break_that_their_sum_reaches() {
    let mut world = World::new();
    world.buy(F_50_NORD, 6);
    let offer = OfferId(F_50_NORD as u32);
    world.solution.purchases.push((offer, 4));
    assert_eq!(world.plan(), World::new().plan());
}
