//! What commands that solve several plans share.

use super::args::Work;
use super::files::Target;
use super::glue::Job;
use super::output::Terminal;
use super::progress::Of;
use couplet::desk::Desk;
use couplet::limit::Limit;
use couplet::study::failure::Failure;

/// Writes a picture of what was found, unless Ctrl-C cut it short. Standard output is
/// given one thing, so the result goes there only if the picture does not.
pub fn shown(
    picture: Option<(&Target, String)>,
    result: impl FnOnce() -> Result<String, Failure>,
    terminal: &Terminal,
) -> Result<(), Failure> {
    if let Some((target, svg)) = picture {
        match target.file() {
            _ if !terminal.stop.is_asked() => target.put(&svg, terminal)?,
            Some(file) => terminal.note(format!("{} was not written", file.display())),
            None => terminal.note("the picture was not written"),
        }
        if *target == Target::Output {
            return Ok(());
        }
    }
    terminal.print(&result()?)
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
