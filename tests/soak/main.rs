//! Random projects of 1 to 12 circuits, in files with every column and option,
//! through the whole program: planned, planned again and with two threads,
//! audited, priced, re-priced, explained, ordered, delivered, put on paper.
//!
//! `COUPLET_SOAK=2000` looks at so many, `COUPLET_SOAK_FROM=300` begins at that seed.

mod files;
mod project;
#[path = "../support/mod.rs"]
mod support;

use couplet::audit::audit;
use couplet::input::{LoadOptions, load};
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// How many are looked at unless the environment says.
const FEW: u64 = 30;

/// Seconds for each search; what takes longer is not compared.
const LIMIT: &str = "10";

#[derive(Debug, Default)]
struct Seen {
    planned: u32,
    not_proven: u32,
    no_plan: u32,
    repriced: u32,
    placed: u32,
    explained: u32,
    documents: u32,
}

fn from_env(name: &str, otherwise: u64) -> u64 {
    match std::env::var(name) {
        Ok(text) => text.parse().expect("a whole number"),
        Err(_) => otherwise,
    }
}

#[test]
fn random_projects_go_through_the_whole_program() {
    let (from, count) = (
        from_env("COUPLET_SOAK_FROM", 0),
        from_env("COUPLET_SOAK", FEW),
    );
    let mut seen = Seen::default();
    for seed in from..from + count {
        let folder = tempfile::tempdir().unwrap();
        Soak {
            folder: folder.path(),
            seed,
        }
        .go(&mut seen);
        if count > FEW && seed % 50 == 49 {
            eprintln!("to seed {seed}: {seen:?}");
        }
    }
    eprintln!("{count} projects: {seen:?}");
    if count >= FEW {
        assert!(seen.planned > 0 && seen.no_plan > 0 && seen.repriced > 0);
        assert!(seen.placed > 0 && seen.explained > 0 && seen.documents > 0);
    }
}

struct Soak<'a> {
    folder: &'a Path,
    seed: u64,
}

impl Soak<'_> {
    fn go(&self, seen: &mut Seen) {
        let circuits = project::write(&self.folder.join("p"), self.seed);
        self.run(&["check", "p"], &[0]);
        let plan = ["plan", "p", "--time-limit", LIMIT, "--threads", "1"];
        let code = self.run(&plan, &[0, 3, 4]);
        if code != 0 {
            seen.no_plan += 1;
            return;
        }
        seen.planned += 1;
        self.audited(None);
        self.same_again(seen);
        self.explained(&circuits, seen);
        self.documents(seen);
        self.repriced(seen);
        self.placed(seen);
    }

    /// Runs a command: it ends with one of these, without a word of a defect.
    fn run(&self, args: &[&str], codes: &[i32]) -> i32 {
        let output = self.output(args);
        let said = String::from_utf8_lossy(&output.stderr);
        let code = output.status.code();
        let is_known = code.is_some_and(|code| codes.contains(&code));
        let seed = self.seed;
        assert!(is_known, "seed {seed}, {args:?}: {code:?}\n{said}");
        assert!(
            !said.contains("panicked") && !said.contains("defect"),
            "seed {seed}: {said}"
        );
        code.unwrap_or_default()
    }

    fn output(&self, args: &[&str]) -> Output {
        Command::new(assert_cmd::cargo::cargo_bin("couplet"))
            .current_dir(self.folder)
            .args(args)
            .arg("--quiet")
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    fn record(&self, name: &str) -> String {
        fs::read_to_string(self.folder.join("p").join(name)).unwrap()
    }

    /// The record passes its audit against the files, read anew.
    fn audited(&self, prices: Option<&str>) {
        let project = self.folder.join("p");
        let options = LoadOptions {
            prices: prices.map(|file| self.folder.join(file)),
            as_of: None,
        };
        let input = load(&project, &options).input.expect("a sound project");
        let plan = couplet::plan::read(&project.join("plan.json")).unwrap();
        assert_eq!(audit(&input, &plan), [], "seed {}", self.seed);
    }

    /// The same bytes on a second run, and with two threads.
    fn same_again(&self, seen: &mut Seen) {
        let first = self.record("plan.json");
        if !first.contains("\"status\": \"optimal\"") {
            seen.not_proven += 1;
            return;
        }
        for threads in ["1", "2"] {
            let again = ["plan", "p", "--out", "p/again.json", "--threads", threads];
            self.run(&again, &[0]);
            let second = self.record("again.json");
            assert!(first == second, "seed {}, {threads} threads", self.seed);
            fs::remove_file(self.folder.join("p/again.json")).unwrap();
        }
    }

    fn explained(&self, circuits: &[String], seen: &mut Seen) {
        let circuit = &circuits[self.seed as usize % circuits.len()];
        let why = ["why", "p", circuit, "--time-limit", "2"];
        // A circuit without any connector has nothing to explain.
        if self.run(&why, &[0, 2]) == 0 {
            seen.explained += 1;
        }
    }

    fn documents(&self, seen: &mut Seen) {
        for args in [
            &["order", "p", "--format", "csv"][..],
            &["order", "p", "--format", "json"],
            &["keys", "p"],
            &["parts", "p", "--used-by", "p/plan.json"],
            &["kit", "p", "--format", "json"],
            &["labels", "p"],
            &["cards", "p", "--out", "cards.html"],
            &["report", "p", "--out", "report.html"],
            &["order", "p", "--xlsx", "order.xlsx"],
        ] {
            self.run(args, &[0]);
        }
        seen.documents += 1;
        // Studies solve many plans, so they are for some alone.
        if self.seed % 5 == 0 {
            for study in ["consolidate", "budget", "breakeven"] {
                self.run(&[study, "p", "--time-limit", "2"], &[0, 3, 4]);
            }
        }
    }

    fn repriced(&self, seen: &mut Seen) {
        project::other_prices(self.folder, self.seed);
        let args = ["reprice", "p", "--prices", "new.csv", "--time-limit", LIMIT];
        self.run(&["prices", "p/old.csv", "new.csv"], &[0]);
        if self.run(&args, &[0, 3, 4]) == 0 {
            seen.repriced += 1;
            self.audited(Some("new.csv"));
            let check = [&args[..], &["--check"]].concat();
            self.run(&check, &[0, 6]);
        }
    }

    /// The order is placed, a part of it comes, and what is left is planned anew.
    fn placed(&self, seen: &mut Seen) {
        let plan = ["plan", "p", "--time-limit", LIMIT];
        if self.run(&plan, &[0, 3, 4]) != 0 {
            return;
        }
        self.run(&["order", "p", "--place", "--on", "2026-02-03"], &[0]);
        let ordered = self.folder.join("p/ordered.csv");
        let Ok(text) = fs::read_to_string(ordered) else {
            return;
        };
        let code = text
            .lines()
            .nth(1)
            .and_then(|l| l.split([',', ';', '\t']).next());
        let args = [
            "receive",
            "p",
            "--part",
            code.expect("a line"),
            "--qty",
            "1",
        ];
        self.run(&[&args[..], &["--on", "2026-02-20"]].concat(), &[0]);
        if self.run(&plan, &[0, 3, 4]) == 0 {
            self.audited(None);
            seen.placed += 1;
        }
    }
}
