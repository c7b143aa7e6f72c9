//! Whole runs of the studies on the project that `couplet new` writes.

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

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn done(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {said}");
    text(&output.stdout).to_owned()
}

/// Status and message of a run that must fail.
fn fails(folder: &Path, args: &[&str]) -> (i32, String) {
    let output = run(folder, args);
    assert!(output.stdout.is_empty() || output.status.code() == Some(3));
    (
        output.status.code().unwrap(),
        text(&output.stderr).to_owned(),
    )
}

fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["new", "boat"]);
    folder
}

fn json(folder: &Path, args: &[&str]) -> serde_json::Value {
    let args = [args, &["--format", "json"]].concat();
    serde_json::from_str(&done(folder, &args)).unwrap()
}

#[test]
fn a_frontier_in_every_format_and_its_plan_kept() {
    let folder = boat();
    let study = ["consolidate", "boat", "--by", "suppliers"];
    let found = json(folder.path(), &study);
    assert_eq!(
        (&found["least"], &found["whole"]),
        (&1.into(), &true.into())
    );
    let csv = done(folder.path(), &[&study[..], &["--format", "csv"]].concat());
    assert_eq!(
        csv.lines().count(),
        1 + found["points"].as_array().unwrap().len()
    );
    let more = ["--to", "1", "--svg", "f.svg"];
    let shown = done(folder.path(), &[&study[..], &more].concat());
    assert!(shown.lines().all(|l| l.chars().count() <= 100), "{shown}");
    let kept = fs::read_to_string(folder.path().join("boat/plan.json")).unwrap();
    let kept: serde_json::Value = serde_json::from_str(&kept).unwrap();
    assert_eq!(kept["orders"].as_array().unwrap().len(), 1);
    assert_eq!(kept["cost"]["total"], found["points"][1]["total"]);
    // It is not the cheapest of the project, and does not say so.
    assert_eq!(kept["status"], "within_gap");
    let bound = |value: &serde_json::Value| value.as_str().unwrap().parse::<f64>().unwrap();
    let (least, lower) = (
        bound(&found["points"][0]["total"]),
        bound(&kept["total_bound"]),
    );
    assert!((least - lower).abs() < 1e-3, "{least}, {lower}");
    let svg = fs::read_to_string(folder.path().join("f.svg")).unwrap();
    assert!(svg.contains("</svg>") && svg.contains("total, EUR"));
}

/// A budget is of the plan that is kept; what asks for the cheapest finds it.
#[test]
fn a_plan_kept_for_fewer_suppliers_is_not_taken_for_the_cheapest() {
    let folder = boat();
    let cheapest = json(folder.path(), &["plan", "boat"]);
    let keep = ["consolidate", "boat", "--by", "suppliers", "--to"];
    done(folder.path(), &[&keep[..], &["2"]].concat());
    let kept = json(folder.path(), &["plan", "boat"]);
    assert_eq!(kept, cheapest, "two suppliers are no limit here");
    let found = json(folder.path(), &[&keep[..], &["1"]].concat());
    let kept = &found["points"][1]["total"];
    let budget = json(folder.path(), &["budget", "boat"]);
    assert_eq!(&budget["total"], kept);
    let found = json(folder.path(), &["consolidate", "boat", "--by", "suppliers"]);
    assert_eq!(found["points"][0]["total"], cheapest["cost"]["total"]);
    let plan = json(folder.path(), &["plan", "boat"]);
    assert_eq!(plan["cost"], cheapest["cost"]);
}

#[test]
fn a_record_that_cannot_be_read_is_told_and_planned_without() {
    let folder = boat();
    let before = done(folder.path(), &["budget", "boat"]);
    fs::write(folder.path().join("boat/plan.json"), "{").unwrap();
    let output = run(folder.path(), &["budget", "boat"]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(text(&output.stdout), before);
    let said = text(&output.stderr);
    assert!(
        said.contains("plans anew") && said.contains("plan.json"),
        "{said}"
    );
}

#[test]
fn fewer_than_the_least_is_refused_with_the_least() {
    let folder = boat();
    let (status, said) = fails(folder.path(), &["consolidate", "boat", "--to", "5"]);
    assert_eq!(status, 3);
    assert!(
        said.contains("at most 5 variants: the least is 27"),
        "{said}"
    );
    assert!(!folder.path().join("boat/plan.json").exists());
}

#[test]
fn a_budget_adds_up_and_tells_what_would_save() {
    let folder = boat();
    let within = json(folder.path(), &["budget", "boat"]);
    assert!(within["savings"].is_null());
    let path = folder.path().join("boat/project.toml");
    let old = fs::read_to_string(&path).unwrap();
    let new = old.replace("limit = 1200", "limit = 300");
    assert_ne!(new, old);
    fs::write(&path, new).unwrap();
    let over = json(
        folder.path(),
        &["budget", "boat", "--rise", "10", "--svg", "b.svg"],
    );
    let found = over["savings"]["found"].as_array().unwrap();
    assert!(!found.is_empty() && found.iter().all(|s| s["proven"] == true));
    assert!(over["rise"]["what"].as_str().unwrap().contains("10 %"));
    let cents =
        |v: &serde_json::Value| -> i64 { v.as_str().unwrap().replace('.', "").parse().unwrap() };
    for key in ["by_circuit", "by_kind", "by_supplier", "by_gauge"] {
        let groups = over[key].as_array().unwrap();
        let sum: i64 = groups.iter().map(|g| cents(&g["total"])).sum();
        assert_eq!(sum, cents(&over["terms"]["total"]), "{key}");
    }
    let svg = fs::read_to_string(folder.path().join("b.svg")).unwrap();
    assert!(svg.contains("cost by circuit, EUR"));
    let shown = done(folder.path(), &["budget", "boat"]);
    assert!(shown.contains("over what may be spent") && shown.contains("gives up"));
}

#[test]
fn bad_input_is_told_before_the_work() {
    let folder = boat();
    let at = folder.path();
    let rise = ["budget", "boat", "--rise", "5", "--supplier", "Nobody"];
    let (status, said) = fails(at, &rise);
    assert_eq!(status, 2);
    assert!(
        said.contains("no supplier \"Nobody\"") && said.contains("Example North"),
        "{said}"
    );
    assert_eq!(fails(at, &["budget", "boat", "--rise=-1"]).0, 2);
    assert_eq!(fails(at, &["budget", "boat", "--kind", "plug"]).0, 2);
    let (status, said) = fails(at, &["breakeven", "boat", "--part", "X"]);
    assert!(status == 2 && said.contains("unknown part \"X\""), "{said}");
    assert_eq!(
        fails(at, &["consolidate", "boat", "--svg", "no/such/x.svg"]).0,
        2
    );
    let path = at.join("boat/project.toml");
    let old = fs::read_to_string(&path).unwrap();
    fs::write(&path, old.replace("limit = 1200", "limit = -1")).unwrap();
    let (status, said) = fails(at, &["budget", "boat"]);
    assert!(status == 1 && said.contains("limit"), "{said}");
}

#[test]
fn one_price_in_every_format() {
    let folder = boat();
    let study = ["breakeven", "boat", "--part", "F10-50"];
    let found = json(folder.path(), &study);
    assert_eq!(found["parts"].as_array().unwrap().len(), 1);
    assert_eq!(found["parts"][0]["part"], "F10-50");
    let csv = done(
        folder.path(),
        &[&study[..], &["--format", "csv", "--svg", "p.svg"]].concat(),
    );
    assert_eq!(csv.lines().count(), 3);
    let svg = fs::read_to_string(folder.path().join("p.svg")).unwrap();
    assert!(svg.contains("change of the price, %"));
    let shown = done(folder.path(), &study);
    let words: Vec<&str> = shown.split_whitespace().collect();
    assert!(
        words.join(" ").contains("1 bought part looked at"),
        "{shown}"
    );
}
