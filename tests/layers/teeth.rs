//! The checks find what is planted in an invented tree.

use super::rules::{Flow, loud, unsafe_in, upward, uses_of};
use super::tree::Tree;

const FLOW: Flow<'static> = &[&["units"], &["fit"], &["report"]];

fn tree(files: &[(&str, &str)]) -> Tree {
    Tree::of(files.iter().copied())
}

/// The files of a sound tree with one in their place or beside them.
fn with(path: &'static str, text: &'static str) -> Tree {
    let mut files = vec![
        ("lib.rs", "pub mod units; pub mod fit; pub mod report;"),
        ("units.rs", "pub struct Mm;"),
        ("fit/mod.rs", "mod a; mod b; pub use a::A; pub use b::B;"),
        ("fit/a.rs", "use crate::units::Mm; pub struct A(Mm);"),
        ("fit/b.rs", "use super::A; pub struct B(A);"),
        ("report.rs", "use crate::fit::{A, B};"),
    ];
    files.retain(|(old, _)| *old != path);
    files.push((path, text));
    tree(&files)
}

#[test]
fn a_sound_tree_is_sound() {
    let tree = with("units.rs", "pub struct Mm;");
    assert_eq!(upward(&tree, FLOW), Vec::<String>::new());
    assert_eq!(tree.circles("fit"), Vec::<Vec<&str>>::new());
    assert_eq!(loud(&tree, "fit"), Vec::<String>::new());
}

#[test]
fn a_use_of_a_later_module_is_found_however_it_is_written() {
    for text in [
        "use crate::report;",
        "use crate::{report};",
        "use crate::{units, report::{self, table}};",
        "use crate::report as words;",
        "use super::super::report::table;",
        "pub use crate::report::table;",
        "fn f() { crate::report::table() }",
        "fn f() -> Vec<crate::report::Table> { Vec::new() }",
        "fn f(_: &dyn Fn(super::super::report::Table)) {}",
        "fn f() { println!(\"{}\", [crate::report::table()].len()) }",
        "macro_rules! m { () => { crate::report::table() } }",
        "#[cfg(test)] mod tests { use crate::report; }",
        "pub struct A; #[cfg(test)] mod tests { fn f() { super::super::super::report::t() } }",
        "mod inner { use super::super::super::report; }",
    ] {
        let found = upward(&with("fit/a.rs", text), FLOW);
        assert!(!found.is_empty(), "{text}");
        let all = found.iter().all(|f| f.starts_with("fit/a.rs uses report"));
        assert!(all, "{text}: {found:?}");
    }
}

#[test]
fn names_that_only_look_like_a_later_module_are_none() {
    for text in [
        "// crate::report::table\nconst A: &str = \"crate::report::table\";",
        "mod report { pub fn t() {} } fn f() { self::report::t() }",
        "/// See [`crate::report`].\npub struct A;",
        "pub(in crate::fit) struct A;",
    ] {
        let found = upward(&with("fit/a.rs", text), FLOW);
        assert_eq!(found, Vec::<String>::new(), "{text}");
    }
}

#[test]
fn a_circle_is_found_however_it_is_written() {
    for text in [
        "use super::b::B; pub struct A(Box<B>);",
        "use super::B; pub struct A(Box<B>);",
        "pub struct A(Box<super::b::B>);",
        "pub struct A(Box<crate::fit::B>);",
        "use super::{b}; pub struct A(Box<b::B>);",
        "pub struct A; fn f() { assert!(matches!(1, super::b::ONE)) }",
    ] {
        let tree = with("fit/a.rs", text);
        let circles = tree.circles("fit");
        assert_eq!(circles, [["fit/a.rs", "fit/b.rs"]], "{text}");
    }
}

#[test]
fn a_circle_of_three_and_one_through_the_parent_are_found() {
    let three = tree(&[
        ("fit/mod.rs", "mod a; mod b; mod c;"),
        ("fit/a.rs", "use super::b;"),
        ("fit/b.rs", "use super::c::C;"),
        ("fit/c.rs", "use super::a::A; pub struct C;"),
    ]);
    assert_eq!(three.circles("fit"), [["fit/a.rs", "fit/b.rs", "fit/c.rs"]]);
    for parent in [
        "mod a; pub struct Own; fn f() { a::f() }",
        "mod a; use a::f; pub struct Own;",
    ] {
        let parent = [
            ("fit/mod.rs", parent),
            ("fit/a.rs", "use super::Own; pub fn f() {}"),
        ];
        assert_eq!(tree(&parent).circles("fit"), [["fit/a.rs", "fit/mod.rs"]]);
    }
}

#[test]
fn an_export_and_a_declaration_are_no_use() {
    let tree = with(
        "fit/mod.rs",
        "mod a; mod b; pub use a::A; pub use b::B; pub struct Own;",
    );
    assert_eq!(tree.circles("fit"), Vec::<Vec<&str>>::new());
}

#[test]
fn another_crate_and_a_loud_file_are_found() {
    for text in [
        "use good_lp::variable;",
        "fn f() { let _ = good_lp::variable(); }",
    ] {
        assert_eq!(uses_of(&with("fit/a.rs", text), "fit", "good_lp").len(), 1);
    }
    for text in [
        "fn f() { println!(\"\") }",
        "fn f() { std::process::exit(1) }",
        "use std::process::exit;",
        "#[cfg(test)] mod tests { fn f() { dbg!(1); } }",
    ] {
        assert_eq!(loud(&with("fit/a.rs", text), "fit").len(), 1, "{text}");
    }
}

#[test]
fn what_is_unsafe_is_found_however_it_is_written() {
    for (text, word) in [
        ("fn f() { unsafe { g() } }", "unsafe"),
        ("unsafe fn f() {}", "unsafe"),
        ("unsafe impl Send for A {}", "unsafe"),
        ("unsafe extern \"C\" { fn f(); }", "unsafe"),
        ("#[unsafe(no_mangle)] fn f() {}", "unsafe"),
        ("macro_rules! m { () => { unsafe { g() } } }", "unsafe"),
        ("#[cfg(test)] mod t { fn f() { unsafe { g() } } }", "unsafe"),
        ("#![allow(unsafe_code)]", "allow unsafe_code"),
        ("#[expect(unsafe_code)] mod a;", "expect unsafe_code"),
        (
            "#[cfg_attr(test, allow(dead_code, unsafe_code))] mod a;",
            "allow unsafe_code",
        ),
    ] {
        let found = unsafe_in(&with("fit/a.rs", text));
        assert_eq!(found, [format!("fit/a.rs says {word}")], "{text}");
    }
    let text = "#![forbid(unsafe_code)] // unsafe\nconst A: &str = \"unsafe\";";
    let found = unsafe_in(&with("fit/a.rs", text));
    assert_eq!(found, Vec::<String>::new());
}
