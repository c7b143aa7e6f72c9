//! What the commands share that solve several plans.

use super::args::Work;
use super::error::CliError;
use super::files;
use super::glue;
use super::output::Terminal;
use super::progress::Meter;
use couplet::input::Input;
use couplet::limit::{Doing, Limit};
use couplet::study::answer::StudyError;
use std::path::Path;

/// A place that can't be written fails before the work.
pub fn writable(path: Option<&Path>) -> Result<(), CliError> {
    path.map_or(Ok(()), files::writable)
}

/// Writes a picture of what was found, unless Ctrl-C cut it short.
pub fn picture(path: &Path, svg: &str, terminal: &Terminal) -> Result<(), CliError> {
    if terminal.stop.is_asked() {
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
    study: impl FnOnce(&Limit) -> Result<R, StudyError>,
) -> Result<R, CliError> {
    let meter = Meter::new(&input.settings.currency, terminal);
    let shown = meter.clone();
    let limit = glue::limit(work.time_limit, work.threads, terminal);
    let limit = limit.doing(Doing::Studying);
    let result = study(&limit.told_to(move |now| shown.show_study(now)));
    meter.finish();
    let meter = Meter::new(&input.settings.currency, terminal);
    let result = result.map_err(|error| match error {
        StudyError::Limits => glue::explained(input, &limit, &meter),
        error => error.into(),
    });
    meter.finish();
    if result.is_ok() && terminal.stop.is_asked() {
        terminal.note("stopped by Ctrl-C: this is what was found so far");
    }
    result
}
