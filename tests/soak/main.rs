//! Random projects of 1 to 12 circuits, in files with every column and option,
//! through the whole program: planned, planned again and with two threads,
//! audited, priced, re-priced, explained, ordered, delivered, put on paper.
//!
//! `COUPLET_SOAK=2000` looks at so many of all sizes, `COUPLET_SOAK_FROM=300`
//! begins at that seed; without it a few small ones are looked at.

mod files;
mod project;
#[path = "../support/mod.rs"]
mod support;

use couplet::audit::audit;
use couplet::input::{LoadOptions, load};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

/// How many are looked at unless the environment says, of so few circuits.
const FEW: usize = 14;
const SMALL: usize = 2;

/// Seconds for each search. What takes half of them is not compared: a tie may
/// be left unsettled for want of time, and another run has another clock.
const LIMIT: &str = "4";
const HALF: Duration = Duration::from_secs(2);
/// Seconds for each search that is compared with no other.
const BRIEF: &str = "0.5";

#[derive(Debug, Default)]
struct Seen {
    planned: u32,
    not_compared: u32,
    no_plan: u32,
    repriced: u32,
    placed: u32,
    explained: u32,
    documents: u32,
    /// Seeds whose plan has other bytes with two threads.
    other_with_two: Vec<u64>,
}

/// Seeds that have two plans of one worth, of which the solver finds another one
/// with two threads. To be empty.
const KNOWN_OTHER: &[u64] = &[];

fn from_env(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(text.parse().expect("a whole number"))
}

#[test]
fn random_projects_go_through_the_whole_program() {
    let from = from_env("COUPLET_SOAK_FROM").unwrap_or(0);
    let count = from_env("COUPLET_SOAK");
    let seeds: Vec<u64> = match count {
        Some(count) => (from..from + count).collect(),
        None => (from..)
            .filter(|s| project::circuits(*s) <= SMALL)
            .take(FEW)
            .collect(),
    };
    let mut seen = Seen::default();
    let spent = RefCell::default();
    for seed in seeds {
        let mut folder = tempfile::tempdir().unwrap();
        // What a failure was found on is left to look at.
        folder.disable_cleanup(count == Some(1));
        Soak {
            folder: folder.path(),
            seed,
            spent: &spent,
        }
        .go(&mut seen);
        if count.is_some() && seed % 10 == 9 {
            eprintln!("to seed {seed}: {seen:?}");
            eprintln!("seconds: {:.0?}", spent.borrow());
        }
    }
    eprintln!("{seen:?}");
    let new = |seed: &&u64| !KNOWN_OTHER.contains(seed);
    let others: Vec<&u64> = seen.other_with_two.iter().filter(new).collect();
    assert!(
        others.is_empty(),
        "other plans with two threads: {others:?}"
    );
    if count.is_none() {
        assert!(seen.planned > 0 && seen.no_plan > 0 && seen.repriced > 0);
        assert!(seen.placed > 0 && seen.explained > 0 && seen.documents > 0);
    }
}

/// Total, variants, pieces that are bought in all.
fn worth(record: &str) -> (String, usize, u64) {
    let plan: couplet::plan::Plan = serde_json::from_str(record).unwrap();
    let bought = plan.parts.iter().map(|p| p.bought).sum();
    (plan.cost.total.to_string(), plan.parts.len(), bought)
}

struct Soak<'a> {
    folder: &'a Path,
    seed: u64,
    /// Seconds that each command took in all.
    spent: &'a RefCell<BTreeMap<String, f64>>,
}

impl Soak<'_> {
    fn go(&self, seen: &mut Seen) {
        let circuits = project::write(&self.folder.join("p"), self.seed);
        self.run(&["check", "p"], &[0]);
        let plan = ["plan", "p", "--time-limit", LIMIT, "--threads", "1"];
        let begun = Instant::now();
        let code = self.run(&plan, &[0, 3, 4]);
        let takes = begun.elapsed();
        if code != 0 {
            seen.no_plan += 1;
            return;
        }
        seen.planned += 1;
        self.audited(None);
        self.same_again(takes, seen);
        self.explained(&circuits, seen);
        self.documents(seen);
        let list = self.repriced(seen);
        self.placed(list, seen);
    }

    /// Runs a command: it ends with one of these, without a word of a defect.
    fn run(&self, args: &[&str], codes: &[i32]) -> i32 {
        let begun = Instant::now();
        let output = self.output(args);
        let mut spent = self.spent.borrow_mut();
        *spent.entry(args[0].to_owned()).or_default() += begun.elapsed().as_secs_f64();
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
            ..LoadOptions::default()
        };
        let input = load(&project, &options).input.expect("a sound project");
        let plan = couplet::plan::read(&project.join("plan.json")).unwrap();
        assert_eq!(audit(&input, &plan), [], "seed {}", self.seed);
    }

    /// The same bytes on a second run, and with two threads.
    fn same_again(&self, takes: Duration, seen: &mut Seen) {
        let first = self.record("plan.json");
        if takes > HALF || !first.contains("\"status\": \"optimal\"") {
            seen.not_compared += 1;
            return;
        }
        for threads in ["1", "2"] {
            let again = ["plan", "p", "--out", "p/again.json", "--threads", threads];
            self.run(&again, &[0]);
            let second = self.record("again.json");
            if first != second {
                assert_eq!(threads, "2", "seed {}", self.seed);
                assert_eq!(worth(&first), worth(&second), "seed {}", self.seed);
                seen.other_with_two.push(self.seed);
            }
            fs::remove_file(self.folder.join("p/again.json")).unwrap();
        }
    }

    fn explained(&self, circuits: &[String], seen: &mut Seen) {
        let circuit = &circuits[self.seed as usize % circuits.len()];
        let why = ["why", "p", circuit, "--time-limit", "0.3"];
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
            &["compare", "p", "p/plan.json"],
            &[
                "compare",
                "p",
                "p",
                "--format",
                "html",
                "--out",
                "compare.html",
            ],
            &["labels", "p"],
            &["cards", "p", "--out", "cards.html"],
            &["report", "p", "--out", "report.html", "--no-frontier"],
            &["order", "p", "--xlsx", "order.xlsx"],
        ] {
            self.run(args, &[0]);
        }
        seen.documents += 1;
        // Studies solve many plans, so they are for some alone.
        if self.seed.is_multiple_of(25) {
            for study in ["consolidate", "budget", "breakeven"] {
                self.run(&[study, "p", "--time-limit", "2"], &[0, 3, 4]);
            }
            self.run(&["report", "p", "--out", "report.html"], &[0]);
        }
    }

    /// The list that the record has its prices from then, if it is another.
    fn repriced(&self, seen: &mut Seen) -> Option<&'static str> {
        project::other_prices(self.folder, self.seed);
        let args = ["reprice", "p", "--prices", "new.csv", "--time-limit", BRIEF];
        self.run(&["prices", "p/old.csv", "new.csv"], &[0]);
        if self.run(&args, &[0, 3, 4]) != 0 {
            return None;
        }
        seen.repriced += 1;
        self.audited(Some("new.csv"));
        let check = [&args[..], &["--check"]].concat();
        self.run(&check, &[0, 6]);
        // The old prices are not put back unasked.
        self.run(&["plan", "p"], &[2]);
        Some("new.csv")
    }

    /// The order that was placed is confirmed as it is, and comes: then of this order nothing
    /// is outstanding. All is put back.
    fn delivered(&self) {
        let ordered = self.folder.join("p/ordered.csv");
        let ours = fs::read_to_string(self.folder.join("ours.csv")).unwrap();
        let Some(before) = fs::read(&ordered).ok().filter(|_| ours.lines().count() > 1) else {
            return;
        };
        let open = || {
            let words = ["order", "p", "--outstanding", "--format", "csv"];
            String::from_utf8(self.output(&words).stdout).unwrap()
        };
        let count = |text: &str| text.lines().filter(|l| l.contains(",2026-02-03,")).count();
        let lines = ours.lines().count() - 1;
        assert_eq!(count(&open()), lines, "seed {}", self.seed);
        let confirm = ["order", "p", "--confirm", "ours.csv", "--on", "2026-02-03"];
        self.run(&confirm, &[0]);
        let receive = ["receive", "p", "--note", "ours.csv", "--on", "2026-02-20"];
        self.run(&[&receive[..], &["--check"]].concat(), &[6]);
        self.run(&receive, &[0]);
        // An older order of the same may have been filled first.
        let came = fs::read(&ordered).unwrap();
        assert_ne!(came, before, "seed {}", self.seed);
        fs::write(&ordered, before).unwrap();
    }

    /// The order is placed, a part of it comes, and what is left is planned anew.
    fn placed(&self, list: Option<&str>, seen: &mut Seen) {
        let mut plan = vec!["plan", "p", "--time-limit", BRIEF];
        plan.extend(list.iter().flat_map(|list| ["--prices", list]));
        if self.run(&plan, &[0, 3, 4]) != 0 {
            return;
        }
        let ours = self.output(&["order", "p", "--format", "csv"]);
        fs::write(self.folder.join("ours.csv"), ours.stdout).unwrap();
        self.run(&["order", "p", "--place", "--on", "2026-02-03"], &[0]);
        self.delivered();
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
            self.audited(list);
            seen.placed += 1;
        }
    }
}
