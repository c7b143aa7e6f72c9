//! Whole runs around orders and new prices, on the project that `couplet new` writes.

#[path = "common/said.rs"]
mod said;

use assert_cmd::Command;
use said::said;
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::cargo_bin("couplet")
        .unwrap()
        .current_dir(folder)
        .args(args)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// Standard output of a run that must do well.
fn done(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {said}");
    text(&output.stdout).to_owned()
}

/// Standard error of a run that must end with this status.
fn fails(folder: &Path, args: &[&str], status: i32) -> String {
    let output = run(folder, args);
    let said = text(&output.stderr).to_owned();
    assert_eq!(output.status.code(), Some(status), "{args:?}: {said}");
    said
}

/// A folder with a planned project `boat` in it.
fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["new", "boat"]);
    done(folder.path(), &["plan", "boat"]);
    folder
}

fn read(folder: &Path, file: &str) -> String {
    fs::read_to_string(folder.join(file)).unwrap()
}

fn json(folder: &Path, file: &str) -> serde_json::Value {
    serde_json::from_str(&read(folder, file)).unwrap()
}

/// A new price list beside the project: the old one with some text replaced.
fn list(folder: &Path, name: &str, changes: &[(&str, &str)]) {
    let mut prices = read(folder, "boat/catalog/prices.csv");
    for (from, to) in changes {
        assert!(prices.contains(from), "{from}");
        prices = prices.replace(from, to);
    }
    fs::write(folder.join(name), prices).unwrap();
}

#[test]
fn an_unchanged_project_is_not_planned_again() {
    let folder = boat();
    let record = read(folder.path(), "boat/plan.json");
    let output = run(folder.path(), &["plan", "boat"]);
    assert!(text(&output.stderr).contains("nothing changed"));
    assert!(text(&output.stdout).starts_with("proven cheapest"));
    let forced = run(folder.path(), &["plan", "boat", "--again"]);
    let same = "nothing differs from the plan before\n";
    assert_eq!(said(&forced.stderr), same);
    assert_eq!(forced.stdout, output.stdout);
    assert_eq!(read(folder.path(), "boat/plan.json"), record);
    for (args, wanted, what) in [
        (
            vec!["plan", "boat", "--as-of", "2025-12-01"],
            same,
            "another day",
        ),
        (
            vec!["plan", "boat", "--out", "x.json"],
            "",
            "another record",
        ),
    ] {
        let output = run(folder.path(), &args);
        assert_eq!(said(&output.stderr), wanted, "{what}");
    }
    done(folder.path(), &["plan", "boat"]);
    fs::write(folder.path().join("boat/on_hand.csv"), "part,qty\n").unwrap();
    let output = run(folder.path(), &["plan", "boat"]);
    let said_of = said(&output.stderr);
    assert!(
        said_of.starts_with("since the plan before: total "),
        "{said_of}"
    );
    // a record that was changed by hand does not stand
    let record = read(folder.path(), "boat/plan.json");
    fs::write(
        folder.path().join("boat/plan.json"),
        record.replacen("\"fitted\": 2", "\"fitted\": 3", 1),
    )
    .unwrap();
    let output = run(folder.path(), &["plan", "boat"]);
    assert!(text(&output.stderr).contains("fitted is 3, not 2"));
    assert_eq!(read(folder.path(), "boat/plan.json"), record);
}

#[test]
fn an_order_is_placed_once() {
    let folder = boat();
    let place = ["order", "boat", "--place", "--on", "2026-01-02"];
    let shown = done(folder.path(), &[&place[..], &["--dry-run"]].concat());
    assert!(shown.contains("would be added"), "{shown}");
    assert!(!folder.path().join("boat/ordered.csv").exists());
    let shown = done(folder.path(), &place);
    assert!(shown.contains("ordered on 2026-01-02"), "{shown}");
    // The file has all decimals of the duty, the reader cents.
    let charges = shown.lines().rfind(|l| l.contains("shipping and duty"));
    assert!(charges.is_some_and(|l| l.contains(" 28.54 ")), "{shown}");
    let ordered = read(folder.path(), "boat/ordered.csv");
    let first = ordered.lines().nth(1).unwrap();
    assert_eq!(first, "C10,Example North,5,4.20,2026-01-02,,9.50,N-1026");
    assert!(ordered.contains(",28.54463"), "{ordered}");
    let said = fails(folder.path(), &place, 1);
    assert!(said.contains("may be placed already"), "{said}");
    assert_eq!(read(folder.path(), "boat/ordered.csv"), ordered);
    // what was to be spent is spent now
    let total = json(folder.path(), "boat/plan.json")["cost"]["total"].clone();
    let shown = done(folder.path(), &["plan", "boat"]);
    assert!(shown.contains("Nothing to order: everything is on hand or ordered"));
    assert!(shown.contains("Ordered but not used by this plan: worth 5.02 EUR"));
    let plan = json(folder.path(), "boat/plan.json");
    let of = |value: &serde_json::Value| -> f64 { value.as_str().unwrap().parse().unwrap() };
    let sum = of(&plan["spent"]) + of(&plan["cost"]["total"]);
    assert!((sum - of(&total)).abs() < 1e-9, "{sum} {total}");
    assert_eq!(plan["orders"], serde_json::json!([]));
    let shown = done(folder.path(), &place);
    assert_eq!(shown, "nothing to order, so nothing was placed\n");

    // What is ordered is spent: as much is left of the budget as before.
    let left = "1200.00 EUR less 10 % kept back: 556.90 left";
    let shown = done(folder.path(), &["plan", "boat"]);
    assert!(shown.contains(left), "{shown}");
    let shown = done(folder.path(), &["budget", "boat"]);
    let head = "Total 0.00 EUR still to spend, 523.10 with what is ordered: 556.90 are left";
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words(&shown).contains(head), "{shown}");
}

/// What is ordered goes into the bags too.
#[test]
fn what_is_ordered_is_packed() {
    let folder = boat();
    let packed = || -> serde_json::Value {
        let text = done(folder.path(), &["kit", "boat", "--format", "json"]);
        serde_json::from_str(&text).unwrap()
    };
    let before = packed();
    let place = ["order", "boat", "--place", "--on", "2026-01-02"];
    done(folder.path(), &place);
    done(folder.path(), &["plan", "boat"]);
    let record = json(folder.path(), "boat/plan.json");
    assert_eq!(record["parts"][0]["bought"], 0);
    assert!(record["parts"][0]["ordered_used"].as_u64() > Some(0));
    let after = packed();
    for field in ["circuits", "spares"] {
        assert!(before[field].is_array(), "{before}");
        assert_eq!(after[field], before[field]);
    }
}

#[test]
fn papers_of_the_plan_that_was_ordered_warn_of_nothing() {
    let folder = boat();
    let ordered = folder.path().join("boat/ordered.csv");
    let cards = ["cards", "boat", "--out", "cards.html"];
    let said = || text(&run(folder.path(), &cards).stderr).to_owned();
    let warning = "ordered.csv is not as when the plan was made";
    let place = |supplier| {
        let args = ["order", "boat", "--place", "--on", "2026-01-02"];
        done(
            folder.path(),
            &[&args[..], &["--supplier", supplier]].concat(),
        );
    };
    place("Example North");
    assert!(!said().contains("not as when"), "{}", said());
    // A die of another price is not the plan's.
    let dies = folder.path().join("boat/dies_ordered.csv");
    let placed = read(folder.path(), "boat/dies_ordered.csv");
    fs::write(&dies, placed.replace("38.00", "39.00")).unwrap();
    assert!(
        said().contains("dies_ordered.csv is not as when"),
        "{}",
        said()
    );
    fs::write(&dies, placed).unwrap();
    // What has come of it is no surprise either.
    done(
        folder.path(),
        &["receive", "boat", "--part", "C10", "--qty", "2"],
    );
    assert!(!said().contains(warning), "{}", said());
    // Anything else is.
    let placed = read(folder.path(), "boat/ordered.csv");
    for other in [
        format!("{placed}C10,Example North,6,4.20,2026-01-02,,,\n"),
        format!("{placed}F10-50,Example North,5,1.95,2026-01-02,,,\n"),
        placed.replace("C10,Example North,5,", "C10,Example North,6,"),
        placed.replace("part,supplier", "supplier,part"),
    ] {
        fs::write(&ordered, other).unwrap();
        assert!(said().contains("ordered.csv"), "{}", said());
    }
    // After lines that stood there when the plan was made.
    fs::write(&ordered, &placed).unwrap();
    done(folder.path(), &["plan", "boat"]);
    assert!(!said().contains(warning), "{}", said());
    place("Example South");
    assert!(!said().contains(warning), "{}", said());
}

#[test]
fn one_supplier_may_be_placed_first() {
    let folder = boat();
    let north = ["order", "boat", "--place", "--supplier", "Example North"];
    done(folder.path(), &north);
    let ordered = read(folder.path(), "boat/ordered.csv");
    assert!(!ordered.contains("Example South"));
    done(folder.path(), &["plan", "boat"]);
    let plan = json(folder.path(), "boat/plan.json");
    let orders = plan["orders"].as_array().unwrap();
    assert_eq!(orders.len(), 1);
    assert_eq!(orders[0]["supplier"], "Example South");
    let args = ["order", "boat", "--place", "--supplier", "Example Sout"];
    let said = fails(folder.path(), &args, 2);
    assert!(said.contains("did you mean \"Example South\"?"), "{said}");
}

#[test]
fn a_delivery_is_booked_up_to_what_was_ordered() {
    let folder = boat();
    done(
        folder.path(),
        &["order", "boat", "--place", "--on", "2026-01-02"],
    );
    let part = |qty: &'static str| {
        let day = ["receive", "boat", "--on", "2026-01-09"];
        [&day[..], &["--part", "C10", "--qty", qty]].concat()
    };
    let shown = done(folder.path(), &[&part("3")[..], &["--dry-run"]].concat());
    assert!(
        shown.starts_with("3 pieces would be booked as received\n"),
        "{shown}"
    );
    let before = read(folder.path(), "boat/ordered.csv");
    done(folder.path(), &part("3"));
    let after = read(folder.path(), "boat/ordered.csv");
    let changed: Vec<_> = (before.lines().zip(after.lines()))
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(
        changed,
        [(
            "C10,Example North,5,4.20,2026-01-02,,9.50,N-1026",
            "C10,Example North,5,4.20,2026-01-02,3,9.50,N-1026"
        )]
    );
    let said = fails(folder.path(), &part("3"), 1);
    assert!(
        said.contains("3 of part C10 came, but only 2 are on order"),
        "{said}"
    );
    assert_eq!(read(folder.path(), "boat/ordered.csv"), after);
    done(folder.path(), &part("2"));
    let said = fails(folder.path(), &part("1"), 1);
    assert!(said.contains("nothing of part C10 is on order"), "{said}");
    // a day before the order nothing can have come
    let early = [
        "receive",
        "boat",
        "--part",
        "C4",
        "--qty",
        "1",
        "--on",
        "2026-01-01",
    ];
    fails(folder.path(), &early, 1);
}

#[test]
fn a_delivery_goes_to_the_older_of_two_orders() {
    let folder = boat();
    let row = |day: &str, received: &str| format!("C10,Example North,5,4.20,{day},{received}\n");
    let file = |newer: &str, older: &str| {
        let head = "part,supplier,qty,unit_price,ordered_on,received\n";
        head.to_owned() + &row("2026-02-01", newer) + &row("2026-01-02", older)
    };
    let ordered = folder.path().join("boat/ordered.csv");
    fs::write(&ordered, file("", "")).unwrap();
    let came = |qty: &str| {
        let args = [
            "receive",
            "boat",
            "--part",
            "C10",
            "--on",
            "2026-03-01",
            "--qty",
        ];
        done(folder.path(), &[&args[..], &[qty]].concat());
        read(folder.path(), "boat/ordered.csv")
    };
    assert_eq!(came("3"), file("", "3"));
    // What is more goes to the next.
    assert_eq!(came("4"), file("2", "5"));
}

#[test]
fn a_delivery_file_is_booked_whole_or_not_at_all() {
    let folder = boat();
    done(
        folder.path(),
        &["order", "boat", "--place", "--on", "2026-01-02"],
    );
    let before = read(folder.path(), "boat/ordered.csv");
    let book = |file: &str| {
        fs::write(folder.path().join("came.csv"), file).unwrap();
        run(
            folder.path(),
            &["receive", "boat", "came.csv", "--on", "2026-01-09"],
        )
    };
    for (file, status, said) in [
        ("part,qty\nC4,1\nC6,99\n", 1, "99 of part C6 came"),
        ("part,qty\nC44,1\nC6,x\n", 1, "unknown part \"C44\""),
        (
            "part,qty,supplier\nC4,1,Exmple North\n",
            1,
            "did you mean \"Example North\"?",
        ),
        (
            "part,qty,supplier\nC4,1,Example South\n",
            1,
            "nothing of part C4 is on order from",
        ),
        ("part,qty\nC4,0\n", 1, "is below 1"),
        ("", 1, "error"),
    ] {
        let output = book(file);
        assert_eq!(output.status.code(), Some(status), "{file}");
        assert!(
            text(&output.stderr).contains(said),
            "{file}: {}",
            text(&output.stderr)
        );
        assert_eq!(read(folder.path(), "boat/ordered.csv"), before);
    }
    let output = book("# from the van\npart;qty\nC4;1\nC6;2\nC4;1\n");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("4 pieces booked as received\n"));
    let after = read(folder.path(), "boat/ordered.csv");
    assert!(
        after.contains("C4,Example North,2,2.60,2026-01-02,2,"),
        "{after}"
    );
}

#[test]
fn the_same_prices_keep_the_record_byte_for_byte() {
    let folder = boat();
    let record = read(folder.path(), "boat/plan.json");
    for keep in [
        &[][..],
        &["--keep", "lines"],
        &["--keep", "parts"],
        &["--keep", "nothing"],
    ] {
        let shown = done(folder.path(), &[&["reprice", "boat"], keep].concat());
        assert!(
            shown.contains("No change of the order (29 lines)"),
            "{shown}"
        );
        assert_eq!(read(folder.path(), "boat/plan.json"), record, "{keep:?}");
    }
    done(folder.path(), &["reprice", "boat", "--check"]);
}

#[test]
fn a_check_writes_nothing_and_tells_by_its_status() {
    let folder = boat();
    list(
        folder.path(),
        "new.csv",
        &[("S-2001,USD,1,20.58", "S-2001,USD,1,21.08")],
    );
    let record = read(folder.path(), "boat/plan.json");
    let check = ["reprice", "boat", "--prices", "new.csv", "--check"];
    let output = run(folder.path(), &check);
    assert_eq!(output.status.code(), Some(6), "{}", text(&output.stderr));
    assert_eq!(said(&output.stderr), "");
    assert!(text(&output.stdout).contains("1 order line changes"));
    assert_eq!(read(folder.path(), "boat/plan.json"), record);
    done(folder.path(), &check[..4]);
    assert_ne!(read(folder.path(), "boat/plan.json"), record);
    done(folder.path(), &check);
}

#[test]
fn a_part_that_is_gone_is_replaced_and_named() {
    let folder = boat();
    list(
        folder.path(),
        "new.csv",
        &[
            (
                "S10-14,Example North,N-1022,EUR,1,1.30,1,,5,2025-10-01\n",
                "",
            ),
            (
                "C6,Example North,N-1028,EUR,1,1.90,1,,5",
                "C6,Example North,N-1028,EUR,1,1.90,1,,12",
            ),
            (
                "P6-A,Example North,N-1011,EUR,1,9.80,1,40",
                "P6-A,Example North,N-1011,EUR,1,9.80,1,1",
            ),
            (
                "P6-A,Example North,N-1011,EUR,5,9.11,1,40",
                "P6-A,Example North,N-1011,EUR,5,9.11,1,1",
            ),
        ],
    );
    let record = read(folder.path(), "boat/plan.json");
    let args = ["reprice", "boat", "--prices", "new.csv", "--keep", "lines"];
    let said = fails(folder.path(), &args[..4], 3);
    let why = "Example North has only 1 of part P6-A in stock, the order has 2";
    assert!(said.contains(why), "{said}");
    // only one P6-A is left and nothing else can stand there
    assert!(
        said.contains("no plan holds all limits") || said.contains("no compatible set"),
        "{said}"
    );
    assert_eq!(read(folder.path(), "boat/plan.json"), record);
    list(
        folder.path(),
        "new.csv",
        &[
            (
                "S10-14,Example North,N-1022,EUR,1,1.30,1,,5,2025-10-01\n",
                "",
            ),
            (
                "C6,Example North,N-1028,EUR,1,1.90,1,,5",
                "C6,Example North,N-1028,EUR,1,1.90,1,,12",
            ),
        ],
    );
    let said = fails(folder.path(), &args, 3);
    assert!(said.contains("the order lines cannot be kept"), "{said}");
    assert_eq!(read(folder.path(), "boat/plan.json"), record);
    let shown = done(folder.path(), &args[..4]);
    for line in [
        "same lines at the new prices  not available  price             not available",
        "price and buying",
        "Example North no longer sells part S10-14; the part is bought from Example South now",
        "Example North delivers part C6 in 12 days now, not in 5",
    ] {
        assert!(shown.contains(line), "{line} in {shown}");
    }
    // what is written is what a fresh plan of these prices is
    done(
        folder.path(),
        &[
            "reprice", "boat", "--prices", "new.csv", "--keep", "nothing",
        ],
    );
    let kept = read(folder.path(), "boat/plan.json");
    done(
        folder.path(),
        &["plan", "boat", "--prices", "new.csv", "--out", "fresh.json"],
    );
    assert_eq!(kept, read(folder.path(), "fresh.json"));
}

#[test]
fn a_supplier_that_is_gone_is_said_once() {
    let folder = boat();
    let prices = read(folder.path(), "boat/catalog/prices.csv");
    let north: Vec<&str> = prices
        .lines()
        .filter(|l| !l.contains("Example South"))
        .collect();
    fs::write(folder.path().join("new.csv"), north.join("\n")).unwrap();
    let shown = done(folder.path(), &["reprice", "boat", "--prices", "new.csv"]);
    let gone = "Example South is gone: it offers nothing any more";
    assert_eq!(shown.matches(gone).count(), 1, "{shown}");
    assert!(shown.contains("supplier"), "{shown}");
}

/// Two receptacles that serve one end alike, so that a price decides.
#[test]
fn a_change_must_be_worth_it() {
    let folder = boat();
    let bodies = read(folder.path(), "boat/catalog/bodies.csv");
    let row = bodies
        .lines()
        .find(|l| l.starts_with("R4-2-PANEL,"))
        .unwrap();
    let twin = row.replacen("R4-2-PANEL", "R4-2-PANEL-B", 1);
    fs::write(
        folder.path().join("boat/catalog/bodies.csv"),
        format!("{bodies}{twin}\n"),
    )
    .unwrap();
    let prices = read(folder.path(), "boat/catalog/prices.csv");
    let offer = |price: &str| {
        format!("{prices}R4-2-PANEL-B,Example North,N-1099,EUR,1,{price},1,40,5,2025-10-01\n")
    };
    fs::write(
        folder.path().join("boat/catalog/prices.csv"),
        offer("12.21"),
    )
    .unwrap();
    fs::write(folder.path().join("new.csv"), offer("11.20")).unwrap();
    done(folder.path(), &["plan", "boat"]);
    // two of them: two euros are saved
    let worth = |least: &str| {
        let toml = read(folder.path(), "boat/project.toml");
        let toml = toml.split("\n[reprice]").next().unwrap().to_owned();
        let text = format!("{toml}\n[reprice]\nworth_changing = {least}\n");
        fs::write(folder.path().join("boat/project.toml"), text).unwrap();
        done(folder.path(), &["plan", "boat"]);
        run(
            folder.path(),
            &["reprice", "boat", "--prices", "new.csv", "--check"],
        )
    };
    let output = worth("2.01");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stdout));
    assert!(
        text(&output.stdout).contains("-2.00"),
        "{}",
        text(&output.stdout)
    );
    let output = worth("2");
    assert_eq!(output.status.code(), Some(6), "{}", text(&output.stderr));
    let shown = text(&output.stdout);
    assert!(shown.starts_with("everything is planned anew"), "{shown}");
    assert!(shown.contains("part"), "{shown}");
    let csv = ["reprice", "boat", "--prices", "new.csv", "--format", "csv"];
    let csv = done(folder.path(), &csv);
    let switched = "part switched,R4-2-PANEL,Example North,2,12.20,R4-2-PANEL-B,,,11.20,-8.2";
    assert!(csv.contains(switched), "{csv}");
}

#[test]
fn a_negative_worth_is_refused() {
    let folder = boat();
    let toml = read(folder.path(), "boat/project.toml") + "\n[reprice]\nworth_changing = -1\n";
    fs::write(folder.path().join("boat/project.toml"), toml).unwrap();
    let said = fails(folder.path(), &["check", "boat"], 1);
    assert!(said.contains("reprice.worth_changing"), "{said}");
}

#[test]
fn a_record_that_does_not_hold_is_refused_and_why_is_said() {
    let folder = boat();
    let record = read(folder.path(), "boat/plan.json");
    let spoil = |from: &str, to: &str| {
        assert!(record.contains(from), "{from}");
        fs::write(
            folder.path().join("boat/plan.json"),
            record.replacen(from, to, 1),
        )
        .unwrap();
    };
    let tries = [
        (
            "\"project\": \"Small boat\"",
            "\"project\": \"Big boat\"",
            "is of project \"Big boat\"",
        ),
        ("couplet.plan/2", "couplet.plan/3", "newer"),
        (
            "\"fitted\": 5",
            "\"fitted\": 6",
            "part C10: fitted is 6, not 5",
        ),
        (
            "\"unit_price\": \"4.20\"",
            "\"unit_price\": \"4.10\"",
            "unit_price is 4.10, not 4.20",
        ),
        ("\"total\": \"523", "\"total\": \"522", "total is 522"),
        ("\"plug\": \"P10-A\"", "\"plug\": \"P10-B\"", "mate"),
    ];
    for (from, to, why) in tries {
        spoil(from, to);
        for args in [&["reprice", "boat"][..], &["order", "boat", "--place"]] {
            let said = fails(folder.path(), args, 1);
            assert!(said.contains(why), "{to}: {said}");
            assert!(!folder.path().join("boat/ordered.csv").exists());
            assert_ne!(read(folder.path(), "boat/plan.json"), record);
        }
    }
    // where the files changed since, the record is held against itself
    let hands = read(folder.path(), "boat/on_hand.csv");
    fs::write(
        folder.path().join("boat/on_hand.csv"),
        format!("{hands}C10,1\n"),
    )
    .unwrap();
    let tries = [
        (
            "\"fitted\": 5",
            "\"fitted\": 6",
            "part C10: fitted is 6, not 5",
        ),
        (
            "\"unit_price\": \"4.20\"",
            "\"unit_price\": \"4.10\"",
            "line_total is 21.00, not 20.50",
        ),
        ("\"total\": \"523", "\"total\": \"522", "total is 522"),
        (
            "\"plug\": \"P10-A\"",
            "\"plug\": \"P10-B\"",
            "part P10-A: fitted is",
        ),
        (
            "\"bought\": 5",
            "\"bought\": 4",
            "part C10: bought is 4, not 5",
        ),
    ];
    for (from, to, why) in tries {
        spoil(from, to);
        let said = fails(folder.path(), &["reprice", "boat"], 1);
        assert!(said.contains(why), "{to}: {said}");
    }
    fs::write(folder.path().join("boat/plan.json"), &record).unwrap();
    done(folder.path(), &["reprice", "boat"]);
    fs::remove_file(folder.path().join("boat/plan.json")).unwrap();
    let said = fails(folder.path(), &["reprice", "boat"], 1);
    assert!(said.contains("make the plan first"), "{said}");
}

#[test]
fn a_record_without_the_newer_fields_is_read() {
    let folder = boat();
    let mut plan = json(folder.path(), "boat/plan.json");
    assert!(plan.get("spent").is_none() && plan.get("ordered").is_none());
    assert!(plan["parts"][0].get("ordered_used").is_none());
    let fields = plan.as_object_mut().unwrap();
    fields.insert("spent".into(), "0.00".into());
    fields.insert("ordered".into(), serde_json::json!([]));
    fs::write(folder.path().join("boat/plan.json"), plan.to_string()).unwrap();
    done(folder.path(), &["order", "boat"]);
    let output = run(folder.path(), &["plan", "boat"]);
    assert!(text(&output.stderr).contains("nothing changed"));
}

#[test]
fn errors_of_ordered_csv_are_all_shown() {
    let folder = boat();
    let file = "part,supplier,qty,unit_price,ordered_on,received\n\
                P10-A,Example North,2,24.50,2026-01-02,3\n\
                P10-X,Example North,0,-1,02.01.2026,\n\
                P10-A,Exmple North,2,24.50,2026-01-02,2\n\
                P10-A,Example North,2,24.50,,\n";
    fs::write(folder.path().join("boat/ordered.csv"), file).unwrap();
    let said = fails(folder.path(), &["check", "boat"], 1);
    for (line, what) in [
        (2, "3 pieces are received of 2 ordered"),
        (3, "unknown part \"P10-X\""),
        (3, "\"0\" is below 1"),
        (3, "\"-1\" is below 0"),
        (3, "\"02.01.2026\" is not a date"),
        (4, "unknown supplier \"Exmple North\""),
        (5, "the field is empty"),
    ] {
        assert!(said.contains(what), "{what}: {said}");
        assert!(said.contains(&format!("ordered.csv:{line}")), "{said}");
    }
    assert!(said.contains("did you mean \"Example North\"?"), "{said}");
    // what is right on both edges
    let file = "part,supplier,qty,unit_price,ordered_on,received\n\
                P10-A,Example North,2,0,2026-01-02,2\n\
                P10-A,Example North,1,24.50,2026-01-02,0\n";
    fs::write(folder.path().join("boat/ordered.csv"), file).unwrap();
    done(folder.path(), &["plan", "boat"]);
    let plan = json(folder.path(), "boat/plan.json");
    assert_eq!(plan["spent"], "24.50");
}

#[test]
fn two_price_lists_are_compared() {
    let folder = boat();
    list(
        folder.path(),
        "new.csv",
        &[
            ("S-2001,USD,1,20.58", "S-2001,USD,1,21.58"),
            (
                "S10-14,Example North,N-1022,EUR,1,1.30,1,,5,2025-10-01\n",
                "",
            ),
            (
                "P6-A,Example North,N-1011,EUR,5,9.11",
                "P6-A,Example North,N-1011,EUR,6,9.11",
            ),
            (
                "C6,Example North,N-1028,EUR,1,1.90,1,,5",
                "C6,Example North,N-1028,EUR,1,1.90,1,,12",
            ),
            ("C4,Example North", "C5,Example North"),
        ],
    );
    let prices = [
        "prices",
        "boat/catalog/prices.csv",
        "new.csv",
        "--plan",
        "boat",
    ];
    let shown = done(folder.path(), &prices);
    let head = "45 offers: 1 price changed, 1 with breaks moved, 1 new, 2 gone, \
                1 with other terms and 39 unchanged\n";
    assert!(shown.starts_with(head), "{shown}");
    assert!(shown.contains("+2.00 USD"), "{shown}");
    let csv = done(folder.path(), &[&prices[..], &["--format", "csv"]].concat());
    for line in [
        "price,P10-A,Example South,USD,2,20.58,21.58,+4.9,+2.00,",
        "gone,S10-14,Example North,EUR,3,1.30,,,,",
        "breaks moved,P6-A,Example North,EUR,2,9.80,9.80,,0.00,breaks 1/5 to 1/6",
        "terms,C6,Example North,EUR,6,1.90,1.90,,0.00,lead days 5 to 12",
        "new,C5,Example North,EUR,,,2.60,,,",
    ] {
        assert!(csv.contains(line), "{line} in {csv}");
    }
    let same = done(folder.path(), &["prices", "new.csv", "new.csv"]);
    assert_eq!(same, "43 offers: 43 unchanged\n");
    fs::write(
        folder.path().join("bad.csv"),
        "part,supplier,unit_price\nA,B,x\nA,B,\n",
    )
    .unwrap();
    let said = fails(folder.path(), &["prices", "new.csv", "bad.csv"], 1);
    assert!(
        said.contains("bad.csv:2") && said.contains("bad.csv:3"),
        "{said}"
    );
    fails(folder.path(), &["prices", "new.csv", "nothing.csv"], 1);
}

/// The rows of a CSV output by the names of their columns.
fn rows(csv: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    reader.deserialize().map(|row| row.unwrap()).collect()
}

/// A new price list on which P10-A comes from a supplier who bills in another
/// currency, and S10-14 too.
fn switching(folder: &Path) -> [&'static str; 4] {
    let prices = read(folder, "boat/catalog/prices.csv");
    let is_gone = |line: &&str| {
        line.starts_with("P10-A,Example South") || line.starts_with("S10-14,Example North")
    };
    let new: Vec<&str> = prices.lines().filter(|line| !is_gone(line)).collect();
    fs::write(folder.join("new.csv"), new.join("\n")).unwrap();
    ["reprice", "boat", "--prices", "new.csv"]
}

#[test]
fn each_price_has_its_currency_and_all_have_one_sum() {
    let folder = boat();
    let folder = folder.path();
    let args = [&switching(folder)[..], &["--check"]].concat();
    let show = |format: &[&str]| {
        let output = run(folder, &[&args[..], format].concat());
        assert_eq!(output.status.code(), Some(6), "{}", text(&output.stderr));
        text(&output.stdout).to_owned()
    };
    let shown = show(&[]);
    let words = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    // 24.50 / (20.58 × 0.92) = 1.294; 2 × 24.50 − 2 × 20.58 × 0.92 = 11.1328
    let lines: Vec<String> = shown.lines().map(words).collect();
    let place = lines
        .iter()
        .position(|line| line.contains("switched P10-A "));
    let switched = lines[place.unwrap()..place.unwrap() + 2].join(" ");
    for figure in [
        "Example South",
        "Example North",
        "20.58 USD",
        "24.50 EUR",
        "+29.4",
        "+11.13 EUR",
    ] {
        assert!(switched.contains(figure), "{figure} in {shown}");
    }
    let rate = |currency: &str| match currency {
        "EUR" => 1.0,
        "USD" => 0.92,
        other => panic!("{other}"),
    };
    let number = |text: &str| -> f64 { text.trim_start_matches('+').parse().unwrap() };
    let (mut sum, mut two_currencies) = (0.0, 0);
    for row in rows(&show(&["--format", "csv"])) {
        let side = |names: [&str; 3], other: f64| match names.map(|name| row[name].as_str()) {
            ["", "", ""] => other,
            [qty, price, currency] => number(qty) * number(price) * rate(currency),
        };
        let before = side(["qty", "unit_price", "currency"], 0.0);
        let with_old = |new: &str, old: &str| match row[new].as_str() {
            "" => row[old].clone(),
            other => other.to_owned(),
        };
        let after = match row["change"].as_str() {
            "removed" => 0.0,
            _ => {
                let [qty, price, currency] = [
                    ("new_qty", "qty"),
                    ("new_unit_price", "unit_price"),
                    ("new_currency", "currency"),
                ]
                .map(|(new, old)| with_old(new, old));
                number(&qty) * number(&price) * rate(&currency)
            }
        };
        let difference = number(&row["difference"]);
        assert!((after - before - difference).abs() < 1e-9, "{row:?}");
        assert_eq!(row["difference_currency"], "EUR");
        two_currencies += u32::from(!row["new_currency"].is_empty() && row["currency"] == "USD");
        sum += difference;
    }
    assert!(two_currencies > 0);
    let said = format!("goods together {sum:+.2} EUR at our rates");
    assert!(words(&shown).contains(&said), "{said} in {shown}");
    let json: serde_json::Value = serde_json::from_str(&show(&["--format", "json"])).unwrap();
    assert!((number(json["difference"].as_str().unwrap()) - sum).abs() < 1e-9);
    assert_eq!(json["currency"], "EUR");
    let changes = json["changes"].as_array().unwrap().iter();
    let switch = changes.clone().find(|c| c["kind"] == "supplier_switched");
    let switch = switch.unwrap();
    assert_eq!(switch["percent"], 29.4, "{switch}");
    assert_eq!(switch["before"]["currency"], "USD");
    assert_eq!(switch["after"]["currency"], "EUR");
    assert_eq!(switch["difference"], "11.1328");
}

/// What is said below the table of two lists.
fn for_plan(shown: &str) -> String {
    let last = shown.split("\n\n").last().unwrap();
    last.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn differences_of_two_currencies_have_one_sum_at_the_rates_of_the_project() {
    let folder = boat();
    let folder = folder.path();
    // Prices of either supplier, on lists that leave the currency to the supplier.
    let changes = [
        ("S-2001,USD,1,20.58", "S-2001,USD,1,21.58"),
        ("EUR,1,4.20", "EUR,1,4.30"),
        (",USD,", ",,"),
        (",EUR,", ",,"),
    ];
    list(folder, "old.csv", &changes[2..]);
    list(folder, "new.csv", &changes);
    let prices = ["prices", "old.csv", "new.csv"];
    let with = |plan: &str| done(folder, &[&prices[..], &["--plan", plan]].concat());
    // P10-A 2 × 1.00 USD, C10 5 × 0.10 EUR; 0.50 + 2 × 0.92 = 2.34
    let shown = with("boat");
    for figure in [
        "20.58 USD",
        "21.58 USD",
        "+2.00 USD",
        "4.20 EUR",
        "4.30 EUR",
        "+0.50 EUR",
    ] {
        assert!(shown.contains(figure), "{figure} in {shown}");
    }
    let both = "for the 29 lines of the plan on these lists: +0.50 EUR and +2.00 USD";
    let whole = format!("{both}, together +2.34 EUR at our rates");
    assert_eq!(for_plan(&shown), whole);
    assert_eq!(with("boat/plan.json"), shown);
    let csv = done(
        folder,
        &[&prices[..], &["--plan", "boat", "--format", "csv"]].concat(),
    );
    assert!(
        csv.contains("price,P10-A,Example South,USD,2,20.58,21.58,+4.9,+2.00,"),
        "{csv}"
    );

    let toml = read(folder, "boat/project.toml");
    let settings = folder.join("boat/project.toml");
    let of = |from: &str, to: &str| {
        assert!(toml.contains(from));
        fs::write(&settings, toml.replace(from, to)).unwrap();
        for_plan(&with("boat"))
    };
    let said = of("USD = 0.92", "GBP = 1.17");
    let why = "no sum in EUR: we have no rate for USD";
    assert_eq!(said, format!("{both} ({why})"));
    let said = of("USD = 0.92", "USD = x");
    let why = "the project beside the plan has an error, couplet check shows it";
    assert_eq!(said, format!("{both} (no sum of all: {why})"));
    let said = of("name = \"Small boat\"", "name = \"Other boat\"");
    let why = "the project beside the plan is another";
    assert_eq!(said, format!("{both} (no sum of all: {why})"));
    // A rate is that of the project as it is now.
    let said = of("USD = 0.92", "USD = 2");
    assert_eq!(said, format!("{both}, together +4.50 EUR at our rates"));

    fs::create_dir(folder.join("elsewhere")).unwrap();
    fs::copy(
        folder.join("boat/plan.json"),
        folder.join("elsewhere/plan.json"),
    )
    .unwrap();
    let why = "no project with rates stands beside the plan";
    assert_eq!(
        for_plan(&with("elsewhere")),
        format!("{both} (no sum of all: {why})")
    );
}

#[test]
fn where_no_line_is_on_both_lists_there_is_no_sum() {
    let folder = boat();
    let folder = folder.path();
    let head = "part,supplier,unit_price\n";
    fs::write(
        folder.join("old.csv"),
        format!("{head}P10-A,Example South,20.58\n"),
    )
    .unwrap();
    fs::write(folder.join("new.csv"), format!("{head}X,Example South,1\n")).unwrap();
    let shown = done(folder, &["prices", "old.csv", "new.csv", "--plan", "boat"]);
    let said = "for the 1 line of the plan on these lists: no line is on both; \
                no longer sold so: P10-A from Example South";
    assert_eq!(for_plan(&shown), said);
}

#[test]
fn price_lists_are_files_or_workbooks() {
    let folder = boat();
    let change = [("S-2001,USD,1,20.58", "S-2001,USD,1,21.58")];
    list(folder.path(), "new.csv", &change);
    fs::create_dir(folder.path().join("list")).unwrap();
    fs::copy(
        folder.path().join("new.csv"),
        folder.path().join("list/prices.csv"),
    )
    .unwrap();
    done(folder.path(), &["convert", "list", "new.xlsx"]);
    done(folder.path(), &["convert", "boat/catalog", "old.xlsx"]);
    let of = |old: &str, new: &str| {
        let args = ["prices", old, new, "--plan", "boat", "--format", "csv"];
        done(folder.path(), &args)
    };
    let csv = of("boat/catalog/prices.csv", "new.csv");
    let changed = "price,P10-A,Example South,USD,2,20.58,21.58,+4.9,+2.00,";
    assert!(csv.contains(changed), "{csv}");
    assert_eq!(csv.lines().count(), 2);
    assert_eq!(of("old.xlsx", "new.xlsx"), csv);
    assert_eq!(of("old.xlsx", "new.csv"), csv);
    assert_eq!(of("boat/catalog/prices.csv", "new.xlsx"), csv);
    // As with --prices.
    for list in ["new.csv", "new.xlsx"] {
        fails(
            folder.path(),
            &["reprice", "boat", "--prices", list, "--check"],
            6,
        );
    }
    fs::rename(
        folder.path().join("list/prices.csv"),
        folder.path().join("list/price.csv"),
    )
    .unwrap();
    done(folder.path(), &["convert", "list", "new.xlsx", "--force"]);
    let said = fails(folder.path(), &["prices", "old.xlsx", "new.xlsx"], 1);
    assert!(said.contains("there is no sheet prices"), "{said}");
    assert!(said.contains("did you mean \"price\"?"), "{said}");
}

#[test]
fn dies_are_named_and_placed_once() {
    let folder = boat();
    let dies = folder.path().join("boat/dies_ordered.csv");
    let shown = done(folder.path(), &["plan", "boat"]);
    assert!(shown.contains("Crimp dies to buy, in EUR\n"), "{shown}");
    assert!(
        shown
            .lines()
            .any(|l| l.starts_with("HEX-50 ") && l.ends_with(" 38.00")),
        "{shown}"
    );
    // The first order takes the dies along, whoever it goes to.
    let north = [
        "order",
        "boat",
        "--place",
        "--on",
        "2026-01-02",
        "--supplier",
        "Example North",
    ];
    let dry = done(folder.path(), &[&north[..], &["--dry-run"]].concat());
    assert!(
        dry.contains("1 die would be added to dies_ordered.csv"),
        "{dry}"
    );
    assert!(!dies.exists());
    let shown = done(folder.path(), &north);
    assert!(shown.contains("1 die added to dies_ordered.csv"), "{shown}");
    let placed = read(folder.path(), "boat/dies_ordered.csv");
    assert_eq!(placed, "die,cost,ordered_on\nHEX-50,38.00,2026-01-02\n");
    let again = ["order", "boat", "--place", "--on", "2026-01-03"];
    fails(folder.path(), &again, 1);
    // Nor where the lines are not there any more.
    fs::remove_file(folder.path().join("boat/ordered.csv")).unwrap();
    let said = fails(folder.path(), &again, 1);
    assert!(
        said.contains("dies_ordered.csv is not as when the plan was made"),
        "{said}"
    );
    assert_eq!(read(folder.path(), "boat/dies_ordered.csv"), placed);
    // From then on it is owned, and spent.
    let shown = done(folder.path(), &["plan", "boat"]);
    assert!(!shown.contains("Crimp dies to buy"), "{shown}");
    let plan = json(folder.path(), "boat/plan.json");
    assert_eq!(
        (&plan["spent"], &plan["cost"]["dies"]),
        (&"38.00".into(), &"0.00".into())
    );
    let shown = done(folder.path(), &again);
    assert!(!shown.contains("die"), "{shown}");
    assert_eq!(read(folder.path(), "boat/dies_ordered.csv"), placed);
    done(folder.path(), &["plan", "boat"]);
    let spent = json(folder.path(), "boat/plan.json")["spent"].clone();
    let total: f64 = spent.as_str().unwrap().parse().unwrap();
    assert!((total - 523.10).abs() < 0.01, "{total}");
}

#[test]
fn a_die_alone_can_be_placed() {
    let folder = boat();
    done(folder.path(), &["order", "boat", "--place"]);
    fs::remove_file(folder.path().join("boat/dies_ordered.csv")).unwrap();
    done(folder.path(), &["plan", "boat"]);
    let lines = read(folder.path(), "boat/ordered.csv");
    let shown = done(
        folder.path(),
        &["order", "boat", "--place", "--on", "2026-01-02"],
    );
    assert!(
        shown.starts_with("1 die added to dies_ordered.csv\n"),
        "{shown}"
    );
    assert_eq!(read(folder.path(), "boat/ordered.csv"), lines);
    done(folder.path(), &["plan", "boat"]);
    let shown = done(folder.path(), &["order", "boat", "--place"]);
    assert_eq!(shown, "nothing to order, so nothing was placed\n");
}

#[test]
fn a_total_in_another_currency_stands_in_the_projects_too() {
    let folder = boat();
    let shown = done(folder.path(), &["plan", "boat"]);
    let order = |supplier: &str| -> String {
        let from = format!("Order from {supplier}");
        let lines = shown.lines().skip_while(move |l| !l.starts_with(&from));
        let lines: Vec<&str> = lines.take_while(|l| !l.is_empty()).collect();
        lines.join("\n")
    };
    let amount = |text: &str, label: &str| -> Option<f64> {
        let line = text.lines().find(|l| l.starts_with(label))?;
        line.split_whitespace().last()?.parse().ok()
    };
    let (north, south) = (order("Example North"), order("Example South"));
    assert_eq!(amount(&north, "total in"), None);
    let record = json(folder.path(), "boat/plan.json");
    let of = |order: usize| -> f64 {
        record["orders"][order]["total"]
            .as_str()
            .unwrap()
            .parse()
            .unwrap()
    };
    let project = read(folder.path(), "boat/project.toml");
    let rate = project
        .lines()
        .find_map(|l| l.strip_prefix("USD = "))
        .unwrap();
    let rate: f64 = rate.split_whitespace().next().unwrap().parse().unwrap();
    let home = amount(&south, "total in EUR").unwrap();
    assert!(
        (home - of(1) * rate).abs() < 0.005 + 1e-9,
        "{home}: {south}"
    );
    assert!(rate != 1.0);
}

#[test]
fn prices_changed_after_an_order_was_placed() {
    let folder = boat();
    let north = ["order", "boat", "--place", "--supplier", "Example North"];
    done(folder.path(), &north);
    done(
        folder.path(),
        &["receive", "boat", "--part", "C10", "--qty", "5"],
    );
    // the other supplier raises a price: only what is still open is touched
    list(
        folder.path(),
        "new.csv",
        &[
            ("S-2001,USD,1,20.58", "S-2001,USD,1,21.58"),
            ("EUR,1,4.20", "EUR,1,9.99"),
        ],
    );
    let args = ["reprice", "boat", "--prices", "new.csv", "--format", "csv"];
    let csv = done(folder.path(), &args);
    assert!(
        csv.contains("price,P10-A,Example South,2,20.58,,,,21.58,+4.9"),
        "{csv}"
    );
    assert!(!csv.contains("Example North,5"), "{csv}");
    let plan = json(folder.path(), "boat/plan.json");
    assert_eq!(plan["orders"].as_array().unwrap().len(), 1);
    done(folder.path(), &["order", "boat", "--place"]);
    let ordered = read(folder.path(), "boat/ordered.csv");
    assert_eq!(
        ordered.lines().filter(|l| l.starts_with("P10-A,")).count(),
        1
    );
}

/// A line that was placed for the first plan and is to be bought again for the
/// second stands in both: what came before a plan is not ordered since.
#[test]
fn what_was_placed_before_a_plan_counts_not_as_placed_since() {
    let folder = boat();
    done(folder.path(), &["order", "boat", "--place"]);
    let circuits = read(folder.path(), "boat/circuits.csv");
    let more = "second heater,HV+ HV-,single,pack,heater,25,350,10 mm2,8.5,busbar,crimp,,,,orange";
    fs::write(
        folder.path().join("boat/circuits.csv"),
        format!("{}\n{more}\n", circuits.trim_end()),
    )
    .unwrap();
    done(folder.path(), &["plan", "boat"]);
    let plan = json(folder.path(), "boat/plan.json");
    let lines = || {
        let orders = plan["orders"].as_array().unwrap().iter();
        orders.flat_map(|order| order["lines"].as_array().unwrap())
    };
    let ordered = read(folder.path(), "boat/ordered.csv");
    let again = |part: &str| {
        let is_bought = lines().any(|line| line["part"] == part);
        let row = format!("{part},Example North,");
        is_bought && ordered.lines().any(|line| line.starts_with(&row))
    };
    assert!(again("C6") && again("P6-A"), "{ordered}");
    list(
        folder.path(),
        "new.csv",
        &[
            ("N-1028,EUR,1,1.90", "N-1028,EUR,1,1.75"),
            ("N-1011,EUR,1,9.80", "N-1011,EUR,1,10.10"),
        ],
    );
    let args = ["reprice", "boat", "--prices", "new.csv", "--check"];
    let output = run(
        folder.path(),
        &[args.as_slice(), &["--format", "json"]].concat(),
    );
    assert_eq!(output.status.code(), Some(6), "{}", text(&output.stderr));
    let shown: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(shown["keep"], "lines");
    assert_eq!(shown["lines_lost"], serde_json::Value::Null);
    let changes = shown["changes"].as_array().unwrap();
    assert_eq!(changes.len(), lines().count());
    for change in changes {
        let (before, after) = (&change["before"], &change["after"]);
        assert_eq!(before["qty"], after["qty"], "{change}");
        let part = before["part"].as_str().unwrap();
        let kind = match part {
            "C6" | "P6-A" => "price",
            _ => "unchanged",
        };
        assert_eq!(change["kind"], kind, "{change}");
    }
}
