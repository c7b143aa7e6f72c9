//! Whole runs: files, exit statuses, output.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, words: &[&str]) -> Output {
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.current_dir(folder).args(words).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// A project with the list of one of its suppliers.
fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), &["new", "boat"]);
    let list = "Example North\r\nPrices valid from 01.10.2025\r\n\r\n\
                Item no.;Description;from 1 pcs;from 10 pcs;Lead time (weeks)\r\n\
                N-1026;back shell;4,50;4,00;1\r\n\
                N-9999;M6 washer;0,10;;1\r\n";
    fs::write(folder.path().join("list.csv"), list).unwrap();
    folder
}

const TAKE: [&str; 4] = ["take", "boat", "Example North", "list.csv"];

fn take(folder: &Path, more: &[&str]) -> Output {
    run(folder, &[&TAKE, more].concat())
}

#[test]
fn the_first_run_writes_the_recipe_alone() {
    let folder = boat();
    let folder = folder.path();
    let prices = || fs::read(folder.join("boat/catalog/prices.csv")).unwrap();
    let before = prices();
    let recipe = folder.join("boat/catalog/lists/Example-North.toml");
    let check = take(folder, &["--check"]);
    assert_eq!((check.status.code(), recipe.exists()), (Some(6), false));
    let first = take(folder, &[]);
    assert_eq!(first.status.code(), Some(0));
    assert!(recipe.exists() && prices() == before);
    assert!(out(&first).contains("N-1026"), "{}", out(&first));
    let text = fs::read_to_string(&recipe).unwrap();
    for line in [
        "article = \"Item no.\"",
        "price = \"from 10 pcs\"",
        "unit = \"weeks\"",
        "after = \"valid from\"",
        "decimal = \"comma\"",
        "separator = \"semicolon\"",
    ] {
        assert!(text.contains(&format!("\n{line}\n")), "{line}: {text}");
    }
}

#[test]
fn check_writes_nothing_and_taking_twice_changes_nothing() {
    let folder = boat();
    let folder = folder.path();
    take(folder, &[]);
    let recipe = folder.join("boat/catalog/lists/Example-North.toml");
    let text = fs::read_to_string(&recipe).unwrap();
    fs::write(&recipe, text.replace("complete = false", "complete = true")).unwrap();
    let path = folder.join("boat/catalog/prices.csv");
    let before = fs::read_to_string(&path).unwrap();
    let check = take(folder, &["--check", "--format", "json"]);
    assert_eq!(check.status.code(), Some(6));
    let json: serde_json::Value = serde_json::from_slice(&check.stdout).unwrap();
    assert_eq!(
        (json["would_change"].as_bool(), json["matched"].as_u64()),
        (Some(true), Some(1))
    );
    assert_eq!(json["changes"]["prices"][0]["after"], "4.50");
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    let taken = take(folder, &["--new", "new.csv"]);
    assert_eq!(
        taken.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&taken.stderr)
    );
    let after = fs::read_to_string(&path).unwrap();
    assert!(
        after.contains("C10,Example North,N-1026,EUR,1,4.50,1,,7,2025-10-01\n"),
        "{after}"
    );
    assert!(
        after.contains("C10,Example North,N-1026,EUR,10,4.00,,,7,2025-10-01\n"),
        "{after}"
    );
    // Of this supplier nothing else is left, of others everything.
    let others = |text: &str| -> Vec<String> {
        text.lines()
            .filter(|l| !l.contains("Example North,"))
            .map(str::to_owned)
            .collect()
    };
    assert_eq!(others(&after), others(&before));
    assert_eq!(after.matches("Example North,").count(), 2);
    let new = fs::read_to_string(folder.join("new.csv")).unwrap();
    assert!(new.contains("N-9999,M6 washer,price 0.10\n"), "{new}");
    let again = take(folder, &["--check"]);
    assert_eq!(
        (again.status.code(), fs::read_to_string(&path).unwrap()),
        (Some(0), after)
    );
    assert!(out(&again).contains("nothing changes"), "{}", out(&again));
}

#[test]
fn out_leaves_the_old_list_and_the_project_can_name_its_own() {
    let folder = boat();
    let folder = folder.path();
    take(folder, &[]);
    let path = folder.join("boat/catalog/prices.csv");
    let before = fs::read_to_string(&path).unwrap();
    assert_eq!(
        take(folder, &["--out", "boat/spring.csv"]).status.code(),
        Some(0)
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    let spring = fs::read_to_string(folder.join("boat/spring.csv")).unwrap();
    assert!(spring.contains(",4.50,"), "{spring}");
    // From now on the project has its own list, which is the one that changes.
    let settings = folder.join("boat/project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, format!("prices = \"own.csv\"\n{text}")).unwrap();
    fs::write(folder.join("boat/own.csv"), &before).unwrap();
    assert_eq!(take(folder, &[]).status.code(), Some(0));
    assert_eq!(
        fs::read_to_string(folder.join("boat/own.csv")).unwrap(),
        spring
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    // A catalog has its own list, whatever a project names.
    let words = ["take", "boat/catalog", "Example North", "list.csv"];
    assert_eq!(run(folder, &words).status.code(), Some(0));
    assert_eq!(fs::read_to_string(&path).unwrap(), spring);
}

#[test]
fn a_line_of_ours_that_is_not_understood_stops_everything() {
    let folder = boat();
    let folder = folder.path();
    take(folder, &[]);
    let list = fs::read_to_string(folder.join("list.csv")).unwrap();
    let path = folder.join("boat/catalog/prices.csv");
    let before = fs::read(&path).unwrap();
    // Of an article that is none of ours it only is told.
    fs::write(folder.join("list.csv"), list.replace("0,10", "call us")).unwrap();
    let other = take(folder, &["--check"]);
    assert!(
        out(&other).contains("1 cell not understood there"),
        "{}",
        out(&other)
    );
    fs::write(folder.join("list.csv"), list.replace("4,50", "call us")).unwrap();
    let stopped = take(folder, &[]);
    assert_eq!(
        (stopped.status.code(), fs::read(&path).unwrap()),
        (Some(1), before)
    );
    let said = String::from_utf8_lossy(&stopped.stderr).into_owned();
    for words in [
        "list.csv:5, column from 1 pcs",
        "\"call us\" is not an amount",
        "[[skip]]",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

/// A project whose supplier's list was taken twice, the second time at other prices.
fn taken_twice() -> tempfile::TempDir {
    let folder = boat();
    let at = folder.path();
    take(at, &[]);
    let recipe = at.join("boat/catalog/lists/Example-North.toml");
    let text = fs::read_to_string(&recipe).unwrap();
    assert!(text.contains("\ncomplete = false\n"), "{text}");
    let first = take(at, &[]);
    let said = "boat/catalog/history.csv: 3 rows added\n";
    assert!(out(&first).contains(said), "{}", out(&first));
    let list = fs::read_to_string(at.join("list.csv")).unwrap();
    let second = list
        .replace("4,50;4,00", "4,95;")
        .replace("01.10.2025", "01.01.2026");
    fs::write(at.join("list.csv"), second).unwrap();
    let check = take(at, &["--check"]);
    let said = "boat/catalog/history.csv: 2 rows would be added\n";
    assert!(out(&check).contains(said), "{}", out(&check));
    assert_eq!(take(at, &[]).status.code(), Some(0));
    folder
}

const TEXT: &str = "\
part  supplier       sku     from  quoted         price  percent
----- -------------- ------- ----- ----------- --------- -------
C10   Example North  N-1026     1  2025-10-01  4.20 EUR
C10   Example North  N-1026     1  2025-10-01  4.50 EUR     +7.1
C10   Example North  N-1026     1  2026-01-01  4.95 EUR    +10.0
C10   Example North  N-1026    10  2025-10-01  4.00 EUR
C10   Example North  N-1026    10  2026-01-01      gone
";

#[test]
fn prices_over_time_are_shown() {
    let folder = taken_twice();
    let at = folder.path();
    for place in ["boat", "boat/project.toml", "boat/catalog"] {
        let shown = run(at, &["prices", place, "--history"]);
        assert_eq!(out(&shown), TEXT, "{place}");
    }
    let here = run(&at.join("boat"), &["prices", "--history", "--part", "C10"]);
    assert_eq!(out(&here), TEXT);
    let csv = run(at, &["prices", "boat", "--history", "--format", "csv"]);
    assert_eq!(
        out(&csv),
        "part,supplier,sku,min_qty,quoted,unit_price,currency,percent\n\
         C10,Example North,N-1026,1,2025-10-01,4.20,EUR,\n\
         C10,Example North,N-1026,1,2025-10-01,4.50,EUR,+7.1\n\
         C10,Example North,N-1026,1,2026-01-01,4.95,EUR,+10.0\n\
         C10,Example North,N-1026,10,2025-10-01,4.00,EUR,\n\
         C10,Example North,N-1026,10,2026-01-01,gone,EUR,\n"
    );
    let json = run(at, &["prices", "boat", "--history", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(json[0]["stages"][2]["percent"], "10.0");
    assert!(json[1]["stages"][1]["unit_price"].is_null());
}

#[test]
fn without_a_history_that_is_said() {
    let folder = boat();
    let at = folder.path();
    let words = [
        "prices",
        "boat",
        "--history",
        "--part",
        "C10",
        "--svg",
        "c.svg",
    ];
    let shown = run(at, &words);
    assert_eq!(
        (shown.status.code(), out(&shown)),
        (
            Some(0),
            "no price of part \"C10\" is in the history yet: couplet take notes the prices that change\n"
                .to_owned()
        )
    );
    let svg = fs::read_to_string(at.join("c.svg")).unwrap();
    assert!(svg.contains("C10: no price with a day in the history"));
    let json = run(at, &["prices", "boat", "--history", "--format", "json"]);
    assert_eq!((json.status.code(), &*out(&json)), (Some(0), "[]\n"));
    let unknown = run(at, &["prices", "boat", "--history", "--part", "C1O"]);
    let said = String::from_utf8_lossy(&unknown.stderr).into_owned();
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        said.contains("unknown part \"C1O\"") && said.contains("did you mean"),
        "{said}"
    );
}

#[test]
fn check_tells_what_is_wrong_with_a_history() {
    let folder = boat();
    let at = folder.path();
    let sound = run(at, &["check", "boat"]);
    assert_eq!(sound.status.code(), Some(0));
    let history = at.join("boat/catalog/history.csv");
    fs::write(&history, "supplier,part,unit_price,currency\nA,B,x,EUR\n").unwrap();
    let circuits = at.join("boat/circuits.csv");
    let text = fs::read_to_string(&circuits).unwrap();
    fs::write(&circuits, text + "x,y\n").unwrap();
    let wrong = run(at, &["check", "boat"]);
    let said = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert_eq!(wrong.status.code(), Some(1));
    for words in [
        "history.csv:2, column unit_price: \"x\" is no price",
        "circuits.csv:",
    ] {
        assert!(said.contains(words), "{said}");
    }
    assert!(out(&wrong).contains("2 errors"), "{}", out(&wrong));
    // No plan rests on the history.
    fs::write(
        &circuits,
        fs::read_to_string(&circuits).unwrap().replace("x,y\n", ""),
    )
    .unwrap();
    assert_eq!(run(at, &["plan", "boat"]).status.code(), Some(0));
}

#[test]
fn a_picture_has_a_line_for_each_price() {
    let folder = taken_twice();
    let at = folder.path();
    let words = [
        "prices",
        "boat",
        "--history",
        "--part",
        "C10",
        "--svg",
        "c.svg",
    ];
    assert_eq!(out(&run(at, &words)), TEXT);
    let svg = fs::read_to_string(at.join("c.svg")).unwrap();
    for words in [
        "C10: prices over time",
        "price of a piece, EUR",
        "Example North from 1: 4.95",
        "Example North from 10: gone",
        "2025-10-01",
        "2026-01-01",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    // Black, white and greys alone.
    let colours = svg.split("\"#").skip(1).map(|rest| &rest[..6]);
    for colour in colours {
        assert!(
            colour[..2] == colour[2..4] && colour[2..4] == colour[4..],
            "{colour}"
        );
    }
}

#[test]
fn a_history_goes_into_a_workbook_and_back() {
    let folder = taken_twice();
    let at = folder.path();
    for words in [
        ["convert", "boat/catalog", "c.xlsx"],
        ["convert", "c.xlsx", "back"],
    ] {
        assert_eq!(run(at, &words).status.code(), Some(0), "{words:?}");
    }
    let read = |path: &str| fs::read_to_string(at.join(path)).unwrap();
    assert_eq!(read("back/history.csv"), read("boat/catalog/history.csv"));
    let shown = run(at, &["prices", "c.xlsx", "--history"]);
    assert_eq!(
        out(&shown),
        TEXT,
        "{}",
        String::from_utf8_lossy(&shown.stderr)
    );
    // Below the tables that a plan is made from.
    let mut findings = couplet::diag::Findings::default();
    let files = couplet::source::Files::on_disk();
    let book = couplet::book::read(&files, &at.join("c.xlsx"), &mut findings).unwrap();
    assert_eq!(book.sheets.last().unwrap().name, "history");
    let check = run(at, &["parts", "--catalog", "c.xlsx", "--kind", "ferrule"]);
    assert_eq!(check.status.code(), Some(0));
}
