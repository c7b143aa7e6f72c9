//! The projects that the benchmark measures are what they say.

#[path = "../benches/generate/mod.rs"]
mod generate;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const FILES: [&str; 10] = [
    "project.toml",
    "circuits.csv",
    "on_hand.csv",
    "catalog/bodies.csv",
    "catalog/ferrules.csv",
    "catalog/seals.csv",
    "catalog/backshells.csv",
    "catalog/prices.csv",
    "catalog/suppliers.csv",
    "catalog/dies.csv",
];

/// All files of a generated project, by name.
fn project(seed: u64, circuits: usize) -> BTreeMap<&'static str, String> {
    let folder = tempfile::tempdir().expect("a folder");
    generate::write_project(folder.path(), seed, circuits).expect("written");
    let read = |name: &'static str| {
        let text = fs::read_to_string(folder.path().join(Path::new(name)));
        (name, text.expect("a file"))
    };
    FILES.into_iter().map(read).collect()
}

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader
        .deserialize()
        .map(|row| row.expect("as many fields as columns"));
    rows.collect()
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    assert_eq!(project(3, 60), project(3, 60));
    assert_ne!(project(3, 60), project(4, 60));
}

#[test]
fn every_row_has_every_column() {
    for circuits in [1, 20, 60, 200] {
        for (name, text) in project(1, circuits) {
            if name.ends_with(".csv") {
                let count = rows(&text).len();
                assert!(count > 0 || name == "on_hand.csv", "{name}");
            }
        }
    }
}

#[test]
fn sizes_are_as_asked_for() {
    for (circuits, faces, suppliers) in [(20, 8, 4), (200, 20, 7), (2_000, 30, 12)] {
        let files = project(2, circuits);
        assert_eq!(rows(&files["circuits.csv"]).len(), circuits);
        assert_eq!(rows(&files["catalog/suppliers.csv"]).len(), suppliers);
        let bodies = rows(&files["catalog/bodies.csv"]);
        let single = bodies.iter().filter(|b| b["poles"] == "1");
        let single: BTreeSet<_> = single.map(|b| &b["interface"]).collect();
        assert_eq!(single.len(), faces);
    }
}

#[test]
fn two_to_five_nets_meet_at_most_locations() {
    let files = project(5, 200);
    let mut nets: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for row in rows(&files["circuits.csv"]) {
        for location in [&row["from"], &row["to"]] {
            let here = nets.entry(location.clone()).or_default();
            if row["cable"] == "multi" {
                here.insert(row["conductors"].clone());
            } else {
                here.extend(row["conductors"].split(' ').map(str::to_owned));
            }
        }
    }
    let within = nets.values().filter(|nets| (2..=5).contains(&nets.len()));
    assert!(within.count() * 10 >= nets.len() * 9);
    assert!(nets.values().any(|nets| nets.len() == 5));
}

#[test]
fn nine_in_ten_keys_are_priced_alike() {
    let files = project(1, 2_000);
    let mut lists: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in rows(&files["catalog/prices.csv"]) {
        let line = format!(
            "{} {} {}",
            row["supplier"], row["min_qty"], row["unit_price"]
        );
        lists.entry(row["part"].clone()).or_default().push(line);
    }
    let bodies = rows(&files["catalog/bodies.csv"]);
    let others = bodies
        .iter()
        .filter(|b| b["key"] != "A")
        .map(|b| &b["part"]);
    let others: Vec<&String> = others.collect();
    let alike = others.iter().filter(|part| {
        let first = format!("{}A", &part[..part.len() - 1]);
        lists[part.as_str()] == lists[&first]
    });
    let share = alike.count() * 100 / others.len();
    assert!((85..=95).contains(&share), "{share} %");
}
