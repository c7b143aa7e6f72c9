//! Whole runs of `couplet keys` and `couplet why` on the project that
//! `couplet new` writes.

use assert_cmd::Command;
use std::fs;
use std::path::Path;

/// Exit status, standard output, standard error.
fn run(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("couplet")
        .unwrap()
        .current_dir(folder)
        .args(args)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    let status = output.status.code().unwrap();
    (status, text(output.stdout), text(output.stderr))
}

fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(folder.path(), &["new", "boat"]).0, 0);
    folder
}

#[test]
fn the_map_needs_a_plan_and_says_when_it_is_old() {
    let folder = boat();
    let (status, _, said) = run(folder.path(), &["keys", "boat"]);
    assert_eq!(status, 1);
    assert!(said.contains("plan.json does not exist"), "{said}");
    assert_eq!(run(folder.path(), &["plan", "boat"]).0, 0);
    let (status, shown, said) = run(folder.path(), &["keys", "boat"]);
    assert_eq!((status, said.as_str()), (0, ""));
    assert!(shown.starts_with("keying by location: "), "{shown}");
    assert!(shown.contains("\nKeys of each net\n"), "{shown}");
    let (_, json, _) = run(folder.path(), &["keys", "boat", "--format", "json"]);
    let map: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(map["locations"].as_array().unwrap().len(), 5);
    let (_, csv, _) = run(folder.path(), &["keys", "boat", "--format", "csv"]);
    assert!(
        csv.starts_with("location,interface,key,net,ends,interchange,swaps\n"),
        "{csv}"
    );
    fs::write(folder.path().join("boat/on_hand.csv"), "part,qty\n").unwrap();
    let (status, _, said) = run(folder.path(), &["keys", "boat"]);
    assert_eq!(status, 0);
    assert!(said.contains("on_hand.csv is not as when"), "{said}");
}

#[test]
fn why_tells_refusals_without_a_plan_and_costs_with_one() {
    let folder = boat();
    let end = ["why", "boat", "traction", "--net", "HV+", "--end", "from"];
    let (status, shown, said) = run(folder.path(), &[&end[..], &["--part", "P10-A-RA"]].concat());
    assert_eq!((status, said.as_str()), (0, ""));
    let first = "traction, HV+, from end at pack: refused by exit\n";
    assert!(shown.starts_with(first), "{shown}");
    assert!(shown.contains("bodies.csv:") && shown.contains("circuits.csv:"));
    let (status, shown, _) = run(folder.path(), &end);
    assert_eq!(status, 0);
    assert!(shown.contains("proven cheapest\n"), "{shown}");
    assert!(shown.contains("nothing else fits there"), "{shown}");
    assert!(!folder.path().join("boat/plan.json").exists());
}

#[test]
fn names_that_do_not_exist_are_a_wrong_command_line() {
    let folder = boat();
    let cases: [(&[&str], &str); 4] = [
        (&["why", "boat", "tracton"], "did you mean \"traction\"?"),
        (
            &["why", "boat", "traction", "--net", "X"],
            "the nets are \"HV+\" and \"HV-\"",
        ),
        (
            &["why", "boat", "traction", "--part", "P10-D"],
            "did you mean",
        ),
        (
            &["why", "boat", "traction", "--end", "left"],
            "write from or to",
        ),
    ];
    for (args, help) in cases {
        let (status, _, said) = run(folder.path(), args);
        assert_eq!(status, 2, "{args:?}");
        assert!(said.contains(help), "{args:?}: {said}");
    }
}
