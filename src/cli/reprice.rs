//! `couplet reprice`.

use super::args::{Format, Keep as Asked, Reprice as Args};
use super::error::CliError;
use super::glue::{self, Instead};
use super::output::Terminal;
use super::progress::Meter;
use super::{files, interrupt, record};
use couplet::desk::record as desk;
use couplet::fit::Fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::Solution;
use couplet::plan::Plan;
use couplet::report::reprice as report;
use couplet::report::wording::list;
use couplet::solve::Solver;
use couplet::study::answer::Reply;
use couplet::study::changes::{self, changes};
use couplet::study::recall::{Lost, Recalled, Trust};
use couplet::study::reprice::{self, Keep, Options, Repriced};
use couplet::study::shifts::shifts;
use couplet::units::Currency;

/// Reads the record and the new prices, plans, shows, keeps what pays.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let in_folder = || files::folder(&args.project).join("plan.json");
    let path = args.plan.clone().unwrap_or_else(in_folder);
    let hold = (!args.check && path.exists()).then(|| files::hold(&path));
    let _held = hold.transpose()?;
    let old = glue::read_plan(&path)?;
    let input = read(args, &old, terminal)?;
    let was = glue::recorded_input(&args.project, &old).ok();
    check(args, was.as_ref().unwrap_or(&input), &old, terminal)?;
    let catalog = was.as_ref().map(|was| &was.catalog);
    let open = reprice::open_orders(&input, &old);
    if args.keep_best {
        interrupt::keeps();
    }
    let options = options(args, &input, &old, terminal).inspect_err(|error| {
        // Why there is no plan any more is in what became of the old lines.
        if error.status() == 3 {
            for one in shifts(&input, catalog, &old, &open, None) {
                terminal.note(report::shift(&one));
            }
        }
    })?;
    let totals = options.totals(&old);
    let best = || totals.best(input.settings.worth_changing);
    let keep = args.keep.map_or_else(best, Keep::from);
    let plan = options.plan(keep).map_err(|lost| not_kept(keep, &lost))?;
    let rate = |currency: &Currency| input.settings.rate(currency);
    let changes = changes((&open, &old), (&plan.orders, plan));
    let changes = changes::at_rates(changes, rate);
    let repriced = Repriced {
        currency: old.currency.clone(),
        recorded: old.status,
        totals,
        effects: totals.effects(),
        keep,
        lines_lost: options.lines.as_ref().err().map(Lost::to_string),
        parts_lost: options.parts.as_ref().err().map(Lost::to_string),
        difference: changes::difference(&changes),
        changes,
        shifts: shifts(&input, catalog, &old, &open, Some(plan)),
    };
    // Nobody may read what is shown; the rest is done all the same.
    let shown = show(args.format, &repriced, terminal);
    if args.check {
        return match changes::any(&repriced.changes) {
            true => Err(CliError::WouldChange),
            false => shown,
        };
    }
    if terminal.stop.is_asked() && !args.keep_best {
        return Err(CliError::NotAsked);
    }
    glue::write_plan(&path, plan)?;
    shown?;
    note_prices(args, &input, terminal);
    Ok(())
}

/// The project as it is now, with the list that is named, else that of the record.
fn read(args: &Args, old: &Plan, terminal: &Terminal) -> Result<Input, CliError> {
    let mut instead = Instead::from(&args.read);
    if instead.prices.is_none() {
        instead.prices = desk::prices_of(&args.project, old);
    }
    match glue::load(&args.project, &instead) {
        (Some(input), findings) => {
            terminal.findings(&findings);
            if args.read.prices.is_none() {
                record::note_prices(&input, terminal);
            }
            Ok(input)
        }
        (None, findings) => Err(CliError::Input(findings)),
    }
}

/// Refuses a record that does not hold, and says what of it could not be checked.
fn check(args: &Args, was: &Input, old: &Plan, terminal: &Terminal) -> Result<(), CliError> {
    let checked = desk::check(&args.project, was, old).map_err(record::refused)?;
    if !checked.changed.is_empty() {
        let unchecked: Vec<String> = checked.unchecked.iter().map(ToString::to_string).collect();
        terminal.note(format!(
            "{} changed since the plan was made, so this was not checked in the record: {}",
            list(&checked.changed),
            list(&unchecked)
        ));
    }
    Ok(())
}

fn show(format: Format, repriced: &Repriced, terminal: &Terminal) -> Result<(), CliError> {
    let text = match format {
        Format::Table => report::text(repriced, terminal.width),
        Format::Csv => report::changes(repriced).csv().map_err(CliError::output)?,
        Format::Json => serde_json::to_string_pretty(repriced).map_err(CliError::output)? + "\n",
    };
    terminal.print(&text)
}

/// The plan anew, and the old one kept as far as it can be.
fn options(
    args: &Args,
    input: &Input,
    old: &Plan,
    terminal: &Terminal,
) -> Result<Options, CliError> {
    let limit = glue::limit(args.time_limit, args.threads, terminal);
    let solver = Solver::default();
    let meter = Meter::new(&input.settings.currency, terminal);
    let fit = glue::fit_of(input)?;
    let recalled = Recalled::new(input, &fit, Some(old));
    let anew = match recalled.trusted(Trust::Best) {
        // Nothing has changed since, so this is the plan.
        Some(answer) => Ok(answer.plan.clone()),
        None => glue::plan_anew(input, &fit, &limit, &solver, recalled, &meter),
    };
    meter.finish();
    glue::keep_doubts(&args.project, &solver.doubts, terminal);
    let (anew, ended) = match anew {
        Ok(plan) => (Some(plan), CliError::OutOfTime),
        Err(ended @ (CliError::OutOfTime | CliError::Stopped)) => (None, ended),
        Err(error) => return Err(error),
    };
    let is_found = anew.is_some();
    let options = reprice::options(input, &fit, old, anew, |own| {
        buy(input, own, &limit, &solver)
    })?;
    if options.is_some() && !is_found {
        terminal.note(format!(
            "{ended}: what is kept of the old one stands in its place"
        ));
    }
    options.ok_or(ended)
}

/// The cheapest purchases where every end has its set.
fn buy(
    input: &Input,
    own: &Fit,
    limit: &Limit,
    solver: &Solver,
) -> Result<Result<Solution, Lost>, CliError> {
    let lost = |why: &str| Ok(Err(Lost::NoPlan(why.to_owned())));
    let meter = Meter::silent(&input.settings.currency);
    let recalled = Recalled::default();
    match glue::searched(input, own, limit, solver, &recalled, &meter)? {
        Reply::Found(answer) => Ok(Ok(answer.solution)),
        Reply::Infeasible => lost("the parts can all be had, but not within all limits together"),
        Reply::Unknown if limit.stop.is_asked() => lost("stopped by Ctrl-C before it was known"),
        Reply::Unknown => lost("the time ran out before it was known"),
    }
}

fn not_kept(keep: Keep, lost: &Lost) -> CliError {
    CliError::NotKept {
        message: format!("{} cannot be kept: {lost}", report::kept_words(keep)),
        help: match keep {
            Keep::Lines => "keep less: --keep parts, or --keep nothing".to_owned(),
            _ => "keep less: --keep nothing".to_owned(),
        },
    }
}

/// The record is of the new prices now, the project perhaps not.
fn note_prices(args: &Args, input: &Input, terminal: &Terminal) {
    let Some(prices) = &args.read.prices else {
        return;
    };
    let folder = files::folder(&args.project);
    let shown = couplet::source::relative(prices, &folder);
    if input.settings.prices.as_deref() != Some(shown.as_str()) {
        terminal.note(format!(
            "write prices = {shown:?} into project.toml to plan with this list from now on"
        ));
    }
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
