//! No part of the program opens a network connection: no dependency is there to
//! do so, no line of the source asks for one, and no run of any command makes a
//! socket, as the system sees it.

#[path = "common/needs.rs"]
mod needs;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn toml(file: &str) -> toml::Table {
    let text = fs::read_to_string(root().join(file)).unwrap();
    text.parse().unwrap()
}

/// The crates that deny.toml bans.
fn banned() -> BTreeSet<String> {
    let deny = toml("deny.toml");
    let list = deny["bans"]["deny"].as_array().unwrap();
    let names = list.iter().map(|name| name.as_str().unwrap().to_owned());
    names.collect()
}

/// The crates of a lock file.
fn locked(file: &str) -> BTreeSet<String> {
    let lock = toml(file);
    let packages = lock["package"].as_array().unwrap();
    let names = packages
        .iter()
        .map(|p| p["name"].as_str().unwrap().to_owned());
    names.collect()
}

#[test]
fn no_dependency_is_there_for_the_network() {
    let (banned, locked) = (banned(), locked("Cargo.lock"));
    assert!(banned.len() > 50 && locked.len() > 50);
    for name in ["reqwest", "hyper", "socket2", "tokio", "curl", "rustls"] {
        assert!(banned.contains(name), "{name}");
    }
    let found: Vec<_> = banned.intersection(&locked).collect();
    assert!(found.is_empty(), "{found:?}");
}

fn sources(folder: &Path, all: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|e| e == "rs") {
            all.push(path);
        }
    }
}

#[test]
fn no_line_asks_for_a_connection() {
    let mut all = Vec::new();
    sources(&root().join("src"), &mut all);
    assert!(all.len() > 100);
    for path in all {
        let text = fs::read_to_string(&path).unwrap();
        for word in [
            "std::net",
            "TcpStream",
            "UdpSocket",
            "UnixStream",
            "ToSocketAddrs",
        ] {
            assert!(!text.contains(word), "{}: {word}", path.display());
        }
    }
}

/// One run of each command, and more where a command does different things;
/// in this order, in one folder.
const RUNS: &[&[&str]] = &[
    &["new", "boat"],
    &["check", "boat"],
    &["plan", "boat"],
    &[
        "plan",
        "boat",
        "--again",
        "--threads",
        "2",
        "--time-limit",
        "60",
    ],
    &["order", "boat"],
    &["order", "boat", "--out-dir", "orders"],
    &["order", "boat", "--xlsx", "orders.xlsx"],
    &["parts", "boat", "--used-by", "boat/plan.json"],
    &["keys", "boat"],
    &["why", "boat", "motor"],
    &[
        "prices",
        "boat/catalog/prices.csv",
        "boat/catalog/prices.csv",
    ],
    &["take", "boat", "Example North", "list.csv"],
    &[
        "prices",
        "boat",
        "--history",
        "--part",
        "C10",
        "--svg",
        "h.svg",
    ],
    &[
        "take",
        "boat",
        "Example North",
        "list.csv",
        "--out",
        "new.csv",
    ],
    &["reprice", "boat", "--check"],
    &["consolidate", "boat", "--svg", "c.svg"],
    &["budget", "boat", "--rise", "10", "--svg", "b.svg"],
    &["breakeven", "boat", "--svg", "e.svg"],
    &["trial", "boat", "any: every circuit exit any", "--save"],
    &["compare", "boat", "boat/plan.json"],
    &["report", "boat", "--out", "r.html"],
    &["kit", "boat", "--format", "html", "--out", "k.html"],
    &["cards", "boat", "--out", "c.html"],
    &["labels", "boat", "--format", "html", "--out", "l.html"],
    &["convert", "boat/catalog", "catalog.xlsx"],
    &["convert", "catalog.xlsx", "back"],
    &["order", "boat", "--place"],
    &["receive", "boat", "--part", "C10", "--qty", "1"],
    &["order", "boat", "--outstanding"],
    &[
        "order",
        "boat",
        "--confirm",
        "note.csv",
        "--supplier",
        "Example North",
    ],
    &[
        "receive",
        "boat",
        "--note",
        "note.csv",
        "--supplier",
        "Example North",
    ],
    &[
        "receive",
        "boat",
        "--note",
        "note.csv",
        "--supplier",
        "Example North",
    ],
    &["schema"],
    &["schema", "plan"],
    &["completions", "bash"],
    &["man", "--out-dir", "man"],
    &["help"],
];

/// The commands that the help lists.
fn commands() -> BTreeSet<String> {
    let mut couplet = Command::new(assert_cmd::cargo::cargo_bin("couplet"));
    let help = couplet.arg("--help").output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let list = help.split("Usage:").nth(1).unwrap();
    let list = list.split("\nOptions:").next().unwrap();
    list.lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next().map(str::to_owned))
        .collect()
}

#[test]
fn every_command_is_among_the_runs() {
    let run: BTreeSet<String> = RUNS.iter().map(|args| args[0].to_owned()).collect();
    assert_eq!(commands(), run);
}

/// What a run asks of the network, as the system sees it.
fn watched(folder: &Path, program: &str, args: &[&str]) -> String {
    let log = folder.join("calls");
    let status = Command::new("strace")
        .args(["-f", "-qq", "-e", "trace=%network", "-o"])
        .arg(&log)
        .arg(program)
        .args(args)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success(), "{args:?}: {status}");
    fs::read_to_string(log).unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn no_run_of_any_command_makes_a_socket() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    if !needs::strace() {
        return;
    }
    let program = assert_cmd::cargo::cargo_bin("couplet");
    fs::write(
        folder.join("list.csv"),
        "Item no.,Unit price\nN-1026,9.50\n",
    )
    .unwrap();
    fs::write(folder.join("note.csv"), "Item no.,Qty\nN-1026,1\n").unwrap();
    for args in RUNS {
        let calls = watched(folder, program.to_str().unwrap(), args);
        assert_eq!(calls, "", "{args:?}");
    }
    // What is watched for would be seen.
    let bash = ["-c", "exec 3<>/dev/tcp/127.0.0.1/1 || true"];
    let calls = watched(folder, "bash", &bash);
    assert!(calls.contains("socket("), "{calls}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_run_that_is_not_watched_is_told() {
    needs::is_told_and_fails_in_ci("no_run_of_any_command_makes_a_socket");
}
