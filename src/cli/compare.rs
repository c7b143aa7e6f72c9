//! `couplet compare`.

use super::args::{Compare as Args, HERE, KitFormat};
use super::files::{self, Target};
use super::output::Terminal;
use super::{interrupt, record};
use couplet::desk::{Asked, Desk, List, Own};
use couplet::input::{Input, is_project};
use couplet::plan::{Plan, before_path};
use couplet::report::{compare as report, page};
use couplet::source::Files;
use couplet::study::compare::{Compared, compare};
use couplet::study::failure::Failure;
use couplet::units::Currency;
use rust_decimal::Decimal;
use std::path::{Path, PathBuf};

/// A plan with its name, and the project that it is of, where that could be read.
struct Side {
    name: String,
    plan: Plan,
    input: Option<Input>,
}

/// Reads the plans, checks them, shows what differs.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let first = args.plans.first().map_or(Path::new(HERE), PathBuf::as_path);
    let own = Own::of(&Files::on_disk(), first);
    let plans = args.plans.iter();
    let own = plans.fold(own, |own, path| own.and(path, "a plan that is read"));
    let target = Target::or_output(args.out.as_deref(), &own)?;
    let sides = match args.before {
        true => before(args, terminal)?,
        false => named(args, terminal)?,
    };
    let inputs: Vec<Input> = sides.iter().filter_map(|side| side.input.clone()).collect();
    let rate = |currency: &Currency| -> Option<Decimal> {
        inputs
            .iter()
            .find_map(|input| input.settings.rate(currency))
    };
    let plans = sides.into_iter().map(|side| (side.name, side.plan));
    let compared = compare(plans.collect(), rate).map_err(|error| {
        let help = "plan both in one currency: the key currency in project.toml";
        Failure::usage(error.to_string(), help)
    })?;
    target.put(&shown(args.format, &compared, terminal)?, terminal)
}

fn shown(format: KitFormat, compared: &Compared, terminal: &Terminal) -> Result<String, Failure> {
    match format {
        KitFormat::Table => Ok(report::text(compared, terminal.width)),
        KitFormat::Csv => report::table(compared).csv().map_err(Failure::output),
        KitFormat::Json => report::json(compared).map_err(Failure::output),
        KitFormat::Html => page::compare(compared).map_err(Failure::output),
    }
}

/// The plans that are named: projects with their records, or records.
fn named(args: &Args, terminal: &Terminal) -> Result<Vec<Side>, Failure> {
    if args.plans.len() < 2 {
        return Err(Failure::usage(
            "there is nothing to compare with",
            "name two plans or more, or --before for the plan before",
        ));
    }
    let sides = args.plans.iter().map(|path| {
        let name = path.display().to_string();
        let folder = files::folder(path);
        if !is_project(&Files::on_disk(), &folder) {
            return of_record(name, path, terminal);
        }
        let desk = record::on_record(&folder, None);
        if let Ok(None) = desk.unchecked() {
            return Err(Failure::usage(
                format!("{name} has no plan yet"),
                format!("couplet plan {name} makes one"),
            ));
        }
        of_desk(name, &desk, terminal)
    });
    sides.collect()
}

/// The plan before the plan on record, and that plan.
fn before(args: &Args, terminal: &Terminal) -> Result<Vec<Side>, Failure> {
    let project = match args.plans.as_slice() {
        [] => Path::new(HERE).to_owned(),
        [project] => files::folder(project),
        _ => {
            return Err(Failure::usage(
                "--before takes one project",
                "name one project, or leave --before out",
            ));
        }
    };
    if !is_project(&Files::on_disk(), &project) {
        return Err(Failure::usage(
            format!("there is no project in {}", project.display()),
            "name the folder of the project, or go into it",
        ));
    }
    let now = record::on_record(&project, None);
    let old = before_path(&now.record_path());
    if !old.is_file() {
        return Err(Failure::usage(
            format!("there is no plan before: {} is not there", old.display()),
            "couplet plan keeps the plan before once a plan takes its place",
        ));
    }
    let was = of_record("before".to_owned(), &old, terminal)?;
    Ok(vec![was, of_desk("now".to_owned(), &now, terminal)?])
}

fn of_desk(name: String, desk: &Desk, terminal: &Terminal) -> Result<Side, Failure> {
    let on = record::open(desk, "rely on the plan", terminal)?;
    Ok(Side {
        name,
        plan: on.plan.clone(),
        input: Some(on.input.clone()),
    })
}

/// A record by its path: checked against the project beside it as far as the files are as
/// they were, else against itself alone. That files have changed since is to be expected.
fn of_record(name: String, path: &Path, terminal: &Terminal) -> Result<Side, Failure> {
    let folder: PathBuf = couplet::store::folder_of(path).to_owned();
    if is_project(&Files::on_disk(), &folder) {
        let asked = Asked {
            files: interrupt::files(),
            record: Some(path.to_owned()),
            list: List::Record,
            ..Asked::default()
        };
        let desk = Desk::open(&folder, asked);
        if desk.input().is_some() {
            let on = desk.on_record()?;
            return Ok(Side {
                name,
                plan: on.plan.clone(),
                input: Some(on.input.clone()),
            });
        }
    }
    let plan = record::alone(path, "no project can be read beside it", terminal)?;
    Ok(Side {
        name,
        plan,
        input: None,
    })
}
