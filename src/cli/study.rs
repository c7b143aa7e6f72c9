//! What the commands share that solve several plans.

use super::args::Work;
use super::error::CliError;
use super::files;
use super::glue;
use super::interrupt;
use super::output::Terminal;
use super::progress::Meter;
use couplet::input::Input;
use couplet::study::answer::{Effort, Step, StudyError};
use std::path::Path;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex};
use std::time::Instant;

/// A place that can't be written fails before the work.
pub fn writable(path: Option<&Path>) -> Result<(), CliError> {
    path.map_or(Ok(()), files::writable)
}

/// Writes a picture of what was found, unless Ctrl-C cut it short.
pub fn picture(path: &Path, svg: &str, terminal: &Terminal) -> Result<(), CliError> {
    if interrupt::is_asked() {
        terminal.note(format!("{} was not written", path.display()));
        return Ok(());
    }
    files::write(path, svg)
}

/// Runs a study: with progress, within the time, and with what there is so far
/// on Ctrl-C.
pub fn run<R>(
    input: &Input,
    work: &Work,
    terminal: &Terminal,
    study: impl FnOnce(&Effort) -> Result<R, StudyError>,
) -> Result<R, CliError> {
    let begun = Instant::now();
    let meter = Mutex::new(Meter::new(&input.settings.currency, terminal));
    let tell = |step: Step| {
        if let Ok(mut meter) = meter.lock() {
            meter.show_study(begun.elapsed(), &step);
        }
    };
    let threads = work.threads.unwrap_or_else(glue::cores) as usize;
    let mut effort = Effort::new(threads, &tell);
    effort.until = work.time_limit.map(|limit| begun + limit);
    effort.stop = interrupt::flag();
    let stop = Arc::clone(&effort.stop);
    let result = study(&effort);
    if let Ok(meter) = meter.lock() {
        meter.finish();
    }
    let mut meter = Meter::new(&input.settings.currency, terminal);
    let result = result.map_err(|error| failed(error, input, work, &mut meter));
    meter.finish();
    if result.is_ok() && stop.load(Ordering::Relaxed) {
        terminal.note("stopped by Ctrl-C: this is what was found so far");
    }
    result
}

fn failed(error: StudyError, input: &Input, work: &Work, meter: &mut Meter) -> CliError {
    let limits = glue::Limits {
        time: work.time_limit,
        threads: work.threads,
        ..glue::Limits::default()
    };
    match error {
        StudyError::Limits => glue::explained(input, &limits, meter),
        error => error.into(),
    }
}
