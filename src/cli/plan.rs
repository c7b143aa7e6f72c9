//! `couplet plan`.

use super::args::{Format, Plan as Args};
use super::files::{self, Target};
use super::glue::{self, Job};
use super::output::Terminal;
use super::progress::Of;
use super::typed::typed;
use super::{interrupt, record};
use couplet::desk::Desk;
use couplet::desk::ask::Exact;
use couplet::desk::record::Refusal;
use couplet::diag::Findings;
use couplet::input::Input;
use couplet::plan::{Plan, Status, before_path, text};
use couplet::report;
use couplet::report::diagnostics::Message;
use couplet::report::difference::since_before;
use couplet::study::compare::difference;
use couplet::study::failure::Failure;
use std::path::Path;
use std::time::Duration;

/// A search without a limit ends by itself after so long: who waits longer says so.
const PATIENCE: Duration = Duration::from_secs(60);

/// Said where the search ended by itself.
const GO_ON: &str = "the search ended by itself after 60 seconds: couplet plan again goes on from \
                     this plan, --time-limit none searches to the end";

/// Reads, plans, keeps the record, shows it.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::planned(&args.project, args.out.as_deref(), &args.read);
    let target = target(args, &desk)?;
    let input = desk.sound()?;
    warn(desk.findings(), terminal);
    let before = before(args, &target, &desk, terminal)?;
    let exact = args.gap.map_or(Exact::Proven, Exact::Within);
    if let Some(old) = before.and_then(|_| desk.standing(exact)) {
        terminal
            .note("nothing changed since this plan was made, so it stands; --again searches anew");
        return show(args.format, old, input, terminal);
    }
    let _held = match &target {
        Target::File(path) => Some(desk.hold(path)?),
        Target::Output => None,
    };
    if !args.no_keep {
        interrupt::keeps();
    }
    let asked = args.time_limit.and_then(|until| until.0);
    let mut search = Job::new(Of::Plan, &desk, asked, args.threads, terminal)?;
    search.limit.gap_percent = args.gap;
    if args.time_limit.is_none() {
        search.limit = search.limit.patient(PATIENCE);
    }
    let old = old(&target, &desk);
    let plan = desk.plan(before, &search.limit);
    search.end(&mut desk, terminal);
    let plan = plan?;
    let is_cut = glue::is_cut(&plan, terminal);
    let may_keep = !(is_cut && args.no_keep);
    let shown = match &target {
        Target::Output => terminal.print(&text(&plan).map_err(Failure::output)?),
        Target::File(_) => {
            if may_keep {
                desk.keep(&plan)?;
            }
            let shown = show(args.format, &plan, desk.sound()?, terminal);
            if let Some(old) = old.filter(|_| may_keep) {
                for line in since(&old, &plan, args.out.as_deref()) {
                    terminal.note(line);
                }
            }
            shown
        }
    };
    if plan.status == Status::TimeLimit && args.time_limit.is_none() && !is_cut {
        terminal.note(GO_ON);
    }
    match (shown, target) {
        // Whether or not somebody read the result.
        (Ok(()) | Err(Failure::Closed), Target::File(path)) if is_cut && may_keep => {
            Err(Failure::KeptSoFar(path))
        }
        (Ok(()) | Err(Failure::Closed), _) if is_cut => Err(Failure::NotAsked),
        (shown, _) => shown,
    }
}

/// The plan that the new plan takes the place of, where that plan holds.
fn old(target: &Target, desk: &Desk) -> Option<Plan> {
    match target {
        Target::File(path) if path.is_file() => desk.on_record().ok().map(|on| on.plan.clone()),
        _ => None,
    }
}

/// What changed since the plan that was in the file before.
fn since(old: &Plan, plan: &Plan, out: Option<&Path>) -> Vec<String> {
    if old.currency != plan.currency {
        let (was, is) = (&old.currency, &plan.currency);
        return vec![format!(
            "the plan before is in {was}, this plan in {is}: they are not compared"
        )];
    }
    let command = match out {
        None => "couplet compare --before".to_owned(),
        Some(file) => format!(
            "couplet compare {} {}",
            before_path(file).display(),
            file.display()
        ),
    };
    let since = difference(old, plan, |_| None);
    since_before(&since, &plan.currency, &command)
}

/// The record that is to be replaced, unless the search is to begin with nothing.
/// The user is told of a record that does not hold; then a plan is made without it.
fn before<'d>(
    args: &Args,
    target: &Target,
    desk: &'d Desk,
    terminal: &Terminal,
) -> Result<Option<&'d Plan>, Failure> {
    let path = match target {
        // Reading from a pipe would wait for ever.
        Target::File(path) if path.is_file() => path,
        _ => return Ok(None),
    };
    let anew = |why: String, notes: Vec<String>| {
        terminal.warning(&Message {
            text: format!("{} is not used: {why}", path.display()),
            help: Some(format!("the {} is planned anew", desk.word())),
            notes,
            ..Message::default()
        });
    };
    if let Ok(Some(old)) = desk.unchecked() {
        same_prices(args, old, desk.sound()?)?;
    }
    match desk.on_record() {
        Ok(on) => return Ok(Some(&on.plan).filter(|_| !args.again)),
        Err(Refusal::Wrong(found)) => anew(
            Refusal::Wrong(Vec::new()).to_string(),
            found.iter().map(ToString::to_string).collect(),
        ),
        // The project itself can be read, so the errors are in the record's list.
        Err(Refusal::Input(_)) => anew("its price list has errors".to_owned(), Vec::new()),
        Err(refusal) => anew(refusal.to_string(), Vec::new()),
    }
    Ok(None)
}

/// A record with the prices of a list that was named for it is not replaced by a
/// record with the project's own prices, unless the project's own list is named.
fn same_prices(args: &Args, old: &Plan, input: &Input) -> Result<(), Failure> {
    let Some(list) = (old.prices.as_ref()).filter(|list| **list != input.prices.own) else {
        return Ok(());
    };
    if args.read.prices.is_some() {
        return Ok(());
    }
    let own = &input.prices.own;
    let folder = files::folder(&args.project);
    Err(Failure::Usage {
        message: format!(
            "the plan on record has the prices of {list}, and the project's own list is {own}: \
             say which list to plan with"
        ),
        help: format!(
            "--prices {} or --prices {}; or write prices = {list:?} into {}",
            typed(&folder.join(list)),
            typed(&folder.join(own)),
            input.settings_file()
        ),
    })
}

/// Shows a plan, and notes what the format does not hold.
fn show(format: Format, plan: &Plan, input: &Input, terminal: &Terminal) -> Result<(), Failure> {
    if format != Format::Table && plan.ends.is_empty() {
        terminal.note(report::plan::nothing(input));
    } else if format == Format::Csv {
        terminal.note(report::plan::verdict(plan));
    }
    match format {
        Format::Table => terminal.print(&report::plan::text(plan, input, terminal.width)),
        Format::Json => terminal.print(&text(plan).map_err(Failure::output)?),
        Format::Csv => {
            let lines = report::order::lines(&plan.orders, &input.catalog);
            terminal.print(&lines.csv().map_err(Failure::output)?)
        }
    }
}

/// A place that can't be written fails here, before the work. The usual place is the
/// desk's own.
fn target(args: &Args, desk: &Desk) -> Result<Target, Failure> {
    let usual = desk.path("plan.json");
    match &args.out {
        Some(out) => Target::of(out, &desk.own_but_record().but(&usual)),
        None => Ok(Target::File(usual)),
    }
}

fn warn(findings: &Findings, terminal: &Terminal) {
    if !findings.is_empty() {
        terminal.findings(findings);
    }
}

#[cfg(test)]
mod tests {
    use super::super::args::{Args as All, Command};
    use super::*;
    use clap::Parser;

    fn to(out: Option<&str>) -> Result<Target, Failure> {
        let mut words = vec!["couplet", "plan", "boat"];
        words.extend(out.iter().flat_map(|out| ["--out", out]));
        match All::try_parse_from(words).unwrap().command {
            Command::Plan(args) => {
                let desk = record::planned(&args.project, args.out.as_deref(), &args.read);
                target(&args, &desk)
            }
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
