//! `couplet prices --history`.

use super::args::{Format, HERE, Prices as Args};
use super::files::Target;
use super::output::Terminal;
use super::study;
use couplet::desk::{Own, history};
use couplet::report::{history as report, picture};
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::path::Path;

/// Shows how prices changed over time.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let place = args.old.as_deref().unwrap_or(Path::new(HERE));
    let files = Files::on_disk();
    let svg = Target::if_named(args.svg.as_deref(), &Own::of(&files, place))?;
    let part = args.part.as_deref();
    let courses = history(&files, place, part)?;
    let picture = (svg.as_ref().zip(part))
        .map(|(to, part)| picture::history(part, &courses).map(|svg| (to, svg)));
    let picture = picture.transpose().map_err(Failure::output)?;
    let result = || match args.format {
        Format::Table => Ok(report::text(&courses, part, terminal.width)),
        Format::Csv => report::table(&courses).csv().map_err(Failure::output),
        Format::Json => Ok(serde_json::to_string_pretty(&courses).map_err(Failure::output)? + "\n"),
    };
    study::shown(picture, result, terminal)
}
