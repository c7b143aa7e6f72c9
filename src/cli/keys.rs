//! `couplet keys`.

use super::args::{Format, Keys as Args};
use super::error::CliError;
use super::files;
use super::glue::{self, Instead};
use super::output::Terminal;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::report::diagnostics::Message;
use couplet::report::keys as report;
use couplet::report::wording::list;
use couplet::study::keys::{KeyMap, key_map};
use std::path::{Path, PathBuf};

/// Shows the keying map of a plan.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let plan = glue::read_plan(&record(&args.project, args.plan.as_ref()))?;
    let input = match glue::load(&args.project, &Instead::default()) {
        (Some(input), findings) if !findings.has_errors() => input,
        (_, findings) => return Err(CliError::Input(findings)),
    };
    warn_of_changes(&args.project, &plan, terminal);
    let map = map(&input, &plan)?;
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

/// The record's path.
pub fn record(project: &Path, plan: Option<&PathBuf>) -> PathBuf {
    match plan {
        Some(path) => path.clone(),
        None => files::folder(project).join("plan.json"),
    }
}

fn warn_of_changes(project: &Path, plan: &Plan, terminal: &Terminal) {
    let changed = files::changed_inputs(project, plan);
    if changed.is_empty() {
        return;
    }
    let verb = if changed.len() == 1 { "is" } else { "are" };
    terminal.warning(&Message {
        text: format!("{} {verb} not as when the plan was made", list(&changed)),
        help: Some("run couplet plan again before you rely on it".to_owned()),
        ..Message::default()
    });
}
