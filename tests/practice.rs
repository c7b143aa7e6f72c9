//! Facts of the trade, planned end to end. Common practice, no published source:
//! a 70 mm² cable is sold as 2/0; a 10.3 mm contact is rated 350 A continuous;
//! with plugs at 30 and receptacles at 25, one wire takes two pairs, so 110, and
//! plus and minus take four, so 220.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use std::process::Output;

const PROJECT: &str = "name = \"Practice\"\ncurrency = \"EUR\"\ncatalog = \"catalog\"\n";

const CIRCUITS: &str = "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach,colour\n";

/// Single-pole 10.3 mm contacts in two keys; all else comes in the box. The
/// ferrule in it takes 2/0 AWG (67.4 mm² by ASTM B258) and what is sold as such.
const BODIES: &str = "\
part,description,half,interface,key,rated_a,rated_v,attach,exit,barrel,rear,colour,includes,min_mm2,max_mm2,min_od_mm,max_od_mm
P-A,plug,plug,S10.3,A,350,1000,crimp,straight,B10.3,E10.3,orange,ferrule seal back-shell,67,70.5,14,20
P-B,plug,plug,S10.3,B,350,1000,crimp,straight,B10.3,E10.3,orange,ferrule seal back-shell,67,70.5,14,20
R-A,receptacle,receptacle,S10.3,A,350,1000,busbar,,,,orange,,,,,
R-B,receptacle,receptacle,S10.3,B,350,1000,busbar,,,,orange,,,,,
";

const PRICES: &str = "\
part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted
P-A,Nord,,,1,30,,,,
P-B,Nord,,,1,30,,,,
R-A,Nord,,,1,25,,,,
R-B,Nord,,,1,25,,,,
";

const SUPPLIERS: &str =
    "supplier,currency,shipping,free_over,min_order,duty_percent\nNord,EUR,0,,,0\n";

/// What the program says of one circuit with this catalog.
fn plan(conductors: &str, current_a: &str, gauge: &str) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let catalog = folder.path().join("catalog");
    fs::create_dir(&catalog).unwrap();
    let circuit = format!(
        "feed,{conductors},pack,inverter,{current_a},400,{gauge},18,busbar,busbar,orange\n"
    );
    let write = |folder: &Path, file: &str, text: &str| fs::write(folder.join(file), text).unwrap();
    write(folder.path(), "project.toml", PROJECT);
    write(
        folder.path(),
        "circuits.csv",
        &format!("{CIRCUITS}{circuit}"),
    );
    write(&catalog, "bodies.csv", BODIES);
    write(&catalog, "prices.csv", PRICES);
    write(&catalog, "suppliers.csv", SUPPLIERS);
    write(
        &catalog,
        "ferrules.csv",
        "part,description,barrel,min_mm2,max_mm2,die\n",
    );
    write(
        &catalog,
        "seals.csv",
        "part,description,rear,min_od_mm,max_od_mm,ip\n",
    );
    write(
        &catalog,
        "backshells.csv",
        "part,description,rear,exit,max_od_mm,colour,pieces\n",
    );
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.args(["plan", "--out", "-"]).arg(folder.path());
    couplet.output().unwrap()
}

#[track_caller]
fn total(output: &Output) -> (String, usize) {
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    let record: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(record["status"], "optimal");
    let total = record["cost"]["total"].as_str().unwrap().to_owned();
    (total, record["ends"].as_array().unwrap().len())
}

#[track_caller]
fn refused(output: &Output, why: &str) {
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains(why), "{said}");
}

#[test]
fn one_wire_takes_two_pairs_plus_and_minus_four() {
    assert_eq!(total(&plan("HV+", "200", "70 mm2")), ("110.00".into(), 2));
    assert_eq!(
        total(&plan("HV+ HV-", "200", "70 mm2")),
        ("220.00".into(), 4)
    );
}

#[test]
fn seventy_and_two_aught_take_the_same_set() {
    let both = ["70 mm2", "2/0 AWG"].map(|gauge| total(&plan("HV+", "200", gauge)));
    assert_eq!(both[0], both[1]);
    // The sizes next to them do not: 1/0 AWG is 53.5 mm², 3/0 AWG 85.0 mm².
    for gauge in ["50 mm2", "1/0 AWG", "3/0 AWG", "95 mm2"] {
        refused(&plan("HV+", "200", gauge), "ferrule");
    }
}

#[test]
fn a_contact_of_10_3_mm_takes_350_a_and_no_more() {
    assert_eq!(total(&plan("HV+", "350", "70 mm2")).0, "110.00");
    refused(&plan("HV+", "350.1", "70 mm2"), "350 A is below 350.1 A");
}

/// The lake ferry of the examples, with a change to one of its files.
fn ferry(file: &str, change: impl Fn(&str) -> String) -> serde_json::Value {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/lake-ferry");
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("catalog")).unwrap();
    for part in ["", "catalog"] {
        for entry in fs::read_dir(example.join(part)).unwrap() {
            let entry = entry.unwrap();
            let to = folder.path().join(part).join(entry.file_name());
            if entry.file_type().unwrap().is_file() && entry.file_name() != "plan.json" {
                fs::copy(entry.path(), to).unwrap();
            }
        }
    }
    let path = folder.path().join(file);
    let text = fs::read_to_string(&path).unwrap();
    let changed = change(&text);
    fs::write(&path, changed).unwrap();
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.args(["plan", "--out", "-", "--format", "json"]);
    let output = couplet.arg(folder.path()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{said}"))
}

fn total_of(plan: &serde_json::Value) -> f64 {
    assert_eq!(plan["status"], "optimal");
    plan["cost"]["total"].as_str().unwrap().parse().unwrap()
}

/// Each thing that a ferry asks for beyond sizes and ratings costs something: without it
/// the plan is cheaper. All of the example is invented.
#[test]
fn what_a_ferry_asks_for_matters_to_its_plan() {
    let whole = ferry("project.toml", str::to_owned);
    let total = total_of(&whole);
    let less = |file: &str, from: &str, to: &str| {
        let change = |text: &str| {
            assert!(text.contains(from), "{from} is not in {file}");
            text.replace(from, to)
        };
        let without = total_of(&ferry(file, change));
        assert!(without < total, "{from}: {without} is not below {total}");
    };
    less("circuits.csv", ",orange,yes,", ",orange,,");
    less("circuits.csv", ",boat smoke,", ",,");
    less("circuits.csv", ",,125,", ",,,");
    // Silver goes on tin, where nothing asks that both be the same.
    less(
        "catalog/attributes.csv",
        "plating,plug receptacle,same",
        "plating,plug receptacle,equal",
    );
    // In one branch, two ends of a net at a place are one conductor with one key.
    let one_branch = |text: &str| {
        let branches = "port starboard charge bow house pump test link";
        branches.split(' ').fold(text.to_owned(), |text, branch| {
            let cell = format!(",{branch},IP67");
            assert!(text.contains(&cell), "{branch} is not in circuits.csv");
            text.replace(&cell, ",,IP67")
        })
    };
    let without = total_of(&ferry("circuits.csv", one_branch));
    assert!(without < total, "branches: {without} is not below {total}");
    let ratings = |text: &str| text.lines().take(2).collect::<Vec<_>>().join("\n");
    let without = total_of(&ferry("catalog/ratings.csv", ratings));
    assert!(without < total, "ratings: {without} is not below {total}");

    // The shore inlet has its receptacles: plugs alone are bought for it.
    let ends = whole["ends"].as_array().unwrap();
    let built_in: Vec<_> = ends
        .iter()
        .filter(|end| end["receptacle"].is_null())
        .collect();
    let plugs: Vec<&str> = built_in
        .iter()
        .map(|end| end["plug"].as_str().unwrap())
        .collect();
    assert_eq!(plugs, ["SH-p-P", "SH-m-P"]);
    // Plus has figures, minus has letters, wherever a plug is.
    for end in ends {
        let key = end["key"].as_str().unwrap();
        match end["net"].as_str().unwrap() {
            "HV+" => assert!(["1", "2", "3"].contains(&key), "{end}"),
            "HV-" => assert!(["a", "b", "c"].contains(&key), "{end}"),
            _ => {}
        }
    }
}
