//! `couplet consolidate`.

use super::args::{By as ByWord, Consolidate as Args, Format};
use super::files::{self, Target};
use super::output::Terminal;
use super::{interrupt, record, study};
use couplet::desk::{Desk, Own};
use couplet::plan::{self, Status};
use couplet::report::wording::counted;
use couplet::report::{frontier as report, picture};
use couplet::study::failure::Failure;
use couplet::study::frontier::{By, Frontier};

/// Solves the frontier, shows it, keeps the plan that is asked for.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::studied(&args.project, &args.read);
    let own = desk.own();
    let to = target(args, &desk, &own)?;
    let kept = to.as_ref().map(|(_, to)| to);
    let svg = match kept.and_then(Target::file) {
        Some(file) => own.and(file, "where the plan is kept"),
        None => own,
    };
    let svg = Target::if_named(args.svg.as_deref(), &svg)?;
    files::one_output(&[kept, svg.as_ref()])?;
    let hold = kept.and_then(Target::file).map(|path| desk.hold(path));
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
    let picture = (svg.as_ref()).map(|to| picture::frontier(&found).map(|svg| (to, svg)));
    let picture = picture.transpose().map_err(Failure::output)?;
    let is_record = files::is_output(kept);
    let result = || match is_record {
        true => Ok(String::new()),
        false => text(args.format, &found, terminal),
    };
    let shown = study::shown(picture, result, terminal);
    if let Err(error) = &shown
        && !matches!(error, Failure::Closed)
    {
        return shown;
    }
    // Nobody may read what is shown; what is to be kept is kept all the same.
    match &to {
        Some(_) if terminal.stop.is_asked() && !args.keep_best => Err(Failure::NotAsked),
        Some((most, to)) => keep(&mut desk, &found, *most, to, terminal).and(shown),
        None => shown,
    }
}

/// The most that the plan may have, and where that plan goes; none where no plan is asked for.
fn target(args: &Args, desk: &Desk, own: &Own) -> Result<Option<(u32, Target)>, Failure> {
    let Some(most) = args.to else {
        return Ok(None);
    };
    let record = desk.record_path();
    let path = args.out.as_deref().unwrap_or(&record);
    Ok(Some((most, Target::of(path, &own.clone().but(&record))?)))
}

fn text(format: Format, frontier: &Frontier, terminal: &Terminal) -> Result<String, Failure> {
    match format {
        Format::Table => Ok(report::text(frontier, terminal.width)),
        Format::Csv => report::table(frontier).csv().map_err(Failure::output),
        Format::Json => report::json(frontier).map_err(Failure::output),
    }
}

/// Writes the plan for at most so many.
fn keep(
    desk: &mut Desk,
    frontier: &Frontier,
    most: u32,
    to: &Target,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let noun = frontier.by.word();
    let (kept, uses) = desk.with_at_most(frontier, most)?;
    let Some(path) = to.file() else {
        return terminal.print(&plan::text(&kept).map_err(Failure::output)?);
    };
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
