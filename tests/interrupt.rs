//! Ctrl-C while a plan is searched: the best so far is shown and not kept,
//! unless that was asked for.

#![cfg(unix)]

#[path = "../benches/generate/mod.rs"]
mod generate;

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

/// Far beyond the second that it should take: machines may be busy.
const SOON: Duration = Duration::from_secs(20);

fn start(folder: &Path, args: &[&str]) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin("couplet"))
        .current_dir(folder)
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

fn interrupt(child: &Child) {
    let pid = child.id().to_string();
    let status = Command::new("kill").args(["-INT", &pid]).status();
    assert!(status.unwrap().success());
}

/// Presses Ctrl-C after a while and waits for the end.
fn stopped(folder: &Path, args: &[&str], after: Duration) -> Output {
    let child = start(folder, args);
    std::thread::sleep(after);
    interrupt(&child);
    let pressed = Instant::now();
    let output = child.wait_with_output().unwrap();
    let took = pressed.elapsed();
    eprintln!("{args:?} ended {} ms after Ctrl-C", took.as_millis());
    assert!(took < SOON, "{args:?}: {took:?}");
    output
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn project(circuits: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    generate::write_project(&folder.path().join("boat"), 1, circuits).unwrap();
    folder
}

/// Ctrl-C in the middle of a search that has a plan: on the first project that
/// is neither done by then nor too large for this machine to have a plan.
fn cut(args: &[&str]) -> (tempfile::TempDir, Output) {
    let sizes = [12, 18, 25, 40, 60, 100, 200];
    let times = [2_500, 5_000, 10_000].map(Duration::from_millis);
    let all = times
        .iter()
        .flat_map(|t| sizes.map(|circuits| (circuits, *t)));
    for (circuits, after) in all {
        let folder = project(circuits);
        fs::write(folder.path().join("boat/plan.json"), "old").unwrap();
        let output = stopped(folder.path(), args, after);
        let said = text(&output.stderr);
        let is_cut = said.contains("stopping with the best plan so far");
        if is_cut && !said.contains("before the search could answer") {
            return (folder, output);
        }
    }
    panic!("no search was cut short with a plan");
}

fn record(folder: &tempfile::TempDir) -> String {
    fs::read_to_string(folder.path().join("boat/plan.json")).unwrap()
}

#[test]
fn the_best_plan_so_far_is_shown_and_kept() {
    let (folder, output) = cut(&["plan", "boat"]);
    let (shown, said) = (text(&output.stdout), text(&output.stderr));
    assert_eq!(output.status.code(), Some(130), "{said}");
    let first = shown.lines().next().unwrap_or_default();
    assert!(first.contains("not proven cheapest"), "{first}");
    assert!(shown.contains("\nTotal "), "{shown}");
    let words = "stopped by Ctrl-C: the best plan so far is kept in boat/plan.json";
    assert!(said.contains(words), "{said}");
    assert!(record(&folder).contains("\"status\": \"time_limit\""));
    // It is a record like any other.
    let order = start(folder.path(), &["order", "boat"]);
    let order = order.wait_with_output().unwrap();
    assert!(order.status.success(), "{}", text(&order.stderr));
}

#[test]
fn nothing_is_kept_where_that_was_asked_for() {
    let (folder, output) = cut(&["plan", "boat", "--no-keep"]);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(130), "{said}");
    assert!(
        said.contains("stopped by Ctrl-C, so the plan was not kept"),
        "{said}"
    );
    assert_eq!(record(&folder), "old");
    // Nothing was left beside it: three files, the record, the catalog.
    assert_eq!(fs::read_dir(folder.path().join("boat")).unwrap().count(), 5);
}

#[test]
fn the_record_alone_can_be_had_of_it() {
    let (folder, output) = cut(&["plan", "boat", "--out", "-"]);
    assert_eq!(output.status.code(), Some(130), "{}", text(&output.stderr));
    let plan: couplet::plan::Plan = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(plan.status, couplet::plan::Status::TimeLimit);
    assert_eq!(record(&folder), "old");
}

/// Long enough to be in the middle of a search.
const A_WHILE: Duration = Duration::from_secs(2);

/// Early or late, on a small and on a very large project, it ends.
#[test]
fn it_ends_at_any_time() {
    for (circuits, times) in [(12, [50, 1_500]), (400, [400, 3_000])] {
        let folder = project(circuits);
        let folder = folder.path();
        for after in times.map(Duration::from_millis) {
            let output = stopped(folder, &["plan", "boat"], after);
            // Ended by the signal itself while it read, stopped, or done before.
            let code = output.status.code();
            let known = [None, Some(0), Some(4), Some(130)];
            assert!(known.contains(&code), "{code:?}: {}", text(&output.stderr));
            let is_kept = folder.join("boat/plan.json").exists();
            let said = text(&output.stderr);
            assert_eq!(
                is_kept,
                code == Some(0) || said.contains("is kept in"),
                "{said}"
            );
            let _ = fs::remove_file(folder.join("boat/plan.json"));
        }
    }
}

#[test]
fn studies_end_as_well_and_write_nothing() {
    let folder = project(60);
    let folder = folder.path();
    for args in [
        &["consolidate", "boat", "--to", "40", "--svg", "f.svg"][..],
        &["budget", "boat", "--svg", "b.svg"],
        &["breakeven", "boat", "--svg", "e.svg"],
    ] {
        let output = stopped(folder, args, A_WHILE);
        let code = output.status.code();
        assert!(
            [Some(0), Some(4), Some(130)].contains(&code),
            "{args:?}: {code:?}"
        );
    }
    assert_eq!(fs::read_dir(folder).unwrap().count(), 1);
    assert!(!folder.join("boat/plan.json").exists());
}

/// A plan that is shown at greater length than a pipe holds, and is not read: once
/// it has begun to be, Ctrl-C is pressed, so many times.
fn shown_to_nobody(folder: &Path, args: &[&str], times: usize) -> (Option<i32>, String) {
    use std::io::Read;
    // On a slow machine it takes longer until there is a plan.
    for limit in ["2", "8", "30", "120"] {
        let plan = ["plan", "boat", "--time-limit", limit];
        let mut child = start(folder, &[&plan, args].concat());
        let mut stdout = child.stdout.take().unwrap();
        if stdout.read_exact(&mut [0]).is_err() {
            child.wait().unwrap();
            continue;
        }
        for _ in 0..times {
            interrupt(&child);
        }
        let mut stderr = child.stderr.take().unwrap();
        let mut said = String::new();
        stderr.read_to_string(&mut said).unwrap();
        return (child.wait().unwrap().code(), said);
    }
    panic!("there is never a plan");
}

#[test]
fn what_was_kept_is_said_while_a_long_print_waits() {
    let folder = project(60);
    let folder = folder.path();
    let json = ["--format", "json"];
    let (code, said) = shown_to_nobody(folder, &json, 1);
    assert_eq!(code, Some(130), "{said}");
    let what = "stopped by Ctrl-C before all was shown; boat/plan.json was kept";
    assert!(said.contains(what), "{said}");
    assert!(!said.contains("nothing was kept"), "{said}");
    assert!(
        !said.contains("stopping with the best plan so far"),
        "{said}"
    );
    couplet::plan::read(&folder.join("boat/plan.json")).unwrap();
    // The second one ends it at once, and says the same.
    fs::remove_file(folder.join("boat/plan.json")).unwrap();
    let (code, said) = shown_to_nobody(folder, &json, 2);
    assert_eq!(code, Some(130), "{said}");
    assert!(said.contains("boat/plan.json was kept"), "{said}");
    couplet::plan::read(&folder.join("boat/plan.json")).unwrap();
}

#[test]
fn where_nothing_was_kept_that_is_said_while_a_long_print_waits() {
    let folder = project(60);
    let (code, said) = shown_to_nobody(folder.path(), &["--out", "-"], 1);
    assert_eq!(code, Some(130), "{said}");
    let what = "stopped by Ctrl-C before all was shown; nothing was kept";
    assert!(said.contains(what), "{said}");
    assert!(!folder.path().join("boat/plan.json").exists());
}

/// Ctrl-C and then a reader that goes: not kept, so not done.
#[test]
fn a_plan_that_is_not_kept_is_no_success_even_if_nobody_reads_it() {
    let sizes = [60, 100, 200];
    let is_cut = sizes.into_iter().any(|circuits| {
        let folder = project(circuits);
        let mut child = start(folder.path(), &["plan", "boat", "--no-keep"]);
        std::thread::sleep(A_WHILE * 2);
        interrupt(&child);
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        let said = text(&output.stderr);
        if said.contains("before the search could answer") {
            return false;
        }
        assert_eq!(output.status.code(), Some(130), "{said}");
        assert!(said.contains("so the plan was not kept"), "{said}");
        assert!(!folder.path().join("boat/plan.json").exists());
        true
    });
    assert!(is_cut, "no search was cut short with a plan");
}

#[test]
fn a_second_one_ends_it_at_once() {
    let folder = project(400);
    let mut child = start(folder.path(), &["plan", "boat"]);
    std::thread::sleep(A_WHILE);
    // Two that come before the program could take the first are one to it.
    while child.try_wait().unwrap().is_none() {
        interrupt(&child);
        std::thread::sleep(Duration::from_millis(2));
    }
    let output = child.wait_with_output().unwrap();
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(130), "{said}");
    assert!(said.contains("ended by Ctrl-C; nothing was kept"), "{said}");
    assert!(!folder.path().join("boat/plan.json").exists());
}
