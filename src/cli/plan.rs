//! `couplet plan`.

use super::args::{Format, Plan as Args};
use super::error::CliError;
use super::files;
use super::glue::{self, Instead};
use super::interrupt;
use super::output::Terminal;
use super::progress::Meter;
use couplet::desk::record::{self as desk, Refusal};
use couplet::diag::Findings;
use couplet::input::Input;
use couplet::plan::{Plan, Status};
use couplet::report;
use couplet::report::diagnostics::Message;
use couplet::solve::Solver;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::path::PathBuf;

/// Where the record goes.
#[derive(Debug, PartialEq, Eq)]
enum Target {
    /// Into a file; the result is shown as well.
    File(PathBuf),
    /// To standard output alone.
    Output,
}

/// Reads, plans, keeps the record, shows it.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let target = target(args)?;
    let input = read(args, terminal)?;
    let before = before(args, &target, &input, terminal)?;
    if let Some(old) = before.as_ref().filter(|old| stands(args, old, &input)) {
        terminal
            .note("nothing changed since this plan was made, so it stands; --again searches anew");
        return show(args.format, old, &input, terminal);
    }
    let _held = match &target {
        Target::File(path) => Some(files::hold(path)?),
        Target::Output => None,
    };
    if args.keep_best {
        interrupt::keeps();
    }
    let plan = search(args, &input, before.as_ref(), terminal)?;
    let may_keep = glue::may_keep(&plan, args.keep_best, &terminal.stop);
    let shown = match target {
        Target::Output => terminal.print(&glue::record_text(&plan)?),
        Target::File(path) => {
            if may_keep {
                glue::write_plan(&path, &plan)?;
            }
            show(args.format, &plan, &input, terminal)
        }
    };
    match shown {
        // Whether or not somebody read it.
        Ok(()) | Err(CliError::Closed) if !may_keep => Err(CliError::NotAsked),
        shown => shown,
    }
}

/// The record that is to be replaced, unless the search is to begin with nothing.
/// One that does not hold is said, and the plan is made as if it were not there.
fn before(
    args: &Args,
    target: &Target,
    input: &Input,
    terminal: &Terminal,
) -> Result<Option<Plan>, CliError> {
    let path = match target {
        // Reading from a pipe would wait for ever.
        Target::File(path) if path.is_file() => path,
        _ => return Ok(None),
    };
    let anew = |why: String, notes: Vec<String>| {
        terminal.warning(&Message {
            text: format!("{} is not used: {why}", path.display()),
            help: Some("what it says is planned anew".to_owned()),
            notes,
            ..Message::default()
        });
    };
    if let Ok(old) = couplet::plan::read(path) {
        same_prices(args, &old, input)?;
    }
    match desk::open(&args.project, path) {
        Ok(on) => return Ok(Some(on.plan).filter(|_| !args.again)),
        Err(Refusal::Wrong(found)) => anew(
            Refusal::Wrong(Vec::new()).to_string(),
            found.iter().map(ToString::to_string).collect(),
        ),
        // The project itself can be read, so it is the list of the record.
        Err(Refusal::Input(_)) => anew("its price list has errors".to_owned(), Vec::new()),
        Err(refusal) => anew(refusal.to_string(), Vec::new()),
    }
    Ok(None)
}

/// A record with the prices of a list that was named for it is not replaced by
/// one with the project's own, unless that list is named.
fn same_prices(args: &Args, old: &Plan, input: &Input) -> Result<(), CliError> {
    let Some(list) = (old.prices.as_ref()).filter(|list| **list != input.prices.own) else {
        return Ok(());
    };
    if args.read.prices.is_some() {
        return Ok(());
    }
    let own = &input.prices.own;
    let folder = files::folder(&args.project);
    Err(CliError::Usage {
        message: format!(
            "the plan on record has the prices of {list}, and the project's own list is {own}: \
             say which to plan with"
        ),
        help: format!(
            "--prices {} or --prices {}; or write prices = {list:?} into project.toml",
            folder.join(list).display(),
            folder.join(own).display()
        ),
    })
}

/// True if a record answers the same question: made from the same files as of
/// the same day, at least as exact as is asked for, and right by its audit. How
/// long it took and by how many threads does not matter.
fn stands(args: &Args, old: &Plan, input: &Input) -> bool {
    let is_exact = match old.status {
        // What one run has proven is put to another, unless a gap would do.
        Status::Optimal => old.witnesses() > 1 || args.gap.is_some(),
        Status::WithinGap => {
            let asked = args.gap.and_then(Decimal::from_f64);
            asked.is_some_and(|asked| old.gap_percent <= asked)
        }
        Status::TimeLimit => false,
    };
    is_exact && couplet::audit::audit(input, old).is_empty()
}

/// What a format does not hold is said beside it.
fn show(format: Format, plan: &Plan, input: &Input, terminal: &Terminal) -> Result<(), CliError> {
    if format != Format::Table && plan.ends.is_empty() {
        terminal.note(report::plan::nothing(input));
    } else if format == Format::Csv {
        terminal.note(report::plan::verdict(plan));
    }
    match format {
        Format::Table => terminal.print(&report::plan::text(plan, input, terminal.width)),
        Format::Json => terminal.print(&glue::record_text(plan)?),
        Format::Csv => {
            let lines = report::order::lines(&plan.orders, &input.catalog);
            terminal.print(&lines.csv().map_err(CliError::output)?)
        }
    }
}

/// A place that can't be written fails here, before the work.
fn target(args: &Args) -> Result<Target, CliError> {
    let path = match &args.out {
        Some(out) if out.as_os_str() == "-" => return Ok(Target::Output),
        Some(out) => out.clone(),
        None => return Ok(Target::File(files::folder(&args.project).join("plan.json"))),
    };
    files::writable(&path)?;
    Ok(Target::File(path))
}

fn read(args: &Args, terminal: &Terminal) -> Result<Input, CliError> {
    match glue::load(&args.project, &Instead::from(&args.read)) {
        (Some(input), findings) if !findings.has_errors() => {
            warn(&findings, terminal);
            Ok(input)
        }
        (_, findings) => Err(CliError::Input(findings)),
    }
}

fn warn(findings: &Findings, terminal: &Terminal) {
    if !findings.is_empty() {
        terminal.findings(findings);
    }
}

fn search(
    args: &Args,
    input: &Input,
    before: Option<&Plan>,
    terminal: &Terminal,
) -> Result<Plan, CliError> {
    let limit = glue::limit(args.time_limit, args.threads, terminal);
    let limit = args.gap.map_or(limit.clone(), |gap| limit.with_gap(gap));
    let solver = Solver::default();
    let meter = Meter::new(&input.settings.currency, terminal);
    let plan = glue::make_plan(input, &limit, &solver, before, &meter);
    meter.finish();
    glue::keep_doubts(&args.project, &solver.doubts, terminal);
    plan
}

#[cfg(test)]
mod tests {
    use super::super::args::{Args as All, Command};
    use super::*;
    use clap::Parser;

    fn to(out: Option<&str>) -> Result<Target, CliError> {
        let mut words = vec!["couplet", "plan", "boat"];
        words.extend(out.iter().flat_map(|out| ["--out", out]));
        match All::try_parse_from(words).unwrap().command {
            Command::Plan(args) => target(&args),
            _ => unreachable!(),
        }
    }

    #[test]
    fn the_record_goes_where_it_is_told() {
        let file = |path: &str| Target::File(path.into());
        assert_eq!(to(None).unwrap(), file("boat/plan.json"));
        assert_eq!(to(Some("x.json")).unwrap(), file("x.json"));
        assert_eq!(to(Some("-")).unwrap(), Target::Output);
    }

    #[test]
    fn a_place_that_cannot_be_written_fails_first() {
        assert_eq!(to(Some("no/such/folder/x.json")).unwrap_err().status(), 2);
        assert_eq!(to(Some(".")).unwrap_err().status(), 2);
    }
}
