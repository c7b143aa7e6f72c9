//! How the modules lie: none knows one that stands after it, no two files of one
//! know each other, and what must be absent is absent. Unit tests below `src/`
//! keep to the same.

mod rules;
mod teeth;
mod tree;

use rules::{Flow, loud, unsafe_in, upward, uses_of};
use std::fs;
use std::path::Path;
use tree::Tree;

/// In the order of the flow; those of one line may know one another.
const FLOW: Flow<'static> = &[
    &["units", "diag", "limit"],
    &["source", "store", "book", "table", "tables"],
    &["convert"],
    &["catalog", "project"],
    &["input"],
    &["lists"],
    &["trial"],
    &["fit"],
    &["refusal"],
    &["solve"],
    &["model"],
    &["plan"],
    &["audit"],
    &["study"],
    &["desk"],
    &["report"],
];

/// Modules that still have a circle inside: to go.
const CIRCLES: &[&str] = &[];

fn names() -> impl Iterator<Item = &'static str> {
    FLOW.iter().copied().flatten().copied()
}

fn none(found: Vec<String>) {
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn no_module_knows_a_later_one() {
    none(upward(&Tree::of_this_crate(), FLOW));
}

#[test]
fn no_files_of_a_module_know_each_other() {
    let tree = Tree::of_this_crate();
    let circles = |name| !tree.circles(name).is_empty();
    let found: Vec<&str> = names()
        .chain(["cli"])
        .filter(|name| circles(name))
        .collect();
    let told: Vec<_> = found.iter().flat_map(|name| tree.circles(name)).collect();
    assert_eq!(found, CIRCLES, "{told:#?}");
}

#[test]
fn the_flow_names_every_module() {
    let tree = Tree::of_this_crate();
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let declared = lib.lines().filter_map(|l| l.strip_prefix("pub mod "));
    for name in declared.map(|l| l.trim_end_matches(';')) {
        assert!(names().any(|known| known == name), "{name} has no place");
        assert!(tree.files_of(name).next().is_some(), "{name} has no files");
    }
}

#[test]
fn the_audit_shares_nothing_with_fit_and_model() {
    let tree = Tree::of_this_crate();
    for name in ["fit", "refusal", "model", "solve"] {
        none(uses_of(&tree, "audit", name));
    }
}

#[test]
fn only_solve_knows_the_solver() {
    let tree = Tree::of_this_crate();
    for name in names().chain(["cli"]).filter(|name| *name != "solve") {
        for solver in ["good_lp", "highs", "highs_sys"] {
            none(uses_of(&tree, name, solver));
        }
    }
}

#[test]
fn only_the_callbacks_of_the_solver_are_unsafe() {
    let found = unsafe_in(&Tree::of_this_crate());
    let allowed = [
        "solve/callback.rs says unsafe",
        "solve/mod.rs says allow unsafe_code",
    ];
    assert_eq!(found, allowed);
    for (root, word) in [("lib.rs", "deny"), ("main.rs", "forbid")] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(root);
        let text = fs::read_to_string(path).unwrap();
        assert!(text.contains(&format!("#![{word}(unsafe_code)]")), "{root}");
    }
}

#[test]
fn the_library_never_prints_or_ends_the_program() {
    let tree = Tree::of_this_crate();
    for name in names() {
        none(loud(&tree, name));
    }
}
