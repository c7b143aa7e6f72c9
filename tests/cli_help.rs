//! Help, completions, man pages and the wrong command line, as a user meets them.

use assert_cmd::Command;

fn couplet(args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("couplet").unwrap().args(args).assert()
}

fn stdout(args: &[&str]) -> String {
    let output = couplet(args).success().get_output().clone();
    assert!(output.stderr.is_empty(), "{args:?}");
    String::from_utf8(output.stdout).unwrap()
}

const COMMANDS: [&str; 17] = [
    "check",
    "plan",
    "order",
    "receive",
    "parts",
    "take",
    "prices",
    "new",
    "completions",
    "man",
    "report",
    "kit",
    "cards",
    "labels",
    "schema",
    "trial",
    "compare",
];

#[test]
fn every_command_has_help_with_examples() {
    for command in COMMANDS {
        let help = stdout(&[command, "--help"]);
        assert!(
            help.contains(&format!("Usage: couplet {command}")),
            "{help}"
        );
        assert!(help.contains(&format!("\n  couplet {command}")), "{help}");
    }
}

#[test]
fn the_help_of_a_command_says_more_than_the_list() {
    for (command, more) in [
        ("check", "in one run"),
        ("plan", "The exit status is 0 for a plan"),
        ("order", "would run as a formula"),
        ("order", "lists/SUPPLIER.confirmation.toml"),
        ("order", "The exit status is 6 if something differs"),
        ("receive", "lists/SUPPLIER.delivery.toml"),
        ("receive", "couplet receive boat --note note.xlsx"),
        ("new", "The data is invented"),
        ("prices", "couplet prices boat --history"),
    ] {
        // Where a line of the help ends depends on the width of the terminal.
        let help = stdout(&[command, "--help"]);
        let words: Vec<&str> = help.split_whitespace().collect();
        assert!(words.join(" ").contains(more), "{command}: {more}");
    }
}

#[test]
fn help_names_every_command_and_exit_status() {
    let help = stdout(&["--help"]);
    for command in COMMANDS {
        assert!(help.contains(&format!("\n  {command}")), "{command}");
    }
    for status in 0..=5 {
        assert!(help.contains(&format!("\n  {status}  ")), "{status}");
    }
}

#[test]
fn a_wrong_command_line_is_status_2() {
    for args in [
        &["plan"][..],
        &["plann", "boat"],
        &["plan", "boat", "--gap", "101"],
        &["plan", "boat", "--time-limit", "0"],
        &["plan", "boat", "--threads", "0"],
        &["plan", "boat", "--as-of", "2025-02-30"],
        &["parts"],
        &["parts", "boat", "--catalog", "catalog"],
        &["parts", "boat", "--gauge", "70"],
        &["parts", "boat", "--kind", "backshell"],
        &["order", "boat", "--out-dir", "x", "--format", "json"],
        &["prices", "a.csv"],
        &["prices", "a.csv", "b.csv", "--history"],
        &["prices", "a.csv", "b.csv", "--part", "P"],
        &["prices", "boat", "--history", "--plan", "boat"],
        &["prices", "boat", "--history", "--svg", "p.svg"],
        &["completions", "dos"],
        &["schema", "plann"],
        &[],
    ] {
        let output = couplet(args).code(2).get_output().clone();
        assert!(output.stdout.is_empty(), "{args:?}");
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn completions_know_the_options() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = stdout(&["completions", shell]);
        assert!(script.contains("time-limit"), "{shell}");
    }
}

#[test]
fn man_pages_come_from_the_same_definitions() {
    let page = stdout(&["man"]);
    assert!(page.contains(".TH couplet 1"), "{page}");
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("man1");
    stdout(&["man", "--out-dir", pages.to_str().unwrap()]);
    for command in COMMANDS {
        let page = std::fs::read_to_string(pages.join(format!("couplet-{command}.1"))).unwrap();
        assert!(page.contains("Examples"), "{command}");
    }
}
