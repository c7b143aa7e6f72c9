//! `couplet trial` as a user runs it, on the small boat that `couplet new` writes.

use assert_cmd::Command;
use couplet::plan::Plan;
use serde_json::Value;
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

/// Standard error in one line, so that a wrapped message can be looked for.
fn err(output: &Output) -> String {
    let text = String::from_utf8(output.stderr.clone()).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let new = run(folder.path(), &["new", "boat"]);
    assert!(new.status.success(), "{new:?}");
    folder
}

fn bytes_below(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => all.extend(bytes_below(&path)),
            false => all.push((path.display().to_string(), fs::read(&path).unwrap())),
        }
    }
    all.sort();
    all
}

#[test]
fn trials_stand_beside_the_plan_and_change_no_file() {
    let folder = boat();
    assert!(run(folder.path(), &["plan", "boat", "-q"]).status.success());
    let before = bytes_below(folder.path());
    let trials = [
        "trial",
        "boat",
        "warm: ambient 45",
        "circuit traction gauge \"35 mm2\"",
        "circuit traction cable_od 14; on hand P10-A 1",
        "at most 1 variants",
        "--format",
        "json",
        "-q",
    ];
    let output = run(folder.path(), &trials);
    assert!(output.status.success(), "{}", err(&output));
    assert_eq!(bytes_below(folder.path()), before);

    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let plan: Plan = serde_json::from_value(json["plan"].clone()).unwrap();
    let kept: Plan =
        serde_json::from_slice(&fs::read(folder.path().join("boat/plan.json")).unwrap()).unwrap();
    assert_eq!(plan, kept);
    let all = json["trials"].as_array().unwrap();
    assert_eq!(all.len(), 4);
    assert_eq!(all[0]["name"], "warm");
    assert_eq!(all[0]["changes"][0], "ambient 45");
    assert!(all[3]["why_none"].is_string());
    assert!(all[3]["total"].is_null());
    for trial in &all[..3] {
        if trial["why_none"].is_string() {
            continue;
        }
        let own: Plan = serde_json::from_value(trial["plan"].clone()).unwrap();
        let number = |key: &str| {
            trial[key]
                .as_str()
                .unwrap()
                .parse::<rust_decimal::Decimal>()
                .unwrap()
        };
        assert_eq!(number("total"), own.altogether().0);
        assert_eq!(
            number("difference"),
            own.altogether().0 - plan.altogether().0
        );
        assert_eq!(trial["variants"], own.parts.len());
        assert_eq!(trial["suppliers"], own.orders.len());
    }

    // The table has the same figures, to the cent.
    let table = out(&run(folder.path(), &[&trials[..6], &["-q"]].concat()));
    assert!(table.starts_with("Totals in EUR\n"), "{table}");
    let line = table
        .lines()
        .find(|line| line.starts_with("the plan"))
        .unwrap();
    assert!(
        line.contains(&plan.cost.total.cents().to_string()),
        "{line}"
    );
    assert!(table.contains("no plan"), "{table}");
    assert!(
        table.contains("- boat/project.toml") || table.contains("- project.toml, ambient_c"),
        "{table}"
    );
    let csv = out(&run(
        folder.path(),
        &[&trials[..6], &["--format", "csv", "-q"]].concat(),
    ));
    assert_eq!(csv.lines().count(), 6, "{csv}");
}

#[test]
fn a_change_that_names_what_is_not_there_says_what_is() {
    let folder = boat();
    for (text, said) in [
        (
            "circuit tracton gauge 35 mm2",
            "there is no circuit \"tracton\" did you mean \"traction\"?",
        ),
        (
            "circuit traction gouge 35 mm2",
            "there is no column \"gouge\" did you mean \"gauge\"?",
        ),
        ("without circuit x", "there is no circuit \"x\" there are"),
        ("without supplier Nrth", "there is no supplier \"Nrth\""),
        (
            "with part P10-A",
            "\"P10-A\" is not excluded in project.toml",
        ),
        (
            "without part P10-",
            "there is no part \"P10-\" did you mean",
        ),
        (
            "net HV keys A",
            "there is no net \"HV\" did you mean \"HV+\"?",
        ),
        ("location invrter is motor", "did you mean \"inverter\"?"),
        ("machine ferry count 2", "a project is one machine"),
        ("rate XXX 2", "there is no supplier's currency \"XXX\""),
        ("on hand nothing 5", "there is no part \"nothing\""),
        ("price P10-A 5", "say which one"),
        (
            "ambiant 50",
            "no change begins with \"ambiant\" did you mean \"ambient\"?",
        ),
        ("ambient warm", "\"warm\" is not a number"),
        ("circuit traction", "write it as: circuit NAME COLUMN VALUE"),
        ("ambient '50", "a quote is not closed"),
    ] {
        let output = run(folder.path(), &["trial", "boat", text]);
        assert_eq!(output.status.code(), Some(2), "{text}: {output:?}");
        assert!(err(&output).contains(said), "{text}: {}", err(&output));
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn a_change_that_makes_the_project_unsound_shows_its_errors() {
    let folder = boat();
    let output = run(
        folder.path(),
        &["trial", "boat", "circuit traction gauge 35"],
    );
    assert_eq!(output.status.code(), Some(1));
    let said = err(&output);
    assert!(
        said.contains("circuit traction gauge 35: the project has errors with this change"),
        "{said}"
    );
    assert!(said.contains("35 mm2 or 35 AWG"), "{said}");
}

#[test]
fn one_trial_without_a_plan_says_what_stands_in_its_way() {
    let folder = boat();
    let alone = run(folder.path(), &["trial", "boat", "at most 1 variants"]);
    assert_eq!(alone.status.code(), Some(3), "{alone:?}");
    assert!(err(&alone).contains("max_variants"), "{}", err(&alone));
}

#[test]
fn trials_are_kept_by_name_and_run_again() {
    let folder = boat();
    let place = folder.path().join("boat");
    let none = run(&place, &["trial"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(err(&none).contains("no change is named"), "{}", err(&none));

    // In the folder of the project, the first word is a change.
    let nameless = run(&place, &["trial", "ambient 30", "--save"]);
    assert_eq!(nameless.status.code(), Some(2));
    assert!(
        err(&nameless).contains("has a name to keep it by"),
        "{}",
        err(&nameless)
    );
    assert!(!place.join("trials.toml").exists());
    let saved = run(
        &place,
        &[
            "trial",
            "warm: ambient 45",
            "cheap: at most 40 variants",
            "--save",
        ],
    );
    assert!(saved.status.success(), "{}", err(&saved));
    let text = fs::read_to_string(place.join("trials.toml")).unwrap();
    assert_eq!(
        text,
        "[[trial]]\nname = \"warm\"\nchanges = [\"ambient 45\"]\n\n\
         [[trial]]\nname = \"cheap\"\nchanges = [\"at most 40 variants\"]\n"
    );
    let again = run(&place, &["trial", "--format", "json", "-q"]);
    let json: Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(json["trials"].as_array().unwrap().len(), 2);
    let one = run(
        &place,
        &["trial", "--only", "cheap", "--format", "json", "-q"],
    );
    let json: Value = serde_json::from_slice(&one.stdout).unwrap();
    assert_eq!(json["trials"][0]["name"], "cheap");
    let unknown = run(&place, &["trial", "--only", "chep"]);
    assert!(
        err(&unknown).contains("did you mean \"cheap\"?"),
        "{}",
        err(&unknown)
    );

    // A kept trial is written into the files, and no longer changes anything.
    let kept = run(&place, &["trial", "--keep", "warm"]);
    assert!(kept.status.success(), "{}", err(&kept));
    assert!(
        out(&kept).contains("project.toml, ambient_c:"),
        "{}",
        out(&kept)
    );
    assert!(
        fs::read_to_string(place.join("project.toml"))
            .unwrap()
            .contains("ambient_c = 45")
    );
    let nothing = run(&place, &["trial", "--keep", "warm"]);
    assert!(
        out(&nothing).contains("changes nothing"),
        "{}",
        out(&nothing)
    );
}
