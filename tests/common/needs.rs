//! What a test needs beside the program itself: where it is missing, the test is
//! skipped, says so, and fails where `CI=true`.
#![allow(dead_code)] // each test file uses a part of it

use std::io::Write;
use std::process::{Command, Stdio};

/// Says what is missing, as the last line of the running test.
///
/// # Panics
/// Where `CI=true`: there nothing may be skipped.
pub fn skipped(missing: &str, cure: &str) {
    let is_ci = std::env::var("CI").as_deref() == Ok("true");
    let missing = format!("missing: {missing}");
    assert!(!is_ci, "{missing}; {cure}");
    told(&missing, cure);
}

/// Says what the system does not allow here, `CI` or not: no installation helps.
pub fn not_allowed(what: &str, cure: &str) {
    told(what, cure);
}

/// A line on standard error itself: what a test that passes prints is kept back.
fn told(why: &str, cure: &str) {
    let thread = std::thread::current();
    let test = thread.name().unwrap_or("a test");
    let line = format!("skipped: {test}: {why}; {cure}\n");
    let _ = std::io::stderr().write_all(line.as_bytes());
}

/// True where a program runs with these words.
fn runs(program: &str, words: &[&str]) -> bool {
    let mut command = Command::new(program);
    let silent = command.args(words).stdout(Stdio::null());
    let status = silent.stderr(Stdio::null()).status();
    status.is_ok_and(|status| status.success())
}

/// True where runs can be watched; else the test is skipped.
pub fn strace() -> bool {
    let is_there = runs("strace", &["-qq", "true"]);
    if !is_there {
        skipped("strace, or the right to use it", "./setup.sh tests");
    }
    is_there
}

/// True where an office program can open workbooks; else the test is skipped.
pub fn soffice() -> bool {
    let is_there = runs("soffice", &["--version"]);
    if !is_there {
        skipped("soffice, an office program", "./setup.sh tests");
    }
    is_there
}

/// Runs a test of this file once more, without programs and variables: it must
/// say in its last line that it was skipped, and fail where `CI=true`.
pub fn is_told_and_fails_in_ci(test: &str) {
    let run = |ci: &str| {
        let mut again = Command::new(std::env::current_exe().expect("a test file"));
        again.args(["--exact", test]).env("CI", ci);
        again.env("PATH", "").env_remove("COUPLET_CAP71");
        again.output().expect("it runs")
    };
    for ci in ["", "false"] {
        let output = run(ci);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{test}: {said}");
        let last = said.lines().last().unwrap_or_default();
        assert!(last.starts_with(&format!("skipped: {test}: ")), "{said}");
    }
    let output = run("true");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        !output.status.success() && said.contains("missing: "),
        "{test}: {said}"
    );
}
