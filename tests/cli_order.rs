//! Orders from a plan record, and folders for new projects.

#[path = "common/said.rs"]
mod said;

use assert_cmd::Command;
use said::said;
use std::fs;
use std::path::Path;
use std::process::Output;

/// A plan of one end at two suppliers; invented. The second supplier's name
/// and a supplier code would do harm in a file name and in a spreadsheet.
const RECORD: &str = r#"{
  "schema": "couplet.plan/1", "project": "p", "currency": "EUR", "as_of": null,
  "status": "optimal", "total_bound": "60.50", "gap_percent": 0.0, "proof": 2,
  "cost": { "goods": "41.00", "duty": "0.00", "shipping": "19.50", "dies": "0.00",
            "lines": "0.00", "total": "60.50", "tax": "0.00", "total_with_tax": "60.50" },
  "ends": [ { "circuit": "c", "net": "HV+", "end": "from", "location": "pack", "gauge": "50 mm2",
              "plug": "P", "receptacle": "R", "key": "A", "interface": "S", "fittings": [] } ],
  "parts": [
    { "part": "P", "kind": "plug", "fitted": 1, "spare": 0, "on_hand_used": 0, "bought": 1, "surplus": 0 },
    { "part": "R", "kind": "receptacle", "fitted": 1, "spare": 0, "on_hand_used": 0, "bought": 1, "surplus": 0 } ],
  "orders": [
    { "supplier": "Example North", "currency": "EUR",
      "lines": [ { "part": "P", "sku": "=1+1", "qty": 1, "packs": 1, "unit_price": "22.00", "line_total": "22.00" } ],
      "goods": "22.00", "duty": "0.00", "shipping": "9.50", "total": "31.50" },
    { "supplier": "../Example South", "currency": "EUR",
      "lines": [ { "part": "R", "sku": "", "qty": 1, "packs": 1, "unit_price": "19.00", "line_total": "19.00" } ],
      "goods": "19.00", "duty": "0.00", "shipping": "10.00", "total": "29.00" } ],
  "inputs": [ { "file": "project.toml", "sha256": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" } ]
}"#;

/// A project folder with that record; its `project.toml` is as empty as the
/// record says (SHA-256 of nothing, FIPS 180-4).
fn project() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("plan.json"), RECORD).unwrap();
    fs::write(folder.path().join("project.toml"), "").unwrap();
    folder
}

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

#[test]
fn one_order_a_supplier() {
    let folder = project();
    let output = run(folder.path(), &["order", "."]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert_eq!(
        text(&output.stdout),
        "proven cheapest: no compatible set for the end costs less\n\
         \n\
         Order from Example North in EUR\n\
         part      sku   qty  packs  unit price  amount\n\
         --------- ----- ---- ------ ----------- ------\n\
         P         =1+1    1      1       22.00   22.00\n\
         goods                                    22.00\n\
         shipping                                  9.50\n\
         total                                    31.50\n\
         \n\
         Order from ../Example South in EUR\n\
         part      qty  packs  unit price  amount\n\
         --------- ---- ------ ----------- ------\n\
         R           1      1       19.00   19.00\n\
         goods                              19.00\n\
         shipping                           10.00\n\
         total                              29.00\n"
    );
}

#[test]
fn files_have_safe_names_and_harmless_fields() {
    let folder = project();
    let output = run(folder.path(), &["order", ".", "--out-dir", "out"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let names: Vec<String> = text(&output.stdout).lines().map(str::to_owned).collect();
    let file = |name: &str| Path::new("out").join(name).display().to_string();
    assert_eq!(
        names,
        [
            file("order-Example-North.csv"),
            file("order-Example-South.csv")
        ]
    );
    let csv = fs::read_to_string(folder.path().join(&names[0])).unwrap();
    assert_eq!(
        csv,
        "supplier,currency,sku,part,kind,description,qty,packs,unit_price,line_total\n\
         Example North,EUR,'=1+1,P,,,1,1,22.00,22.00\n"
    );
}

#[test]
fn an_order_of_an_earlier_plan_is_pointed_out() {
    let folder = project();
    let out = folder.path().join("out");
    fs::create_dir(&out).unwrap();
    fs::write(out.join("order-Old.csv"), "x").unwrap();
    fs::write(out.join("notes.csv"), "x").unwrap();
    let output = run(folder.path(), &["order", ".", "--out-dir", "out"]);
    let said = text(&output.stderr);
    assert!(
        said.contains("couplet: warning: out has files of another plan: order-Old.csv"),
        "{said}"
    );
    assert!(!said.contains("notes.csv"), "{said}");
    assert!(out.join("order-Old.csv").exists());
}

#[test]
fn changed_files_are_a_warning() {
    let folder = project();
    let said = |folder: &Path| {
        let output = run(folder, &["order", ".", "--format", "csv"]);
        assert_eq!(output.status.code(), Some(0));
        assert_eq!(text(&output.stdout).lines().count(), 3);
        text(&output.stderr).to_owned()
    };
    assert!(!said(folder.path()).contains("not as when the plan was made"));
    fs::write(folder.path().join("project.toml"), "x").unwrap();
    assert!(said(folder.path()).contains("project.toml is not as when the plan was made"));
    fs::write(folder.path().join("on_hand.csv"), "x").unwrap();
    assert!(said(folder.path()).contains("project.toml and on_hand.csv are not as when"));
    fs::remove_file(folder.path().join("on_hand.csv")).unwrap();
    fs::remove_file(folder.path().join("project.toml")).unwrap();
    assert!(said(folder.path()).contains("project.toml is not as when the plan was made"));
}

#[test]
fn json_holds_the_orders_of_the_record() {
    let output = run(project().path(), &["order", ".", "--format", "json"]);
    let shown: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let record: serde_json::Value = serde_json::from_str(RECORD).unwrap();
    assert_eq!(shown, record["orders"]);
}

#[test]
fn a_missing_or_broken_record_is_status_1() {
    let folder = project();
    let output = run(folder.path(), &["order", ".", "--plan", "none.json"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stderr).contains("none.json"));
    fs::write(folder.path().join("plan.json"), "{").unwrap();
    let output = run(folder.path(), &["order", "."]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    let output = run(folder.path(), &["order", "nowhere"]);
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    assert!(
        said.contains("there is no project folder nowhere"),
        "{said}"
    );
}

#[test]
fn colour_is_as_told() {
    let folder = project();
    let said = |args: &[&str]| {
        let output = run(folder.path(), &[&["order", "none"], args].concat());
        text(&output.stderr).to_owned()
    };
    assert!(said(&["--color", "always"]).contains("\u{1b}["));
    assert!(!said(&["--color", "never"]).contains("\u{1b}["));
    assert!(!said(&[]).contains("\u{1b}["));
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_ends_quietly() {
    use std::process::{Command, Stdio};
    let folder = project();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("couplet"))
        .args(["man"])
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert_eq!(said(&output.stderr), "");
}

#[test]
fn a_new_project_is_written_only_into_an_empty_folder() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(folder.path(), &["new", "boat"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&output.stdout).contains("couplet plan boat"));
    let circuits = folder.path().join("boat").join("circuits.csv");
    assert!(circuits.exists());
    assert!(folder.path().join("boat/catalog/prices.csv").exists());
    fs::write(&circuits, "mine").unwrap();
    let output = run(folder.path(), &["new", "boat"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("boat is not empty"));
    assert_eq!(fs::read_to_string(&circuits).unwrap(), "mine");
}
