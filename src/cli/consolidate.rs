//! `couplet consolidate`.

use super::args::{By as ByWord, Consolidate as Args, Format};
use super::error::CliError;
use super::output::Terminal;
use super::{files, glue, interrupt, record, study};
use couplet::input::Input;
use couplet::plan::Status;
use couplet::report::wording::counted;
use couplet::report::{frontier as report, picture};
use couplet::study::answer;
use couplet::study::frontier::{By, Frontier, frontier};
use std::path::{Path, PathBuf};

/// Solves the frontier, shows it, keeps the plan that is asked for.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let target = args.to.map(|most| (most, target(args)));
    study::writable(args.svg.as_deref())?;
    study::writable(target.as_ref().map(|(_, path)| path.as_path()))?;
    let hold = target.as_ref().map(|(_, path)| files::hold(path));
    let _held = hold.transpose()?;
    let (input, record) = record::read(&args.project, &args.read, terminal)?;
    let by = match args.by {
        ByWord::Variants => By::Variants,
        ByWord::Suppliers => By::Suppliers,
        ByWord::Dies => By::Dies,
    };
    if args.keep_best {
        interrupt::keeps();
    }
    let found = study::run(&input, &args.work, terminal, |limit| {
        frontier(&input, by, limit, record.as_ref())
    })?;
    if let Some(path) = &args.svg {
        let svg = picture::frontier(&found).map_err(CliError::output)?;
        study::picture(path, &svg, terminal)?;
    }
    let shown = show(args.format, &found, terminal);
    // Nobody may read what is shown; what is to be kept is kept all the same.
    match target {
        Some(_) if terminal.stop.is_asked() && !args.keep_best => Err(CliError::NotAsked),
        Some((most, path)) => keep(&input, &found, (most, &path), terminal).and(shown),
        None => shown,
    }
}

fn target(args: &Args) -> PathBuf {
    let usual = || files::folder(&args.project).join("plan.json");
    args.out.clone().unwrap_or_else(usual)
}

fn show(format: Format, frontier: &Frontier, terminal: &Terminal) -> Result<(), CliError> {
    match format {
        Format::Table => terminal.print(&report::text(frontier, terminal.width)),
        Format::Csv => terminal.print(&report::table(frontier).csv().map_err(CliError::output)?),
        Format::Json => terminal.print(&report::json(frontier).map_err(CliError::output)?),
    }
}

/// Writes the plan for at most so many: more than the cheapest takes are no
/// limit to it.
fn keep(
    input: &Input,
    frontier: &Frontier,
    (most, path): (u32, &Path),
    terminal: &Terminal,
) -> Result<(), CliError> {
    let noun = frontier.by.word();
    if most < frontier.least {
        return Err(CliError::NoSet(format!(
            "no compatible set with at most {}: the least is {}",
            counted(most.into(), noun),
            frontier.least,
        )));
    }
    // From the largest down: the first that is allowed.
    let Some(point) = frontier.points.iter().find(|p| p.at_most <= most) else {
        return Err(CliError::OutOfTime);
    };
    let kept = answer::audited(input, frontier.kept(point)?)?;
    glue::write_plan(path, &kept)?;
    terminal.note(format!(
        "kept the plan with {} in {}",
        counted(point.uses.into(), noun),
        path.display()
    ));
    if kept.status == Status::WithinGap && frontier.by != By::Dies {
        terminal.note(format!(
            "couplet plan goes back to the cheapest; to plan with so few from now on write \
             max_{noun}s = {most} into project.toml"
        ));
    }
    Ok(())
}
