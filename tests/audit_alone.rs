//! What a record says of itself, without the files that it was made from: each
//! count and each amount on both sides of what is right.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::audit::{EndName, Fact, Finding, LineName, audit_alone};
use couplet::catalog::{Fitting, Half};
use couplet::plan::{OrderLine, PartRecord, Plan, Status};
use couplet::units::Money;
use plan_world::*;
use rust_decimal::Decimal;

/// A right plan with all orders in the project's currency.
fn plan() -> Plan {
    let mut world = World::new();
    world.supplier(SOUTH).currency = currency("EUR");
    world.plan()
}

fn with(change: impl FnOnce(&mut Plan)) -> Vec<Finding> {
    let mut plan = plan();
    assert_eq!(audit_alone(&plan), []);
    change(&mut plan);
    audit_alone(&plan)
}

fn part<'a>(plan: &'a mut Plan, code: &str) -> &'a mut PartRecord {
    plan.parts.iter_mut().find(|p| p.part == code).unwrap()
}

fn line<'a>(plan: &'a mut Plan, code: &str) -> &'a mut OrderLine {
    let mut lines = plan.orders.iter_mut().flat_map(|order| &mut order.lines);
    lines.find(|line| line.part == code).unwrap()
}

fn name(part: &str) -> LineName {
    LineName {
        supplier: "Nord".to_owned(),
        part: part.to_owned(),
        sku: match part {
            "BS-1" => "N-BS",
            _ => "N-PA",
        }
        .to_owned(),
    }
}

/// The fields that differ, with what they say and what they should say.
fn facts(found: &[Finding]) -> Vec<(&'static str, &str, &str)> {
    let facts = found.iter().map(fact);
    facts
        .map(|f| (f.field, f.found.as_str(), f.want.as_str()))
        .collect()
}

fn fact(finding: &Finding) -> &Fact {
    match finding {
        Finding::Part(f) | Finding::Order(f) | Finding::Cost(f) => f,
        Finding::Proof(f) | Finding::Line(_, f) => f,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_right_record_agrees_with_itself() {
    assert_eq!(audit_alone(&plan()), []);
    assert_eq!(audit_alone(&World::new().plan()), []);
    let mut world = World::new();
    world.order(P_A, NORD, 2, "29.00", "3.00");
    world.buy(P_A_NORD, 1);
    assert_eq!(audit_alone(&world.plan()), []);
}

#[test]
fn counts_follow_from_ends_and_orders() {
    // 10 fitted, 4 from the shelf, 8 bought, 2 left.
    let found = with(|p| part(p, "BS-1").fitted = 9);
    assert_eq!(
        facts(&found),
        [("fitted", "9", "10"), ("surplus", "2", "3")]
    );
    let found = with(|p| part(p, "BS-1").bought = 9);
    assert_eq!(facts(&found), [("bought", "9", "8"), ("surplus", "2", "3")]);
    let found = with(|p| part(p, "BS-1").spare = 1);
    assert_eq!(facts(&found), [("surplus", "2", "1")]);
    let found = with(|p| part(p, "BS-1").on_hand_used = 5);
    assert_eq!(facts(&found), [("surplus", "2", "3")]);
    let found = with(|p| part(p, "BS-1").ordered_used = 3);
    assert_eq!(facts(&found), [("surplus", "2", "5")]);
    let found = with(|p| part(p, "BS-1").surplus = 1);
    assert_eq!(facts(&found), [("surplus", "1", "2")]);
}

#[test]
fn too_little_is_told_from_just_enough() {
    let enough = with(|p| {
        let record = part(p, "BS-1");
        (record.spare, record.surplus) = (2, 0);
    });
    assert_eq!(enough, []);
    let short = with(|p| {
        let record = part(p, "BS-1");
        (record.spare, record.surplus) = (3, 0);
    });
    let (need, have) = (13, 12);
    let part = "BS-1".to_owned();
    assert_eq!(short, [Finding::Short { part, need, have }]);
}

#[test]
fn parts_are_those_of_the_ends() {
    let doubled = with(|p| p.parts.push(p.parts[0].clone()));
    assert_eq!(doubled, [Finding::DoubledPart("BS-1".to_owned())]);
    let missing = with(|p| p.parts.retain(|record| record.part != "S-1"));
    assert_eq!(missing, [Finding::MissingPart("S-1".to_owned())]);
    let unfitted = with(|p| {
        let mut other = p.parts[0].clone();
        other.part = "X".to_owned();
        p.parts.push(other);
    });
    assert_eq!(unfitted, [Finding::UnfittedPart("X".to_owned())]);
    let bought = with(|p| {
        let mut other = line(p, "P-A").clone();
        other.part = "X".to_owned();
        other.line_total = Money::ZERO;
        other.unit_price = Money::ZERO;
        p.orders[0].lines.push(other);
    });
    assert_eq!(bought, [Finding::UnfittedLine(name("X"))]);
}

#[test]
fn words_are_those_of_sides_halves_and_kinds() {
    let name = |p: &Plan, end: usize| EndName {
        circuit: p.ends[end].circuit.clone(),
        net: p.ends[end].net.clone(),
        side: p.ends[end].end.clone(),
    };
    let other = "side".to_owned();
    let found = with(|p| p.ends[0].end = other.clone());
    let side = EndName {
        side: other,
        ..name(&plan(), 0)
    };
    assert_eq!(found, [Finding::UnknownEnd(side)]);
    let fitted = plan().ends.iter().position(|e| !e.fittings.is_empty());
    let fitted = fitted.expect("fittings");
    let of = name(&plan(), fitted);
    let found = with(|p| p.ends[fitted].fittings[0].half = "side".to_owned());
    let kind = plan().ends[fitted].fittings[0].kind.clone();
    let words = format!("side {kind}");
    assert_eq!(found, [Finding::UnknownWord(of.clone(), words)]);
    let found = with(|p| p.ends[fitted].fittings[0].kind = "plug".to_owned());
    let is_word = |f: &Finding| matches!(f, Finding::UnknownWord(end, _) if *end == of);
    assert!(found.iter().any(is_word), "{found:?}");
    for code in ["BS-1", "P-A"] {
        let kind = part(&mut plan(), code).kind.clone();
        let found = with(|p| part(p, code).kind = "seal".to_owned());
        assert_eq!(facts(&found), [("kind", "seal", kind.as_str())]);
    }
}

#[test]
fn lines_are_whole_packs_of_something() {
    let packs = |code: &str, qty: Option<u64>, packs: u64| {
        let found = with(|p| {
            let line = line(p, code);
            (line.qty, line.packs) = (qty.unwrap_or(line.qty), packs);
        });
        found.contains(&Finding::BrokenPack(name(code)))
    };
    // 8 pieces in 2 packs.
    assert!(!packs("BS-1", None, 2));
    assert!(!packs("BS-1", None, 8));
    assert!(!packs("BS-1", None, 1));
    assert!(packs("BS-1", None, 3));
    assert!(packs("BS-1", None, 0));
    assert!(packs("BS-1", Some(7), 2));
    assert!(packs("BS-1", Some(0), 2));
    assert!(packs("BS-1", Some(0), 0));
}

#[test]
fn an_order_adds_up() {
    // 3 × 30.00, so that its order comes to 176.50 and, shipped, to 186.40.
    let found = with(|p| line(p, "P-A").line_total = money("90.01"));
    assert_eq!(facts(&found), [("line_total", "90.01", "90.00")]);
    let found = with(|p| line(p, "P-A").unit_price = money("30.01"));
    assert_eq!(
        facts(&found),
        [
            ("line_total", "90.00", "90.03"),
            ("goods", "176.50", "176.53"),
            ("total", "186.40", "186.43")
        ]
    );
    let found = with(|p| p.orders[0].total = money("186.41"));
    assert_eq!(facts(&found), [("total", "186.41", "186.40")]);
    // The sum over the orders is another one then, too.
    let found = with(|p| p.orders[0].duty = money("1"));
    assert_eq!(
        facts(&found),
        [
            ("total", "186.40", "187.40"),
            ("duty", "2.013125", "3.013125")
        ]
    );
}

#[test]
fn the_terms_add_up() {
    let plan = plan();
    let (total, taxed) = (plan.cost.total.0, plan.cost.total_with_tax.0);
    let more = |amount: Decimal| Money(amount + Decimal::ONE);
    let (sum, sum_taxed) = (Money(total).to_string(), Money(taxed).to_string());
    let found = with(|p| p.cost.tax = more(p.cost.tax.0));
    let want = more(taxed).to_string();
    assert_eq!(
        facts(&found),
        [("total_with_tax", sum_taxed.as_str(), want.as_str())]
    );
    let want = more(total).to_string();
    for change in [
        (|p: &mut Plan| p.cost.dies.0 += Decimal::ONE) as fn(&mut Plan),
        |p| p.cost.lines.0 += Decimal::ONE,
    ] {
        let found = with(change);
        assert_eq!(facts(&found), [("total", sum.as_str(), want.as_str())]);
    }
    for (field, change) in [
        (
            "goods",
            (|p: &mut Plan| p.cost.goods.0 += Decimal::ONE) as fn(&mut Plan),
        ),
        ("duty", |p| p.cost.duty.0 += Decimal::ONE),
        ("shipping", |p| p.cost.shipping.0 += Decimal::ONE),
    ] {
        let fields: Vec<&str> = facts(&with(change)).iter().map(|f| f.0).collect();
        assert_eq!(fields, ["total", field]);
    }
}

#[test]
fn orders_in_another_currency_are_not_added_up() {
    let change = |plan: &mut Plan| {
        plan.cost.goods.0 += Decimal::ONE;
        plan.cost.total.0 += Decimal::ONE;
        plan.total_bound.0 += Decimal::ONE;
        plan.cost.total_with_tax.0 += Decimal::ONE;
    };
    assert_eq!(facts(&with(change))[0].0, "goods");
    let mut foreign = World::new().plan();
    change(&mut foreign);
    assert_eq!(audit_alone(&foreign), []);
}

#[test]
fn numbers_beyond_reckoning_are_told() {
    let most = Money(Decimal::MAX);
    let found = with(|p| line(p, "P-A").unit_price = most);
    assert!(found.contains(&Finding::TooLarge("order to Nord".to_owned())));
    let found = with(|p| (p.cost.goods, p.cost.duty) = (most, most));
    assert!(found.contains(&Finding::TooLarge("the total".to_owned())));
}

#[test]
fn a_proof_agrees_with_its_total() {
    let found = with(|p| p.total_bound = money("1"));
    let total = plan().cost.total.to_string();
    assert_eq!(facts(&found), [("total_bound", "1.00", total.as_str())]);
    let found = with(|p| {
        p.status = Status::TimeLimit;
        p.total_bound = money("-1");
    });
    let want = format!("between 0 and {total}");
    assert_eq!(facts(&found), [("total_bound", "-1.00", want.as_str())]);
}

#[test]
fn a_built_in_receptacle_has_no_part_and_no_fittings() {
    let mut world = World::new();
    world.build_in(4);
    world.buy(R_A_SOUTH, 2);
    let plan = world.plan();
    assert_eq!(audit_alone(&plan), []);
    let mut wrong = plan.clone();
    let mut seal = wrong.ends[4].fittings[1].clone();
    assert_eq!((seal.half.as_str(), seal.kind.as_str()), ("plug", "seal"));
    seal.half = "receptacle".to_owned();
    wrong.ends[4].fittings[1] = seal;
    let end = couplet::audit::EndName {
        circuit: "heater".to_owned(),
        net: "H+".to_owned(),
        side: "to".to_owned(),
    };
    let needless = Finding::UnneededFitting(end, Half::Receptacle, Fitting::Seal);
    assert_eq!(audit_alone(&wrong), [needless]);
    // Where a receptacle stands in the record, it may have fittings.
    wrong.ends[4].receptacle = Some("R-A".to_owned());
    assert_eq!(facts(&audit_alone(&wrong)), [("fitted", "2", "3")]);
}

#[test]
fn a_line_is_one_part_under_one_sku() {
    let with_bags = |change: fn(&mut OrderLine)| {
        let mut world = World::new();
        world.sell_bags();
        world.buy(S_1_BAG, 1);
        let mut plan = world.plan();
        change(&mut plan.orders[1].lines[2]);
        audit_alone(&plan)
    };
    assert_eq!(with_bags(|_| ()), []);
    assert_eq!(with_bags(|line| line.sku.clear()), []);
    let found = with_bags(|line| line.sku = "S-S1".to_owned());
    let doubled = LineName {
        supplier: "South".to_owned(),
        part: "S-1".to_owned(),
        sku: "S-S1".to_owned(),
    };
    assert_eq!(found, [Finding::DoubledLine(doubled)]);
}

#[test]
fn what_is_wrong_twice_is_told_once() {
    let found = with(|p| p.parts.extend([p.parts[0].clone(), p.parts[0].clone()]));
    assert_eq!(found, [Finding::DoubledPart("BS-1".to_owned())]);
}
