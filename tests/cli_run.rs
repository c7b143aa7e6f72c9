//! Whole runs of the program on the project that `couplet new` writes.

use assert_cmd::Command;
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

/// What `--progress json` tells on standard error; all else there is a message.
fn told(stderr: &[u8]) -> Vec<serde_json::Value> {
    let is_told = |line: &&str| line.starts_with('{');
    let lines = text(stderr).lines().filter(is_told);
    lines.map(|l| serde_json::from_str(l).unwrap()).collect()
}

/// Each line is an object with all keys, and nothing is taken back.
fn agrees_with_itself(lines: &[serde_json::Value]) {
    let mut last = (0.0, f64::INFINITY, f64::NEG_INFINITY);
    for line in lines {
        let keys: Vec<&String> = line.as_object().unwrap().keys().collect();
        let all = ["at", "best", "bound", "elapsed", "gap_percent", "stage"];
        assert_eq!(keys, all, "{line}");
        assert!(line["at"].is_null() || line["at"].is_string(), "{line}");
        let number = |key: &str| match &line[key] {
            serde_json::Value::Null => None,
            number => Some(number.as_f64().unwrap()),
        };
        let elapsed = number("elapsed").unwrap();
        let (best, bound) = (number("best"), number("bound"));
        assert!(elapsed >= last.0, "{lines:?}");
        assert!(best.is_none_or(|best| best <= last.1), "{lines:?}");
        assert!(bound.is_none_or(|bound| bound >= last.2), "{lines:?}");
        let gap = number("gap_percent");
        assert_eq!(gap.is_some(), best.is_some() && bound.is_some(), "{line}");
        last = (elapsed, best.unwrap_or(last.1), bound.unwrap_or(last.2));
    }
}

fn stages(lines: &[serde_json::Value]) -> Vec<&str> {
    let mut stages: Vec<&str> = lines.iter().map(|l| l["stage"].as_str().unwrap()).collect();
    stages.dedup();
    stages
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// Standard output of a run that must do well.
fn done(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{args:?}: {}",
        text(&output.stderr)
    );
    text(&output.stdout).to_owned()
}

/// A folder with a new project `boat` in it.
fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["new", "boat"]);
    folder
}

/// Changes one place in a file of the project.
fn change(folder: &Path, file: &str, from: &str, to: &str) {
    let path = folder.join("boat").join(file);
    let old = fs::read_to_string(&path).unwrap();
    assert_eq!(old.matches(from).count(), 1, "{from} in {file}");
    fs::write(&path, old.replace(from, to)).unwrap();
}

#[test]
fn a_new_project_has_nothing_to_complain_of() {
    let folder = boat();
    let output = run(folder.path(), &["check", "boat"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty(), "{}", text(&output.stderr));
    assert_eq!(
        text(&output.stdout),
        "29 parts, 44 offers, 4 circuits, 13 ends: 0 errors, 0 warnings\n"
    );
}

#[test]
fn a_new_project_plans_at_once() {
    let folder = boat();
    let shown = done(folder.path(), &["plan", "boat"]);
    let verdict = "proven cheapest: no compatible set for the 13 ends costs less";
    assert_eq!(shown.lines().next(), Some(verdict));
    for part in [
        "\nTotal ",
        "\nOrder from ",
        "\nParts\n",
        "\nSurplus\n",
        "\nEnds\n",
        "High voltage kills",
    ] {
        assert_eq!(shown.matches(part).count().min(1), 1, "{part}: {shown}");
    }
    assert!(shown.lines().all(|l| l.chars().count() <= 100), "{shown}");
    let record = folder.path().join("boat/plan.json");
    let first = fs::read(&record).unwrap();
    done(folder.path(), &["plan", "boat", "--format", "json"]);
    assert_eq!(fs::read(&record).unwrap(), first);
    assert!(done(folder.path(), &["order", "boat"]).starts_with(verdict));
}

#[test]
fn a_program_is_told_how_the_search_goes() {
    // The example takes longer than a second; with --out - nothing is written there.
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let line = "plan examples/orchard-tractor --time-limit 4 --out - --progress json";
    let words: Vec<&str> = line.split(' ').collect();
    let output = run(root, &words);
    let lines = told(&output.stderr);
    assert_eq!(lines.len(), text(&output.stderr).lines().count());
    assert_eq!(stages(&lines), ["reading", "planning"]);
    assert!(lines.len() >= 4, "{lines:?}");
    agrees_with_itself(&lines);
    assert!(lines.last().unwrap()["best"].is_number(), "{lines:?}");
}

#[test]
fn a_program_is_told_how_a_study_goes() {
    let folder = boat();
    let breakeven = [
        "breakeven",
        "boat",
        "--part",
        "F10-50",
        "--progress",
        "json",
    ];
    let output = run(folder.path(), &breakeven);
    assert_eq!(output.status.code(), Some(0));
    let lines = told(&output.stderr);
    assert_eq!(stages(&lines), ["reading", "planning", "studying"]);
    agrees_with_itself(&lines);
    let at = lines.last().unwrap()["at"].as_str().unwrap();
    assert!(at.contains("searches done"), "{at}");
    // With a plan on record none is looked for.
    done(folder.path(), &["plan", "boat"]);
    let output = run(folder.path(), &breakeven);
    assert_eq!(stages(&told(&output.stderr)), ["reading", "studying"]);
    let why = ["why", "boat", "traction", "--progress", "json"];
    let output = run(folder.path(), &why);
    assert_eq!(stages(&told(&output.stderr)), ["reading", "studying"]);
}

#[test]
fn a_program_is_told_of_the_search_for_a_conflict() {
    let folder = boat();
    let settings = folder.path().join("boat/project.toml");
    let old = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, format!("max_variants = 1\n{old}")).unwrap();
    let output = run(folder.path(), &["plan", "boat", "--progress", "json"]);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stderr));
    let lines = told(&output.stderr);
    assert_eq!(stages(&lines), ["reading", "planning", "explaining"]);
    agrees_with_itself(&lines);
    assert!(lines.last().unwrap()["best"].is_null(), "{lines:?}");
    // The error is there as ever.
    assert!(text(&output.stderr).contains("couplet: no compatible set"));
}

#[test]
fn progress_can_be_left_out() {
    let folder = boat();
    for (command, words) in [
        ("plan", &["--progress", "none"][..]),
        ("plan", &["--again", "--progress", "plain"]),
        ("plan", &["--again", "--progress", "json", "--quiet"]),
        ("budget", &["--progress", "none"]),
    ] {
        let output = run(folder.path(), &[&[command, "boat"], words].concat());
        assert_eq!(output.status.code(), Some(0), "{command} {words:?}");
        let is_json = text(&output.stderr).contains('{');
        assert!(!is_json, "{}", text(&output.stderr));
        assert!(words.contains(&"plain") || output.stderr.is_empty());
    }
    for words in [
        &["plan", "boat", "--progress", "xml"][..],
        &["plan", "boat", "--progress"],
        &["labels", "boat", "--progress", "json"],
    ] {
        assert_eq!(run(folder.path(), words).status.code(), Some(2));
    }
}

#[test]
fn every_format_shows_the_same_plan() {
    let folder = boat();
    let json = done(folder.path(), &["plan", "boat", "--format", "json"]);
    assert_eq!(
        json,
        fs::read_to_string(folder.path().join("boat/plan.json")).unwrap()
    );
    fs::remove_file(folder.path().join("boat/plan.json")).unwrap();
    assert_eq!(done(folder.path(), &["plan", "boat", "--out", "-"]), json);
    assert!(!folder.path().join("boat/plan.json").exists());
    let csv = done(
        folder.path(),
        &["plan", "boat", "--out", "x.json", "--format", "csv"],
    );
    assert_eq!(
        fs::read_to_string(folder.path().join("x.json")).unwrap(),
        json
    );
    let record: serde_json::Value = serde_json::from_str(&json).unwrap();
    let lines: usize = record["orders"]
        .as_array()
        .unwrap()
        .iter()
        .map(|order| order["lines"].as_array().unwrap().len())
        .sum();
    assert_eq!(csv.lines().count(), lines + 1);
}

#[test]
fn options_reach_the_plan() {
    let folder = boat();
    let record = |args: &[&str]| -> serde_json::Value {
        let args = [&["plan", "boat/project.toml", "--format", "json"], args].concat();
        serde_json::from_str(&done(folder.path(), &args)).unwrap()
    };
    let plain = record(&[]);
    assert_eq!(plain["as_of"], "2025-10-01");
    assert!(folder.path().join("boat/plan.json").exists());
    assert_eq!(record(&["--as-of", "2025-12-24"])["as_of"], "2025-12-24");
    let threads = record(&["--threads", "2", "--time-limit", "60", "--gap", "0"]);
    assert_eq!(threads["cost"], plain["cost"]);
    let prices = fs::read_to_string(folder.path().join("boat/catalog/prices.csv")).unwrap();
    let dearer = prices.replace(
        "C4,Example North,N-1029,EUR,1,2.60,",
        "C4,Example North,N-1029,EUR,1,3.60,",
    );
    assert_ne!(dearer, prices);
    fs::write(folder.path().join("dear.csv"), dearer).unwrap();
    let dear = record(&["--prices", "dear.csv"]);
    assert_ne!(dear["cost"], plain["cost"]);
}

#[test]
fn an_order_knows_what_has_changed_since() {
    let folder = boat();
    done(folder.path(), &["plan", "boat"]);
    let said = |folder: &Path| text(&run(folder, &["order", "boat"]).stderr).to_owned();
    assert_eq!(said(folder.path()), "");
    change(folder.path(), "on_hand.csv", "F10-50,2", "F10-50,3");
    assert!(said(folder.path()).contains("on_hand.csv is not as when the plan was made"));
}

#[test]
fn parts_are_filtered_and_found_in_the_plan() {
    let folder = boat();
    let json = |args: &[&str]| -> Vec<serde_json::Value> {
        let args = [&["parts", "boat", "--format", "json"], args].concat();
        serde_json::from_str(&done(folder.path(), &args)).unwrap()
    };
    assert_eq!(json(&[]).len(), 29);
    assert_eq!(json(&["--kind", "ferrule", "--gauge", "1/0 AWG"]).len(), 1);
    assert_eq!(json(&["--interface", "D4", "--kind", "plug"]).len(), 1);
    assert_eq!(json(&["--current", "201"]).len(), 0);
    let seals = json(&["--kind", "seal"]).len();
    assert_eq!(json(&["--where", "max_temp_c>=105"]).len(), seals);
    assert_eq!(json(&["--where", "max_temp_c>=105.1"]).len(), 0);
    // Of the parts that are asked for it, none lacks it.
    assert_eq!(json(&["--where", "max_temp_c="]).len(), 0);
    let attributes = folder.path().join("boat/catalog/attributes.csv");
    let before = fs::read_to_string(&attributes).unwrap();
    let more = format!("{before}mass_g,ferrule,at-most,meets,\n");
    fs::write(&attributes, more).unwrap();
    assert_eq!(
        json(&["--where", "mass_g="]).len(),
        json(&["--kind", "ferrule"]).len()
    );
    assert_eq!(json(&["--where", "mass_g<=20"]).len(), 0);
    assert_eq!(
        json(&["--where", "mass_g=", "--where", "mass_g>=1"]).len(),
        0
    );
    let output = run(folder.path(), &["parts", "boat", "--where", "mas_g<=20"]);
    assert_eq!(output.status.code(), Some(2));
    let said = text(&output.stderr);
    assert!(said.contains("did you mean \"mass_g\"?"), "{said}");
    let output = run(folder.path(), &["parts", "boat", "--where", "mass_g"]);
    assert_eq!(output.status.code(), Some(2));
    fs::write(&attributes, before).unwrap();
    done(folder.path(), &["plan", "boat"]);
    let used = json(&["--used-by", "boat/plan.json", "--kind", "receptacle"]);
    let places: usize = used
        .iter()
        .map(|part| part["goes_to"].as_array().unwrap().len())
        .sum();
    assert_eq!(places, 13);
    assert!(
        done(folder.path(), &["parts", "--catalog", "boat/catalog"]).contains("29 of 29 parts")
    );
}

#[test]
fn all_errors_are_shown_in_one_run() {
    let folder = boat();
    change(
        folder.path(),
        "circuits.csv",
        "traction,HV+ HV-,single,pack,inverter,150",
        "traction,HV+ HV-,single,pack,inverter,x",
    );
    change(
        folder.path(),
        "catalog/dies.csv",
        "38,no\nHEX-70",
        "38,perhaps\nHEX-70",
    );
    for command in ["check", "plan"] {
        let output = run(folder.path(), &[command, "boat"]);
        assert_eq!(output.status.code(), Some(1), "{command}");
        let said = text(&output.stderr);
        assert!(said.contains("current_a"), "{said}");
        assert!(said.contains("owned"), "{said}");
    }
    assert!(!folder.path().join("boat/plan.json").exists());
    let json = run(folder.path(), &["check", "boat", "--format", "json"]);
    let found: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(found["errors"], 2);
}

#[test]
fn no_set_is_status_3_and_keeps_the_old_record() {
    let folder = boat();
    fs::write(folder.path().join("boat/plan.json"), "old").unwrap();
    change(
        folder.path(),
        "circuits.csv",
        "charger,25,350",
        "charger,201,350",
    );
    let output = run(folder.path(), &["plan", "boat"]);
    assert_eq!(output.status.code(), Some(3));
    let said = text(&output.stderr);
    assert!(
        said.starts_with("couplet: warning: boat/plan.json is not used"),
        "{said}"
    );
    assert!(
        said.contains("\ncouplet: there is no compatible set"),
        "{said}"
    );
    assert!(said.contains("charger"), "{said}");
    assert!(output.stdout.is_empty());
    let kept = fs::read_to_string(folder.path().join("boat/plan.json")).unwrap();
    assert_eq!(kept, "old");
}

#[test]
fn limits_that_cannot_all_hold_are_named() {
    let folder = boat();
    change(
        folder.path(),
        "project.toml",
        "# max_variants = 30",
        "max_variants = 3",
    );
    let output = run(folder.path(), &["plan", "boat"]);
    assert_eq!(output.status.code(), Some(3));
    let said = text(&output.stderr);
    assert!(
        said.contains("max_variants = 3 (boat/project.toml:33), but ")
            && said.contains("would help: max_variants = "),
        "{said}"
    );
}

#[test]
fn no_circuits_are_an_empty_plan() {
    let folder = boat();
    let path = folder.path().join("boat/circuits.csv");
    let old = fs::read_to_string(&path).unwrap();
    let head: Vec<&str> = old
        .lines()
        .filter(|l| l.starts_with('#') || l.starts_with("circuit,"))
        .collect();
    fs::write(&path, head.join("\n")).unwrap();
    let shown = done(folder.path(), &["plan", "boat"]);
    assert_eq!(shown, "nothing to plan: there are no circuits\n");
    assert!(folder.path().join("boat/plan.json").exists());
    assert_eq!(
        done(folder.path(), &["order", "boat"]),
        "nothing to order\n"
    );
}

#[test]
fn inside_a_project_no_command_needs_its_name() {
    let folder = boat();
    let boat = folder.path().join("boat");
    for args in [
        &["check"][..],
        &["plan"],
        &["keys"],
        &["parts"],
        &["order"],
        &["order", "--out-dir", "orders"],
        &["kit"],
        &["labels"],
        &["cards", "--out", "cards.html"],
        &["report", "--no-frontier", "--out", "report.html"],
        &["reprice", "--check"],
        &["budget"],
        &["order", "--place"],
        &["receive", "--part", "C10", "--qty", "2"],
    ] {
        done(&boat, args);
    }
    assert!(boat.join("plan.json").exists());
    // With another word the project is the one that may be missing.
    let why = [
        "traction", "--net", "HV+", "--end", "from", "--part", "P6-A",
    ];
    let told = done(&boat, &[&["why"], &why[..]].concat());
    assert_eq!(told, done(&boat, &[&["why", "."], &why[..]].concat()));
    fs::write(boat.join("came.csv"), "part,qty\nC10,1\n").unwrap();
    let told = done(&boat, &["receive", "came.csv", "--dry-run"]);
    assert_eq!(
        told,
        done(&boat, &["receive", ".", "came.csv", "--dry-run"])
    );
    assert!(told.contains("1 piece would be booked"), "{told}");
    for args in [
        &["receive"][..],
        &["receive", "."],
        &["receive", "project.toml"],
    ] {
        let output = run(&boat, args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(
            text(&output.stderr).contains("what came is not said"),
            "{args:?}"
        );
    }
    // Of two words the first is the supplier.
    let list = "Item no.,Unit price\nN-1026,9.50\n";
    fs::write(boat.join("list.csv"), list).unwrap();
    let take = ["Example North", "list.csv"];
    done(&boat, &[&["take"], &take[..]].concat());
    assert!(boat.join("catalog/lists/Example-North.toml").exists());
    let told = |words: &[&str]| {
        let output = run(&boat, &[words, &take[..], &["--check"]].concat());
        assert_eq!(output.status.code(), Some(6), "{}", text(&output.stderr));
        text(&output.stdout).to_owned()
    };
    assert_eq!(told(&["take"]), told(&["take", "."]));
    let output = run(&boat, &["why", "tractoin"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("did you mean \"traction\"?"));
}

#[test]
fn outside_a_project_its_name_is_asked_for() {
    let folder = boat();
    for args in [
        &["check"][..],
        &["plan"],
        &["keys"],
        &["parts"],
        &["order"],
        &["why", "boat"],
        &["kit"],
        &["budget"],
        &["breakeven"],
        &["consolidate"],
        &["reprice"],
        &["receive", "--part", "C10", "--qty", "2"],
    ] {
        let output = run(folder.path(), args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        let said = text(&output.stderr);
        let what = "no project is named, and there is no project.toml or purchase.toml here";
        assert!(
            said.contains(what) && output.stdout.is_empty(),
            "{args:?}: {said}"
        );
    }
    // A catalog needs none.
    done(folder.path(), &["parts", "--catalog", "boat/catalog"]);
    let cure = "write couplet take [OPTIONS] [CATALOG|PROJECT] <SUPPLIER> <FILE>";
    for (words, what) in [
        (&["take"][..], "<SUPPLIER> and <FILE> are missing"),
        (&["take", "boat"], "<FILE> is missing"),
        (&["take", "boat", "Example North"], "<FILE> is missing"),
    ] {
        let output = run(folder.path(), words);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(
            said.contains(what) && said.contains(cure),
            "{words:?}: {said}"
        );
    }
}

#[cfg(unix)]
#[test]
fn what_is_shown_to_be_typed_can_be_typed() {
    let folder = tempfile::tempdir().unwrap();
    for (name, typed) in [
        ("my boats/a b", "'my boats/a b'"),
        ("it's", r"'it'\''s'"),
        ("boat", "boat"),
    ] {
        let shown = done(folder.path(), &["new", name]);
        let last = shown.lines().last().unwrap();
        let line = format!("Plan the project with: couplet plan {typed}");
        assert_eq!(last, line);
        let words = last.trim_start_matches("Plan the project with: couplet ");
        let program = assert_cmd::cargo::cargo_bin("couplet");
        let mut shell = Command::new("sh");
        let line = format!("{} {words}", program.display());
        shell.args(["-c", &line]).current_dir(folder.path());
        assert!(shell.output().unwrap().status.success(), "{line}");
    }
}

#[test]
fn dates_of_another_form_are_one_error() {
    let folder = boat();
    let path = folder.path().join("boat/catalog/prices.csv");
    let prices = fs::read_to_string(&path).unwrap();
    let rows = prices.lines().filter(|l| l.contains(",2025-")).count();
    let turned = ["2025-10-01", "2025-09-15"]
        .iter()
        .fold(prices, |text, day| {
            let parts: Vec<&str> = day.split('-').rev().collect();
            text.replace(day, &parts.join("."))
        });
    fs::write(&path, turned).unwrap();
    let output = run(folder.path(), &["check", "boat"]);
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    assert!(
        rows > 3 && said.contains(&format!(": {rows} rows: \"")),
        "{said}"
    );
    assert!(said.contains("YYYY-MM-DD"), "{said}");
    let shown = format!("{said}{}", text(&output.stdout));
    assert!(shown.contains("1 error, 0 warnings"), "{shown}");
}

#[test]
fn a_missing_project_is_status_1() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["check", "plan", "order", "parts"] {
        let output = run(folder.path(), &[command, "none"]);
        assert_eq!(output.status.code(), Some(1), "{command}");
        assert!(text(&output.stderr).contains("none"), "{command}");
    }
}

/// The solver tells its progress by way of a temporary file: where there can be
/// none, there is no progress, and the same plan.
#[test]
fn without_a_temporary_folder_the_plan_is_the_same() {
    let plan = |temporary: Option<&str>| {
        let folder = boat();
        let mut command = Command::cargo_bin("couplet").unwrap();
        command.current_dir(folder.path()).args(["plan", "boat"]);
        for name in ["TMPDIR", "TMP", "TEMP"] {
            match temporary {
                Some(temporary) => command.env(name, temporary),
                None => &mut command,
            };
        }
        let output = command.output().unwrap();
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{said}");
        assert!(
            !said.contains("defect") && !said.contains("thrown away"),
            "{said}"
        );
        fs::read(folder.path().join("boat/plan.json")).unwrap()
    };
    let usual = plan(None);
    for temporary in ["/nonexistent", "/dev/null", "/dev/full", ""] {
        assert!(plan(Some(temporary)) == usual, "{temporary}");
    }
}
