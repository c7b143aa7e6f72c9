//! The programs that plans, ties, proofs and studies hand to the solver, as files.
//!
//! `cargo bench --bench programs -- FOLDER [--random 600] [--generated 12:5,20:3]
//! [--project DIR]`
//!
//! One free MPS file for each, the same program once. `benches/versions.py` solves
//! them with several versions of the solver and compares what these say.

#[allow(dead_code)]
mod generate;
#[path = "../tests/support/mod.rs"]
mod support;

use clap::Parser;
use couplet::fit::fit;
use couplet::input::{Input, LoadOptions, load};
use couplet::limit::Limit;
use couplet::model::{Question, solve};
use couplet::solve::{Engine, Highs, Program, Pulse, SolveError, Solved, Solver, Task, mps};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use support::random;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

#[derive(Parser)]
struct Args {
    /// Where the files go
    folder: PathBuf,
    /// Random projects, half of them with money as the world has it
    #[arg(long, default_value_t = 600)]
    random: u64,
    /// Generated projects: circuits and number of each, or an empty word
    #[arg(long, default_value = "12:5,20:3")]
    generated: String,
    /// A project on disk
    #[arg(long)]
    project: Vec<PathBuf>,
    /// Seconds for each project
    #[arg(long, default_value_t = 60)]
    limit: u64,
    /// Given by `cargo bench`
    #[arg(long, hide = true)]
    bench: bool,
}

/// Solves, and keeps what it was asked.
#[derive(Debug)]
struct Keeper {
    folder: PathBuf,
    project: String,
    seen: Arc<Mutex<BTreeSet<[u8; 32]>>>,
}

impl Engine for Keeper {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        // A second witness has the same program in another order.
        if !task.proof && !program.vars.is_empty() {
            self.keep(program);
        }
        Highs.solve(program, task, report)
    }
}

impl Keeper {
    fn keep(&self, program: &Program) {
        let text = mps(program);
        let hash: [u8; 32] = Sha256::digest(text.as_bytes()).into();
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        if seen.insert(hash) {
            let name = format!("{:05}-{}.mps", seen.len(), self.project);
            if let Err(problem) = fs::write(self.folder.join(&name), text) {
                eprintln!("error: {name}: {problem}");
            }
        }
    }
}

fn main() -> Outcome<()> {
    let args = Args::parse();
    fs::create_dir_all(&args.folder)?;
    let seen = Arc::default();
    let keep = |project: String, input: &Input| -> Outcome<()> {
        let keeper = Keeper {
            folder: args.folder.clone(),
            project,
            seen: Arc::clone(&seen),
        };
        programs(input, keeper, Duration::from_secs(args.limit))
    };
    for seed in (0..args.random / 2).flat_map(|n| [n, random::WORLDLY + n]) {
        keep(format!("random-{seed}"), &random::project(seed).0)?;
    }
    for sizes in args.generated.split(',').filter(|word| !word.is_empty()) {
        let (circuits, projects) = sizes.split_once(':').ok_or("circuits:projects")?;
        let circuits: usize = circuits.parse()?;
        for seed in 1..=projects.parse()? {
            let folder = args.folder.join(format!("{circuits}-{seed}"));
            generate::write_project(&folder, seed, circuits)?;
            keep(format!("generated-{circuits}-{seed}"), &read(&folder)?)?;
        }
    }
    for folder in &args.project {
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        keep(name.into_owned(), &read(folder)?)?;
    }
    let seen = seen.lock().unwrap_or_else(PoisonError::into_inner);
    println!("{} programs in {}", seen.len(), args.folder.display());
    Ok(())
}

fn read(folder: &Path) -> Outcome<Input> {
    let loaded = load(folder, &LoadOptions::default());
    Ok(loaded
        .input
        .ok_or_else(|| format!("{}: the project has errors", folder.display()))?)
}

/// The plain program, and all that planning asks.
fn programs(input: &Input, keeper: Keeper, limit: Duration) -> Outcome<()> {
    let Ok(fit) = fit(input) else { return Ok(()) };
    keeper.keep(&support::plain::program(input, &fit));
    let question = Question {
        solver: Solver {
            engine: Arc::new(keeper),
            ..Solver::default()
        },
        ..Question::default()
    };
    solve(input, &fit, &question, &Limit::default().within(limit))?;
    Ok(())
}
