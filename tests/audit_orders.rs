//! The audit's counts, orders, totals and proof.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::audit::{Finding, LineName, audit, audit_alone};
use couplet::catalog::Kind;
use couplet::plan::{OrderLine, Plan, Status, record};
use couplet::project::{Per, Spares};
use plan_world::*;

fn after(change: impl FnOnce(&mut World)) -> Vec<Finding> {
    let mut world = World::new();
    let plan = world.plan();
    change(&mut world);
    audit(&world.input, &plan)
}

fn with(change: impl FnOnce(&mut Plan)) -> Vec<Finding> {
    let world = World::new();
    let mut plan = world.plan();
    change(&mut plan);
    audit(&world.input, &plan)
}

/// A plan made after the change.
fn made(change: impl FnOnce(&mut World)) -> Vec<Finding> {
    let mut world = World::new();
    change(&mut world);
    audit(&world.input, &world.plan())
}

fn line(supplier: &str, part: &str, sku: &str) -> LineName {
    LineName {
        supplier: supplier.to_owned(),
        part: part.to_owned(),
        sku: sku.to_owned(),
    }
}

/// The fields that differ.
fn fields(found: &[Finding]) -> Vec<&'static str> {
    found
        .iter()
        .filter_map(|finding| match finding {
            Finding::Head(f) | Finding::Part(f) | Finding::Order(f) => Some(f.field),
            Finding::Cost(f) | Finding::Proof(f) | Finding::Line(_, f) => Some(f.field),
            Finding::End(_, f) | Finding::FittingQty(_, _, _, f) => Some(f.field),
            _ => None,
        })
        .collect()
}

#[test]
fn a_right_plan_passes() {
    assert_eq!(after(|_| ()), []);
}

#[test]
fn each_count_is_checked_to_the_piece() {
    type Field = fn(&mut couplet::plan::PartRecord) -> &mut u64;
    let counts: [(&str, Field); 5] = [
        ("fitted", |p| &mut p.fitted),
        ("spare", |p| &mut p.spare),
        ("on_hand_used", |p| &mut p.on_hand_used),
        ("bought", |p| &mut p.bought),
        ("surplus", |p| &mut p.surplus),
    ];
    for (field, count) in counts {
        for part in 0..7 {
            let found = with(|plan| *count(&mut plan.parts[part]) += 1);
            assert!(
                matches!(&found[..], [Finding::Part(fact)] if fact.field == field),
                "{found:?}"
            );
        }
    }
}

#[test]
fn spares_follow_their_rule() {
    let spares = |per, percent: &str, minimum| Spares {
        per,
        percent: of(percent),
        minimum,
    };
    let rule = |kind, rule| {
        after(|w| {
            w.input.settings.spares.insert(kind, rule);
        })
    };
    // Seals: 3 fitted, 2 spare, 5 bought. Just above two thirds, three are wanted.
    assert_eq!(rule(Kind::Seal, spares(Per::Part, "66.6", 0)), []);
    let found = rule(Kind::Seal, spares(Per::Part, "66.7", 0));
    let short = Finding::Short {
        part: "S-1".to_owned(),
        need: 6,
        have: 5,
    };
    assert!(found.contains(&short), "{found:?}");
    // Two gauges: 2 and 1 fitted give 1 and 1.
    assert_eq!(rule(Kind::Seal, spares(Per::Gauge, "50", 0)), []);
    assert_eq!(
        fields(&rule(Kind::Seal, spares(Per::Gauge, "10", 2))),
        ["spare"]
    );
    // Ferrules: 4 and 1 fitted; per part 10 % would be one spare, not two.
    let found = rule(Kind::Ferrule, spares(Per::Part, "10", 1));
    assert_eq!(fields(&found), ["spare", "surplus"]);
    // No rule, no spares.
    let found = after(|w| w.input.settings.spares.clear());
    assert_eq!(fields(&found), ["spare", "surplus", "spare", "surplus"]);
}

#[test]
fn what_is_on_hand_serves_first() {
    assert_eq!(
        made(|w| {
            w.input.on_hand.insert(BS_1, 10);
            w.buy(BS_1_NORD, 0);
        }),
        []
    );
    assert_eq!(
        fields(&after(|w| {
            w.input.on_hand.insert(BS_1, 5);
        })),
        ["on_hand_used", "surplus"]
    );
    // Five are needed at least in total: 2 on hand and 8 bought just reach ten.
    assert_eq!(
        fields(&after(|w| {
            w.input.on_hand.insert(BS_1, 2);
        })),
        ["on_hand_used", "surplus"]
    );
    let found = after(|w| {
        w.input.on_hand.insert(BS_1, 1);
    });
    let short = Finding::Short {
        part: "BS-1".to_owned(),
        need: 10,
        have: 9,
    };
    assert!(found.contains(&short));
    // More on the shelf than is needed changes nothing.
    assert_eq!(
        after(|w| {
            w.input.on_hand.insert(R_B, 2);
        }),
        []
    );
    let found = after(|w| {
        w.input.on_hand.insert(R_B, 1);
    });
    assert!(matches!(
        found[0],
        Finding::Short {
            need: 2,
            have: 1,
            ..
        }
    ));
}

#[test]
fn stock_pack_and_least_quantity() {
    assert_eq!(after(|w| w.offer(F_50_NORD).stock = Some(10)), []);
    let above = Finding::AboveStock(line("Nord", "F-50", "N-F50"));
    assert_eq!(after(|w| w.offer(F_50_NORD).stock = Some(9)), [above]);
    assert_eq!(after(|w| w.offer(F_50_NORD).stock = None), []);

    let broken = Finding::BrokenPack(line("Nord", "BS-1", "N-BS"));
    for pack in [0, 3] {
        let found = after(|w| w.offer(BS_1_NORD).pack = pack);
        assert_eq!(found, std::slice::from_ref(&broken), "{pack}");
    }
    assert_eq!(fields(&after(|w| w.offer(BS_1_NORD).pack = 2)), ["packs"]);

    assert_eq!(after(|w| w.offer(S_1_SOUTH).breaks[0].min_qty = 4), []);
    let least = Finding::BelowLeast(line("South", "S-1", "S-S1"));
    assert_eq!(after(|w| w.offer(S_1_SOUTH).breaks[0].min_qty = 6), [least]);
    assert!(
        with(|p| p.orders[0].lines[1].qty = 0)
            .contains(&Finding::BelowLeast(line("Nord", "F-50", "N-F50")))
    );
}

#[test]
fn lead_time() {
    assert_eq!(after(|w| w.offer(P_A_NORD).lead_days = Some(30)), []);
    let slow = Finding::TooSlow(line("Nord", "P-A", "N-PA"));
    assert_eq!(after(|w| w.offer(P_A_NORD).lead_days = Some(31)), [slow]);
    assert_eq!(after(|w| w.offer(P_A_NORD).lead_days = None), []);
}

#[test]
fn the_price_is_that_of_the_break_reached() {
    assert_eq!(after(|w| w.offer(F_50_NORD).breaks[1].min_qty = 9), []);
    // One break off: the price of the line, and all that follows from it.
    let found = after(|w| w.offer(F_50_NORD).breaks[1].min_qty = 11);
    let want = [
        "unit_price",
        "line_total",
        "goods",
        "total",
        "goods",
        "total",
        "tax",
        "total_with_tax",
    ];
    assert_eq!(fields(&found), want);
    assert_eq!(
        fields(&with(|p| p.orders[0].lines[1].unit_price = money("2.00"))),
        ["unit_price"]
    );
    assert_eq!(
        fields(&with(|p| p.orders[0].lines[1].line_total = money("12.51"))),
        ["line_total"]
    );
}

#[test]
fn free_shipping_begins_at_its_edge() {
    assert_eq!(
        after(|w| w.supplier(NORD).free_over = Some(money("176.51"))),
        []
    );
    let found = after(|w| w.supplier(NORD).free_over = Some(money("176.50")));
    assert_eq!(fields(&found)[..2], ["shipping", "total"]);
    assert_eq!(
        made(|w| w.supplier(NORD).free_over = Some(money("176.50"))),
        []
    );
}

#[test]
fn a_least_order_is_reached_at_its_edge() {
    assert_eq!(
        after(|w| w.supplier(NORD).min_order = Some(money("176.50"))),
        []
    );
    let below = Finding::BelowMinOrder("Nord".to_owned());
    assert_eq!(
        after(|w| w.supplier(NORD).min_order = Some(money("176.51"))),
        [below]
    );
}

#[test]
fn duty_rate_dies_lines_and_tax_count() {
    let found = after(|w| w.supplier(SOUTH).duty_percent = of("2.6"));
    assert_eq!(
        fields(&found),
        ["duty", "total", "duty", "total", "tax", "total_with_tax"]
    );
    let found = after(|w| {
        w.input.settings.rates.insert(currency("USD"), of("0.93"));
    });
    assert_eq!(
        fields(&found),
        [
            "goods",
            "duty",
            "shipping",
            "total",
            "tax",
            "total_with_tax"
        ]
    );
    let found = after(|w| w.input.catalog.dies[0].owned = true);
    assert_eq!(fields(&found), ["dies", "total", "tax", "total_with_tax"]);
    let found = after(|w| w.order_die("0"));
    assert_eq!(fields(&found), ["dies", "total", "tax", "total_with_tax"]);
    let found = after(|w| w.input.settings.line_cost = money("0.51"));
    assert_eq!(fields(&found), ["lines", "total", "tax", "total_with_tax"]);
    assert_eq!(
        fields(&after(|w| w.input.settings.tax_percent = of("19"))),
        ["tax", "total_with_tax"]
    );
    assert_eq!(
        after(|w| w.input.settings.rates.clear()),
        [Finding::NoRate("USD".to_owned())]
    );
}

#[test]
fn limits_on_variants_and_suppliers() {
    let found = after(|w| w.input.settings.max_variants = Some(6));
    assert_eq!(found, [Finding::TooManyVariants { found: 7, limit: 6 }]);
    let found = after(|w| w.input.settings.max_suppliers = Some(1));
    assert_eq!(found, [Finding::TooManySuppliers { found: 2, limit: 1 }]);
}

#[test]
fn only_what_is_fitted_is_bought_and_listed() {
    let mut world = World::new();
    let mut plan = world.plan();
    let mut foreign = plan.orders[0].lines[2].clone();
    foreign.part = "F-70".to_owned();
    plan.orders[0].lines.insert(2, foreign);
    let unfitted = Finding::UnfittedLine(line("Nord", "F-70", "N-PA"));
    assert!(audit(&world.input, &plan).contains(&unfitted));

    world.buy(F_70_NORD, 1);
    assert!(record(&world.input, &world.fit, &world.solution, proven()).is_err());

    let found = with(|p| p.parts[2].part = "F-70".to_owned());
    assert!(found.contains(&Finding::UnfittedPart("F-70".to_owned())));
    assert!(found.contains(&Finding::MissingPart("P-A".to_owned())));
    let found = with(|p| p.parts[2].part = "Z".to_owned());
    assert!(found.contains(&Finding::UnknownPart("Z".to_owned())));
}

#[test]
fn lists_are_whole_in_order_and_without_doubles() {
    let name = |plan: &Plan, place: usize| {
        let end = &plan.ends[place];
        couplet::audit::EndName {
            circuit: end.circuit.clone(),
            net: end.net.clone(),
            side: end.end.clone(),
        }
    };
    let plan = World::new().plan();
    let found = with(|p| {
        p.ends.remove(2);
    });
    assert!(found.contains(&Finding::MissingEnd(name(&plan, 2))));
    let found = with(|p| {
        let end = p.ends[2].clone();
        p.ends.insert(2, end);
    });
    assert!(found.contains(&Finding::DoubledEnd(name(&plan, 2))));
    let found = with(|p| p.ends.swap(1, 2));
    assert_eq!(found, [Finding::EndsOutOfOrder(name(&plan, 1))]);
    // The heater circuit has no connector at its start.
    let found = with(|p| p.ends[4].end = "from".to_owned());
    assert!(matches!(
        &found[..2],
        [Finding::UnknownEnd(_), Finding::MissingEnd(_)]
    ));

    assert_eq!(
        with(|p| p.parts.swap(0, 1)),
        [Finding::PartsOutOfOrder("BS-1".to_owned())]
    );
    let found = with(|p| {
        let part = p.parts[0].clone();
        p.parts.insert(0, part);
    });
    assert_eq!(found, [Finding::DoubledPart("BS-1".to_owned())]);

    assert_eq!(
        with(|p| p.orders.swap(0, 1)),
        [Finding::OrdersOutOfOrder("Nord".to_owned())]
    );
    let found = with(|p| {
        let order = p.orders[0].clone();
        p.orders.insert(0, order);
    });
    assert!(found.contains(&Finding::DoubledOrder("Nord".to_owned())));
    // Twice is not out of order as well.
    assert!(!found.contains(&Finding::OrdersOutOfOrder("Nord".to_owned())));
    let swapped = Finding::LinesOutOfOrder(line("Nord", "BS-1", "N-BS"));
    assert_eq!(with(|p| p.orders[0].lines.swap(0, 1)), [swapped]);
    let found = with(|p| {
        let line = p.orders[0].lines[0].clone();
        p.orders[0].lines.insert(0, line);
    });
    assert!(found.contains(&Finding::DoubledLine(line("Nord", "BS-1", "N-BS"))));
    assert!(!found.contains(&Finding::LinesOutOfOrder(line("Nord", "BS-1", "N-BS"))));
    let found = with(|p| p.orders[1].lines.clear());
    assert!(found.contains(&Finding::EmptyOrder("South".to_owned())));

    let found = with(|p| p.ends[0].fittings.swap(0, 1));
    assert_eq!(found, [Finding::FittingsOutOfOrder(name(&plan, 0))]);
    let found = with(|p| {
        let f = p.ends[0].fittings[0].clone();
        p.ends[0].fittings.insert(0, f);
    });
    assert!(matches!(found[0], Finding::DoubledFitting(..)));
    let found = with(|p| p.ends[0].fittings[0].half = "both".to_owned());
    assert!(matches!(
        &found[..2],
        [Finding::UnknownWord(..), Finding::MissingFitting(..)]
    ));
}

#[test]
fn orders_go_to_known_suppliers_for_what_they_sell() {
    let found = with(|p| p.orders[1].supplier = "Sud".to_owned());
    assert!(found.contains(&Finding::UnknownSupplier("Sud".to_owned())));
    let found = with(|p| {
        let line = p.orders[0].lines.remove(2);
        p.orders[1].lines.insert(0, line);
    });
    let no_offer = Finding::NoOffer(line("South", "P-A", "N-PA"));
    assert!(found.contains(&no_offer));
    assert_eq!(
        no_offer.to_string(),
        "order to South, part P-A, sku N-PA: the supplier does not sell the part"
    );
    assert_eq!(
        fields(&with(|p| p.orders[1].currency = currency("EUR"))),
        ["currency"]
    );
}

#[test]
fn status_bound_and_gap_agree() {
    let proof = |status, bound: &str, gap: &str| {
        with(|p| {
            p.status = status;
            p.total_bound = money(bound);
            p.gap_percent = gap.parse().unwrap();
            p.proof = (status == Status::Optimal).then_some(2);
        })
    };
    // (329.235075 − 328) / 329.235075 = 0.375134...
    assert_eq!(proof(Status::WithinGap, "328", "0.3752"), []);
    assert_eq!(proof(Status::TimeLimit, "328", "0.37520"), []);
    for gap in [
        "0.3751",
        "0.3753",
        "0.37514",
        "0",
        "-0.3752",
        "79228162514264337593543950335",
    ] {
        assert_eq!(
            fields(&proof(Status::TimeLimit, "328", gap)),
            ["gap_percent"],
            "{gap}"
        );
    }
    assert_eq!(
        fields(&proof(Status::Optimal, "328", "0.3752")),
        ["total_bound"]
    );
    assert_eq!(proof(Status::Optimal, "329.235075", "0"), []);
    assert_eq!(
        fields(&proof(Status::Optimal, "329.235075", "0.0001")),
        ["gap_percent"]
    );
    assert_eq!(
        fields(&proof(Status::TimeLimit, "329.235076", "0")),
        ["total_bound"]
    );
    assert_eq!(
        fields(&proof(Status::TimeLimit, "-0.01", "100")),
        ["total_bound"]
    );
    assert_eq!(proof(Status::TimeLimit, "0", "100"), []);
}

#[test]
fn the_head_names_the_same_project_and_files() {
    assert_eq!(
        fields(&with(|p| p.schema = "couplet.plan/0".to_owned())),
        ["schema"]
    );
    assert_eq!(
        fields(&with(|p| p.project = "Boat".to_owned())),
        ["project"]
    );
    assert_eq!(
        fields(&with(|p| p.currency = currency("USD"))),
        ["currency"]
    );
    assert_eq!(fields(&with(|p| p.as_of = None)), ["as_of"]);
    assert_eq!(
        after(|w| w.input.files[0].sha256 = "11".repeat(32)),
        [Finding::Inputs]
    );
    assert_eq!(
        fields(&with(|p| p.ends[0].location = "boot".to_owned())),
        ["location"]
    );
    assert_eq!(
        fields(&with(|p| p.ends[0].gauge = "70 mm2".to_owned())),
        ["gauge"]
    );
    assert_eq!(
        fields(&with(|p| p.ends[0].key = "B".to_owned())),
        ["key", "key"]
    );
}

#[test]
fn an_empty_plan_for_no_circuits_passes() {
    let found = made(|w| {
        w.input.circuits.clear();
        w.fit.ends.clear();
        w.solution.sets.clear();
        w.solution.purchases.clear();
    });
    assert_eq!(found, []);
}

#[test]
fn one_part_may_come_from_two_suppliers() {
    let found = made(|w| {
        let mut second = w.input.catalog.offers[P_A_NORD].clone();
        second.supplier = couplet::catalog::SupplierId(SOUTH as u32);
        w.input.catalog.offers.insert(P_A_NORD + 1, second);
        let moved = w
            .solution
            .purchases
            .iter_mut()
            .filter(|(id, _)| id.0 as usize > P_A_NORD);
        moved.for_each(|(id, _)| id.0 += 1);
        w.buy(P_A_NORD, 1);
        w.buy(P_A_NORD + 1, 2);
    });
    assert_eq!(found, []);
}

/// Seals in fives and in a bag of ten, of which two are bought.
fn with_bags() -> (World, Plan) {
    let mut world = World::new();
    world.sell_bags();
    world.buy(S_1_BAG, 2);
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    (world, plan)
}

/// What the audit says of the lines of South: receptacles, seals, seals in bags.
fn of_south(change: impl FnOnce(&mut Vec<OrderLine>)) -> Vec<Finding> {
    let (world, mut plan) = with_bags();
    change(&mut plan.orders[1].lines);
    audit(&world.input, &plan)
}

#[test]
fn each_sku_is_a_line_of_its_own() {
    let doubled = |sku| Finding::DoubledLine(line("South", "S-1", sku));
    let found = of_south(|lines| lines.push(lines[2].clone()));
    assert!(found.contains(&doubled("S-S1-BAG")), "{found:?}");
    assert!(!found.contains(&doubled("S-S1")));
    let found = of_south(|lines| lines[2].sku = "S-S1".to_owned());
    assert!(found.contains(&doubled("S-S1")), "{found:?}");

    let swapped = Finding::LinesOutOfOrder(line("South", "S-1", "S-S1"));
    assert_eq!(of_south(|lines| lines.swap(1, 2)), [swapped]);

    for sku in ["", "S-S2", "S-S1-bag"] {
        let other = Finding::NoSuchSku(line("South", "S-1", sku));
        let found = of_south(|lines| lines[2].sku = sku.to_owned());
        assert!(found.contains(&other), "{found:?}");
    }
    assert_eq!(
        Finding::NoSuchSku(line("South", "S-1", "")).to_string(),
        "order to South, part S-1: the supplier does not sell the part under this sku"
    );
    assert_eq!(
        doubled("S-S1-BAG").to_string(),
        "order to South, part S-1, sku S-S1-BAG: the part stands there twice"
    );
}

#[test]
fn each_sku_has_its_own_pack_stock_least_and_price() {
    let after = |change: fn(&mut World)| {
        let (mut world, plan) = with_bags();
        change(&mut world);
        audit(&world.input, &plan)
    };
    let bag = || line("South", "S-1", "S-S1-BAG");
    // 5 pieces and 20, of 25 in all.
    assert_eq!(after(|w| w.offer(S_1_SOUTH).stock = Some(5)), []);
    assert_eq!(after(|w| w.offer(S_1_BAG).stock = Some(20)), []);
    let found = after(|w| w.offer(S_1_BAG).stock = Some(19));
    assert_eq!(found, [Finding::AboveStock(bag())]);
    let found = after(|w| w.offer(S_1_BAG).pack = 15);
    assert_eq!(found, [Finding::BrokenPack(bag())]);
    assert_eq!(after(|w| w.offer(S_1_BAG).breaks[0].min_qty = 20), []);
    let found = after(|w| w.offer(S_1_BAG).breaks[0].min_qty = 21);
    assert_eq!(found, [Finding::BelowLeast(bag())]);
    let found = after(|w| w.offer(S_1_BAG).lead_days = Some(31));
    assert_eq!(found, [Finding::TooSlow(bag())]);
    let found = after(|w| w.offer(S_1_BAG).breaks[0].unit_price = money("0.91"));
    assert_eq!(fields(&found)[..2], ["unit_price", "line_total"]);
    // A break of one sku is not reached by the pieces of both.
    assert_eq!(
        after(|w| w.offer(S_1_SOUTH).breaks.push(step(6, "0.10"))),
        []
    );
}

/// Where the rows of one offer named a sku for each break, an earlier version wrote the
/// sku of the break that was reached. They are two offers now.
#[test]
fn a_record_of_an_earlier_version_passes() {
    let mut world = World::new();
    let plan = world.plan();
    let split = world.offer(F_50_NORD).breaks.pop().unwrap();
    let mut second = world.input.catalog.offers[F_50_NORD].clone();
    second.sku = "N-F50-10".to_owned();
    second.breaks = vec![split];
    world.input.catalog.offers.insert(F_50_NORD + 1, second);

    let text = serde_json::to_string(&plan).unwrap();
    let text = text.replace("couplet.plan/2", "couplet.plan/1");
    let text = text.replace("\"N-F50\"", "\"N-F50-10\"");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    std::fs::write(&path, text).unwrap();
    let mut old = couplet::plan::read(&path).unwrap();
    assert_eq!(old.schema, "couplet.plan/1");
    assert_eq!(audit(&world.input, &old), []);
    assert_eq!(audit_alone(&old), []);
    // No schema is written that no version had.
    old.schema = "couplet.plan/3".to_owned();
    assert_eq!(fields(&audit(&world.input, &old)), ["schema"]);
}

#[test]
fn nothing_is_bought_for_a_receptacle_that_is_built_in() {
    let mut world = World::new();
    world.build_in(4);
    world.buy(R_A_SOUTH, 2);
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    // The third would serve the end that has its own.
    let mut wrong = plan.clone();
    wrong.ends[4].receptacle = Some("R-A".to_owned());
    let short = Finding::Short {
        part: "R-A".to_owned(),
        need: 3,
        have: 2,
    };
    let found = audit(&world.input, &wrong);
    assert!(found.contains(&short), "{found:?}");
    assert_eq!(fields(&found), ["fitted"]);
}

/// Rows of what is ordered, and the plan that uses them.
fn ordered() -> (World, Plan) {
    let world = World::with_ordered();
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    (world, plan)
}

#[test]
fn what_is_ordered_is_checked_to_the_piece() {
    type Change = fn(&mut couplet::plan::OrderedRecord);
    let changes: [(&str, Change); 6] = [
        ("qty", |r| r.qty += 1),
        ("qty", |r| r.qty -= 1),
        ("unused", |r| r.unused += 1),
        ("unused", |r| r.unused -= 1),
        ("worth", |r| r.worth += money("0.01")),
        ("worth", |r| r.worth = r.worth - money("0.01")),
    ];
    let (world, plan) = ordered();
    for at in 0..plan.ordered.len() {
        for (field, change) in changes {
            let mut wrong = plan.clone();
            change(&mut wrong.ordered[at]);
            let found = audit(&world.input, &wrong);
            assert_eq!((found.len(), fields(&found)), (1, vec![field]), "{at}");
        }
    }
}

#[test]
fn the_list_of_what_is_ordered_is_by_part_and_supplier() {
    let (world, plan) = ordered();
    let changes: [fn(&mut Plan); 4] = [
        |p| drop(p.ordered.pop()),
        |p| p.ordered.swap(2, 3),
        |p| p.ordered.push(p.ordered[0].clone()),
        |p| p.ordered[4].supplier = "Nord".to_owned(),
    ];
    for change in changes {
        let mut wrong = plan.clone();
        change(&mut wrong);
        assert_eq!(fields(&audit(&world.input, &wrong)), ["ordered"]);
    }
}

#[test]
fn what_is_ordered_is_listed_by_sku() {
    let mut world = World::new();
    world.sell_bags();
    for (sku, qty) in [("S-S1-BAG", 10), ("", 1), ("S-S1", 1)] {
        world.order(S_1, SOUTH, qty, "1.00", "0");
        world.input.ordered.last_mut().unwrap().sku = sku.to_owned();
    }
    world.buy(S_1_SOUTH, 0);
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    let changes: [fn(&mut Plan); 4] = [
        |p| p.ordered[1].sku.clear(),
        |p| p.ordered[2].sku = "S-S1-bag".to_owned(),
        |p| p.ordered.swap(0, 1),
        |p| {
            p.ordered[1].qty += 1;
            p.ordered.remove(0);
        },
    ];
    for change in changes {
        let mut wrong = plan.clone();
        change(&mut wrong);
        assert_eq!(fields(&audit(&world.input, &wrong)), ["ordered"]);
    }
    // Rows are used from the first on, whatever the sku.
    let mut wrong = plan.clone();
    wrong.ordered[2].unused -= 1;
    let found = audit(&world.input, &wrong);
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        ["ordered part S-1 from South, sku S-S1-BAG: unused is 4, not 5"]
    );
    wrong.ordered[2].unused += 1;
    wrong.ordered[0].qty += 1;
    let found = audit(&world.input, &wrong);
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        ["ordered part S-1 from South: qty is 2, not 1"]
    );
}

#[test]
fn what_was_spent_is_checked_to_the_cent() {
    let (mut world, mut plan) = ordered();
    assert_eq!(plan.spent, money("204.06"));
    for spent in ["204.05", "204.07", "0"] {
        plan.spent = money(spent);
        assert_eq!(fields(&audit(&world.input, &plan)), ["spent"]);
    }
    plan.spent = money("204.06");
    let mut with_die = World::with_ordered();
    with_die.order_die("40.25");
    let mut right = with_die.plan();
    assert_eq!(audit(&with_die.input, &right), []);
    right.spent = plan.spent;
    assert_eq!(fields(&audit(&with_die.input, &right)), ["spent"]);
    world.input.ordered[4].charges = money("0.51");
    assert_eq!(fields(&audit(&world.input, &plan)), ["spent"]);
    world.input.settings.rates.clear();
    let found = audit(&world.input, &plan);
    assert!(found.contains(&Finding::TooLarge("what is ordered".to_owned())));
}

#[test]
fn ordered_pieces_serve_after_those_on_hand() {
    let (mut world, plan) = ordered();
    // Of ten back shells four are on hand, so six of twenty are used.
    world.input.on_hand.insert(BS_1, 5);
    let found = fields(&audit(&world.input, &plan));
    assert_eq!(found, ["on_hand_used", "ordered_used", "unused", "worth"]);
    world.input.on_hand.insert(BS_1, 4);
    // Three of four plugs that were ordered first.
    for qty in [0, 4] {
        let mut wrong = plan.clone();
        let record = wrong.parts.iter_mut().find(|p| p.part == "P-A").unwrap();
        record.ordered_used = qty;
        assert!(fields(&audit(&world.input, &wrong)).contains(&"ordered_used"));
    }
}
