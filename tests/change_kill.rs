//! Killed at any moment, a command leaves each file as it was or as it should
//! be, never half.

#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn couplet(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("couplet"));
    command
        .current_dir(folder)
        .args(args)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// A run that must do well, and how long it took.
fn done(folder: &Path, args: &[&str]) -> Duration {
    let start = Instant::now();
    let status = couplet(folder, args).status().unwrap();
    assert!(status.success(), "{args:?}");
    start.elapsed()
}

fn file(folder: &Path, name: &str) -> Option<Vec<u8>> {
    fs::read(folder.join("boat").join(name)).ok()
}

/// Sets a file back to what it was.
fn restore(folder: &Path, name: &str, bytes: Option<&Vec<u8>>) {
    let path = folder.join("boat").join(name);
    match bytes {
        Some(bytes) => fs::write(path, bytes).unwrap(),
        None => {
            let _ = fs::remove_file(path);
        }
    }
}

/// Kills the command again and again; gives how often the first of the files was
/// the old one and how often the new one.
fn kill(folder: &Path, args: &[&str], names: &[&str], times: u32) -> (u32, u32) {
    let files = || -> Vec<_> { names.iter().map(|name| file(folder, name)).collect() };
    let back = |before: &[Option<Vec<u8>>]| {
        for (name, before) in names.iter().zip(before) {
            restore(folder, name, before.as_ref());
        }
    };
    let before = files();
    let takes = done(folder, args);
    let after = files();
    for (name, (before, after)) in names.iter().zip(before.iter().zip(&after)) {
        assert_ne!(before, after, "{args:?} changes {name}");
    }
    let (mut old, mut new) = (0, 0);
    for n in 0..times {
        back(&before);
        let mut child = couplet(folder, args).spawn().unwrap();
        // from at once to well after its end, in even steps; the last may end
        if n + 1 < times {
            std::thread::sleep(takes * n * 3 / times / 2);
            let _ = child.kill();
        }
        child.wait().unwrap();
        let now = files();
        for (place, name) in names.iter().enumerate() {
            let is_whole = now[place] == before[place] || now[place] == after[place];
            assert!(is_whole, "{args:?}: half a {name}");
        }
        old += u32::from(now[0] == before[0]);
        new += u32::from(now[0] == after[0]);
    }
    back(&before);
    (old, new)
}

#[test]
fn files_are_old_or_new_never_half() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    done(folder, &["new", "boat"]);
    let (old, new) = kill(folder, &["plan", "boat"], &["plan.json"], 30);
    assert!(old > 0 && new > 0, "{old} {new}");
    done(folder, &["plan", "boat"]);
    let prices = fs::read_to_string(folder.join("boat/catalog/prices.csv")).unwrap();
    fs::write(folder.join("new.csv"), prices.replace("20.58", "20.68")).unwrap();
    let reprice = ["reprice", "boat", "--prices", "new.csv"];
    let (old, new) = kill(folder, &reprice, &["plan.json"], 30);
    assert!(old > 0 && new > 0, "{old} {new}");
    let place = ["order", "boat", "--place", "--on", "2026-01-02"];
    let (old, new) = kill(folder, &place, &["ordered.csv", "dies_ordered.csv"], 40);
    assert!(old > 0 && new > 0, "{old} {new}");
    done(folder, &place);
    let receive = ["receive", "boat", "--part", "C10", "--qty", "2"];
    let (old, new) = kill(folder, &receive, &["ordered.csv"], 40);
    assert!(old > 0 && new > 0, "{old} {new}");
    // what was left behind stands in nobody's way
    done(folder, &receive);
    done(folder, &["plan", "boat"]);
}
