//! What README.md shows: its commands run and print what it says, its files load
//! and plan, every column and key of the starting project is explained.
//!
//! In a block marked `console`, lines after `$ ` are run by a shell, one after
//! the other in one folder; the lines below are what they print, in order, with
//! `…` for lines left out. In a block marked `sh`, the command lines of couplet
//! need only be right. A block marked with a format and a path is that file.

#[path = "common/said.rs"]
mod said;

use assert_cmd::cargo::cargo_bin;
use said::said;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const README: &str = include_str!("../README.md");

/// The blocks whose first line is ```` ```mark ````, with what follows the mark.
fn blocks(mark: &str) -> Vec<(&'static str, Vec<&'static str>)> {
    let mut blocks = Vec::new();
    let mut lines = README.lines();
    while let Some(line) = lines.next() {
        let Some(info) = line.strip_prefix("```") else {
            continue;
        };
        let body: Vec<&str> = lines.by_ref().take_while(|l| *l != "```").collect();
        let (word, rest) = info.split_once(' ').unwrap_or((info, ""));
        if word == mark {
            blocks.push((rest, body));
        }
    }
    blocks
}

/// Runs a line in a shell that finds the program; both streams as one.
fn shell(line: &str, folder: &Path) -> Output {
    let program = cargo_bin("couplet");
    let beside = program.parent().unwrap().to_str().unwrap();
    let path = format!("{beside}:{}", std::env::var("PATH").unwrap());
    let mut shell = Command::new("sh");
    shell.arg("-c").arg(format!("exec 2>&1; {line}"));
    shell
        .current_dir(folder)
        .env("PATH", path)
        .output()
        .unwrap()
}

/// True if `shown` is `printed` but for the lines left out.
fn agrees(shown: &[&str], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((&"…", rest)) => (0..=printed.len()).any(|skip| agrees(rest, &printed[skip..])),
        Some((line, rest)) => printed.first() == Some(line) && agrees(rest, &printed[1..]),
    }
}

#[cfg(unix)]
#[test]
fn the_tour_prints_what_it_shows() {
    let folder = tempfile::tempdir().unwrap();
    let mut runs = 0;
    for (_, block) in blocks("console") {
        let mut lines = block.into_iter().peekable();
        while let Some(line) = lines.next() {
            let command = line.strip_prefix("$ ").expect("a command comes first");
            let mut shown = Vec::new();
            while let Some(line) = lines.next_if(|l| !l.starts_with("$ ")) {
                shown.push(line);
            }
            let output = shell(command, folder.path());
            let text = String::from_utf8(output.stdout).unwrap();
            let printed: Vec<&str> = text.lines().collect();
            assert!(agrees(&shown, &printed), "{command}\n{text}");
            runs += 1;
        }
    }
    assert!(runs >= 10, "{runs}");
}

#[test]
fn lines_left_out_are_the_only_difference() {
    assert!(agrees(&["a", "…"], &["a", "b", "c"]));
    assert!(agrees(&["…", "c"], &["a", "b", "c"]));
    assert!(agrees(&["a", "…", "b"], &["a", "b"]));
    assert!(!agrees(&["a"], &["a", "b"]));
    assert!(!agrees(&["a", "…", "d"], &["a", "b", "c"]));
}

/// `--help` comes after the rest: what is wrong before it is told, and nothing is done.
#[cfg(unix)]
#[test]
fn command_lines_are_right() {
    let folder = tempfile::tempdir().unwrap();
    let mut found = Vec::new();
    for (_, block) in blocks("sh") {
        for line in block {
            let command = line.split(" && ").last().unwrap();
            if let Some(rest) = command.strip_prefix("cargo run --release -- ") {
                found.push(format!("couplet {rest}"));
            }
        }
    }
    for word in README.split('`').skip(1).step_by(2) {
        let is_one = word.starts_with("couplet ") && !word.contains(['\n', '/']);
        if is_one && !word.contains("COMMAND") {
            found.push(word.replace("SHELL", "bash"));
        }
    }
    assert!(found.len() >= 8, "{found:?}");
    for command in found {
        let output = shell(&format!("{command} --help"), folder.path());
        assert!(output.status.success(), "{command}");
    }
    assert!(
        !shell("couplet plan boat --grap 1 --help", folder.path())
            .status
            .success()
    );
}

#[test]
fn the_files_shown_are_a_project_that_plans() {
    let folder = tempfile::tempdir().unwrap();
    let mut names = Vec::new();
    for mark in ["csv", "toml"] {
        for (name, body) in blocks(mark) {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, body.join("\n") + "\n").unwrap();
            names.push(name);
        }
    }
    assert_eq!(names.len(), 10, "{names:?}");
    for command in ["check", "plan"] {
        let mut couplet = Command::new(cargo_bin("couplet"));
        let output = couplet.arg(command).arg(folder.path()).output().unwrap();
        let said = said(&output.stderr);
        assert!(
            output.status.success() && said.is_empty(),
            "{command}: {said}"
        );
    }
}

#[test]
fn every_column_and_key_is_explained() {
    let is_explained = |word: &str| README.contains(&format!("`{word}`"));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/cli/new");
    let mut words = 0;
    for table in [
        "circuits",
        "on_hand",
        "catalog/bodies",
        "catalog/ferrules",
        "catalog/seals",
        "catalog/backshells",
        "catalog/prices",
        "catalog/suppliers",
        "catalog/dies",
    ] {
        let text = fs::read_to_string(folder.join(format!("{table}.csv"))).unwrap();
        let header = text.lines().find(|l| !l.starts_with('#')).unwrap();
        for column in header.split(',') {
            assert!(is_explained(column), "{table}.csv, column {column}");
            words += 1;
        }
    }
    let settings = fs::read_to_string(folder.join("project.toml")).unwrap();
    for line in settings.lines() {
        let line = line.strip_prefix("# ").unwrap_or(line);
        if let Some((key, _)) = line.split_once(" = ")
            && key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
        {
            assert!(is_explained(key), "project.toml, key {key}");
            words += 1;
        }
    }
    assert!(words > 70, "{words}");
}

#[test]
fn the_two_commands_stand_alone() {
    for command in [
        "./setup.sh && cargo run --release -- plan examples/orchard-tractor",
        "./setup.sh tests && cargo test --release",
    ] {
        let alone = |(_, body): &(&str, Vec<&str>)| body.as_slice() == [command];
        assert_eq!(
            blocks("sh").iter().filter(|b| alone(b)).count(),
            1,
            "{command}"
        );
    }
}
