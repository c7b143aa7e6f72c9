//! A purchase of two machines, as a user runs it: every command takes it, and what papers
//! and tables say is held against the record. Its boat is what `couplet new` writes, three
//! times; its launch has a like-named location and net, and rules of its own.

use assert_cmd::Command;
use calamine::{Data, Reader, Xlsx, open_workbook};
use couplet::input::{LoadOptions, load};
use couplet::plan::{EndRecord, Plan};
use couplet::study::shifts::{Shift, What, shifts};
use rust_decimal::Decimal;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Output;

const PURCHASE: &str = "\
name = \"Series\"
currency = \"EUR\"
catalog = \"../boat/catalog\"
tax_percent = 20
[rates]
USD = 0.92
[[spares]]
kind = \"ferrule\"
per = \"gauge\"
percent = 10
minimum = 1
[budget]
limit = 6000
[[machine]]
name = \"boat\"
project = \"../boat\"
count = 3
[[machine]]
name = \"launch\"
project = \"../launch\"
";

const LAUNCH: &str = "\
name = \"Launch\"
currency = \"EUR\"
catalog = \"../boat/catalog\"
ambient_c = 25
exclude_parts = [\"P10-C\"]

[keying]
distinct = \"everywhere\"
ignore_at = [\"mast\"]
[keying.keys]
\"HV+\" = [\"B\"]
";

const CIRCUITS: &str = "\
circuit,conductors,cable,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach,from_exit,to_exit,ip,colour,note
traction,HV+ HV-,single,pack,drive,120,350,50 mm2,14,busbar,busbar,straight,right-angle,IP67,orange,under the bench
lights,HV+,single,pack,mast,10,350,10 mm2,8.5,busbar,crimp,,,IP67,orange,
";

fn run(folder: &Path, line: &str) -> Output {
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.current_dir(folder);
    couplet.args(words(line)).output().unwrap()
}

/// The words of a line; `'port drive'` is one word.
fn words(line: &str) -> Vec<String> {
    let pieces = line.split('\'').enumerate();
    let words = pieces.flat_map(|(place, piece)| match place % 2 {
        0 => piece.split_whitespace().map(str::to_owned).collect(),
        _ => vec![piece.to_owned()],
    });
    words.collect()
}

/// What a command prints. It must succeed.
#[track_caller]
fn done(folder: &Path, line: &str) -> String {
    let output = run(folder, line);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{line}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// What a command says that fails with this status.
#[track_caller]
fn fails(folder: &Path, line: &str, status: i32) -> String {
    let output = run(folder, line);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{line}: {said}");
    said
}

fn write(folder: &Path, name: &str, text: &str) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// A folder with `boat`, `launch` and the purchase `series`.
fn described() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    done(root, "new boat");
    write(root, "launch/project.toml", LAUNCH);
    write(root, "launch/circuits.csv", CIRCUITS);
    write(root, "series/purchase.toml", PURCHASE);
    folder
}

/// The same with a plan.
fn planned() -> (tempfile::TempDir, Plan) {
    let folder = described();
    done(folder.path(), "plan series");
    let plan = record(folder.path());
    (folder, plan)
}

fn record(root: &Path) -> Plan {
    couplet::plan::read(&root.join("series/plan.json")).expect("a record")
}

/// Rows of a CSV file by the names of columns.
fn rows(csv: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows = reader.deserialize();
    rows.map(|row| row.expect("a row")).collect()
}

/// What each part of an end is, and how many.
fn pieces(end: &EndRecord) -> Vec<(&str, u64)> {
    let bodies = end.bodies().map(|(_, code)| (code, 1));
    let fittings = end.fittings.iter().map(|f| (f.part.as_str(), f.qty));
    bodies.chain(fittings).collect()
}

/// Pieces of each part that are there to be packed.
fn there(plan: &Plan) -> BTreeMap<String, u64> {
    let of = |part: &couplet::plan::PartRecord| part.on_hand_used + part.ordered_used + part.bought;
    let parts = plan.parts.iter();
    parts.map(|part| (part.part.clone(), of(part))).collect()
}

fn sums(rows: &[BTreeMap<String, String>]) -> BTreeMap<String, u64> {
    let mut sums = BTreeMap::new();
    for row in rows {
        let qty: u64 = row["qty"].parse().expect("a number");
        *sums.entry(row["part"].clone()).or_insert(0) += qty;
    }
    sums
}

#[test]
fn every_command_takes_a_purchase() {
    let folder = described();
    let root = folder.path();
    for (line, holds) in [
        ("check series", "2 machines, 6 circuits, 19 ends: 0 errors"),
        (
            "plan series",
            "for 3\u{a0}×\u{a0}boat and 1\u{a0}×\u{a0}launch, all copies of a machine alike",
        ),
        ("plan series --format json", "\"machines\""),
        (
            "parts series --used-by series/plan.json",
            "boat/motor U at motor × 3",
        ),
        ("keys series", "launch: pack\n"),
        (
            "why series boat/motor --end to",
            "boat/motor, U, to end at motor, in 3 copies\n",
        ),
        (
            "why series lights --end from",
            "launch/lights, HV+, from end at pack\n",
        ),
        (
            "why series launch/lights --part P6-A",
            "refused by net keys",
        ),
        ("consolidate series", "variants"),
        ("budget series", "launch/traction"),
        ("breakeven series --part P4-2", "P4-2"),
        (
            "prices boat/catalog/prices.csv boat/catalog/prices.csv --plan series/plan.json",
            "44 unchanged",
        ),
        ("reprice series --check", "no order line changes"),
        ("order series", "Order from Example North"),
        ("report series --no-frontier --out -", "3\u{a0}×\u{a0}boat"),
        ("kit series", "boat 3 of 3: motor: "),
        ("kit series --format html", "launch: circuit lights"),
        ("cards series --out -", "boat 2 of 3: 1 HV+ from"),
        (
            "labels series",
            "boat 3 of 3: 2 W to,boat,3,motor,W,to,motor",
        ),
        ("labels series --format html", "launch: 2 HV+ to"),
        ("order series --place", "placed"),
        (
            "receive series --part P4-2 --qty 1 --supplier 'Example North'",
            "P4-2",
        ),
        ("plan series", "spent"),
    ] {
        let output = run(root, line);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{line}: {said}");
        let shown = String::from_utf8(output.stdout).unwrap() + &said;
        assert!(shown.contains(holds), "{line}: {shown}");
    }
    // The purchase is found in the current folder too.
    assert!(done(&root.join("series"), "keys").contains("boat, built 3 times\n"));
}

#[test]
fn where_a_part_goes_adds_up_to_what_is_fitted() {
    let (folder, plan) = planned();
    let shown = done(
        folder.path(),
        "parts series --used-by series/plan.json --format json",
    );
    let parts: Value = serde_json::from_str(&shown).unwrap();
    let mut seen = 0;
    for part in &plan.parts {
        let mut all = parts.as_array().unwrap().iter();
        let shown = all.find(|row| row["part"] == *part.part).unwrap();
        let places = shown["goes_to"].as_array().unwrap().iter();
        let places = places.map(|place| place.as_str().unwrap());
        let pieces = |place: &str| match place.rsplit_once(" × ") {
            Some((_, count)) => count.parse().unwrap(),
            None => 1,
        };
        let sum: u64 = places.map(pieces).sum();
        assert_eq!(sum, part.fitted, "{}", part.part);
        seen += 1;
    }
    assert!(seen > 20);
}

#[test]
fn keys_are_told_for_each_machine() {
    let (folder, plan) = planned();
    let shown = done(folder.path(), "keys series --format json");
    let map: Value = serde_json::from_str(&shown).unwrap();
    let machines = map["machines"].as_array().unwrap();
    let names: Vec<&str> = machines
        .iter()
        .map(|of| of["machine"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["boat", "launch"]);
    let rules: Vec<&str> = machines
        .iter()
        .map(|of| of["distinct"].as_str().unwrap())
        .collect();
    assert_eq!(rules, ["by-location", "everywhere"]);
    assert_eq!(
        (&machines[0]["count"], &machines[1]["count"]),
        (&3.into(), &1.into())
    );
    for of in machines {
        let name = of["machine"].as_str().unwrap();
        let ends: Vec<&EndRecord> = plan.ends.iter().filter(|end| end.machine == name).collect();
        for at in of["locations"].as_array().unwrap() {
            let here = ends.iter().filter(|end| at["location"] == *end.location);
            let here: Vec<_> = here.collect();
            assert_eq!(
                at["pairs"],
                here.len() * (here.len() - 1) / 2,
                "{name} {at}"
            );
            let used = at["used"].as_array().unwrap().iter();
            let told: usize = used
                .map(|used| used["ends"].as_array().unwrap().len())
                .sum();
            assert_eq!(told, here.len());
            for end in here {
                let is_it = |used: &&Value| {
                    used["net"] == *end.net
                        && used["interface"] == *end.interface
                        && used["key"] == *end.key
                };
                let used = at["used"].as_array().unwrap().iter().find(is_it).unwrap();
                let ends = used["ends"].as_array().unwrap().iter();
                let mut circuits = ends.map(|end| end["circuit"].as_str().unwrap());
                assert!(circuits.any(|circuit| circuit == end.circuit), "{used}");
            }
        }
        let spread: BTreeSet<(&str, &str, &str)> = (of["spread"].as_array().unwrap().iter())
            .flat_map(|of| {
                let word = |name: &str| of[name].as_str().unwrap();
                let keys = of["keys"].as_array().unwrap().iter();
                keys.map(move |key| (word("net"), word("interface"), key.as_str().unwrap()))
            })
            .collect();
        let recorded: BTreeSet<(&str, &str, &str)> = (ends.iter())
            .map(|end| (&*end.net, &*end.interface, &*end.key))
            .collect();
        assert_eq!(spread, recorded, "{name}");
    }
    // The like-named location is one of each machine, and net HV+ has other keys there.
    let rows = rows(&done(folder.path(), "keys series --format csv"));
    let keys = |machine: &str| -> BTreeSet<(String, String)> {
        let here = rows.iter().filter(|row| row["machine"] == machine);
        let here = here.filter(|row| row["location"] == "pack" && row["net"] == "HV+");
        here.map(|row| (row["interface"].clone(), row["key"].clone()))
            .collect()
    };
    assert!(keys("launch").iter().all(|(_, key)| key == "B"));
    assert!(keys("boat").iter().any(|(_, key)| key == "A"));
}

#[test]
fn the_kits_of_all_copies_add_up_to_what_is_there() {
    let (folder, plan) = planned();
    let root = folder.path();
    let all = rows(&done(root, "kit series --format csv"));
    assert_eq!(sums(&all), there(&plan));
    assert!(
        all.iter()
            .any(|row| row["bag"] == "spares" && row["copy"].is_empty())
    );

    // Each copy has what the record says of its machine.
    let mut copies = 0;
    for of in &plan.machines {
        let mut wanted = BTreeMap::new();
        for end in plan.ends.iter().filter(|end| end.machine == of.machine) {
            for (part, qty) in pieces(end) {
                *wanted.entry(part.to_owned()).or_insert(0) += qty;
            }
        }
        let mut of_machine = Vec::new();
        for copy in 1..=of.count {
            let line = format!(
                "kit series --machine {} --copy {copy} --format csv",
                of.machine
            );
            let one = rows(&done(root, &line));
            let is_it = |row: &BTreeMap<String, String>| {
                row["bag"] == "circuit"
                    && row["machine"] == of.machine
                    && row["copy"] == copy.to_string()
            };
            assert!(one.iter().all(is_it));
            assert_eq!(sums(&one), wanted);
            assert!(one.iter().all(|row| all.contains(row)));
            of_machine.extend(one);
            copies += 1;
        }
        let line = format!("kit series --machine {} --format csv", of.machine);
        assert_eq!(rows(&done(root, &line)), of_machine);
    }
    assert_eq!(copies, 4);

    let json: Value = serde_json::from_str(&done(root, "kit series --format json")).unwrap();
    let bags = json["circuits"].as_array().unwrap();
    assert_eq!(bags.len(), 3 * 4 + 2);
    assert_eq!(
        (&bags[4]["machine"], &bags[4]["copy"]),
        (&"boat".into(), &2.into())
    );
    assert_eq!(
        (&bags[13]["circuit"], &bags[13]["copy"]),
        (&"lights".into(), &1.into())
    );
    let one = done(root, "kit series --machine launch --copy 1");
    let last = one.lines().last().unwrap();
    assert!(last.starts_with("2 bags with "), "{last}");
    assert!(
        last.contains("spares and surplus are of the whole purchase"),
        "{last}"
    );
}

#[test]
fn every_copy_has_labels_and_cards_of_its_own() {
    let (folder, plan) = planned();
    let root = folder.path();
    let labels = rows(&done(root, "labels series"));
    // Two for each of 2 + 3 + 2 + 1 cables of three boats, and of 2 + 1 of the launch.
    assert_eq!(labels.len(), 2 * (3 * 8 + 3));
    let codes: BTreeSet<&String> = labels.iter().map(|row| &row["label"]).collect();
    assert_eq!(codes.len(), labels.len());
    let with_plug = labels.iter().filter(|row| !row["plug"].is_empty()).count() as u64;
    let pairs: u64 = plan.ends.iter().map(|end| plan.copies(end)).sum();
    assert_eq!(with_plug, pairs);
    // The numbers of circuits begin anew with each machine.
    assert!(codes.contains(&"launch: 1 HV+ from".to_owned()));

    for (line, mark, each) in [
        (
            "cards series --out -",
            "<article class=\"card\"",
            pairs as usize,
        ),
        (
            "labels series --format html",
            "<li>\n<strong>",
            2 * (3 * 8 + 3),
        ),
        (
            "kit series --format html",
            "<section class=\"bag\"",
            3 * 4 + 2 + 2,
        ),
    ] {
        let page = done(root, line);
        assert_eq!(page.matches(mark).count(), each, "{line}");
        let links: Vec<&str> = page.split("href=\"#").skip(1).collect();
        let links: Vec<&str> = links
            .iter()
            .map(|rest| rest.split('"').next().unwrap())
            .collect();
        // Spares and surplus are bags as well.
        let rest = 2 * usize::from(line.starts_with("kit"));
        assert_eq!(links.len(), 1 + 4 + rest, "{line}: {links:?}");
        for link in links {
            assert_eq!(
                page.matches(&format!("id=\"{link}\"")).count(),
                1,
                "{line}: {link}"
            );
        }
    }
    // One copy needs no list of copies.
    let one = done(root, "cards series --machine launch --out -");
    assert_eq!(one.matches("<article").count(), 6);
    assert!(!one.contains("<nav") && one.contains("launch: 2 HV+ to"));
    let third = done(root, "labels series --machine boat --copy 3");
    assert!(rows(&third).iter().all(|row| row["copy"] == "3"));
    // A note of a circuit stands once, under its machine.
    let page = done(root, "labels series --format html");
    assert_eq!(page.matches("under the bench").count(), 1);
    assert!(page.contains("<b><bdi>launch: traction</bdi></b>"));
}

/// What goes with one copy of a machine stands on sheets of its own, and each label says
/// its copy in its largest letters.
#[test]
fn each_copy_begins_a_sheet() {
    let (folder, _) = planned();
    let root = folder.path();
    let kits = done(root, "kit series --format html");
    // Three boats, a launch, spares, surplus.
    assert_eq!(kits.matches(" data-begins>").count(), 3 + 1 + 2);
    for link in ["boat 2 of 3", "launch", "Spares", "Surplus"] {
        let link = format!("\"><bdi>{link}</bdi></a>");
        assert_eq!(kits.matches(&link).count(), 1, "{link}");
    }
    assert!(kits.contains("<h2><bdi>boat 2 of 3: circuit traction</bdi></h2>"));
    let labels = done(root, "labels series --format html");
    assert_eq!(labels.matches("<section class=\"copy\"").count(), 3 + 1);
    assert!(labels.contains("<h2><bdi>boat 2 of 3</bdi></h2>"));
    assert!(labels.contains("<strong><bdi>boat 2 of 3: 1 HV+ from</bdi></strong>"));
    // A project has no copies, and its bags follow one another.
    done(root, "plan boat");
    let kits = done(root, "kit boat --format html");
    assert!(!kits.contains(" data-begins") && kits.contains("\"><bdi>Spares</bdi></a>"));
    let labels = done(root, "labels boat --format html");
    assert_eq!(labels.matches("<section class=\"copy\"").count(), 1);
    assert!(!labels.contains("<h2>") && labels.contains("<strong><bdi>1 HV+ from</bdi>"));
}

#[test]
fn a_bag_says_where_its_cable_goes_without_a_connector_too() {
    let folder = described();
    let root = folder.path();
    let circuits = CIRCUITS.replace(",busbar,busbar,", ",busbar,none,");
    assert_ne!(circuits, CIRCUITS);
    let circuits = circuits.replace("straight,right-angle", "straight,");
    write(root, "launch/circuits.csv", &circuits);
    done(root, "plan series");
    let kits = done(root, "kit series --machine launch --format html");
    assert!(
        kits.contains("<bdi>pack to drive (no connector)</bdi>: "),
        "{kits}"
    );
    assert!(kits.contains("<bdi>pack to mast</bdi>: "), "{kits}");
}

#[test]
fn label_columns_are_the_same_for_every_machine() {
    let (folder, _) = planned();
    let root = folder.path();
    let heads = |line: &str| done(root, line).lines().next().unwrap().to_owned();
    let all = heads("labels series");
    // The launch has notes, the boat has none.
    assert!(all.ends_with(",note"), "{all}");
    for machine in ["boat", "launch", "boat --copy 2"] {
        assert_eq!(heads(&format!("labels series --machine {machine}")), all);
    }
}

#[test]
fn the_keys_of_one_machine() {
    let (folder, _) = planned();
    let root = folder.path();
    let all = done(root, "keys series");
    let launch = done(root, "keys series --machine launch");
    assert!(all.contains("boat, built 3 times") && all.contains("launch, built once"));
    assert!(!launch.contains("boat") && launch.contains("launch, built once"));
    let rows = rows(&done(root, "keys series --machine boat --format csv"));
    assert!(!rows.is_empty() && rows.iter().all(|row| row["machine"] == "boat"));
    let json = done(root, "keys series --machine boat --format json");
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["machines"].as_array().unwrap().len(), 1);
    assert_eq!(
        fails(root, "keys series --machine boot", 2),
        "couplet: no machine \"boot\"\n    did you mean \"boat\"?\n"
    );
    done(root, "plan boat");
    let said = fails(root, "keys boat --machine boat", 2);
    assert!(said.contains("there is no machine to choose"), "{said}");
}

#[test]
fn orders_go_into_files_and_a_workbook_at_once() {
    let (folder, _) = planned();
    let root = folder.path();
    let files = done(root, "order series --out-dir a");
    let both = done(root, "order series --out-dir b --xlsx b.xlsx");
    assert_eq!(both, format!("{}b.xlsx\n", files.replace("a/", "b/")));
    for name in files.lines() {
        let other = name.replace("a/", "b/");
        assert_eq!(
            fs::read(root.join(name)).unwrap(),
            fs::read(root.join(other)).unwrap()
        );
    }
    done(root, "order series --xlsx a.xlsx");
    let book = |name: &str| fs::read(root.join(name)).unwrap();
    assert_eq!(book("a.xlsx"), book("b.xlsx"));
    let said = fails(root, "order series --xlsx c.xlsx --format csv", 2);
    assert!(said.contains("does not go with"), "{said}");
}

/// Of machines bought one by one the terms add up, in CSV as in JSON.
#[test]
fn what_machines_cost_apart_is_told_by_term() {
    let (folder, _) = planned();
    let root = folder.path();
    let json = done(root, "budget series --apart --format json");
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let apart = &json["apart"];
    let money = |value: &serde_json::Value| -> Decimal { value.as_str().unwrap().parse().unwrap() };
    const TERMS: [&str; 5] = ["goods", "duty", "shipping", "dies", "handling"];
    let adds_up = |terms: &serde_json::Value| {
        let sum: Decimal = TERMS.iter().map(|term| money(&terms[term])).sum();
        assert_eq!(sum, money(&terms["total"]), "{terms}");
        assert!(money(&terms["goods"]) > Decimal::ZERO);
        sum
    };
    assert_eq!(
        adds_up(&apart["one_by_one_terms"]),
        money(&apart["one_by_one"])
    );
    assert_eq!(adds_up(&apart["together_terms"]), money(&apart["together"]));
    for of in apart["machines"].as_array().unwrap() {
        assert_eq!(adds_up(&of["one_terms"]), money(&of["one"]));
        let goods = money(&of["one_terms"]["goods"]) * money(&of["count"].to_string().into());
        assert_eq!(goods, money(&of["all_terms"]["goods"]));
        adds_up(&of["all_terms"]);
    }
    let csv = rows(&done(root, "budget series --apart --format csv"));
    let of = |section: &str, name: &str| {
        let mut rows = csv.iter();
        let row = rows.find(|row| row["section"] == section && row["name"] == name);
        row.unwrap_or_else(|| panic!("{section} {name}"))
    };
    for (section, name, terms) in [
        (
            "one bought alone",
            "boat",
            &apart["machines"][0]["one_terms"],
        ),
        (
            "all bought alone",
            "boat",
            &apart["machines"][0]["all_terms"],
        ),
        (
            "one bought alone",
            "launch",
            &apart["machines"][1]["one_terms"],
        ),
        ("apart", "one by one", &apart["one_by_one_terms"]),
        ("apart", "together", &apart["together_terms"]),
    ] {
        let row = of(section, name);
        let sum: Decimal = TERMS
            .iter()
            .map(|term| row[*term].parse::<Decimal>().unwrap())
            .sum();
        assert_eq!(sum, row["total"].parse().unwrap(), "{row:?}");
        let near = (row["goods"].parse::<Decimal>().unwrap() - money(&terms["goods"])).abs();
        assert!(near <= Decimal::new(1, 2), "{row:?}: {terms}");
    }
    // The goods of the whole are divided, and their sum stands beside.
    let total = of("total", "");
    let sum: Decimal = ["fitted", "spare", "surplus"]
        .iter()
        .map(|t| total[*t].parse::<Decimal>().unwrap())
        .sum();
    assert_eq!(sum, total["goods"].parse().unwrap());
    let without = done(root, "budget series --format csv");
    assert!(!without.contains("goods"), "{without}");
}

#[test]
fn the_keying_tables_of_a_page_say_how_often_a_machine_is_built() {
    let (folder, _) = planned();
    let page = done(folder.path(), "report series --no-frontier --out -");
    let tables: Vec<&str> = page
        .split("<section id=\"keying\"")
        .nth(1)
        .unwrap()
        .split("<table")
        .collect();
    for table in &tables[1..3] {
        assert!(table.contains(">built<"), "{table}");
    }
    done(folder.path(), "plan boat");
    let page = done(folder.path(), "report boat --no-frontier --out -");
    assert!(!page.contains(">built<"));
}

/// Where an excluded part is all that would fit beside the chosen one, the file that excludes
/// it is named: that of the machine, or that of the purchase.
#[test]
fn what_is_excluded_is_told_where_it_is_excluded() {
    let (folder, _) = planned();
    let root = folder.path();
    let why = "why series launch/traction --net HV+ --end from";
    let shown = |root: &Path| {
        done(root, why)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let before = shown(root);
    let other = before.lines().next().unwrap();
    assert!(other.contains("nothing else fits there"), "{before}");
    assert!(!before.contains("would fit, but"), "{before}");
    // A second ferrule like the one that fits, which the launch excludes.
    let ferrules = fs::read_to_string(root.join("boat/catalog/ferrules.csv")).unwrap();
    let row = ferrules
        .lines()
        .find(|row| row.starts_with("F10-50,"))
        .unwrap();
    let twin = row.replacen("F10-50,", "F10-50X,", 1);
    write(
        root,
        "boat/catalog/ferrules.csv",
        &format!("{ferrules}{twin}\n"),
    );
    let prices = fs::read_to_string(root.join("boat/catalog/prices.csv")).unwrap();
    let price = prices
        .lines()
        .find(|row| row.starts_with("F10-50,"))
        .unwrap();
    let price = price.replacen("F10-50,", "F10-50X,", 1);
    write(
        root,
        "boat/catalog/prices.csv",
        &format!("{prices}{price}\n"),
    );
    done(root, "plan series");
    let with = shown(root);
    assert!(with.contains("F10-50X"), "{with}");
    let excluded = LAUNCH.replace("[\"P10-C\"]", "[\"P10-C\", \"F10-50X\"]");
    write(root, "launch/project.toml", &excluded);
    done(root, "plan series");
    let without = shown(root);
    let told = "F10-50X would fit, but launch/project.toml:5 excludes it";
    assert!(without.contains(told), "{without}");
    let refused = done(root, &format!("{why} --part F10-50X"));
    assert!(refused.contains("launch/project.toml:5"), "{refused}");
    assert!(!refused.contains("ferrules.csv"), "{refused}");
    // The same by the purchase.
    write(root, "launch/project.toml", LAUNCH);
    let purchase = PURCHASE.replace("[rates]", "exclude_parts = [\"F10-50X\"]\n[rates]");
    write(root, "series/purchase.toml", &purchase);
    done(root, "plan series");
    let without = shown(root);
    let told = "F10-50X would fit, but series/purchase.toml:5 excludes it";
    assert!(without.contains(told), "{without}");
    // Where the part is all that there is, the refusal names that file as well.
    let purchase = PURCHASE.replace(
        "[rates]",
        "exclude_parts = [\"F10-50X\", \"F10-50\"]\n[rates]",
    );
    write(root, "series/purchase.toml", &purchase);
    let said = fails(root, "plan series", 3);
    assert!(
        said.contains("is in exclude_parts (series/purchase.toml:5)"),
        "{said}"
    );
}

#[test]
fn what_was_renamed_is_told_with_its_file() {
    let (folder, _) = planned();
    let root = folder.path();
    let purchase = PURCHASE.replace("name = \"boat\"", "name = \"ferry\"");
    write(root, "series/purchase.toml", &purchase);
    let said = fails(root, "kit series", 1);
    let told = "the plan is for 3 × boat, 1 × launch, but 3 × ferry, 1 × launch is to be built \
                (series/purchase.toml)";
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words(&said).contains(&words(told)), "{said}");
    // The plan is made anew for what it is.
    let said = String::from_utf8(run(root, "plan series").stderr).unwrap();
    assert!(said.contains("the purchase is planned anew"), "{said}");
    write(root, "series/purchase.toml", PURCHASE);
    done(root, "plan series");
    let renamed = CIRCUITS.replace("\nlights,", "\nlamps,");
    write(root, "launch/circuits.csv", &renamed);
    let said = words(&fails(root, "kit series", 1));
    let told = "launch/circuits.csv has no circuit launch/lights, net HV+, from pack";
    assert!(said.contains(told), "{said}");
    write(root, "launch/circuits.csv", CIRCUITS);
    done(root, "kit series");
}

#[test]
fn a_plan_of_something_else_says_what_it_is_of() {
    let (folder, _) = planned();
    let root = folder.path();
    done(root, "plan boat");
    let said = fails(root, "kit boat --plan series/plan.json", 1);
    assert!(
        said.contains("the plan is of purchase \"Series\""),
        "{said}"
    );
    let said = fails(root, "kit series --plan boat/plan.json", 1);
    assert!(said.contains("the plan is of project \""), "{said}");
}

#[test]
fn the_report_has_a_drawing_and_a_rule_for_each_machine() {
    let (folder, plan) = planned();
    let page = done(folder.path(), "report series --no-frontier --out -");
    assert_eq!(page.matches("<svg class=\"machine\"").count(), 2);
    for id in ["drawing", "drawing-2", "drawing-t", "drawing-t-2"] {
        assert_eq!(page.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
    }
    assert_eq!(
        page.matches("<g class=\"place\"><title>pack</title>")
            .count(),
        2
    );
    assert!(page.contains("<p><bdi>boat: At one location, ends of"));
    assert!(page.contains("<p><bdi>launch: In the whole machine, ends of"));
    assert!(page.contains("left out of the rule: mast."));
    let pairs: u64 = plan.ends.iter().map(|end| plan.copies(end)).sum();
    assert!(page.contains(&format!("14 circuits, 27 cables, {pairs} mated pairs")));
}

#[test]
fn the_workbook_has_each_end_once_with_its_copies() {
    let (folder, plan) = planned();
    let root = folder.path();
    done(root, "order series --xlsx orders.xlsx");
    let mut book: Xlsx<_> = open_workbook(root.join("orders.xlsx")).unwrap();
    let sheet = book.worksheet_range("circuits").unwrap();
    let rows: Vec<Vec<Data>> = sheet.rows().map(<[Data]>::to_vec).collect();
    let cell = |row: &[Data], at: usize| row[at].to_string();
    let head = rows
        .iter()
        .position(|row| cell(row, 0) == "machine")
        .unwrap();
    assert_eq!(
        (cell(&rows[head], 1), cell(&rows[head], 2)),
        ("copies".to_owned(), "circuit".to_owned())
    );
    let title = rows[..head].iter().map(|row| cell(row, 0));
    assert!(title.collect::<String>().contains("3\u{a0}×\u{a0}boat"));
    let ends = &rows[head + 1..];
    assert_eq!(ends.len(), plan.ends.len());
    for (row, end) in ends.iter().zip(&plan.ends) {
        assert_eq!(
            [cell(row, 0), cell(row, 2)],
            [end.machine.clone(), end.circuit.clone()]
        );
        assert_eq!(row[1], Data::Float(plan.copies(end) as f64));
    }
}

#[test]
fn a_machine_or_a_copy_that_is_not_there_is_an_error() {
    let (folder, _) = planned();
    let root = folder.path();
    for command in ["kit series", "cards series --out c.html", "labels series"] {
        for (more, wanted) in [
            (
                "--machine boot",
                "couplet: no machine \"boot\"\n    did you mean \"boat\"?\n",
            ),
            (
                "--machine yacht",
                "couplet: no machine \"yacht\"\n    the machines are boat and launch\n",
            ),
            (
                "--machine boat --copy 4",
                "couplet: no copy 4 of boat\n    boat is built 3 times: name a copy from 1 to 3\n",
            ),
            (
                "--machine boat --copy 0",
                "couplet: no copy 0 of boat\n    boat is built 3 times: name a copy from 1 to 3\n",
            ),
            (
                "--machine launch --copy 2",
                "couplet: no copy 2 of launch\n    launch is built once\n",
            ),
        ] {
            assert_eq!(fails(root, &format!("{command} {more}"), 2), wanted);
        }
        let said = fails(root, &format!("{command} --copy 2"), 2);
        assert!(
            said.starts_with("couplet: --machine <NAME> is missing\n"),
            "{said}"
        );
    }
    assert!(!root.join("c.html").exists());
    done(root, "plan boat");
    assert_eq!(
        fails(root, "kit boat --machine boat", 2),
        "couplet: the plan is of a project, not of a purchase: there is no machine to choose\n    \
         leave --machine and --copy out\n"
    );
}

#[test]
fn a_page_for_too_many_copies_is_refused() {
    let folder = described();
    let root = folder.path();
    let many = PURCHASE.replace("count = 3", "count = 1000");
    let launches = many.replace(
        "project = \"../launch\"",
        "project = \"../launch\"\ncount = 1000",
    );
    write(root, "series/purchase.toml", &launches);
    // Nobody has that much in stock.
    let prices = fs::read_to_string(root.join("boat/catalog/prices.csv")).unwrap();
    let comment = |row: &&str| !row.starts_with('#');
    let without = prices.lines().filter(comment).map(|row| {
        let mut cells: Vec<&str> = row.split(',').collect();
        if cells[0] != "part" {
            cells[7] = "";
        }
        cells.join(",") + "\n"
    });
    write(
        root,
        "boat/catalog/prices.csv",
        &without.collect::<String>(),
    );
    done(root, "plan series --gap 50");
    // 8 cables on a boat and 3 on a launch, with two labels each.
    assert_eq!(
        fails(root, "labels series --format html --out l.html", 2),
        "couplet: a page of 22000 labels is too long: 20000 are the most\n    name one machine \
         with --machine, or one copy of it with --copy as well\n"
    );
    done(
        root,
        "labels series --machine launch --format html --out l.html",
    );
    assert_eq!(done(root, "labels series").lines().count(), 1 + 22_000);
}

#[test]
fn a_circuit_is_named_with_its_machine() {
    let (folder, _) = planned();
    let root = folder.path();
    assert_eq!(
        fails(root, "why series traction", 2),
        "couplet: several machines have a circuit \"traction\"\n    name the machine as well: \
         \"boat/traction\" or \"launch/traction\"\n"
    );
    assert_eq!(
        fails(root, "why series boat/tracton", 2),
        "couplet: no circuit \"boat/tracton\"\n    did you mean \"boat/traction\"?\n"
    );
    assert_eq!(
        fails(root, "why series ligths", 2),
        "couplet: no circuit \"ligths\"\n    did you mean \"lights\"?\n"
    );
}

/// Two limits of the launch cannot both hold: both are named with the machine and with the
/// rows of its own files.
#[test]
fn a_conflict_in_one_machine_names_that_machine() {
    let folder = described();
    let root = folder.path();
    let launch = LAUNCH
        .replace("P10-C", "R10-A-BUS")
        .replace("everywhere", "by-location");
    write(root, "launch/project.toml", &launch);
    let said = fails(root, "plan series", 3);
    for line in [
        "keying at pack of launch: 2 nets (HV+ and HV-; launch/circuits.csv:2 and",
        "exclude_parts of launch leaves out R10-A-BUS (launch/project.toml:5,",
        "would help: R10-A-BUS out of exclude_parts of launch\n",
    ] {
        assert!(said.contains(line), "{line}: {said}");
    }
    assert!(
        !said.contains("of boat") && !said.contains("boat/circuits"),
        "{said}"
    );

    // The list of the net, in the boat.
    write(root, "launch/project.toml", LAUNCH);
    let boat = fs::read_to_string(root.join("boat/project.toml")).unwrap();
    let boat = boat.replace(
        "# [keying.keys]\n",
        "[keying.keys]\n\"U\" = [\"A\"]\n\"V\" = [\"A\"]\n",
    );
    write(root, "boat/project.toml", &boat);
    let said = fails(root, "plan series", 3);
    assert!(
        said.contains("net U of boat keeps to key A (boat/project.toml:"),
        "{said}"
    );
    assert!(
        said.contains("net V of boat keeps to key A (boat/project.toml:"),
        "{said}"
    );
    assert!(!said.contains("of launch"), "{said}");
}

/// What a machine asks and nobody sells is told with the machine's circuit and row.
#[test]
fn an_end_without_a_set_is_of_a_machine() {
    let folder = described();
    let root = folder.path();
    let circuits = CIRCUITS.replace(
        "traction,HV+ HV-,single,pack,drive,120",
        "traction,HV+ HV-,single,pack,drive,900",
    );
    write(root, "launch/circuits.csv", &circuits);
    let said = fails(root, "plan series", 3);
    assert!(
        said.contains("launch/traction (launch/circuits.csv:2)"),
        "{said}"
    );
    assert!(!said.contains("boat/traction"), "{said}");
}

/// Two machines of one project: what its file says holds for both, so both are named, and
/// a change to the file helps both.
#[test]
fn machines_of_one_project_change_together() {
    let folder = described();
    let root = folder.path();
    let launch = LAUNCH
        .replace("P10-C", "R10-A-BUS")
        .replace("everywhere", "by-location");
    write(root, "launch/project.toml", &launch);
    let twice = PURCHASE.to_owned() + "[[machine]]\nname = \"tender\"\nproject = \"../launch\"\n";
    write(root, "series/purchase.toml", &twice);
    let said = fails(root, "plan series", 3);
    let cure = "would help: R10-A-BUS out of exclude_parts of launch and tender\n";
    assert!(said.contains(cure), "{said}");
    assert!(
        said.contains("keying at pack of launch and tender: 2 nets"),
        "{said}"
    );
    write(
        root,
        "launch/project.toml",
        &launch.replace("\"R10-A-BUS\"", ""),
    );
    done(root, "plan series");
}

/// A part that one machine excludes is still fitted on the other.
#[test]
fn what_one_machine_excludes_is_fitted_on_the_other() {
    let (folder, plan) = planned();
    let has = |machine: &str| {
        let mut ends = plan.ends.iter().filter(|end| end.machine == machine);
        ends.any(|end| end.plug == "P10-C")
    };
    assert!(has("boat") && !has("launch"));
    // Excluded everywhere, it is told as such; the purchase can exclude it too.
    let root = folder.path();
    let all = PURCHASE.replace("tax_percent", "exclude_parts = [\"P10-C\"]\ntax_percent");
    write(root, "series/purchase.toml", &all);
    let said = fails(root, "plan series", 3);
    for line in [
        "keying at motor of boat: 3 nets (U, V and W;",
        "exclude_parts leaves out P10-C (series/purchase.toml:4,",
        "would help: P10-C out of exclude_parts\n",
    ] {
        assert!(said.contains(line), "{line}: {said}");
    }
}

/// A recorded line is told as excluded where each machine that has the part excludes it.
#[test]
fn what_became_of_a_part_is_asked_of_the_machines_that_have_it() {
    let (folder, plan) = planned();
    let root = folder.path();
    let of = |machine: &str| -> BTreeSet<String> {
        let ends = plan.ends.iter().filter(|end| end.machine == machine);
        ends.flat_map(pieces)
            .map(|(part, _)| part.to_owned())
            .collect()
    };
    let (boat, launch) = (of("boat"), of("launch"));
    let both = boat.intersection(&launch).next().expect("a part of both");
    let alone = boat.difference(&launch).next().expect("a part of the boat");
    let excluded = |machine: &str, part: &str| {
        let file = format!("{machine}/project.toml");
        let before = fs::read_to_string(root.join(&file)).unwrap();
        let list = format!("exclude_parts = [\"{part}\"]");
        let old = match machine {
            "boat" => "exclude_parts = []",
            _ => "exclude_parts = [\"P10-C\"]",
        };
        assert!(before.contains(old));
        write(root, &file, &before.replace(old, &list));
        let input = load(&root.join("series"), &LoadOptions::default()).input;
        write(root, &file, &before);
        let shifts = shifts(&input.expect("a purchase"), None, &plan, &plan.orders, None);
        let of_part = |shift: &&Shift| shift.part.as_deref() == Some(part);
        let mut shifts = shifts.iter().filter(of_part);
        shifts.any(|shift| shift.what == What::Excluded)
    };
    assert!(excluded("boat", alone));
    assert!(!excluded("launch", alone));
    assert!(!excluded("boat", both) && !excluded("launch", both));
}

/// A machine's name is the user's text as any other: no page runs it, and no spreadsheet.
#[test]
fn a_hostile_name_of_a_machine_does_nothing() {
    let folder = described();
    let root = folder.path();
    let hostile = "=1+1 <b id='x'>&\\u001b[31m";
    let purchase = PURCHASE.replace("name = \"boat\"", &format!("name = \"{hostile}\""));
    assert_ne!(purchase, PURCHASE);
    write(root, "series/purchase.toml", &purchase);
    let output = run(root, "plan series");
    if output.status.code() != Some(0) {
        // A control character in a name is an error of the file; the rest is not.
        let plain = purchase.replace("\\u001b[31m", "");
        write(root, "series/purchase.toml", &plain);
        done(root, "plan series");
    }
    for line in [
        "report series --no-frontier --out -",
        "kit series --format html",
        "cards series --out -",
        "labels series --format html",
    ] {
        let page = done(root, line);
        assert!(page.contains("=1+1 &#60;b"), "{line}");
        assert!(
            !page.contains("<b id=") && !page.contains('\u{1b}'),
            "{line}"
        );
    }
    for line in [
        "kit series --format csv",
        "labels series",
        "keys series --format csv",
    ] {
        let csv = done(root, line);
        for row in rows(&csv) {
            assert!(
                row.values().all(|cell| !cell.starts_with('=')),
                "{line}: {row:?}"
            );
        }
    }
    for line in ["plan series", "keys series", "kit series", "check series"] {
        assert!(!done(root, line).contains('\u{1b}'), "{line}");
    }
}
