//! What commands that solve several plans share.

use super::args::Work;
use super::files;
use super::glue::Job;
use super::output::Terminal;
use super::progress::Of;
use couplet::desk::Desk;
use couplet::limit::Limit;
use couplet::study::failure::Failure;
use std::path::Path;

/// A place that can't be written fails before the work.
pub fn writable(path: Option<&Path>) -> Result<(), Failure> {
    path.map_or(Ok(()), files::writable)
}

/// Writes a picture of what was found, unless Ctrl-C cut it short.
pub fn picture(path: &Path, svg: &str, terminal: &Terminal) -> Result<(), Failure> {
    if terminal.stop.is_asked() {
        terminal.note(format!("{} was not written", path.display()));
        return Ok(());
    }
    files::write(path, svg)
}

/// Runs a study: with progress, within the time, and with what there is so far
/// on Ctrl-C.
pub fn run<R>(
    desk: &Desk,
    work: &Work,
    terminal: &Terminal,
    study: impl FnOnce(&Limit) -> Result<R, Failure>,
) -> Result<R, Failure> {
    let search = Job::new(Of::Study, desk, work.time_limit, work.threads, terminal)?;
    let result = study(&search.limit);
    search.finish();
    if result.is_ok() && terminal.stop.is_asked() {
        terminal.note("stopped by Ctrl-C: the result is what was found so far");
    }
    result
}
