//! `couplet budget`.

use super::args::{Budget as Args, Format};
use super::error::CliError;
use super::output::Terminal;
use super::{record, study};
use couplet::catalog::Kind;
use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::plan::Plan;
use couplet::report::wording::list;
use couplet::report::{budget as report, picture};
use couplet::study::answer::{self, StudyError};
use couplet::study::budget::{Rise, RiseOf, Rising, Savings, against, breakdown, rise, savings};
use couplet::study::recall::Trust;
use couplet::units::Percent;

/// Plans, divides the total, looks for savings where it is over the limit.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    study::writable(args.svg.as_deref())?;
    let (input, record) = record::read(&args.project, &args.read, terminal)?;
    let rise = wanted(args, &input)?;
    let (plan, savings, rising) = study::run(&input, &args.work, terminal, |limit| {
        solve(&input, record.as_ref(), rise, limit)
    })?;
    let breakdown = breakdown(&input, &plan);
    let budget = report::Budget {
        plan: &plan,
        catalog: &input.catalog,
        against: against(&input.settings, &plan),
        breakdown: &breakdown,
        savings: savings.as_ref(),
        rising: rising.as_ref(),
    };
    if let Some(path) = &args.svg {
        let svg = picture::budget(&plan, &breakdown).map_err(CliError::output)?;
        study::picture(path, &svg, terminal)?;
    }
    match args.format {
        Format::Table => terminal.print(&report::text(&budget, terminal.width)),
        Format::Csv => terminal.print(&report::table(&budget).csv().map_err(CliError::output)?),
        Format::Json => terminal.print(&report::json(&budget).map_err(CliError::output)?),
    }
}

type Solved = (Plan, Option<Savings>, Option<Rising>);

fn solve(
    input: &Input,
    record: Option<&Plan>,
    wanted: Option<Rise>,
    limit: &Limit,
) -> Result<Solved, StudyError> {
    let fit = fit(input)?;
    let now = answer::on_record(input, &fit, limit, record, Trust::Any)?;
    let is_over = against(&input.settings, &now.plan).is_some_and(|a| a.is_over());
    let savings = is_over.then(|| savings(input, &now, limit)).transpose()?;
    let rising = wanted
        .map(|wanted| rise(input, &now, wanted, limit))
        .transpose()?;
    Ok((now.plan, savings, rising))
}

/// Which prices rise, by the names of this project.
fn wanted(args: &Args, input: &Input) -> Result<Option<Rise>, CliError> {
    let Some(percent) = args.rise else {
        return Ok(None);
    };
    let of = match (&args.supplier, &args.kind) {
        (Some(name), _) => RiseOf::Supplier(supplier(input, name)?),
        (None, Some(word)) => Kind::from_word(word).map_or(RiseOf::All, RiseOf::Kind),
        (None, None) => RiseOf::All,
    };
    Ok(Some(Rise {
        percent: Percent(percent),
        of,
    }))
}

fn supplier(input: &Input, name: &str) -> Result<couplet::catalog::SupplierId, CliError> {
    let names = || input.catalog.suppliers.iter().map(|s| s.name.clone());
    input
        .catalog
        .find_supplier(name)
        .ok_or_else(|| CliError::Usage {
            message: format!("there is no supplier {name:?} in suppliers.csv"),
            help: format!("write it as one of {}", list(&names().collect::<Vec<_>>())),
        })
}
