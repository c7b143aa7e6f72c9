//! Ctrl-C during a study: what was found so far is shown, and the run ends well.
#![cfg(unix)]

use assert_cmd::cargo::CommandCargoExt;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

/// Three circuits of the example: a plan takes little time, a study much more.
fn tractor() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    copy(&root.join("catalog"), &folder.path().join("catalog"));
    let project = folder.path().join("examples/tractor");
    copy(&root.join("examples/orchard-tractor"), &project);
    let kept = ["circuit,", "pto feed,", "dc-dc input,", "48 V output,"];
    let circuits = fs::read_to_string(project.join("circuits.csv")).unwrap();
    let circuits = circuits
        .lines()
        .filter(|line| kept.iter().any(|k| line.starts_with(k)));
    let circuits: Vec<&str> = circuits.collect();
    assert_eq!(circuits.len(), kept.len());
    fs::write(project.join("circuits.csv"), circuits.join("\n") + "\n").unwrap();
    folder
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() && path.extension().is_some_and(|e| e == "csv" || e == "toml") {
            fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}

/// Runs and sends one SIGINT after some time.
fn interrupted(folder: &Path, args: &[&str], after: Duration) -> Output {
    let child = Command::cargo_bin("couplet")
        .unwrap()
        .current_dir(folder)
        .args(args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    sleep(after);
    let id = child.id().to_string();
    let _ = Command::new("kill").args(["-INT", &id]).status();
    child.wait_with_output().unwrap()
}

/// What a run shows that Ctrl-C reached after it had something to show: how long
/// that takes is the machine's, so it is tried later each time until it has.
fn shown(args: &[&str], has_some: impl Fn(&str) -> bool) -> String {
    let folder = tractor();
    let mut after = Duration::from_millis(400);
    loop {
        let output = interrupted(folder.path(), args, after);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        let (shown, said) = (text(output.stdout), text(output.stderr));
        match output.status.code() {
            // Before the first plan, before there was a handler, or amid what can't
            // be interrupted.
            Some(4 | 130) | None => after = after * 3 / 2,
            Some(0) => {
                assert!(
                    said.contains("stopped by Ctrl-C"),
                    "{args:?}: {said}{shown}"
                );
                if has_some(&shown) {
                    return shown;
                }
                after = after * 3 / 2;
            }
            other => panic!("{args:?}: {other:?}: {said}"),
        }
    }
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn a_frontier_keeps_the_points_it_has() {
    let study = ["consolidate", "examples/tractor", "--format", "json"];
    let proven = |text: &str| json(text)["points"][0]["status"] == "optimal";
    let found = json(&shown(&study, proven));
    assert_eq!(found["points"][0]["extra"], "0.00");
    assert_eq!(found["whole"], false);
}

#[test]
fn break_evens_keep_the_edges_they_have() {
    let study = ["breakeven", "examples/tractor", "--format", "json"];
    let edges = |text: &str| -> Vec<String> {
        let found = json(text);
        let parts = found["parts"].as_array().unwrap();
        let edges = parts.iter().flat_map(|part| [&part["down"], &part["up"]]);
        edges
            .map(|edge| edge["edge"].as_str().unwrap().to_owned())
            .collect()
    };
    let some = |text: &str| edges(text).iter().any(|edge| edge != "untold");
    let found = edges(&shown(&study, some));
    assert!(found.iter().any(|edge| edge == "untold"), "{found:?}");
}
