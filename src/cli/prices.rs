//! `couplet prices`.

use super::args::{Format, Prices as Args};
use super::error::CliError;
use super::glue;
use super::output::Terminal;
use couplet::catalog::read::price_lists;
use couplet::diag::Findings;
use couplet::report::prices as report;
use couplet::study::prices::{Kind, compare};

/// Compares two price lists.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let plan = match &args.plan {
        Some(path) if path.is_dir() => Some(glue::read_plan(&path.join("plan.json"))?),
        Some(path) => Some(glue::read_plan(path)?),
        None => None,
    };
    let mut findings = Findings::default();
    let Some(lists) = price_lists(&args.old, &args.new, &mut findings) else {
        return Err(CliError::Input(findings));
    };
    if !findings.is_empty() {
        terminal.findings(&findings);
    }
    let compared = compare(&lists, plan.as_ref());
    let changed = || compared.iter().filter(|one| one.kind != Kind::Unchanged);
    let text = match args.format {
        Format::Table => report::text(&compared, terminal.width),
        Format::Csv => report::table(changed()).csv().map_err(CliError::output)?,
        Format::Json => {
            let changed: Vec<_> = changed().collect();
            serde_json::to_string_pretty(&changed).map_err(CliError::output)? + "\n"
        }
    };
    terminal.print(&text)
}
