//! `couplet order`.

use super::args::{Format, Order as Args};
use super::files::{self, Target};
use super::output::Terminal;
use super::{booking, letter, record};
use couplet::catalog::Catalog;
use couplet::desk::record::{Refusal, changed_files};
use couplet::desk::{Desk, Own};
use couplet::plan::Plan;
use couplet::report::diagnostics::Message;
use couplet::report::wording::{list, wrapped};
use couplet::report::{order, plan as plan_report, workbook};
use couplet::study::failure::Failure;
use std::fs;
use std::path::{Path, PathBuf};

/// Shows the orders, or writes one file for each supplier, a workbook, or both.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    if !args.project.exists() {
        let project = args.project.display();
        return Err(Failure::Read {
            place: None,
            message: format!("there is no project folder {project}"),
            help: "name the folder that has project.toml or purchase.toml".to_owned(),
        });
    }
    if args.place {
        return booking::place(args, terminal);
    }
    if args.outstanding {
        return letter::outstanding(args, terminal);
    }
    if let Some(file) = &args.confirm {
        return letter::confirm(args, file, terminal);
    }
    let desk = record::on_record(&args.project, args.plan.as_deref());
    let own = desk.own();
    let xlsx = Target::if_named(args.xlsx.as_deref(), &own)?;
    if files::is_output(xlsx.as_ref()) && terminal.is_screen() {
        return Err(Failure::usage(
            "a workbook cannot be shown on a terminal",
            "name a file, or send the workbook on: --xlsx - > orders.xlsx",
        ));
    }
    let (plan, catalog) = checked(&desk, terminal)?;
    let written = match &args.out_dir {
        Some(folder) => Some(write_all((folder, &own), &plan, &catalog, terminal)?),
        None => None,
    };
    if let Some(target) = &xlsx {
        let bytes = workbook::orders(&plan, &catalog).map_err(Failure::output)?;
        target.put_bytes(&bytes, terminal)?;
        return match target.file() {
            Some(file) => {
                let written = written.unwrap_or_default();
                terminal.print(&format!("{written}{}\n", file.display()))
            }
            None => Ok(()),
        };
    }
    match (written, args.format) {
        (Some(written), _) => terminal.print(&written),
        (None, Format::Table) => terminal.print(&text(&plan, &catalog, terminal.width)),
        (None, Format::Csv) => {
            let lines = order::lines(&plan.orders, &catalog);
            terminal.print(&lines.csv().map_err(Failure::output)?)
        }
        (None, Format::Json) => terminal.print(&order::json(&plan).map_err(Failure::output)?),
    }
}

/// The record, and the catalog for descriptions. The record holds the order
/// whatever the files say now, so where the project can't be read the record is
/// held against itself alone, and the descriptions are left out.
fn checked(desk: &Desk, terminal: &Terminal) -> Result<(Plan, Catalog), Failure> {
    match desk.on_record() {
        Ok(_) => {
            let on = record::open(desk, "order", terminal)?;
            Ok((on.plan.clone(), on.input.catalog.clone()))
        }
        Err(Refusal::Input(_)) => {
            let plan = desk.on_record_alone()?;
            tell_alone(desk, plan, terminal);
            Ok((plan.clone(), Catalog::default()))
        }
        Err(refusal) => Err(refusal.into()),
    }
}

/// Says that a record could only be held against itself.
fn tell_alone(desk: &Desk, plan: &Plan, terminal: &Terminal) {
    let changed = changed_files(desk.files(), desk.folder(), plan);
    let why = match changed.as_slice() {
        [] => format!("the {} cannot be read", desk.word()),
        [one] => format!("{one} is not as when the plan was made, and cannot be read"),
        many => format!(
            "{} are not as when the plan was made, and cannot be read",
            list(many)
        ),
    };
    terminal.warning(&Message {
        text: why,
        help: Some("see couplet check, and run couplet plan again before you order".to_owned()),
        notes: vec![
            "the plan was checked by itself alone, and descriptions are left out".to_owned(),
        ],
        ..Message::default()
    });
}

fn text(plan: &Plan, catalog: &Catalog, width: usize) -> String {
    if plan.orders.is_empty() {
        return "nothing to order\n".to_owned();
    }
    let verdict = wrapped(&plan_report::verdict(plan), width, "", "  ");
    format!("{verdict}\n\n{}", order::all_text(plan, catalog, width))
}

/// Writes a file for each supplier, and gives their names by line.
fn write_all(
    (folder, own): (&Path, &Own),
    plan: &Plan,
    catalog: &Catalog,
    terminal: &Terminal,
) -> Result<String, Failure> {
    files::make_folder(folder)?;
    let names = order::file_names(plan);
    let paths: Vec<PathBuf> = names.iter().map(|name| folder.join(name)).collect();
    let targets = paths.iter().map(|path| Target::of(path, own));
    let targets = targets.collect::<Result<Vec<_>, _>>()?;
    let mut written = String::new();
    for ((order, path), target) in plan.orders.iter().zip(&paths).zip(&targets) {
        let csv = order::lines([order], catalog).csv();
        target.put(&csv.map_err(Failure::output)?, terminal)?;
        written.push_str(&format!("{}\n", path.display()));
    }
    note_leftovers(folder, &names, terminal);
    if names.is_empty() {
        terminal.note("nothing to order, so no file was written");
    }
    Ok(written)
}

/// Warns of orders of an earlier run, which could be sent by mistake.
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
            text: format!(
                "{} has files of another plan: {}",
                folder.display(),
                list(&old)
            ),
            help: Some("remove what is left of an earlier plan".to_owned()),
            ..Message::default()
        });
    }
}
