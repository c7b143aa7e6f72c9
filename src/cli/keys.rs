//! `couplet keys`.

use super::args::{Format, Keys as Args};
use super::error::CliError;
use super::output::Terminal;
use super::record;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::report::keys as report;
use couplet::study::keys::{KeyMap, key_map};

/// Shows the keying map of a plan.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let on = record::open(&args.project, args.plan.as_deref(), "rely on it", terminal)?;
    let map = map(&on.input, &on.plan)?;
    match args.format {
        Format::Table => terminal.print(&report::text(&map, terminal.width)),
        Format::Csv => terminal.print(&report::table(&map).csv().map_err(CliError::output)?),
        Format::Json => terminal.print(&report::json(&map).map_err(CliError::output)?),
    }
}

/// The keying map of a plan of this catalog.
pub fn map(input: &Input, plan: &Plan) -> Result<KeyMap, CliError> {
    key_map(input, plan).map_err(|unknown| CliError::Read {
        message: unknown.to_string(),
        help: "run couplet plan again".to_owned(),
    })
}
