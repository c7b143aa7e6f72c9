//! What changes from one order to another, kind by kind, on the small plan that
//! is built by hand: no search is needed.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::plan::{Order, OrderLine, Plan};
use couplet::study::changes::{Change, Kind, any, changes, places};
use couplet::study::open::open_orders;
use couplet::study::reprice::{Keep, Totals};
use couplet::units::{Currency, Money};
use plan_world::{NORD, P_A, P_A_NORD, SOUTH, World, money};

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

/// The order with a sku on each line, in their order.
fn under(mut order: Order, skus: &[&str]) -> Order {
    for (line, sku) in order.lines.iter_mut().zip(skus) {
        line.sku = (*sku).to_owned();
    }
    order
}

#[test]
fn offers_of_one_part_and_supplier_are_told_apart_by_sku() {
    let plan = World::new().plan();
    let two = |pieces: u64, bag: u64, skus: [&str; 2]| {
        let lines = [("A", bag, "0.80"), ("A", pieces, "1.00")];
        [under(order("Nord", &lines), &skus)]
    };
    let skus = |old: &[Order], new: &[Order]| -> Vec<(Kind, String)> {
        let changes = changes((old, &plan), (new, &plan));
        let sku = |line: Option<couplet::study::changes::Line>| {
            line.map_or("-".to_owned(), |line| format!("{} {}", line.sku, line.qty))
        };
        let one = |c: Change| (c.kind, format!("{} > {}", sku(c.before), sku(c.after)));
        changes.into_iter().map(one).collect()
    };
    let row = |kind, text: &str| (kind, text.to_owned());
    let old = two(3, 10, ["B", "S"]);
    // Each line against the one with its sku, whatever the other does.
    assert_eq!(
        skus(&old, &two(4, 10, ["B", "S"])),
        [
            row(Kind::Unchanged, "B 10 > B 10"),
            row(Kind::Quantity, "S 3 > S 4")
        ]
    );
    // One goes and one comes.
    assert_eq!(
        skus(&old, &two(3, 10, ["C", "S"])),
        [
            row(Kind::SkuSwitched, "B 10 > C 10"),
            row(Kind::Unchanged, "S 3 > S 3")
        ]
    );
    // Two for one are no switch.
    let one = [under(order("Nord", &[("A", 13, "1.00")]), &["C"])];
    assert_eq!(
        skus(&old, &one),
        [
            row(Kind::Removed, "B 10 > -"),
            row(Kind::Added, "- > C 13"),
            row(Kind::Removed, "S 3 > -")
        ]
    );
    // The same supplier comes before another.
    let mut away = one.to_vec();
    away.push(order("South", &[("A", 3, "1.00")]));
    let bag = [under(order("Nord", &[("A", 10, "0.80")]), &["B"])];
    assert_eq!(
        skus(&bag, &away),
        [
            row(Kind::SkuSwitched, "B 10 > C 13"),
            row(Kind::Added, "- >  3")
        ]
    );
}

/// Pieces that are still to be bought of ten in a bag and three single pieces, where
/// rows of these skus were there when the plan was made, and these are there now.
fn open(then: &[(&str, u64)], now: &[(&str, u64)]) -> Vec<(String, u64, u64)> {
    let mut world = World::new();
    let code = world.part(P_A).code.clone();
    world.buy(P_A_NORD, 0);
    let rows = |world: &mut World, rows: &[(&str, u64)]| {
        world.input.ordered.clear();
        // Another supplier's order is of another line.
        world.order(P_A, SOUTH, 50, "1", "0");
        for (sku, qty) in rows {
            world.order(P_A, NORD, *qty, "1", "0");
            world.input.ordered.last_mut().unwrap().sku = (*sku).to_owned();
        }
    };
    rows(&mut world, then);
    let mut plan = world.plan();
    let lines = [(code.as_str(), 3, "30.00"), (code.as_str(), 10, "20.00")];
    let mut order = under(order("Nord", &lines), &["N-PA", "N-PB10"]);
    order.lines[1].packs = 1;
    plan.orders = vec![order];
    rows(&mut world, now);
    let mut bag = world.offer(P_A_NORD).clone();
    bag.sku = "N-PB10".to_owned();
    world.input.catalog.offers.insert(P_A_NORD + 1, bag);
    let lines = open_orders(&world.input, &plan).into_iter();
    let lines = lines.flat_map(|order| order.lines);
    lines.map(|l| (l.sku, l.qty, l.packs)).collect()
}

#[test]
fn what_was_ordered_of_one_sku_is_of_that_line() {
    let told = |lines: &[(&str, u64, u64)]| -> Vec<(String, u64, u64)> {
        let one = |(sku, qty, packs): &(&str, u64, u64)| ((*sku).to_owned(), *qty, *packs);
        lines.iter().map(one).collect()
    };
    let (single, bag) = (("N-PA", 3, 3), ("N-PB10", 10, 1));
    for (then, now, want) in [
        (&[][..], &[][..], &[single, bag][..]),
        (&[], &[("N-PB10", 10)], &[single]),
        (&[], &[("N-PA", 3)], &[bag]),
        (&[], &[("N-PA", 2)], &[("N-PA", 1, 1), bag]),
        // More of one is not of the other; an unknown sku is of neither.
        (&[], &[("N-PA", 9)], &[bag]),
        (&[], &[("N-X", 13)], &[single, bag]),
        // Without a sku: of any line, the first first, after what has one.
        (&[], &[("", 13)], &[]),
        (&[], &[("", 4)], &[("N-PB10", 9, 1)]),
        (&[], &[("", 10), ("N-PA", 3)], &[]),
        // What was there before the plan is not ordered since,
        (&[("N-PA", 5)], &[("N-PA", 5)], &[single, bag]),
        (&[("N-PA", 5)], &[("N-PA", 8)], &[bag]),
        (&[("", 5)], &[("", 5), ("N-PB10", 10)], &[single]),
        // nor is it where its row has got a sku, or another one.
        (&[("", 5)], &[("N-PA", 5)], &[single, bag]),
        (&[("", 5)], &[("N-PA", 5), ("N-PB10", 10)], &[single]),
        (&[("N-PA", 5)], &[("N-PB10", 5)], &[single, bag]),
    ] {
        assert_eq!(open(then, now), told(want), "{then:?} {now:?}");
    }
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
    let (circuit, net, side) = (end.circuit.as_str(), end.net.as_str(), end.end.as_str());
    let at = ["", circuit, net, side, "plug", "body"];
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
