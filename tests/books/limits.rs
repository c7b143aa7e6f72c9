//! Tables that a sheet can't hold are refused before anything is written.

use crate::{done, run};
use std::fs;

/// Converts a folder with this one file; what is said if it is refused.
fn refused(name: &str, csv: &str) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    fs::create_dir(root.join("t")).unwrap();
    fs::write(root.join("t").join(format!("{name}.csv")), csv).unwrap();
    let output = run(root, &["convert", "t", "t.xlsx"]);
    let said = String::from_utf8(output.stderr).unwrap();
    if output.status.success() {
        done(root, &["convert", "t.xlsx", "back"]);
        let back = fs::read_to_string(root.join("back").join(format!("{name}.csv"))).unwrap();
        assert_eq!(crate::cells(&back), crate::cells(csv));
        return None;
    }
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(!root.join("t.xlsx").exists());
    Some(said)
}

#[test]
fn rows() {
    let csv = |rows: usize| "part\n".to_owned() + &"p\n".repeat(rows - 1);
    assert_eq!(refused("t", &csv(500_000)), None);
    let said = refused("t", &csv(500_001)).unwrap();
    assert!(
        said.contains("the file has more than 500000 lines"),
        "{said}"
    );
}

#[test]
fn columns() {
    let csv = |columns: usize| {
        let names: Vec<String> = (0..columns).map(|n| format!("c{n}")).collect();
        names.join(",") + "\n"
    };
    assert_eq!(refused("t", &csv(200)), None);
    let said = refused("t", &csv(201)).unwrap();
    assert!(said.contains("the row has more than 200 fields"), "{said}");
}

/// Counted as UTF-16 does: an emoji is two.
#[test]
fn a_cell() {
    let csv = |text: String| format!("part,description\nP,{text}\n");
    assert_eq!(refused("t", &csv("x".repeat(32_767))), None);
    assert_eq!(refused("t", &csv("🔌".repeat(16_383) + "x")), None);
    for long in ["x".repeat(32_768), "🔌".repeat(16_384)] {
        let said = refused("t", &csv(long)).unwrap();
        let limit = "a cell of a workbook takes 32767 characters at most";
        assert!(said.contains(limit) && said.contains("t.csv:2"), "{said}");
    }
}

#[test]
fn the_name_of_a_sheet() {
    assert_eq!(refused(&"x".repeat(31), "part\nP\n"), None);
    for name in ["x".repeat(32), "a[1]".to_owned(), "a?b".to_owned()] {
        let said = refused(&name, "part\nP\n").unwrap();
        assert!(said.contains("cannot name a sheet"), "{said}");
    }
}
