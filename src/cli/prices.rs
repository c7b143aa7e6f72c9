//! `couplet prices`.

use super::args::{Format, Prices as Args};
use super::output::Terminal;
use super::{history, record};
use couplet::catalog::read::price_lists;
use couplet::desk::record::Refusal;
use couplet::diag::Findings;
use couplet::input::{is_project, load_settings};
use couplet::plan::Plan;
use couplet::report::prices::{self as report, Rates};
use couplet::source::Files;
use couplet::store::folder_of;
use couplet::study::failure::Failure;
use couplet::study::prices::{Kind, compare};
use std::path::Path;

/// Compares two price lists, or shows the history of one.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    match (&args.old, &args.new) {
        (Some(old), Some(new)) => between(old, new, args, terminal),
        _ => history::run(args, terminal),
    }
}

fn between(old: &Path, new: &Path, args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let path = args.plan.as_ref().map(|path| match path.is_dir() {
        true => path.join("plan.json"),
        false => path.clone(),
    });
    let plan = (path.as_deref())
        .map(|path| checked(path, terminal))
        .transpose()?;
    let mut findings = Findings::default();
    let Some(lists) = price_lists(old, new, &mut findings) else {
        return Err(Failure::Input(findings));
    };
    if !findings.is_empty() {
        terminal.findings(&findings);
    }
    let compared = compare(&lists, plan.as_ref());
    let changed = || compared.iter().filter(|one| one.kind != Kind::Unchanged);
    let text = match args.format {
        Format::Table => {
            let rates = rates(path.as_deref(), plan.as_ref());
            report::text(&compared, &rates, terminal.width)
        }
        Format::Csv => report::table(changed()).csv().map_err(Failure::output)?,
        Format::Json => {
            let changed: Vec<_> = changed().collect();
            serde_json::to_string_pretty(&changed).map_err(Failure::output)? + "\n"
        }
    };
    terminal.print(&text)
}

/// The record, checked against the project beside it where that is the record's own
/// and can be read.
fn checked(path: &Path, terminal: &Terminal) -> Result<Plan, Failure> {
    let desk = record::on_record(folder_of(path), Some(path));
    match desk.on_record() {
        Ok(on) => {
            record::tell(&on.checked, "rely on the plan", terminal);
            Ok(on.plan.clone())
        }
        Err(Refusal::Input(_)) => record::alone(
            path,
            &format!("the {} beside it has errors", desk.word()),
            terminal,
        ),
        Err(Refusal::OtherProject { .. }) => record::alone(
            path,
            &format!("the {} beside it is another", desk.word()),
            terminal,
        ),
        Err(refusal) => Err(refusal.into()),
    }
}

/// The rates of the project that the plan is for, where the project stands beside the plan.
fn rates(path: Option<&Path>, plan: Option<&Plan>) -> Rates {
    let unknown = |why: &str| Rates::Unknown(why.to_owned());
    let (Some(path), Some(plan)) = (path, plan) else {
        return unknown("there is no plan");
    };
    let folder = folder_of(path);
    let files = Files::on_disk();
    if !is_project(&files, folder) {
        return unknown("no project with rates stands beside the plan");
    }
    let word = record::on_record(folder, Some(path)).word();
    match load_settings(&files, folder) {
        None => unknown(&format!(
            "the {word} beside the plan has an error, couplet check shows it"
        )),
        Some(settings) if settings.name != plan.project => {
            unknown(&format!("the {word} beside the plan is another"))
        }
        Some(settings) => Rates::Known(settings.currency, settings.rates),
    }
}
