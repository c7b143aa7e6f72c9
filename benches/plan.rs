//! How long plans take: the program as a user runs it, on generated projects.
//!
//! `cargo bench --bench plan -- [--sizes 20,60] [--seeds 5] [--limits 10,60]`

#[allow(dead_code)]
mod generate;

use serde_json::Value;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

/// What to measure.
struct Options {
    sizes: Vec<u64>,
    seeds: u64,
    /// Seconds that each plan may take.
    limits: Vec<u64>,
}

fn main() -> ExitCode {
    let options = match options(std::env::args().skip(1)) {
        Ok(options) => options,
        Err(problem) => {
            eprintln!("error: {problem}");
            return ExitCode::from(2);
        }
    };
    match measure(&options) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn options(mut words: impl Iterator<Item = String>) -> Result<Options, String> {
    let mut options = Options {
        sizes: vec![20, 60, 200, 1_000, 2_000],
        seeds: 5,
        limits: vec![10, 60],
    };
    while let Some(word) = words.next() {
        let mut numbers = || {
            let list = words.next().ok_or(format!("{word} needs a value"))?;
            let numbers = list.split(',').map(str::parse::<u64>);
            let numbers = numbers.collect::<Result<Vec<_>, _>>();
            numbers.map_err(|e| format!("{word} {list}: {e}"))
        };
        match word.as_str() {
            "--sizes" => options.sizes = numbers()?,
            "--seeds" => options.seeds = numbers()?[0],
            "--limits" => options.limits = numbers()?,
            "--bench" => {} // what cargo passes
            _ => return Err(format!("unknown word {word}")),
        }
    }
    Ok(options)
}

fn measure(options: &Options) -> std::io::Result<()> {
    let folder = tempfile::tempdir()?;
    println!("| circuits | seed | limit s | seconds | status | gap % | total |");
    println!("| ---: | ---: | ---: | ---: | --- | ---: | ---: |");
    for &size in &options.sizes {
        for seed in 1..=options.seeds {
            let project = folder.path().join(format!("{size}-{seed}"));
            generate::write_project(&project, seed, size as usize)?;
            for &limit in &options.limits {
                println!("| {size} | {seed} | {limit} | {} |", run(&project, limit)?);
            }
        }
    }
    Ok(())
}

/// Seconds, status, gap and total of one plan as cells of a table.
fn run(project: &Path, limit: u64) -> std::io::Result<String> {
    let record = project.join(format!("plan-{limit}.json"));
    let start = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_couplet"))
        .arg("plan")
        .arg(project)
        .args(["--time-limit", &limit.to_string(), "--out"])
        .arg(&record)
        .stdin(Stdio::null())
        .output()?;
    let seconds = start.elapsed().as_secs_f64();
    if !output.status.success() || !record.exists() {
        let last = String::from_utf8_lossy(&output.stderr);
        let last = last.lines().next().unwrap_or("no message").to_owned();
        return Ok(format!("{seconds:.2} | {}: {last} | | ", output.status));
    }
    let plan: Value = serde_json::from_slice(&std::fs::read(&record)?)?;
    let text = |value: &Value| value.as_str().unwrap_or("?").to_owned();
    Ok(format!(
        "{seconds:.2} | {} | {} | {}",
        text(&plan["status"]),
        plan["gap_percent"],
        text(&plan["cost"]["total"])
    ))
}
