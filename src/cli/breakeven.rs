//! `couplet breakeven`.

use super::args::{Breakeven as Args, Format};
use super::output::Terminal;
use super::{record, study};
use couplet::report::{breakeven as report, picture};
use couplet::study::failure::Failure;

/// Finds how far each price can move, and shows it.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    study::writable(args.svg.as_deref())?;
    let desk = record::studied(&args.project, &args.read);
    record::read(&desk, &args.read, terminal)?;
    let only = args.part.as_deref().map(|code| desk.part(code));
    let only = only.transpose()?;
    let found = study::run(&desk, &args.work, terminal, |limit| {
        desk.breakeven(only, limit)
    })?;
    if let (Some(code), true) = (&args.part, found.ranges.is_empty()) {
        terminal.note(format!("the cheapest plan does not buy {code}"));
    }
    if let Some(path) = &args.svg {
        let svg = picture::breakeven(&found).map_err(Failure::output)?;
        study::picture(path, &svg, terminal)?;
    }
    match args.format {
        Format::Table => terminal.print(&report::text(&found, terminal.width)),
        Format::Csv => terminal.print(&report::table(&found).csv().map_err(Failure::output)?),
        Format::Json => terminal.print(&report::json(&found).map_err(Failure::output)?),
    }
}
