//! How long a plan takes where a project is built several times, against once.
//!
//! `cargo bench --bench series -- [PROJECT] [--copies 1,5,50] [--runs 3] [--threads 2]`
//!
//! All counts are planned in turn in each run, so that a busy machine is busy for all of
//! them. What is shown is each count's time against that of the first count in the same
//! run: the median over the runs.

use clap::Parser;
use couplet::diag::Row;
use couplet::fit::fit;
use couplet::input::{Input, LoadOptions, load};
use couplet::limit::Limit;
use couplet::project::{Machine, circuit_name};
use couplet::study::answer;
use couplet::units::Qty;
use std::path::PathBuf;
use std::time::{Duration, Instant};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

#[derive(Parser)]
struct Args {
    /// The project that is built
    #[arg(default_value = "examples/orchard-tractor")]
    project: PathBuf,
    /// How often it is built
    #[arg(long, value_delimiter = ',', default_value = "1,5,50")]
    copies: Vec<Qty>,
    /// How often each is planned
    #[arg(long, default_value_t = 3)]
    runs: usize,
    #[arg(long, default_value_t = 2)]
    threads: u32,
    /// Given by `cargo bench`
    #[arg(long, hide = true)]
    bench: bool,
}

fn main() -> Outcome<()> {
    let args = Args::parse();
    let loaded = load(&args.project, &LoadOptions::default());
    let Some(input) = loaded.input else {
        return Err(format!("{} has errors", args.project.display()).into());
    };
    let projects: Vec<Input> = args.copies.iter().map(|&n| series(&input, n)).collect();
    let mut ratios: Vec<Vec<f64>> = vec![Vec::new(); projects.len()];
    let mut totals = vec![String::new(); projects.len()];
    for _ in 0..args.runs.max(1) {
        let mut first = None;
        for (place, project) in projects.iter().enumerate() {
            let (took, total) = planned(project, args.threads)?;
            let first = *first.get_or_insert(took);
            ratios[place].push(took.as_secs_f64() / first.as_secs_f64());
            totals[place] = total;
        }
    }
    println!(
        "copies  time against {} (median of {})  total",
        args.copies[0], args.runs
    );
    for ((copies, of), total) in args.copies.iter().zip(&mut ratios).zip(totals) {
        of.sort_by(f64::total_cmp);
        println!("{copies:6}  {:.2}  {total}", of[of.len() / 2]);
    }
    Ok(())
}

/// The time to the proven plan, and what it comes to.
fn planned(input: &Input, threads: u32) -> Outcome<(Duration, String)> {
    let begun = Instant::now();
    let fit = fit(input)?;
    let limit = Limit::default().with_threads(threads);
    let found = answer::cheapest(input, &fit, &limit, None)?;
    let proven = if found.is_proven() {
        ""
    } else {
        ", not proven"
    };
    let total = format!("{} {}{proven}", found.total(), input.settings.currency);
    Ok((begun.elapsed(), total))
}

/// The project as a purchase of so many, with nothing on hand.
fn series(input: &Input, count: Qty) -> Input {
    let mut series = input.clone();
    series.machines = vec![Machine {
        name: "machine".to_owned(),
        project: ".".to_owned(),
        count,
        settings: input.settings.clone(),
        row: Row {
            file: "purchase.toml".into(),
            line: 1,
        },
    }];
    for circuit in &mut series.circuits {
        circuit.name = circuit_name("machine", &circuit.name);
        circuit.copies = count;
    }
    series.on_hand.clear();
    series
}
