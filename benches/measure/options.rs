//! The words of the command line.

use super::run::{Job, Model};
use std::path::PathBuf;

/// What to do.
pub enum Task {
    /// Measure and show.
    Measure(Options),
    /// Show what was measured before.
    Show(Options, PathBuf),
    /// Write projects and their plain programs for other solvers.
    Export(Options, PathBuf),
    /// One run, in this process.
    One(Job),
}

/// What to measure.
pub struct Options {
    pub sizes: Vec<u64>,
    pub seeds: u64,
    /// Seconds that each plan may take; of one size alone where it is named.
    pub limits: Vec<(Option<u64>, u64)>,
    /// Sizes that the plain program is measured on.
    pub plain: Vec<u64>,
    pub threads: u32,
    /// Only the total matters, not which of several cheapest plans.
    pub totals: bool,
    /// Write RESULTS.md and its picture.
    pub keep: bool,
}

impl Options {
    /// The runs of a size: the program once for each limit, since its course
    /// depends on it; the plain program once with the longest that all sizes have.
    pub fn jobs(&self, size: u64) -> Vec<(Model, u64)> {
        let mut jobs: Vec<(Model, u64)> = (self.limits.iter())
            .filter(|(only, _)| only.is_none_or(|only| only == size))
            .map(|&(_, limit)| (Model::Couplet, limit))
            .collect();
        jobs.sort_by_key(|&(_, limit)| limit);
        if self.plain.contains(&size) {
            jobs.push((Model::Plain, self.plain_limit()));
        }
        jobs
    }

    /// The longest limit of all sizes.
    pub fn plain_limit(&self) -> u64 {
        let all = self.limits.iter().filter(|(only, _)| only.is_none());
        all.map(|&(_, limit)| limit).max().unwrap_or(60)
    }
}

/// Reads the command line.
pub fn options(mut words: impl Iterator<Item = String>) -> Result<Task, String> {
    let mut options = Options {
        sizes: vec![20, 60, 200, 1_000, 2_000],
        seeds: 5,
        limits: vec![(None, 10), (None, 60), (Some(200), 5), (Some(2_000), 600)],
        plain: vec![20, 60, 200],
        threads: 2,
        totals: false,
        keep: false,
    };
    let (mut from, mut to) = (None, None);
    while let Some(word) = words.next() {
        let mut value = || words.next().ok_or(format!("{word} needs a value"));
        match word.as_str() {
            "--sizes" => options.sizes = list(&value()?, number)?,
            "--seeds" => options.seeds = number(&value()?)?,
            "--limits" => options.limits = list(&value()?, limit)?,
            "--plain" => options.plain = list(&value()?, number)?,
            "--threads" => options.threads = number(&value()?)? as u32,
            "--totals" => options.totals = true,
            "--keep" => options.keep = true,
            "--from" => from = Some(value()?.into()),
            "--export" => to = Some(value()?.into()),
            "--one" => return one(words).map(Task::One),
            "--bench" => {} // what cargo passes
            _ => return Err(format!("unknown word {word}")),
        }
    }
    Ok(match (from, to) {
        (Some(file), _) => Task::Show(options, file),
        (None, Some(folder)) => Task::Export(options, folder),
        (None, None) => Task::Measure(options),
    })
}

/// Model, project, limit, threads, and perhaps `--totals`.
fn one(mut words: impl Iterator<Item = String>) -> Result<Job, String> {
    let mut next = || words.next().ok_or("--one needs four values".to_owned());
    Ok(Job {
        model: Model::from_word(&next()?)?,
        project: next()?.into(),
        limit: number(&next()?)?,
        threads: number(&next()?)? as u32,
        totals: words.next().is_some(),
    })
}

/// Numbers or limits with commas between; none for an empty text.
fn list<T>(text: &str, item: fn(&str) -> Result<T, String>) -> Result<Vec<T>, String> {
    text.split(',')
        .filter(|t| !t.is_empty())
        .map(item)
        .collect()
}

fn number(text: &str) -> Result<u64, String> {
    text.parse().map_err(|e| format!("{text}: {e}"))
}

/// `60`, or `2000:600` for one size.
fn limit(text: &str) -> Result<(Option<u64>, u64), String> {
    match text.split_once(':') {
        Some((size, limit)) => Ok((Some(number(size)?), number(limit)?)),
        None => Ok((None, number(text)?)),
    }
}
