//! `couplet trial`.

use super::args::{Format, Trial as Args, Work};
use super::output::Terminal;
use super::{record, study};
use couplet::desk::Desk;
use couplet::desk::trial::Trials;
use couplet::diag::{did_you_mean, quote};
use couplet::report::trial as report;
use couplet::report::wording::list;
use couplet::study::failure::Failure;
use couplet::trial::{FILE, Trial};

/// Reads the trials, and runs them, or writes the changes of one.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::studied(&args.project, &args.read);
    let trials = asked(args, &desk)?;
    if let Some(name) = &args.keep {
        return keep(&mut desk, one(&trials, name)?, args.format, terminal);
    }
    record::read(&desk, &args.read, terminal)?;
    if args.save {
        let named: Vec<&Trial> = trials.iter().filter(|trial| trial.name.is_some()).collect();
        if named.is_empty() {
            return Err(Failure::usage(
                "none of the trials has a name to keep it by",
                "write the name before the changes: thin: ambient 50",
            ));
        }
        // A change that can't be made is not kept.
        named
            .iter()
            .try_for_each(|trial| desk.with(trial).map(drop))?;
        desk.save_trials(&named)?;
        let names: Vec<String> = named.iter().map(|trial| trial.title()).collect();
        let path = desk.path(FILE);
        terminal.note(format!("{} stands in {} now", list(&names), path.display()));
    }
    let work = Work {
        time_limit: args.time_limit.0,
        threads: args.threads,
        told: args.told,
    };
    let found = study::run(&desk, &work, terminal, |limit| {
        desk.trials(trials.clone(), limit)
    })?;
    show(args.format, &found, terminal)?;
    match terminal.stop.is_asked() {
        true => Err(Failure::Cut),
        false => Ok(()),
    }
}

/// The trials that are asked for: those of the command line, else those that are kept.
fn asked(args: &Args, desk: &Desk) -> Result<Vec<Trial>, Failure> {
    // A change may be the first word, so only now is it known whether there is one.
    let wrong = match (args.changes.is_empty(), args.save, args.only.is_empty()) {
        (true, true, _) => Some((
            "--save has no trial to keep",
            "write one: 'thin: ambient 50'",
        )),
        (false, _, false) => Some((
            "--only is for the trials of trials.toml",
            "leave it out where a change is named",
        )),
        _ => None,
    };
    if let Some((message, help)) = wrong {
        return Err(Failure::usage(message, help));
    }
    if !args.changes.is_empty() {
        let trials = args.changes.iter().map(|text| Trial::parse(text));
        return Ok(trials.collect::<Result<_, _>>()?);
    }
    let kept = desk.kept_trials()?;
    if kept.is_empty() {
        let path = desk.path(FILE);
        return Err(Failure::usage(
            format!("no change is named, and {} has no trial", path.display()),
            "write what to try, such as: couplet trial boat 'ambient 50'",
        ));
    }
    if args.only.is_empty() {
        return Ok(kept);
    }
    let only = args.only.iter().map(|name| one(&kept, name).cloned());
    only.collect()
}

/// The trial of this name. A trial without a name is known by its changes.
fn one<'t>(trials: &'t [Trial], name: &str) -> Result<&'t Trial, Failure> {
    let found = trials.iter().find(|trial| trial.title() == name);
    found.ok_or_else(|| {
        let names: Vec<String> = trials.iter().map(Trial::title).collect();
        let near = did_you_mean(name, names.iter().map(String::as_str));
        Failure::usage(
            format!("there is no trial {}", quote(name)),
            near.unwrap_or_else(|| format!("there are {}", list(&names))),
        )
    })
}

/// Shows the changes of a trial, and writes them into the files.
fn keep(
    desk: &mut Desk,
    trial: &Trial,
    format: Format,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let (_, touched) = desk.with(trial)?;
    terminal.print(&match format {
        Format::Table => report::changes(&touched, terminal.width),
        Format::Csv => (report::touched(&touched).csv()).map_err(Failure::output)?,
        Format::Json => serde_json::to_string_pretty(&touched).map_err(Failure::output)? + "\n",
    })?;
    if touched.is_empty() {
        return Ok(());
    }
    desk.keep_trial(trial)?;
    terminal.note("the files have these changes now; couplet plan plans with them");
    Ok(())
}

fn show(format: Format, trials: &Trials, terminal: &Terminal) -> Result<(), Failure> {
    match format {
        Format::Table => terminal.print(&report::text(trials, terminal.width)),
        Format::Csv => terminal.print(&report::table(trials).csv().map_err(Failure::output)?),
        Format::Json => terminal.print(&report::json(trials).map_err(Failure::output)?),
    }
}
