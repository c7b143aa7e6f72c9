//! An open project from memory alone: no file, no terminal.

use couplet::desk::{Asked, Desk, List};
use couplet::limit::Limit;
use couplet::source::Files;
use couplet::study::failure::Failure;
use couplet::study::frontier::By;
use couplet::study::why::Forced;
use jiff::civil::date;
use std::path::Path;

/// The small boat that `couplet new` writes; all of its data is invented.
const FILES: [(&str, &str); 12] = [
    ("project.toml", include_str!("../src/cli/new/project.toml")),
    ("circuits.csv", include_str!("../src/cli/new/circuits.csv")),
    ("on_hand.csv", include_str!("../src/cli/new/on_hand.csv")),
    (
        "catalog/bodies.csv",
        include_str!("../src/cli/new/catalog/bodies.csv"),
    ),
    (
        "catalog/ferrules.csv",
        include_str!("../src/cli/new/catalog/ferrules.csv"),
    ),
    (
        "catalog/seals.csv",
        include_str!("../src/cli/new/catalog/seals.csv"),
    ),
    (
        "catalog/backshells.csv",
        include_str!("../src/cli/new/catalog/backshells.csv"),
    ),
    (
        "catalog/prices.csv",
        include_str!("../src/cli/new/catalog/prices.csv"),
    ),
    (
        "catalog/suppliers.csv",
        include_str!("../src/cli/new/catalog/suppliers.csv"),
    ),
    (
        "catalog/dies.csv",
        include_str!("../src/cli/new/catalog/dies.csv"),
    ),
    (
        "catalog/ratings.csv",
        include_str!("../src/cli/new/catalog/ratings.csv"),
    ),
    (
        "catalog/attributes.csv",
        include_str!("../src/cli/new/catalog/attributes.csv"),
    ),
];

/// A project that is nowhere on the disk.
fn boat() -> Desk {
    boat_with(None)
}

/// The same with a list in place of its own.
fn boat_with(prices: Option<&str>) -> Desk {
    let folder = Path::new("no/such/boat");
    let mut files = Files::in_memory();
    for (name, text) in FILES {
        files.lay(&folder.join(name), text);
    }
    for list in ["spring.csv", "autumn.csv"] {
        files.lay(&folder.join(list), FILES[7].1);
    }
    let asked = Asked {
        files,
        prices: prices.map(|list| folder.join(list)),
        list: List::Record,
        ..Asked::default()
    };
    Desk::open(folder, asked)
}

fn edited(desk: &mut Desk, file: &str, old: &str, new: &str) {
    let text = desk.text(file).unwrap();
    assert_eq!(text.matches(old).count(), 1, "{old}");
    desk.lay(file, &text.replace(old, new));
}

#[test]
fn a_project_is_planned_changed_asked_and_ordered_from_memory() {
    let mut desk = boat();
    assert!(desk.findings().is_empty());
    assert!(desk.unchecked().unwrap().is_none() && desk.is_stale().is_none());
    let limit = Limit::default();

    let first = desk.plan(None, &limit).unwrap();
    desk.keep(&first).unwrap();
    assert_eq!(desk.is_stale(), Some(false));
    assert_eq!(desk.on_record().unwrap().plan, first);

    // A clone goes on with the project as it was.
    let before = desk.clone();
    edited(&mut desk, "circuits.csv", "50 mm2,14,", "25 mm2,14,");
    assert_eq!(
        (desk.is_stale(), before.is_stale()),
        (Some(true), Some(false))
    );
    let record = desk.kept().unwrap().plan().cloned().unwrap();
    assert_eq!(record, first);
    // 25 mm² has another ferrule in this catalog, or none at all.
    let second = match desk.plan(Some(&record), &limit) {
        Ok(plan) => plan,
        Err(failure) => {
            assert_eq!(failure.status(), 3, "{failure}");
            edited(&mut desk, "circuits.csv", "25 mm2,14,", "50 mm2,13.5,");
            desk.plan(Some(&record), &limit).unwrap()
        }
    };
    assert_ne!(second.inputs, first.inputs);
    desk.keep(&second).unwrap();
    assert_eq!(desk.is_stale(), Some(false));

    let end = desk.ends_of("traction", None, Some("from")).unwrap();
    let mut why = desk.why(&limit).unwrap();
    assert_eq!(*why.plan(), second);
    let places = why.alternatives(end[0].place, 1).unwrap();
    assert!(places.len() >= 2, "a receptacle and a plug");
    let tried = places.iter().flat_map(|tried| &tried.forced);
    for forced in tried {
        if let Forced::Costs { extra, .. } = forced {
            assert!(extra.0 >= 0.into(), "{forced:?}");
        }
    }

    let placed = desk.to_place(&[], date(2026, 3, 2)).unwrap();
    assert_eq!(placed.orders, second.orders);
    desk.place(&placed).unwrap();
    let lines: usize = second.orders.iter().map(|order| order.lines.len()).sum();
    assert_eq!(desk.sound().unwrap().ordered.len(), lines);
    // What was placed of a plan does not spoil its papers, but a new plan is due.
    assert!(desk.paper().unwrap().changed.is_empty());
    assert!(desk.to_place(&[], date(2026, 3, 2)).is_err());
    let third = desk.plan(desk.kept().unwrap().plan(), &limit).unwrap();
    assert!(third.orders.is_empty() && third.spent.0 > 0.into());

    let one = &second.orders[0].lines[0];
    let came = desk.delivery_of(&one.part, 1, None, None).unwrap();
    let received = desk.to_receive(&[came], date(2026, 3, 9)).unwrap();
    desk.receive(&received).unwrap();
    let booked: u64 = desk
        .sound()
        .unwrap()
        .ordered
        .iter()
        .map(|row| row.received)
        .sum();
    assert_eq!(booked, 1);
    assert!(!Path::new("no").exists());
}

#[test]
fn what_cannot_be_read_or_planned_is_told_and_cured() {
    let mut desk = boat();
    edited(&mut desk, "circuits.csv", "50 mm2,14,", "50,14,");
    assert!(desk.input().is_none());
    assert!(matches!(desk.fit(), Err(Failure::Input(found)) if found.errors() == 1));
    assert!(matches!(
        desk.plan(None, &Limit::default()),
        Err(Failure::Input(_))
    ));
    edited(&mut desk, "circuits.csv", "50,14,", "50 mm2,14,");
    assert!(desk.input().is_some());

    edited(
        &mut desk,
        "project.toml",
        "# max_variants = 30",
        "max_variants = 1",
    );
    match desk.plan(None, &Limit::default()).unwrap_err() {
        Failure::Limits(Some(blocked)) => assert!(!blocked.conflict.members.is_empty()),
        other => panic!("{other:?}"),
    }
    edited(
        &mut desk,
        "project.toml",
        "max_variants = 1",
        "# max_variants = 30",
    );
    desk.plan(None, &Limit::default()).unwrap();
    assert_eq!(desk.part("F10-5").unwrap_err().status(), 2);
    assert_eq!(desk.ends_of("tracton", None, None).unwrap_err().status(), 2);
}

#[test]
fn a_record_that_was_spoilt_is_found() {
    let mut desk = boat();
    let plan = desk.plan(None, &Limit::default()).unwrap();
    desk.keep(&plan).unwrap();
    let total = plan.cost.total.to_string();
    let text = desk.text("plan.json").unwrap();
    desk.lay("plan.json", &text.replace(&total, "1.00"));
    assert!(matches!(
        Failure::from(desk.on_record().unwrap_err()),
        Failure::Untrusted(_)
    ));
    assert!(desk.kept().is_err() && desk.paper().is_err());
    desk.lay("plan.json", "{}");
    let kept = desk.kept().unwrap();
    assert!(kept.plan().is_none() && kept.lost().is_some());
}

#[test]
fn studies_start_from_the_record() {
    let mut desk = boat();
    let limit = Limit::default();
    let plan = desk.plan(None, &limit).unwrap();
    desk.keep(&plan).unwrap();
    let frontier = desk.frontier(By::Suppliers, &limit).unwrap();
    assert!(
        frontier
            .points
            .iter()
            .any(|point| point.plan.cost == plan.cost)
    );
    let budget = desk.budget(Default::default(), &limit).unwrap();
    assert_eq!(budget.plan, plan);
    let bought = &plan.orders[0].lines[0].part;
    let part = desk.part(bought).unwrap();
    assert_eq!(desk.breakeven(Some(part), &limit).unwrap().ranges.len(), 1);
    assert!(desk.paper().unwrap().frontier(&limit).unwrap().is_some());
    // The same prices change nothing.
    let outcome = desk.repricing().unwrap().outcome(None, &limit).unwrap();
    assert_eq!(outcome.plan, plan);
    assert!(outcome.ended.is_none());
}

/// A record with a list that is broken by now.
#[test]
fn a_list_that_is_not_used_may_be_broken() {
    let spring = boat_with(Some("spring.csv"));
    let limit = Limit::default();
    let plan = spring.plan(None, &limit).unwrap();
    assert_eq!(plan.prices.as_deref(), Some("spring.csv"));
    let record = couplet::plan::text(&plan).unwrap();
    let broken = |mut desk: Desk| {
        desk.lay("plan.json", &record);
        desk.lay("spring.csv", "part\n");
        desk
    };
    // With another list the record is as good as none; without one it has to hold.
    let autumn = broken(boat_with(Some("autumn.csv")));
    assert!(autumn.kept().unwrap().plan().is_none());
    assert!(autumn.frontier(By::Suppliers, &limit).is_ok());
    let none = broken(boat());
    assert!(matches!(
        none.frontier(By::Suppliers, &limit),
        Err(Failure::Input(_))
    ));
}
