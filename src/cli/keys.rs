//! `couplet keys`.

use super::args::{Format, Keys as Args};
use super::output::Terminal;
use super::record;
use couplet::report::keys as report;
use couplet::study::failure::Failure;

/// Shows the keying map of a plan.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::on_record(&args.project, args.plan.as_deref());
    record::open(&desk, "rely on the plan", terminal)?;
    let map = desk.paper()?.keys_of(args.machine.as_deref())?;
    match args.format {
        Format::Table => terminal.print(&report::text(&map, terminal.width)),
        Format::Csv => terminal.print(&report::table(&map).csv().map_err(Failure::output)?),
        Format::Json => terminal.print(&report::json(&map).map_err(Failure::output)?),
    }
}
