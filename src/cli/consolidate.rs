//! `couplet consolidate`.

use super::args::{By as ByWord, Consolidate as Args, Format};
use super::output::Terminal;
use super::{interrupt, record, study};
use couplet::desk::Desk;
use couplet::plan::Status;
use couplet::report::wording::counted;
use couplet::report::{frontier as report, picture};
use couplet::study::failure::Failure;
use couplet::study::frontier::{By, Frontier};
use std::path::{Path, PathBuf};

/// Solves the frontier, shows it, keeps the plan that is asked for.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::studied(&args.project, &args.read);
    let target = args.to.map(|most| (most, target(args, &desk)));
    study::writable(args.svg.as_deref())?;
    study::writable(target.as_ref().map(|(_, path)| path.as_path()))?;
    let hold = target.as_ref().map(|(_, path)| desk.hold(path));
    let _held = hold.transpose()?;
    record::read(&desk, &args.read, terminal)?;
    let by = match args.by {
        ByWord::Variants => By::Variants,
        ByWord::Suppliers => By::Suppliers,
        ByWord::Dies => By::Dies,
    };
    if args.keep_best {
        interrupt::keeps();
    }
    let found = study::run(&desk, &args.work, terminal, |limit| {
        desk.frontier(by, limit)
    })?;
    if let Some(path) = &args.svg {
        let svg = picture::frontier(&found).map_err(Failure::output)?;
        study::picture(path, &svg, terminal)?;
    }
    let shown = show(args.format, &found, terminal);
    // Nobody may read what is shown; what is to be kept is kept all the same.
    match target {
        Some(_) if terminal.stop.is_asked() && !args.keep_best => Err(Failure::NotAsked),
        Some((most, path)) => keep(&mut desk, &found, most, &path, terminal).and(shown),
        None => shown,
    }
}

fn target(args: &Args, desk: &Desk) -> PathBuf {
    args.out.clone().unwrap_or_else(|| desk.record_path())
}

fn show(format: Format, frontier: &Frontier, terminal: &Terminal) -> Result<(), Failure> {
    match format {
        Format::Table => terminal.print(&report::text(frontier, terminal.width)),
        Format::Csv => terminal.print(&report::table(frontier).csv().map_err(Failure::output)?),
        Format::Json => terminal.print(&report::json(frontier).map_err(Failure::output)?),
    }
}

/// Writes the plan for at most so many.
fn keep(
    desk: &mut Desk,
    frontier: &Frontier,
    most: u32,
    path: &Path,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let noun = frontier.by.word();
    let (kept, uses) = desk.with_at_most(frontier, most)?;
    desk.keep_in(path, &kept)?;
    terminal.note(format!(
        "kept the plan with {} in {}",
        counted(uses.into(), noun),
        path.display()
    ));
    if kept.status == Status::WithinGap && frontier.by != By::Dies {
        let file = desk.sound()?.settings_file();
        terminal.note(format!(
            "couplet plan goes back to the cheapest plan; write max_{noun}s = {most} into \
             {file} to plan with so few from now on"
        ));
    }
    Ok(())
}
