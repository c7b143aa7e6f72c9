//! What changes from one order to another, kind by kind, on the small plan that
//! is built by hand: no search is needed.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::plan::{Order, OrderLine, Plan};
use couplet::study::changes::{Change, Kind, any, changes, places};
use couplet::study::reprice::{Keep, Totals};
use couplet::units::{Currency, Money};
use plan_world::{World, money};

fn line(part: &str, qty: u64, price: &str) -> OrderLine {
    OrderLine {
        part: part.to_owned(),
        sku: String::new(),
        qty,
        packs: qty,
        unit_price: money(price),
        line_total: Money::ZERO,
    }
}

fn order(supplier: &str, lines: &[(&str, u64, &str)]) -> Order {
    Order {
        supplier: supplier.to_owned(),
        currency: Currency("EUR".to_owned()),
        lines: lines.iter().map(|(p, q, u)| line(p, *q, u)).collect(),
        goods: Money::ZERO,
        duty: Money::ZERO,
        shipping: Money::ZERO,
        total: Money::ZERO,
    }
}

/// Kind, and the line before and after as supplier/part, in their order.
fn told(changes: &[Change]) -> Vec<(Kind, String, String)> {
    let name = |line: &Option<couplet::study::changes::Line>| {
        line.as_ref()
            .map(|l| format!("{}/{} {}", l.supplier, l.part, l.qty))
            .unwrap_or_default()
    };
    let one = |c: &Change| (c.kind, name(&c.before), name(&c.after));
    changes.iter().map(one).collect()
}

fn of(plan: &Plan, old: &[Order], new: &[Order]) -> Vec<(Kind, String, String)> {
    told(&changes((old, plan), (new, plan)))
}

fn row(kind: Kind, before: &str, after: &str) -> (Kind, String, String) {
    (kind, before.to_owned(), after.to_owned())
}

#[test]
fn a_line_keeps_or_changes_quantity_or_price() {
    let plan = World::new().plan();
    let old = [order(
        "Nord",
        &[("A", 5, "1.00"), ("B", 5, "1.00"), ("C", 5, "1.00")],
    )];
    let new = [order(
        "Nord",
        &[("A", 5, "1.00"), ("B", 6, "0.90"), ("C", 5, "1.01")],
    )];
    let found = of(&plan, &old, &new);
    let want = [
        row(Kind::Unchanged, "Nord/A 5", "Nord/A 5"),
        row(Kind::Quantity, "Nord/B 5", "Nord/B 6"),
        row(Kind::Price, "Nord/C 5", "Nord/C 5"),
    ];
    assert_eq!(found, want);
    assert!(any(&changes((&old, &plan), (&new, &plan))));
    assert!(!any(&changes((&old, &plan), (&old, &plan))));
    assert!(!any(&changes((&[], &plan), (&[], &plan))));
    // The same figure in another currency is another price.
    let mut dollars = old.clone();
    dollars[0].currency = Currency("USD".to_owned());
    let kinds: Vec<Kind> = of(&plan, &old, &dollars).into_iter().map(|c| c.0).collect();
    assert_eq!(kinds, [Kind::Price; 3]);
}

#[test]
fn lines_come_and_go() {
    let plan = World::new().plan();
    let old = [order("Nord", &[("A", 5, "1"), ("B", 1, "1")])];
    let new = [order("Nord", &[("B", 1, "1"), ("C", 2, "1")])];
    let want = [
        row(Kind::Removed, "Nord/A 5", ""),
        row(Kind::Unchanged, "Nord/B 1", "Nord/B 1"),
        row(Kind::Added, "", "Nord/C 2"),
    ];
    assert_eq!(of(&plan, &old, &new), want);
}

#[test]
fn another_supplier_takes_a_line_where_that_is_one_for_one() {
    let plan = World::new().plan();
    let old = [order("Nord", &[("A", 5, "1"), ("B", 5, "1")])];
    let new = [order("South", &[("A", 4, "1")])];
    let want = [
        row(Kind::SupplierSwitched, "Nord/A 5", "South/A 4"),
        row(Kind::Removed, "Nord/B 5", ""),
    ];
    assert_eq!(of(&plan, &old, &new), want);
    // Two for one, and one for two, are no switch.
    let both = [
        order("South", &[("A", 4, "1")]),
        order("West", &[("A", 1, "1")]),
    ];
    let nord = [order("Nord", &[("A", 5, "1")])];
    let want = [
        row(Kind::Removed, "Nord/A 5", ""),
        row(Kind::Added, "", "South/A 4"),
        row(Kind::Added, "", "West/A 1"),
    ];
    assert_eq!(of(&plan, &nord, &both), want);
    let want = [
        row(Kind::Added, "", "Nord/A 5"),
        row(Kind::Removed, "South/A 4", ""),
        row(Kind::Removed, "West/A 1", ""),
    ];
    assert_eq!(of(&plan, &both, &nord), want);
}

/// The plan with one part in the place of another, at the ends that `is_at` says.
fn with_part(plan: &Plan, from: &str, to: &str, is_at: impl Fn(usize) -> bool) -> Plan {
    let mut plan = plan.clone();
    for (place, end) in plan.ends.iter_mut().enumerate() {
        if is_at(place) && end.plug == from {
            end.plug = to.to_owned();
        }
    }
    plan
}

#[test]
fn another_part_takes_a_line_where_it_takes_all_its_ends() {
    let plan = World::new().plan();
    let other = with_part(&plan, "P-A", "P-Z", |_| true);
    let old = [order("Nord", &[("P-A", 3, "30"), ("P-B", 2, "31")])];
    let new = [order("South", &[("P-B", 2, "31"), ("P-Z", 3, "29")])];
    let want = [
        row(Kind::PartSwitched, "Nord/P-A 3", "South/P-Z 3"),
        row(Kind::SupplierSwitched, "Nord/P-B 2", "South/P-B 2"),
    ];
    assert_eq!(told(&changes((&old, &plan), (&new, &other))), want);
    // At one of its ends it stays, so nothing took it over.
    let first = plan.ends.iter().position(|end| end.plug == "P-A").unwrap();
    let some = with_part(&plan, "P-A", "P-Z", |place| place != first);
    let kinds: Vec<Kind> = changes((&old, &plan), (&new, &some))
        .iter()
        .map(|c| c.kind)
        .collect();
    assert_eq!(kinds, [Kind::Removed, Kind::SupplierSwitched, Kind::Added]);
    // A part that had ends before did not come for it.
    let known = with_part(&plan, "P-A", "P-B", |_| true);
    let new = [order("Nord", &[("P-B", 5, "31")])];
    let kinds: Vec<Kind> = changes((&old, &plan), (&new, &known))
        .iter()
        .map(|c| c.kind)
        .collect();
    assert_eq!(kinds, [Kind::Removed, Kind::Quantity]);
}

#[test]
fn each_part_has_its_places() {
    let plan = World::new().plan();
    let all = places(&plan);
    let fitted: usize = all.values().map(std::collections::BTreeSet::len).sum();
    let fittings: usize = plan.ends.iter().map(|end| end.fittings.len()).sum();
    assert_eq!(fitted, plan.ends.len() * 2 + fittings);
    assert_eq!(all["P-A"].len() + all["P-B"].len(), plan.ends.len());
    let end = &plan.ends[0];
    let at = (
        end.circuit.as_str(),
        end.net.as_str(),
        end.end.as_str(),
        "plug",
        "body",
    );
    assert!(all[end.plug.as_str()].contains(&at));
}

/// What pays where the lines, the parts and a plan made anew come to so much, and
/// a change of parts is worth so much.
fn pays(lines: &str, parts: &str, anew: &str, worth_changing: &str) -> Keep {
    let some = |text: &str| (!text.is_empty()).then(|| money(text));
    let totals = Totals {
        recorded: money("100"),
        lines: some(lines),
        parts: some(parts),
        anew: money(anew),
    };
    totals.best(money(worth_changing))
}

#[test]
fn other_parts_must_be_worth_it_over_the_parts_as_they_are() {
    // 11 less than the lines, but only 1 less than the parts bought anew.
    assert_eq!(pays("110", "100", "99", "5"), Keep::Parts);
    assert_eq!(pays("110", "100", "99", "1.01"), Keep::Parts);
    assert_eq!(pays("110", "100", "99", "1"), Keep::Nothing);
    assert_eq!(pays("110", "100", "99", "0"), Keep::Nothing);
    // To buy the same parts elsewhere need not be worth anything.
    assert_eq!(pays("100", "99.99", "99.99", "0"), Keep::Parts);
    assert_eq!(pays("100", "99.99", "99.99", "5"), Keep::Parts);
    assert_eq!(pays("100", "100", "100", "0"), Keep::Lines);
    assert_eq!(pays("100", "100", "95.01", "5"), Keep::Lines);
    assert_eq!(pays("100", "100", "95", "5"), Keep::Nothing);
    // Where one of them can't be kept, the other counts; where none can, anything.
    assert_eq!(pays("110", "", "105.01", "5"), Keep::Lines);
    assert_eq!(pays("110", "", "105", "5"), Keep::Nothing);
    assert_eq!(pays("", "100", "95.01", "5"), Keep::Parts);
    assert_eq!(pays("", "100", "95", "5"), Keep::Nothing);
    assert_eq!(pays("", "", "100", "5"), Keep::Nothing);
}
