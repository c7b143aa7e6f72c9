//! No command acts on a record that does not hold; which price list a record
//! has is known to all of them.

#[path = "common/said.rs"]
mod said;

use assert_cmd::Command;
use said::said;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Output;

/// Every command that acts on the record of `boat`.
const COMMANDS: &[&str] = &[
    "order boat",
    "order boat --format csv",
    "order boat --format json",
    "order boat --out-dir orders",
    "order boat --xlsx orders.xlsx",
    "order boat --place --dry-run",
    "order boat --place",
    "receive boat --part C10 --qty 1",
    "report boat --no-frontier --out report.html",
    "kit boat",
    "cards boat --out cards.html",
    "labels boat",
    "keys boat",
    "budget boat",
    "why boat traction --net HV+ --end from --part P10-A",
    "consolidate boat",
    "breakeven boat --part C10",
    "parts boat --used-by boat/plan.json",
    "parts --catalog boat/catalog --used-by boat/plan.json",
    "reprice boat",
    "prices boat/catalog/prices.csv boat/catalog/prices.csv --plan boat",
    "compare boat boat/plan.json",
    "consolidate boat --by suppliers --to 1",
];

fn run(folder: &Path, line: &str) -> Output {
    Command::cargo_bin("couplet")
        .unwrap()
        .current_dir(folder)
        .args(line.split(' '))
        .output()
        .unwrap()
}

/// Standard output and standard error of a run that must end so.
fn ends(folder: &Path, line: &str, status: i32) -> (String, String) {
    let output = run(folder, line);
    let (out, err) = (
        String::from_utf8(output.stdout).unwrap(),
        said(&output.stderr),
    );
    assert_eq!(output.status.code(), Some(status), "{line}: {err}");
    (out, err)
}

/// A folder with a planned project `boat` in it.
fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    ends(folder.path(), "new boat", 0);
    ends(folder.path(), "plan boat", 0);
    folder
}

fn read(folder: &Path, file: &str) -> String {
    fs::read_to_string(folder.join(file)).unwrap()
}

fn record(folder: &Path) -> Value {
    serde_json::from_str(&read(folder, "boat/plan.json")).unwrap()
}

fn write(folder: &Path, plan: &Value) {
    let text = serde_json::to_string_pretty(plan).unwrap();
    fs::write(folder.join("boat/plan.json"), text).unwrap();
}

/// All files below a folder with what is in them.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => all.extend(files(&path)),
            false => {
                all.insert(path.display().to_string(), fs::read(&path).unwrap());
            }
        }
    }
    all
}

/// Two ends change their plugs.
fn swapped(mut plan: Value) -> Value {
    let ends = plan["ends"].as_array_mut().unwrap();
    let first = ends[0]["plug"].clone();
    let other = (ends.iter())
        .position(|end| end["plug"] != first)
        .expect("another plug");
    ends[0]["plug"] = ends[other]["plug"].clone();
    ends[other]["plug"] = first;
    plan
}

fn with(mut plan: Value, pointer: &str, value: Value) -> Value {
    *plan.pointer_mut(pointer).expect(pointer) = value;
    plan
}

/// Ways to spoil a record, each with what is said of it.
fn spoilt(plan: &Value) -> Vec<(&'static str, Value, &'static str)> {
    let qty = plan["orders"][0]["lines"][0]["qty"].as_u64().unwrap();
    let mut doubled = plan.clone();
    let order = plan["orders"][0].clone();
    (doubled["orders"].as_array_mut().unwrap()).insert(0, order);
    let line = "/orders/0/lines/0";
    let one = |field: &str, value: Value| with(plan.clone(), &format!("{line}/{field}"), value);
    vec![
        ("plugs", swapped(plan.clone()), "exit"),
        ("quantity", one("qty", (qty + 1).into()), "bought is"),
        (
            "price",
            one("unit_price", "0.01".into()),
            "unit_price is 0.01",
        ),
        (
            "total",
            with(plan.clone(), "/cost/total", "1.00".into()),
            "total is 1.00",
        ),
        ("order", doubled, "has two orders"),
        (
            "bound above",
            with(plan.clone(), "/total_bound", "9999.00".into()),
            "total_bound is 9999.00",
        ),
        (
            "bound below",
            with(plan.clone(), "/total_bound", "1.00".into()),
            "total_bound is 1.00",
        ),
    ]
}

#[test]
fn nothing_is_shown_or_written_of_a_record_that_does_not_hold() {
    let folder = boat();
    let folder = folder.path();
    let good = record(folder);
    for (what, plan, why) in spoilt(&good) {
        write(folder, &plan);
        let before = files(folder);
        for line in COMMANDS {
            let (out, err) = ends(folder, line, 1);
            assert_eq!(out, "", "{what}: {line}");
            assert!(err.contains(why), "{what}: {line}: {err}");
            assert!(err.contains("does not hold"), "{what}: {line}: {err}");
            assert!(files(folder) == before, "{what}: {line} wrote");
        }
        // All that is wrong is named by --plan, too.
        fs::rename(folder.join("boat/plan.json"), folder.join("other.json")).unwrap();
        let (out, err) = ends(folder, "order boat --plan other.json", 1);
        assert!(out.is_empty() && err.contains(why), "{what}: {err}");
        fs::rename(folder.join("other.json"), folder.join("boat/plan.json")).unwrap();
    }
    // The same commands do well with the record that was spoilt.
    write(folder, &good);
    for line in COMMANDS.iter().filter(|line| !line.starts_with("receive")) {
        let (out, _) = ends(folder, line, 0);
        assert!(!out.is_empty() || line.contains("--out "), "{line}");
    }
    ends(folder, "receive boat --part C10 --qty 1", 0);
}

#[test]
fn a_plan_over_a_spoilt_record_says_so_and_is_made_anew() {
    let folder = boat();
    let folder = folder.path();
    let text = read(folder, "boat/plan.json");
    let good = record(folder);
    for (what, plan, why) in spoilt(&good) {
        write(folder, &plan);
        let (out, err) = ends(folder, "plan boat", 0);
        assert!(out.starts_with("proven cheapest"), "{what}: {out}");
        assert!(err.contains("boat/plan.json is not used"), "{what}: {err}");
        assert!(err.contains(why), "{what}: {err}");
        assert_eq!(read(folder, "boat/plan.json"), text, "{what}");
    }
    fs::write(folder.join("boat/plan.json"), "{").unwrap();
    let (_, err) = ends(folder, "plan boat", 0);
    assert!(err.contains("boat/plan.json is not used"), "{err}");
    assert_eq!(read(folder, "boat/plan.json"), text);
}

#[test]
fn where_files_changed_the_rest_is_checked_and_what_is_not_is_said() {
    let folder = boat();
    let folder = folder.path();
    let good = record(folder);
    let same = |file: &str| read(folder, &format!("boat/{file}"));
    let change = |file: &str| {
        let text = same(file) + "# looked at again\n";
        fs::write(folder.join("boat").join(file), text).unwrap();
    };
    // Prices changed: what fits where is still known, what is paid is not.
    let prices = same("catalog/prices.csv");
    change("catalog/prices.csv");
    write(folder, &swapped(good.clone()));
    let (out, err) = ends(folder, "kit boat", 1);
    assert!(out.is_empty() && err.contains("exit"), "{err}");
    let dearer = with(good.clone(), "/orders/0/shipping", "12345.00".into());
    write(folder, &dearer);
    let (_, err) = ends(folder, "kit boat", 1);
    assert!(err.contains("total is"), "{err}");
    write(folder, &good);
    let (_, err) = ends(folder, "kit boat", 0);
    assert!(err.contains("catalog/prices.csv is not as when"), "{err}");
    assert!(
        err.contains("the record was not checked for prices"),
        "{err}"
    );
    fs::write(folder.join("boat/catalog/prices.csv"), prices).unwrap();
    // Circuits changed: plugs that change places can't be told any more.
    change("circuits.csv");
    write(folder, &swapped(good.clone()));
    let (_, err) = ends(folder, "kit boat", 0);
    assert!(
        err.contains("the record was not checked for what fits where"),
        "{err}"
    );
    let (_, err) = ends(folder, "order boat", 0);
    assert!(err.contains("circuits.csv is not as when"), "{err}");
    // Sums and counts still are.
    let (pointer, value) = ("/parts/0/fitted", Value::from(77));
    write(folder, &with(good.clone(), pointer, value));
    for line in COMMANDS {
        let (out, err) = ends(folder, line, 1);
        assert!(out.is_empty(), "{line}");
        assert!(err.contains("fitted is 77"), "{line}: {err}");
    }
    // A project that can't be read leaves the record itself.
    fs::write(folder.join("boat/circuits.csv"), "x").unwrap();
    let (_, err) = ends(folder, "order boat", 1);
    assert!(err.contains("fitted is 77"), "{err}");
    write(folder, &good);
    let (out, err) = ends(folder, "order boat", 0);
    assert!(out.starts_with("proven cheapest"), "{out}");
    assert!(err.contains("checked by itself alone"), "{err}");
}

/// A file that changed takes away what it says, and nothing beside.
#[test]
fn what_the_other_files_say_is_still_checked() {
    let folder = boat();
    let folder = folder.path();
    let good = record(folder);
    let text = |value: &str| Value::from(value);
    let circuits = "circuits.csv";
    let of_ends = [
        (
            "/ends/0/location",
            text("elsewhere"),
            "location is elsewhere",
        ),
        ("/ends/0/net", text("X9"), "no circuit has this end"),
        ("/ends/0/gauge", text("1 mm2"), "gauge is 1 mm2"),
    ];
    let of_parts = [
        ("/ends/0/key", text("X9"), "key is X9"),
        ("/ends/0/interface", text("X9"), "interface is X9"),
        ("/parts/0/kind", text("X9"), "kind is X9"),
    ];
    let of_suppliers = [
        (
            "/orders/0/supplier",
            text("Nobody"),
            "Nobody: is not listed",
        ),
        ("/orders/0/currency", text("XXX"), "currency is XXX"),
    ];
    let of_prices = [
        (
            "/orders/0/lines/0/sku",
            text("X9"),
            "does not sell the part under this sku",
        ),
        ("/orders/0/lines/0/packs", Value::from(1), "packs is 1"),
    ];
    let of_settings = [("/currency", text("XXX"), "the plan: currency is XXX")];
    let of_itself = [
        ("/ends/0/end", text("side"), "no circuit has this end"),
        (
            "/ends/0/fittings/0/half",
            text("X9"),
            "is no half and no kind of fitting",
        ),
        (
            "/ends/0/fittings/0/kind",
            text("X9"),
            "is no half and no kind of fitting",
        ),
        ("/parts/0/kind", text("X9"), "kind is X9"),
    ];
    let others = |file: &str| {
        let is = |name: &str| file.ends_with(name);
        let mut all = of_itself.to_vec();
        for (name, facts) in [
            (circuits, &of_ends[..]),
            ("bodies.csv", &of_parts),
            ("suppliers.csv", &of_suppliers),
            ("prices.csv", &of_prices),
            ("project.toml", &of_settings),
        ] {
            if !is(name) && !is("project.toml") {
                all.extend_from_slice(facts);
            }
        }
        all
    };
    for file in [
        circuits,
        "catalog/bodies.csv",
        "catalog/suppliers.csv",
        "catalog/prices.csv",
        "project.toml",
    ] {
        let was = read(folder, &format!("boat/{file}"));
        let changed = was.clone() + "# looked at again\n";
        fs::write(folder.join("boat").join(file), changed).unwrap();
        for (pointer, value, why) in others(file) {
            write(folder, &with(good.clone(), pointer, value));
            let (out, err) = ends(folder, "order boat", 1);
            let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(out, "", "{file}: {pointer}");
            assert!(err.contains(why), "{file}: {pointer}: {err}");
        }
        write(folder, &good);
        ends(folder, "order boat", 0);
        fs::write(folder.join("boat").join(file), was).unwrap();
    }
}

#[test]
fn a_record_knows_its_price_list() {
    let folder = boat();
    let folder = folder.path();
    let dearer = |name: &str, price: &str| {
        let list = read(folder, "boat/catalog/prices.csv").replace(",4.20,", price);
        fs::write(folder.join(name), list).unwrap();
    };
    dearer("boat/autumn.csv", ",4.40,");
    ends(folder, "reprice boat --prices boat/autumn.csv", 0);
    let autumn = read(folder, "boat/plan.json");
    assert_eq!(record(folder)["prices"], "autumn.csv");
    // Nothing puts the old prices back by itself.
    for line in ["plan boat", "plan boat --again", "plan boat --time-limit 1"] {
        let (out, err) = ends(folder, line, 2);
        assert!(out.is_empty(), "{line}: {out}");
        for way in [
            "--prices boat/autumn.csv or --prices boat/catalog/prices.csv",
            "prices = \"autumn.csv\" into project.toml",
        ] {
            let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(err.contains(way), "{line}: {err}");
        }
        assert_eq!(read(folder, "boat/plan.json"), autumn);
    }
    // The others use the list of the record, and say so.
    for line in COMMANDS.iter().filter(|line| {
        [
            "order boat",
            "report",
            "kit",
            "cards",
            "keys",
            "budget",
            "breakeven",
            "why",
            "reprice",
        ]
        .iter()
        .any(|word| line.starts_with(word) && !line.contains("--place"))
    }) {
        let (_, err) = ends(folder, line, 0);
        assert!(
            err.contains("the prices are those of autumn.csv"),
            "{line}: {err}"
        );
        assert!(!err.contains("not as when"), "{line}: {err}");
        assert_eq!(read(folder, "boat/plan.json"), autumn, "{line}");
    }
    // The list by name: the plan stands, as long as the list is the same.
    let (_, err) = ends(folder, "plan boat --prices boat/autumn.csv", 0);
    assert!(err.contains("nothing changed"), "{err}");
    // Named in project.toml: planned with it without further words.
    let toml = read(folder, "boat/project.toml");
    fs::write(
        folder.join("boat/project.toml"),
        format!("prices = \"autumn.csv\"\n{toml}"),
    )
    .unwrap();
    let (_, err) = ends(folder, "plan boat", 0);
    assert!(!err.contains("prices"), "{err}");
    assert!(record(folder).get("prices").is_none());
    let total = record(folder)["cost"]["total"].clone();
    assert_eq!(
        total,
        serde_json::from_str::<Value>(&autumn).unwrap()["cost"]["total"]
    );
    // Back to the catalog's own by name, and from then on without.
    fs::write(folder.join("boat/project.toml"), &toml).unwrap();
    fs::write(folder.join("boat/plan.json"), &autumn).unwrap();
    ends(folder, "plan boat --prices boat/catalog/prices.csv", 0);
    assert!(record(folder).get("prices").is_none());
    let (_, err) = ends(folder, "plan boat", 0);
    assert!(err.contains("nothing changed"), "{err}");
    // A list that is gone is told; the record itself still counts.
    fs::write(folder.join("boat/plan.json"), &autumn).unwrap();
    fs::remove_file(folder.join("boat/autumn.csv")).unwrap();
    let (_, err) = ends(folder, "order boat", 0);
    assert!(err.contains("autumn.csv"), "{err}");
    ends(folder, "plan boat", 2);
}
