//! `couplet breakeven`.

use super::args::{Breakeven as Args, Format};
use super::files::Target;
use super::output::Terminal;
use super::{record, study};
use couplet::report::{breakeven as report, picture};
use couplet::study::failure::Failure;

/// Finds how far each price can move, and shows it.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::studied(&args.project, &args.read);
    let svg = Target::if_named(args.svg.as_deref(), &desk.own())?;
    record::read(&desk, &args.read, terminal)?;
    let only = args.part.as_deref().map(|code| desk.part(code));
    let only = only.transpose()?;
    let found = study::run(&desk, &args.work, terminal, |limit| {
        desk.breakeven(only, limit)
    })?;
    if let (Some(code), true) = (&args.part, found.ranges.is_empty()) {
        terminal.note(format!("the cheapest plan does not buy {code}"));
    }
    let picture = (svg.as_ref()).map(|to| picture::breakeven(&found).map(|svg| (to, svg)));
    let picture = picture.transpose().map_err(Failure::output)?;
    let result = || match args.format {
        Format::Table => Ok(report::text(&found, terminal.width)),
        Format::Csv => report::table(&found).csv().map_err(Failure::output),
        Format::Json => report::json(&found).map_err(Failure::output),
    };
    study::shown(picture, result, terminal)
}
