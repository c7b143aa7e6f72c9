//! Where the commands meet the library: reading, planning, the record.

use super::error::CliError;
use super::files;
use super::progress::Best;
use couplet::catalog::Catalog;
use couplet::diag::{Diagnostic, Findings};
use couplet::input::Input;
use couplet::plan::Plan;
use jiff::civil::Date;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What is read in place of what the project says.
#[derive(Debug, Clone, Default)]
pub struct Instead {
    /// Price list.
    pub prices: Option<PathBuf>,
    /// Day of the plan.
    pub as_of: Option<Date>,
}

/// When the search may stop early, and what it may use.
#[derive(Debug, Clone, Copy, Default)]
pub struct Limits {
    /// With the best plan so far.
    pub time: Option<Duration>,
    /// Within so many percent of the cheapest.
    pub gap_percent: Option<f64>,
    /// Threads.
    pub threads: Option<u32>,
}

fn not_wired() -> CliError {
    CliError::Usage {
        message: "not wired yet".to_owned(),
        help: "wait for the merge".to_owned(),
    }
}

fn not_wired_findings() -> Findings {
    let mut findings = Findings::default();
    findings.push(Diagnostic::error(&"project.toml".into(), "not wired yet"));
    findings
}

/// Reads a project with its catalog; the findings hold all that is wrong.
pub fn load(_project: &Path, _instead: &Instead) -> (Option<Input>, Findings) {
    (None, not_wired_findings())
}

/// Reads a catalog folder.
pub fn load_catalog(_folder: &Path) -> (Option<Catalog>, Findings) {
    (None, not_wired_findings())
}

/// Fit, search, record and audit.
pub fn make_plan(
    _input: &Input,
    _limits: &Limits,
    _show: &mut dyn FnMut(Best),
) -> Result<Plan, CliError> {
    Err(not_wired())
}

/// Reads a plan record.
pub fn read_plan(path: &Path) -> Result<Plan, CliError> {
    let failed = |message: String| CliError::Read {
        message: format!("{}: {message}", path.display()),
        help: "make the plan first, or name the file where it is kept".to_owned(),
    };
    let text = std::fs::read_to_string(path).map_err(|e| failed(e.to_string()))?;
    serde_json::from_str(&text).map_err(|e| failed(format!("no plan record: {e}")))
}

/// The plan record as it is written.
pub fn record_text(plan: &Plan) -> Result<String, CliError> {
    serde_json::to_string_pretty(plan)
        .map(|text| text + "\n")
        .map_err(CliError::output)
}

/// Writes a plan record.
pub fn write_plan(path: &Path, plan: &Plan) -> Result<(), CliError> {
    files::write(path, &record_text(plan)?)
}
