//! Workbooks as a user meets them.

#[path = "../../benches/generate/mod.rs"]
mod generate;

#[path = "../common/needs.rs"]
mod needs;

mod edit;
mod limits;
mod office;
mod user;
mod whole;

use assert_cmd::Command;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut program = Command::cargo_bin("couplet").unwrap();
    program.current_dir(folder).args(args).output().unwrap()
}

fn done(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

/// What each cell of a CSV file says, without the apostrophe of a guarded text.
fn cells(csv: &str) -> Vec<Vec<String>> {
    let header = csv
        .lines()
        .find(|line| !line.is_empty() && !line.starts_with('#'));
    let semicolons = header.is_some_and(|line| line.contains(';') && !line.contains(','));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(if semicolons { b';' } else { b',' })
        .has_headers(false)
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(csv.as_bytes());
    let cells = |row: csv::StringRecord| {
        let cells = row.iter().map(couplet::table::unguarded);
        cells.map(str::to_owned).collect()
    };
    reader.records().map(|row| cells(row.unwrap())).collect()
}
