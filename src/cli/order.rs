//! `couplet order`.

use super::args::{Format, Order as Args};
use super::booking;
use super::error::CliError;
use super::files;
use super::glue::{self, Instead};
use super::output::Terminal;
use couplet::catalog::Catalog;
use couplet::plan::Plan;
use couplet::report::diagnostics::Message;
use couplet::report::wording::{list, wrapped};
use couplet::report::{order, plan as plan_report, workbook};
use std::fs;
use std::path::Path;

/// Shows the orders, or writes one file for each supplier.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let path = match &args.plan {
        Some(path) => path.clone(),
        None => files::folder(&args.project).join("plan.json"),
    };
    if !args.project.exists() {
        let project = args.project.display();
        return Err(CliError::Read {
            message: format!("there is no project folder {project}"),
            help: "name the folder that has project.toml".to_owned(),
        });
    }
    let plan = glue::read_plan(&path)?;
    if args.place {
        return booking::place(args, &plan, terminal);
    }
    warn_of_changes(&args.project, &plan, terminal);
    let catalog = catalog(&args.project, terminal);
    if let Some(file) = &args.xlsx {
        let bytes = workbook::orders(&plan, &catalog).map_err(CliError::output)?;
        files::write(file, &bytes)?;
        return terminal.print(&format!("{}\n", file.display()));
    }
    match (&args.out_dir, args.format) {
        (Some(folder), _) => write_all(folder, &plan, &catalog, terminal),
        (None, Format::Table) => terminal.print(&text(&plan, &catalog, terminal.width)),
        (None, Format::Csv) => {
            let lines = order::lines(&plan.orders, &catalog);
            terminal.print(&lines.csv().map_err(CliError::output)?)
        }
        (None, Format::Json) => terminal.print(&order::json(&plan).map_err(CliError::output)?),
    }
}

fn text(plan: &Plan, catalog: &Catalog, width: usize) -> String {
    if plan.orders.is_empty() {
        return "nothing to order\n".to_owned();
    }
    let verdict = wrapped(&plan_report::verdict(plan), width, "", "  ");
    format!("{verdict}\n\n{}", order::all_text(plan, catalog, width))
}

/// The record holds the order whatever the files say now: a warning, no error.
fn warn_of_changes(project: &Path, plan: &Plan, terminal: &Terminal) {
    let changed = files::changed_inputs(project, plan);
    if changed.is_empty() {
        return;
    }
    let verb = if changed.len() == 1 { "is" } else { "are" };
    terminal.warning(&Message {
        text: format!("{} {verb} not as when the plan was made", list(&changed)),
        help: Some("run couplet plan again before you order".to_owned()),
        ..Message::default()
    });
}

/// The catalog, for descriptions alone; an empty one where it can't be read now.
fn catalog(project: &Path, terminal: &Terminal) -> Catalog {
    match glue::load(project, &Instead::default()) {
        (Some(input), _) => input.catalog,
        (None, _) => {
            terminal.note("the project cannot be read, so descriptions are left out");
            Catalog::default()
        }
    }
}

fn write_all(
    folder: &Path,
    plan: &Plan,
    catalog: &Catalog,
    terminal: &Terminal,
) -> Result<(), CliError> {
    files::make_folder(folder)?;
    let names = order::file_names(plan);
    let mut written = String::new();
    for (order, name) in plan.orders.iter().zip(&names) {
        let path = folder.join(name);
        let csv = order::lines([order], catalog).csv();
        files::write(&path, &csv.map_err(CliError::output)?)?;
        written.push_str(&format!("{}\n", path.display()));
    }
    note_leftovers(folder, &names, terminal);
    if names.is_empty() {
        terminal.note("nothing to order, so no file was written");
    }
    terminal.print(&written)
}

/// Orders of an earlier run that this plan does not have would be sent by mistake.
fn note_leftovers(folder: &Path, names: &[String], terminal: &Terminal) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let mut old: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.starts_with("order-") && name.ends_with(".csv"))
        .filter(|name| !names.contains(name))
        .collect();
    old.sort();
    if !old.is_empty() {
        terminal.warning(&Message {
            text: format!("{} in {} is not of this plan", list(&old), folder.display()),
            help: Some("remove what is left of an earlier plan".to_owned()),
            ..Message::default()
        });
    }
}
