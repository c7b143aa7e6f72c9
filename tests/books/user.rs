//! A catalog and circuits in sheets, orders as a workbook, files there and back.

use crate::{done, run};
use std::fs;

/// The project that `new` writes, its catalog as a workbook in place of files.
pub fn with_book() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["new", "boat"]);
    done(
        folder.path(),
        &["convert", "boat/catalog", "boat/catalog.xlsx"],
    );
    let settings = folder.path().join("boat/project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    let changed = text.replace("\"catalog\"", "\"catalog.xlsx\"");
    assert_ne!(text, changed);
    fs::write(settings, changed).unwrap();
    folder
}

#[test]
fn a_plan_from_a_workbook_is_that_from_the_files() {
    let folder = with_book();
    let from_book = done(folder.path(), &["plan", "boat"]);
    done(folder.path(), &["new", "files"]);
    let from_files = done(folder.path(), &["plan", "files"]);
    assert_eq!(from_book, from_files);
    done(folder.path(), &["order", "boat", "--xlsx", "o.xlsx"]);
    let sheets = done(folder.path(), &["convert", "o.xlsx", "out"]);
    assert!(sheets.contains("circuits.csv"), "{sheets}");
    assert!(sheets.contains("totals.csv"), "{sheets}");
}

#[test]
fn an_error_names_sheet_row_and_column() {
    let folder = with_book();
    let root = folder.path();
    done(root, &["convert", "boat/catalog.xlsx", "spoilt"]);
    let path = root.join("spoilt/prices.csv");
    let text = fs::read_to_string(&path).unwrap();
    let header = text.lines().position(|l| l.starts_with("part,")).unwrap();
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[header + 1] = lines[header + 1].replacen(|c: char| c != ',', "?", 1);
    fs::write(&path, lines.join("\n")).unwrap();
    let args = ["convert", "spoilt", "boat/catalog.xlsx", "--force"];
    done(root, &args);
    let output = run(root, &["check", "boat"]);
    let errors = String::from_utf8_lossy(&output.stderr).into_owned()
        + &String::from_utf8_lossy(&output.stdout);
    let place = format!("sheet prices, row {}, column part", header + 2);
    assert!(errors.contains(&place), "{errors}");
}

#[test]
fn nothing_is_written_over_unasked() {
    let folder = with_book();
    let args = ["convert", "boat/catalog", "boat/catalog.xlsx"];
    let before = fs::read(folder.path().join("boat/catalog.xlsx")).unwrap();
    let output = run(folder.path(), &args);
    assert_eq!(output.status.code(), Some(2));
    done(folder.path(), &[&args[..], &["--force"]].concat());
    let after = fs::read(folder.path().join("boat/catalog.xlsx")).unwrap();
    assert_eq!(before, after, "the same files give the same bytes");
}

#[test]
fn orders_cannot_stand_in_a_workbook() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    done(root, &["new", "boat"]);
    fs::create_dir(root.join("t")).unwrap();
    fs::write(root.join("t/ordered.csv"), "part,supplier,qty\n").unwrap();
    done(root, &["convert", "t", "boat/project.xlsx"]);
    let output = run(root, &["check", "boat"]);
    let shown = String::from_utf8_lossy(&output.stderr).into_owned()
        + &String::from_utf8_lossy(&output.stdout);
    assert!(shown.contains("cannot stand in a workbook"), "{shown}");
}
