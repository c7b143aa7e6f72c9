//! Where the commands meet the library: reading, planning, the record.

use super::error::CliError;
use super::progress::Best;
use couplet::audit;
use couplet::catalog::Catalog;
use couplet::diag::Findings;
use couplet::fit;
use couplet::input::{self, Input, LoadOptions};
use couplet::model::{self, Outcome, SolveOptions};
use couplet::plan::{self, Bound, Plan, PlanError};
use couplet::report::limits;
use jiff::civil::Date;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
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

/// Reads a project with its catalog; the findings hold all that is wrong.
pub fn load(project: &Path, instead: &Instead) -> (Option<Input>, Findings) {
    let options = LoadOptions {
        prices: instead.prices.clone(),
        as_of: instead.as_of,
    };
    let loaded = input::load(project, &options);
    (loaded.input, loaded.findings)
}

/// Reads a catalog folder.
pub fn load_catalog(folder: &Path) -> (Option<Catalog>, Findings) {
    let loaded = input::load_catalog(folder, None);
    (loaded.catalog, loaded.findings)
}

/// Fit, search, record and audit.
pub fn make_plan(
    input: &Input,
    limits: &Limits,
    show: &mut dyn FnMut(Best),
) -> Result<Plan, CliError> {
    let fit = fit::fit(input).map_err(|none| CliError::NoSet(none.to_string()))?;
    let options = SolveOptions {
        time_limit: limits.time,
        gap_percent: limits.gap_percent,
        threads: limits.threads.unwrap_or(SolveOptions::default().threads),
        ..SolveOptions::default()
    };
    let outcome = model::solve(input, &fit, &options, &mut |progress| {
        show(Best {
            total: progress.best,
            bound: progress.bound,
            elapsed: progress.elapsed,
        });
    })
    .map_err(|error| CliError::Solver(error.to_string()))?;
    match outcome {
        Outcome::Found {
            solution,
            bound,
            proven,
        } => {
            let bound = Bound {
                lower: bound,
                proven,
                wanted_gap: limits.gap_percent.and_then(Decimal::from_f64),
            };
            let plan = plan::record(input, &fit, &solution, bound).map_err(unpriced)?;
            audited(input, plan)
        }
        Outcome::Infeasible => Err(CliError::Limits(limits::in_force(input, &fit))),
        Outcome::Unknown => Err(CliError::OutOfTime),
    }
}

/// Numbers beyond exact decimals come from the input; all else is our defect.
pub fn unpriced(error: PlanError) -> CliError {
    match error {
        PlanError::TooLarge(_) => CliError::Read {
            message: error.to_string(),
            help: "make the prices or quantities smaller".to_owned(),
        },
        defect => CliError::Defect(vec![defect.to_string()]),
    }
}

/// A plan that fails its audit goes no further.
fn audited(input: &Input, plan: Plan) -> Result<Plan, CliError> {
    let found = audit::audit(input, &plan);
    if found.is_empty() {
        return Ok(plan);
    }
    Err(CliError::Defect(
        found.iter().map(ToString::to_string).collect(),
    ))
}

/// Reads a plan record.
pub fn read_plan(path: &Path) -> Result<Plan, CliError> {
    plan::read(path).map_err(|error| CliError::Read {
        message: error.to_string(),
        help: error.help().to_owned(),
    })
}

/// The plan record as it is written.
pub fn record_text(plan: &Plan) -> Result<String, CliError> {
    serde_json::to_string_pretty(plan)
        .map(|text| text + "\n")
        .map_err(CliError::output)
}

/// Writes a plan record.
pub fn write_plan(path: &Path, plan: &Plan) -> Result<(), CliError> {
    plan::write(path, plan).map_err(|error| CliError::Write {
        message: error.to_string(),
        help: Some(error.help().to_owned()),
    })
}
