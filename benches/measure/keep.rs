//! `benches/RESULTS.md` and its picture.

use super::options::Options;
use super::run::Run;
use super::{picture, table};
use std::fs;
use std::path::Path;
use std::process::Command;

/// Newer results stand below this line, above older ones.
const MARK: &str = "<!-- newest first -->\n";

/// Adds the runs to the results and draws them.
pub fn results(options: &Options, runs: &[Run]) -> Result<(), Box<dyn std::error::Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches");
    let path = folder.join("RESULTS.md");
    let old = fs::read_to_string(&path)?;
    let (head, rest) = (old.split_once(MARK)).ok_or(format!("no line {MARK:?} in RESULTS.md"))?;
    let new = format!(
        "{head}{MARK}\n## {}\n\n{}\n\n![best total over time](results.svg)\n\n{}{rest}",
        headline(),
        settings(options),
        table::text(runs)
    );
    fs::write(folder.join("results.svg"), picture::svg(runs)?)?;
    // The picture is of the newest runs alone.
    let picture = "![best total over time](results.svg)\n\n";
    let (newest, older) = new.split_at(new.find(picture).unwrap_or(0) + picture.len());
    fs::write(path, newest.to_owned() + &older.replace(picture, ""))?;
    Ok(())
}

/// Date, commit, machine.
fn headline() -> String {
    let now = jiff::Timestamp::now().to_string();
    let date: String = now.chars().take(10).collect();
    let commit = git(&["rev-parse", "--short", "HEAD"]);
    let changes = git(&["status", "--porcelain", "--", "src", "Cargo.lock"]);
    let changed = if changes.is_empty() {
        ""
    } else {
        " with changes"
    };
    format!("{date}, commit {commit}{changed}, {}", machine())
}

fn git(words: &[&str]) -> String {
    let output = Command::new("git").args(words).output();
    output.map_or(String::new(), |o| {
        String::from_utf8_lossy(&o.stdout).trim().to_owned()
    })
}

fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let info = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = info.lines().find(|line| line.starts_with("model name"));
    let model = model.and_then(|line| line.split(':').nth(1));
    let model = model.unwrap_or("unknown processor").trim();
    format!("{cores} cores of {model}")
}

fn settings(options: &Options) -> String {
    let ties = if options.totals {
        "the total alone"
    } else {
        "ties settled"
    };
    format!("{} threads, {ties}.", options.threads)
}
