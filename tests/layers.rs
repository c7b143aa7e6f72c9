//! How the modules lie: none knows one that stands after it, and what must be
//! absent is absent.

use std::fs;
use std::path::{Path, PathBuf};

/// In the order of the flow; those of one line may know one another.
const FLOW: &[&[&str]] = &[
    &["units", "diag", "limit"],
    &["source", "store", "book", "table", "tables"],
    &["convert"],
    &["catalog", "project"],
    &["input"],
    &["fit"],
    &["solve"],
    &["model"],
    &["plan"],
    &["audit"],
    &["study"],
    &["desk"],
    &["report"],
];

/// All Rust files of a module, with their code above the unit tests.
fn files(path: PathBuf) -> Vec<(PathBuf, String)> {
    if path.is_dir() {
        let entries = fs::read_dir(&path).unwrap();
        return entries.flat_map(|e| files(e.unwrap().path())).collect();
    }
    if path.extension().is_none_or(|e| e != "rs") || path.ends_with("tests.rs") {
        return Vec::new();
    }
    let text = fs::read_to_string(&path).unwrap();
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let code: Vec<&str> = code
        .lines()
        .filter(|l| !l.trim().starts_with("//"))
        .collect();
    vec![(path, code.join("\n"))]
}

/// The files of a module; none where it does not exist.
fn module(name: &str) -> Vec<(PathBuf, String)> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let places = [src.join(format!("{name}.rs")), src.join(name)];
    places
        .into_iter()
        .filter(|p| p.exists())
        .flat_map(files)
        .collect()
}

fn none_of(name: &str, words: &[String]) {
    for (path, text) in module(name) {
        for word in words {
            assert!(!text.contains(word.as_str()), "{}: {word}", path.display());
        }
    }
}

#[test]
fn no_module_knows_a_later_one() {
    for (place, names) in FLOW.iter().enumerate() {
        let later = FLOW[place + 1..].iter().flat_map(|names| names.iter());
        let later: Vec<String> = later.map(|name| format!("crate::{name}::")).collect();
        for name in *names {
            none_of(name, &later);
        }
    }
}

#[test]
fn the_flow_names_every_module() {
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let declared = lib.lines().filter_map(|l| l.strip_prefix("pub mod "));
    for name in declared.map(|l| l.trim_end_matches(';')) {
        let known = FLOW.iter().flat_map(|names| names.iter());
        assert!(known.clone().any(|n| *n == name), "{name} has no place");
        assert!(!module(name).is_empty(), "{name} has no files");
    }
}

#[test]
fn the_audit_shares_nothing_with_fit_and_model() {
    none_of(
        "audit",
        &["crate::fit", "crate::model", "crate::solve"].map(str::to_owned),
    );
}

#[test]
fn only_solve_knows_the_solver() {
    for name in FLOW
        .iter()
        .flat_map(|names| names.iter())
        .filter(|n| **n != "solve")
    {
        none_of(name, &["good_lp", "highs::", "Highs"].map(str::to_owned));
    }
}

#[test]
fn the_library_never_prints_or_ends_the_program() {
    let words = ["println!", "print!(", "dbg!", "process::exit"].map(str::to_owned);
    for name in FLOW.iter().flat_map(|names| names.iter()) {
        none_of(name, &words);
    }
}
