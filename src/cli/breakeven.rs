//! `couplet breakeven`.

use super::args::{Breakeven as Args, Format};
use super::error::CliError;
use super::output::Terminal;
use super::{record, study};
use couplet::catalog::PartId;
use couplet::input::Input;
use couplet::report::{breakeven as report, picture};
use couplet::study::breakeven::breakeven;

/// Finds how far each price can move, and shows it.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    study::writable(args.svg.as_deref())?;
    let (input, record) = record::read(&args.project, &args.read, terminal)?;
    let only = args
        .part
        .as_deref()
        .map(|code| part(&input, code))
        .transpose()?;
    let found = study::run(&input, &args.work, terminal, |limit| {
        breakeven(&input, only, limit, record.as_ref())
    })?;
    if let (Some(code), true) = (&args.part, found.ranges.is_empty()) {
        terminal.note(format!("the cheapest plan does not buy {code}"));
    }
    if let Some(path) = &args.svg {
        let svg = picture::breakeven(&found).map_err(CliError::output)?;
        study::picture(path, &svg, terminal)?;
    }
    match args.format {
        Format::Table => terminal.print(&report::text(&found, terminal.width)),
        Format::Csv => terminal.print(&report::table(&found).csv().map_err(CliError::output)?),
        Format::Json => terminal.print(&report::json(&found).map_err(CliError::output)?),
    }
}

fn part(input: &Input, code: &str) -> Result<PartId, CliError> {
    input.catalog.find(code).ok_or_else(|| CliError::Usage {
        message: format!("there is no part {code:?} in the catalog"),
        help: "see couplet parts for the codes".to_owned(),
    })
}
