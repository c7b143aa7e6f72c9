//! `couplet prices --history`.

use super::args::{Format, HERE, Prices as Args};
use super::output::Terminal;
use super::study;
use couplet::desk::history;
use couplet::report::{history as report, picture};
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::path::Path;

/// Shows how prices changed over time.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    study::writable(args.svg.as_deref())?;
    let place = args.old.as_deref().unwrap_or(Path::new(HERE));
    let part = args.part.as_deref();
    let courses = history(&Files::on_disk(), place, part)?;
    if let (Some(path), Some(part)) = (&args.svg, part) {
        let svg = picture::history(part, &courses).map_err(Failure::output)?;
        study::picture(path, &svg, terminal)?;
    }
    terminal.print(&match args.format {
        Format::Table => report::text(&courses, part, terminal.width),
        Format::Csv => report::table(&courses).csv().map_err(Failure::output)?,
        Format::Json => serde_json::to_string_pretty(&courses).map_err(Failure::output)? + "\n",
    })
}
