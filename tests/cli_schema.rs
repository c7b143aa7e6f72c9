//! Each JSON that the program writes is valid by the schema that the program
//! prints for it, and is not once it is spoilt.

use assert_cmd::Command;
use jsonschema::Validator;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Output;
use std::sync::LazyLock;

fn run(folder: &Path, line: &str) -> Output {
    let words = line.split(' ');
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.current_dir(folder).args(words).output().unwrap()
}

fn stdout(folder: &Path, line: &str) -> String {
    String::from_utf8(run(folder, line).stdout).unwrap()
}

/// The names that the program lists.
fn names() -> Vec<String> {
    let list = stdout(Path::new("."), "schema");
    let name = |line: &str| line.split(' ').next().unwrap().to_owned();
    list.lines().map(name).collect()
}

fn schema(name: &str) -> Value {
    serde_json::from_str(&stdout(Path::new("."), &format!("schema {name}"))).unwrap()
}

fn validator(name: &str) -> Validator {
    jsonschema::draft202012::new(&schema(name)).unwrap()
}

/// Name and command; in this order, in one folder.
const RUNS: &[(&str, &str)] = &[
    ("check", "check boat --format json"),
    ("check", "check broken --format json"),
    ("plan", "plan boat --format json"),
    (
        "progress",
        "plan boat --again --format json --progress json",
    ),
    ("frontier", "consolidate boat --by dies --format json"),
    ("trials", "trial two --format json"),
    ("compare", "compare boat rich --format json"),
    ("budget", "budget boat --format json"),
    ("budget", "budget broke --rise 5 --format json"),
    ("breakeven", "breakeven two --part F10-50 --format json"),
    (
        "reprice",
        "reprice boat --prices dear.csv --check --format json",
    ),
    (
        "prices",
        "prices boat/catalog/prices.csv dear.csv --format json",
    ),
    (
        "prices",
        "prices boat/catalog/prices.csv dear.csv --plan boat --format json",
    ),
    ("take", "take boat Example\u{a0}North list.csv"),
    (
        "take",
        "take boat Example\u{a0}North list.csv --check --format json",
    ),
    ("order", "order boat --format json"),
    ("parts", "parts boat --format json"),
    ("parts", "parts boat --used-by boat/plan.json --format json"),
    ("keys", "keys boat --format json"),
    ("parts", "parts rich --format json"),
    ("plan", "plan rich --format json"),
    ("keys", "keys rich --format json"),
    ("kit", "kit boat --format json"),
    ("check", "check series --format json"),
    ("plan", "plan series --format json"),
    ("keys", "keys series --format json"),
    ("kit", "kit series --format json"),
    ("kit", "kit series --machine boat --copy 2 --format json"),
    ("budget", "budget series --format json"),
    ("order", "order boat --place --on 2025-10-02"),
    (
        "outstanding",
        "order boat --outstanding --as-of 2025-10-09 --format json",
    ),
    (
        "confirmation",
        "order boat --confirm confirmed.csv --format json",
    ),
    ("plan", "plan boat --format json"),
    (
        "take",
        "take boat Example\u{a0}North list.csv --format json",
    ),
    ("history", "prices boat --history --format json"),
];

/// Puts another text into a file of a project.
fn change(path: &Path, from: &str, to: &str) {
    let old = fs::read_to_string(path).unwrap();
    assert!(old.contains(from), "{from}");
    fs::write(path, old.replacen(from, to, 1)).unwrap();
}

/// Adds columns to a table, each row with these cells.
fn widen(path: &Path, names: &str, cells: &str) {
    let mut is_head = true;
    let longer = |line: &str| match (line.starts_with('#') || line.is_empty(), is_head) {
        (true, _) => format!("{line}\n"),
        (_, true) => {
            is_head = false;
            format!("{line},{names}\n")
        }
        (_, false) => format!("{line},{cells}\n"),
    };
    let old = fs::read_to_string(path).unwrap();
    fs::write(path, old.lines().map(longer).collect::<String>()).unwrap();
}

/// A project with properties, notes, ratings, keys of nets, and two circuits of one net
/// at the pack.
fn enrich(rich: &Path) {
    change(
        &rich.join("catalog/attributes.csv"),
        "\nmax_temp_c,",
        "\nwetted,seal,equal,refuses,\nmass_g,ferrule,at-most,meets,\nmax_temp_c,",
    );
    widen(&rich.join("catalog/bodies.csv"), "note", "on the shelf");
    widen(&rich.join("catalog/prices.csv"), "note", "by letter");
    widen(&rich.join("catalog/backshells.csv"), "note", "on the shelf");
    widen(
        &rich.join("catalog/seals.csv"),
        "wetted,note",
        "yes,on the shelf",
    );
    widen(
        &rich.join("catalog/ferrules.csv"),
        "mass_g,note",
        "12,on the shelf",
    );
    change(
        &rich.join("project.toml"),
        "ignore_at = []",
        "ignore_at = []\n[keying.keys]\n\"HV+\" = [\"A\", \"C\"]",
    );
    change(
        &rich.join("circuits.csv"),
        "\ntraction,",
        "\nwinch,HV+,single,pack,bow,140,350,70 mm2,14,busbar,none,straight,,IP67,orange\ntraction,",
    );
}

/// The projects of the runs: one that plans, one with an error, one over its limit,
/// one with two ferrules of a size.
fn projects(folder: &Path) {
    for name in ["boat", "broken", "broke", "two", "rich"] {
        run(folder, &format!("new {name}"));
    }
    enrich(&folder.join("rich"));
    change(&folder.join("broken/circuits.csv"), "\n", "\nx,y\n");
    change(
        &folder.join("broke/project.toml"),
        "limit = 1200",
        "limit = 1",
    );
    change(
        &folder.join("two/catalog/ferrules.csv"),
        "\nF10-50,",
        "\nF10-51,another,B10,45,54,HEX-50\nF10-50,",
    );
    change(
        &folder.join("two/catalog/prices.csv"),
        "\nF10-50,",
        "\nF10-51,Example South,S-3019,USD,10,1.30,10,,14,2025-09-15\nF10-50,",
    );
    let prices = fs::read_to_string(folder.join("boat/catalog/prices.csv")).unwrap();
    let list = "Item no.,Unit price,Description\nN-1026,9.50,\nX-1,1,straight back shell\nn 1027,2,\nX-2,?,\n";
    fs::write(folder.join("list.csv"), list).unwrap();
    let confirmed = "supplier,sku,part,qty,unit_price\nExample North,N-1026,C10,5,4.30\n\
                     Example North,N-1001,P10-A,1,24.50\n";
    fs::write(folder.join("confirmed.csv"), confirmed).unwrap();
    fs::create_dir(folder.join("series")).unwrap();
    let purchase = "name = \"Series\"\ncurrency = \"EUR\"\ncatalog = \"../boat/catalog\"\n\
        [rates]\nUSD = 0.92\n\
        [[machine]]\nname = \"boat\"\nproject = \"../boat\"\ncount = 2\n\
        [[machine]]\nname = \"tender\"\nproject = \"../two\"\n";
    fs::write(folder.join("series/purchase.toml"), purchase).unwrap();
    let trials = "[[trial]]\nname = \"warm\"\nchanges = [\"ambient 45\", \"every circuit exit any\"]\n\
        [[trial]]\nname = \"none\"\nchanges = [\"at most 1 variants\"]\n";
    fs::write(folder.join("two/trials.toml"), trials).unwrap();
    run(folder, "plan two");
    run(folder, "plan rich");
    fs::write(folder.join("dear.csv"), prices.replace(",2.60,", ",3.60,")).unwrap();
}

/// What the runs write, by name.
static WRITTEN: LazyLock<BTreeMap<&str, Vec<Value>>> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    projects(folder);
    let mut written: BTreeMap<&str, Vec<Value>> = BTreeMap::new();
    for (name, line) in RUNS.iter().copied() {
        let output = run(folder, line);
        let said = String::from_utf8(output.stderr).unwrap();
        let shown = String::from_utf8(output.stdout).unwrap();
        let all = written.entry(name).or_default();
        if name == "progress" {
            let lines = said.lines().filter(|l| l.starts_with('{'));
            all.extend(lines.map(|l| serde_json::from_str::<Value>(l).unwrap()));
        } else if line.contains("json") {
            let json = serde_json::from_str(&shown);
            all.push(json.unwrap_or_else(|error| panic!("{line}: {error}: {said}")));
        }
    }
    written
});

#[test]
fn every_name_has_a_schema_and_a_run() {
    let names = names();
    let run: BTreeSet<&str> = RUNS.iter().map(|(name, _)| *name).collect();
    assert_eq!(
        names.iter().map(String::as_str).collect::<BTreeSet<_>>(),
        run
    );
    for name in &names {
        let schema = schema(name);
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        assert!(jsonschema::meta::is_valid(&schema), "{name}");
        // Descriptions are for readers of the JSON, not of the source.
        assert!(!schema.to_string().contains("[`"), "{name}");
    }
}

#[test]
fn what_is_written_is_valid() {
    for (name, all) in WRITTEN.iter() {
        let validator = validator(name);
        assert!(!all.is_empty(), "{name}");
        for one in all {
            let errors: Vec<String> = validator.iter_errors(one).map(|e| e.to_string()).collect();
            assert!(errors.is_empty(), "{name}: {errors:?}");
            assert!(*one != json!([]) && *one != json!({}), "{name}");
        }
    }
}

#[test]
fn the_runs_show_what_may_be_absent() {
    let has = |name: &str, place: &str| {
        let is_there = |one: &Value| one.pointer(place).is_some_and(|v| !v.is_null());
        assert!(WRITTEN[name].iter().any(is_there), "{name}{place}");
    };
    has("check", "/findings/0/message");
    has("trials", "/trials/0/changed/ends/0/what/0/field");
    has("trials", "/trials/1/why_none");
    has("compare", "/differences/0/parts/0/difference");
    has("plan", "/ordered/0/worth");
    has("history", "/0/stages/1/percent");
    has("plan", "/spent");
    has("budget", "/limit/left");
    has("budget", "/savings/found");
    has("budget", "/rise/kept");
    has("parts", "/0/goes_to");
    has("parts", "/0/note");
    has("parts", "/0/offers/0/breaks/0/note");
    let values = |one: &Value| one.to_string().contains("\"wetted\":\"yes\"");
    assert!(WRITTEN["parts"].iter().any(values));
    has("keys", "/locations/0/exceptions/0/circuits/0/gauge");
    has("keys", "/locations/0/used/0/keeps_to/0");
    has("keys", "/machines/0/machine");
    has("kit", "/circuits/0/copy");
    has("plan", "/ends/0/machine");
    has("prices", "/0/difference");
    has("take", "/changes/prices/0/percent");
    has("take", "/unmatched/0/unit_price");
    has("take", "/unmatched/0/proposals/0/sure");
    has("take", "/not_understood/0/message");
    has("reprice", "/totals/lines");
    has("breakeven", "/parts/0/up/parts_in/0");
    has("outstanding", "/suppliers/0/lines/0/due");
    has("outstanding", "/suppliers/0/lines/0/days_late");
    has("confirmation", "/compared/0/ordered_on");
    has("confirmation", "/differences/0/change");
    has("confirmation", "/missing/0/qty");
    has("confirmation", "/not_ordered/0/pieces");
}

/// Each place of a document, of a list the first element alone.
fn places(value: &Value, at: &str, all: &mut Vec<String>) {
    all.push(at.to_owned());
    match value {
        Value::Array(list) => list
            .iter()
            .take(1)
            .for_each(|one| places(one, &format!("{at}/0"), all)),
        Value::Object(map) => {
            for (key, one) in map {
                places(one, &format!("{at}/{key}"), all);
            }
        }
        _ => {}
    }
}

#[test]
fn a_wrong_type_is_not_valid() {
    for (name, all) in WRITTEN.iter() {
        let validator = validator(name);
        for one in all {
            let mut found = Vec::new();
            places(one, "", &mut found);
            for place in found {
                let mut spoilt = one.clone();
                let at = spoilt.pointer_mut(&place).unwrap();
                *at = if at.is_boolean() {
                    json!("x")
                } else {
                    json!(true)
                };
                assert!(!validator.is_valid(&spoilt), "{name}{place}");
            }
        }
    }
}

/// Fields that are left out where there is nothing to say.
const OPTIONAL: &[&str] = &[
    "prices",
    "proof",
    "doubts",
    "spent",
    "ordered",
    "ordered_used", // plan
    "machines",
    "machine",
    "copy",
    "by_machine",
    "apart", // plan, kit and budget, in a project
    "nets",
    "from",
    "to", // kit
    "best_to_factor",
    "best_to_price",
    "not_from_factor",
    "total_then",
    "parts_out",
    "parts_in",
    "moves", // breakeven, where nothing is cheaper
    "attributes",
    "ratings",
    "note", // parts, where the catalog has none
];

#[test]
fn a_field_that_is_gone_is_not_valid() {
    for (name, all) in WRITTEN.iter() {
        let validator = validator(name);
        for one in all {
            let mut found = Vec::new();
            places(one, "", &mut found);
            for place in found {
                let (parent, key) = place.rsplit_once('/').unwrap_or_default();
                let mut spoilt = one.clone();
                let Some(Value::Object(map)) = spoilt.pointer_mut(parent) else {
                    continue;
                };
                if map.remove(key).is_none() {
                    continue;
                }
                let at = format!("{name}{place}");
                // A row of ordered.csv may name no sku; an order line always says which.
                let is_row = parent.rsplit('/').nth(1) == Some("ordered");
                // An offer may have no sku, a part may not be asked for an attribute.
                let is_of_part = at == "parts/0/offers/0/sku" || parent.ends_with("/attributes");
                let may_go = OPTIONAL.contains(&key) || is_of_part || (key == "sku" && is_row);
                assert!(may_go || !validator.is_valid(&spoilt), "{name}{place}");
            }
        }
    }
}

#[test]
fn money_and_days_have_their_form() {
    let validator = validator("plan");
    let plan = &WRITTEN["plan"][0];
    for (place, bad) in [
        ("/cost/total", json!(12.5)),
        ("/cost/total", json!("12.5")),
        ("/gap_percent", json!("0")),
        ("/as_of", json!(20251001)),
        ("/schema", json!("couplet.plan/0")),
        ("/status", json!("perhaps")),
        ("/parts/0/fitted", json!(-1)),
    ] {
        let mut spoilt = plan.clone();
        *spoilt.pointer_mut(place).unwrap() = bad;
        assert!(!validator.is_valid(&spoilt), "{place}");
    }
}
