//! `couplet budget`.

use super::args::{Budget as Args, Format};
use super::files::Target;
use super::output::Terminal;
use super::{record, study};
use couplet::catalog::{Kind, SupplierId};
use couplet::desk::Desk;
use couplet::desk::ask::AskedOfBudget;
use couplet::report::wording::list;
use couplet::report::{budget as report, picture};
use couplet::study::budget::{Rise, RiseOf};
use couplet::study::failure::Failure;
use couplet::units::Percent;

/// Plans, divides the total, looks for savings where the total is over the limit.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::studied(&args.project, &args.read);
    let svg = Target::if_named(args.svg.as_deref(), &desk.own())?;
    let (input, _) = record::read(&desk, &args.read, terminal)?;
    let asked = AskedOfBudget {
        rise: wanted(args, &desk)?,
        apart: args.apart,
    };
    let found = study::run(&desk, &args.work, terminal, |limit| {
        desk.budget(asked, limit)
    })?;
    let budget = report::Budget {
        plan: &found.plan,
        catalog: &input.catalog,
        against: found.against,
        breakdown: &found.breakdown,
        savings: found.savings.as_ref(),
        rising: found.rising.as_ref(),
        apart: found.apart.as_ref(),
    };
    let picture = (svg.as_ref())
        .map(|to| picture::budget(&found.plan, &found.breakdown).map(|svg| (to, svg)));
    let picture = picture.transpose().map_err(Failure::output)?;
    let result = || match args.format {
        Format::Table => Ok(report::text(&budget, terminal.width)),
        Format::Csv => report::table(&budget).csv().map_err(Failure::output),
        Format::Json => report::json(&budget).map_err(Failure::output),
    };
    study::shown(picture, result, terminal)
}

/// Which prices rise, by the names of this project.
fn wanted(args: &Args, desk: &Desk) -> Result<Option<Rise>, Failure> {
    let Some(percent) = args.rise else {
        return Ok(None);
    };
    let of = match (&args.supplier, &args.kind) {
        (Some(name), _) => RiseOf::Supplier(supplier(desk, name)?),
        (None, Some(word)) => Kind::from_word(word).map_or(RiseOf::All, RiseOf::Kind),
        (None, None) => RiseOf::All,
    };
    Ok(Some(Rise {
        percent: Percent(percent),
        of,
    }))
}

fn supplier(desk: &Desk, name: &str) -> Result<SupplierId, Failure> {
    let catalog = &desk.sound()?.catalog;
    let names: Vec<&str> = catalog.suppliers.iter().map(|s| s.name.as_str()).collect();
    catalog.find_supplier(name).ok_or_else(|| {
        Failure::usage(
            format!("there is no supplier {name:?} in suppliers.csv"),
            format!("the suppliers are {}", list(&names)),
        )
    })
}
