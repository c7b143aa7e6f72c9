//! How long plans take, on generated projects, with the plain program beside it.
//!
//! `cargo bench --bench plan -- [--sizes 20,60] [--seeds 5] [--limits 10,60,2000:600]
//! [--plain 20,60] [--threads 2] [--totals] [--keep] [--from FILE] [--export FOLDER]`
//!
//! Each run has a process of its own, so that its memory is its own.

#[allow(dead_code)]
mod generate;
mod measure;
#[path = "../tests/support/plain.rs"]
mod plain;

use measure::options::{Options, Task, options};
use measure::run::{Model, Run};
use measure::{child, export, keep, table};
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> ExitCode {
    let task = match options(std::env::args().skip(1)) {
        Ok(task) => task,
        Err(problem) => {
            eprintln!("error: {problem}");
            return ExitCode::from(2);
        }
    };
    match act(&task) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn act(task: &Task) -> Outcome<()> {
    match task {
        Task::One(job) => {
            println!("{}", serde_json::to_string(&child::run(job))?);
            Ok(())
        }
        Task::Export(options, folder) => export::write(options, folder),
        Task::Show(options, file) => {
            let lines = fs::read_to_string(file)?;
            let runs = lines.lines().map(serde_json::from_str);
            show(options, &runs.collect::<Result<Vec<Run>, _>>()?)
        }
        Task::Measure(options) => show(options, &measure_all(options)?),
    }
}

fn show(options: &Options, runs: &[Run]) -> Outcome<()> {
    println!("{}", table::text(runs));
    if options.keep {
        keep::results(options, runs)?;
    }
    Ok(())
}

/// Every run of the options; each is kept as a line of a file as soon as it is there.
fn measure_all(options: &Options) -> Outcome<Vec<Run>> {
    let folder = tempfile::tempdir()?;
    let lines = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/plan-runs.jsonl");
    let mut kept = fs::File::create(&lines)?;
    let mut runs = Vec::new();
    for &size in &options.sizes {
        for seed in 1..=options.seeds {
            let project = folder.path().join(format!("{size}-{seed}"));
            generate::write_project(&project, seed, size as usize)?;
            for (model, limit) in options.jobs(size) {
                let run = one(options, &project, (model, limit))?;
                let run = Run { size, seed, ..run };
                eprintln!("{}", table::line(&run));
                writeln!(kept, "{}", serde_json::to_string(&run)?)?;
                runs.push(run);
            }
        }
    }
    eprintln!("kept as {}", lines.display());
    Ok(runs)
}

/// One run in a process of its own.
fn one(options: &Options, project: &Path, (model, limit): (Model, u64)) -> Outcome<Run> {
    let output = Command::new(std::env::current_exe()?)
        .args(["--one", model.word()])
        .arg(project)
        .args([limit.to_string(), options.threads.to_string()])
        .args(options.totals.then_some("--totals"))
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()?;
    if !output.status.success() {
        // Killed for its memory, perhaps: a result too.
        return Ok(Run::broken(model, limit, &output.status.to_string()));
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}
