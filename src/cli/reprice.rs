//! `couplet reprice`.

use super::args::{Format, Keep as Asked, Reprice as Args};
use super::glue::Job;
use super::output::Terminal;
use super::progress::Of;
use super::{interrupt, record};
use couplet::desk::Desk;
use couplet::desk::record::Checked;
use couplet::desk::reprice::Outcome;
use couplet::report::difference;
use couplet::report::reprice as report;
use couplet::report::wording::list;
use couplet::study::changes;
use couplet::study::failure::Failure;
use couplet::study::reprice::{Keep, Repriced};

/// Reads the record and the new prices, plans, shows, keeps what pays.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::repriced(&args.project, args.plan.as_deref(), &args.read);
    let path = desk.record_path();
    let hold = (!args.check && path.exists()).then(|| desk.hold(&path));
    let _held = hold.transpose()?;
    let (_, input) = desk.record_and_now()?;
    terminal.findings(desk.findings());
    if args.read.prices.is_none() {
        record::note_prices(input, terminal);
    }
    let Outcome {
        repriced,
        plan,
        ended,
    } = outcome(args, &mut desk, terminal)?;
    if let Some(ended) = ended {
        terminal.note(format!(
            "{ended}: what is kept of the old plan stands in its place"
        ));
    }
    // Nobody may read what is shown; the rest is done all the same.
    let shown = show(args.format, &repriced, terminal);
    if args.check {
        return match changes::any(&repriced.changes) {
            true => Err(Failure::WouldChange),
            false => shown,
        };
    }
    if terminal.stop.is_asked() && !args.keep_best {
        return Err(Failure::NotAsked);
    }
    desk.keep(&plan)?;
    shown?;
    note_prices(args, &desk, terminal)
}

fn outcome(args: &Args, desk: &mut Desk, terminal: &Terminal) -> Result<Outcome, Failure> {
    let repricing = desk.repricing()?;
    tell(&repricing.made().checked, terminal);
    if args.keep_best {
        interrupt::keeps();
    }
    let search = Job::new(Of::Plan, desk, args.time_limit, args.threads, terminal)?;
    let outcome = repricing.outcome(args.keep.map(Keep::from), &search.limit);
    // What became of the old lines says why there is no plan any more.
    let is_none = (outcome.as_ref().err())
        .is_some_and(|error| error.status() == 3 && !matches!(error, Failure::NotKept { .. }));
    let shifts = is_none.then(|| repricing.shifts(None)).transpose()?;
    search.end(desk, terminal);
    for one in shifts.into_iter().flatten() {
        terminal.note(report::shift(&one));
    }
    outcome
}

/// Says what of the record could not be checked.
fn tell(checked: &Checked, terminal: &Terminal) {
    if !checked.changed.is_empty() {
        let unchecked: Vec<String> = checked.unchecked.iter().map(ToString::to_string).collect();
        terminal.note(format!(
            "{} changed since the plan was made, so the record was not checked for {}",
            list(&checked.changed),
            list(&unchecked)
        ));
    }
}

fn show(format: Format, repriced: &Repriced, terminal: &Terminal) -> Result<(), Failure> {
    let text = match format {
        Format::Table => report::text(repriced, terminal.width),
        Format::Csv => {
            (difference::changes(&report::lines(repriced)).csv()).map_err(Failure::output)?
        }
        Format::Json => serde_json::to_string_pretty(repriced).map_err(Failure::output)? + "\n",
    };
    terminal.print(&text)
}

/// Says how the project gets the new prices, which only the record may have now.
fn note_prices(args: &Args, desk: &Desk, terminal: &Terminal) -> Result<(), Failure> {
    let Some(prices) = &args.read.prices else {
        return Ok(());
    };
    let shown = desk.files().relative(prices, desk.folder());
    let file = desk.sound()?.settings_file();
    if desk.sound()?.settings.prices.as_deref() != Some(shown.as_str()) {
        terminal.note(format!(
            "write prices = {shown:?} into {file} to plan with this list from now on"
        ));
    }
    Ok(())
}

impl From<Asked> for Keep {
    fn from(asked: Asked) -> Keep {
        match asked {
            Asked::Lines => Keep::Lines,
            Asked::Parts => Keep::Parts,
            Asked::Nothing => Keep::Nothing,
        }
    }
}
