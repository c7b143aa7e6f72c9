//! Where the commands meet the library: reading, planning, the record.

use super::error::CliError;
use super::output::Terminal;
use super::progress::Meter;
use super::{files, interrupt};
use couplet::catalog::Catalog;
use couplet::diag::Findings;
use couplet::fit::{self, Fit};
use couplet::input::{self, Input, InputFile, LoadOptions};
use couplet::limit::{Limit, Stop};
use couplet::model::Question;
use couplet::plan::{self, Plan, ReadError, Status};
use couplet::report;
use couplet::report::diagnostics::Message;
use couplet::report::wording;
use couplet::solve::{Doubts, Solver, mps};
use couplet::study::answer::{self, Reply};
use couplet::study::conflict;
use couplet::study::recall::Recalled;
use jiff::civil::Date;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What is read in place of what the project says.
#[derive(Debug, Clone, Default)]
pub struct Instead {
    /// Price list.
    pub prices: Option<PathBuf>,
    /// Day of the plan.
    pub as_of: Option<Date>,
}

/// Reads a project with its catalog; the findings hold all that is wrong.
pub fn load(project: &Path, instead: &Instead) -> (Option<Input>, Findings) {
    let options = LoadOptions {
        prices: instead.prices.clone(),
        as_of: instead.as_of,
    };
    let loaded = input::load(project, &options);
    (loaded.input, loaded.findings)
}

/// Reads a catalog folder.
pub fn load_catalog(folder: &Path) -> (Option<Catalog>, Findings) {
    let loaded = input::load_catalog(folder, None);
    (loaded.catalog, loaded.findings)
}

/// Reads a project as the record says that it was read: with its price list,
/// as of its day.
pub fn recorded_input(project: &Path, plan: &Plan) -> Result<Input, CliError> {
    let instead = Instead {
        prices: recorded_prices(project, plan),
        as_of: plan.as_of,
    };
    match load(project, &instead) {
        (Some(input), _) => Ok(input),
        (None, findings) => Err(CliError::Input(findings)),
    }
}

/// The price list that the record was made with, where it is still there: it
/// stands after the four files of parts.
fn recorded_prices(project: &Path, plan: &Plan) -> Option<PathBuf> {
    let is_last = |file: &InputFile| file.file.ends_with("backshells.csv");
    let place = plan.inputs.iter().position(is_last)? + 1;
    let path = super::files::folder(project).join(&plan.inputs.get(place)?.file);
    path.is_file().then_some(path)
}

/// Fit, search from what is still there of a record, record and audit.
pub fn make_plan(
    input: &Input,
    limit: &Limit,
    solver: &Solver,
    before: Option<&Plan>,
    meter: &Meter,
) -> Result<Plan, CliError> {
    let fit = fit_of(input)?;
    let recalled = Recalled::new(input, &fit, before);
    plan_anew(input, &fit, limit, solver, recalled, meter)
}

/// The same with what fits and what is there of a record.
pub fn plan_anew(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    solver: &Solver,
    recalled: Recalled,
    meter: &Meter,
) -> Result<Plan, CliError> {
    match searched(input, fit, limit, solver, &recalled, meter)? {
        Reply::Found(answer) => Ok(answer.plan),
        Reply::Infeasible => Err(explained(input, limit, meter)),
        Reply::Unknown if limit.stop.is_asked() => Err(CliError::Stopped),
        Reply::Unknown => Err(CliError::OutOfTime),
    }
}

/// Keeps the programs that the solver answered wrongly beside the project, for a
/// report, and says so.
pub fn keep_doubts(project: &Path, doubts: &Doubts, terminal: &Terminal) {
    let list = doubts.list();
    if list.is_empty() {
        return;
    }
    let folder = input::folder_of(project).join(".couplet");
    let mut kept = Vec::new();
    for (place, doubt) in list.iter().enumerate() {
        if doubt.program.vars.is_empty() {
            continue;
        }
        let path = folder.join(format!("wrong-answer-{}.mps", place + 1));
        let text = format!("* {}\n{}", doubt.why, mps(&doubt.program));
        let written = files::make_folder(&folder).and_then(|()| files::write(&path, text));
        if written.is_ok() {
            kept.push(path.display().to_string());
        }
    }
    terminal.warning(&Message {
        text: format!(
            "{} found wrong and thrown away; the result rests on none of them",
            answers(list.len())
        ),
        help: Some(format!("please report it with {}", list_of(&kept))),
        ..Message::default()
    });
}

fn answers(count: usize) -> String {
    match count {
        1 => "1 answer of the solver was".to_owned(),
        n => format!("{n} answers of the solver were"),
    }
}

fn list_of(kept: &[String]) -> String {
    match kept {
        [] => "the project and its catalog".to_owned(),
        kept => wording::list(kept),
    }
}

/// Everything that fits, or why an end has no set.
pub fn fit_of(input: &Input) -> Result<Fit, CliError> {
    fit::fit(input).map_err(|none| CliError::NoSet(none.to_string()))
}

/// As many threads as there are cores.
fn cores() -> u32 {
    std::thread::available_parallelism().map_or(1, |n| u32::try_from(n.get()).unwrap_or(1))
}

/// What the user lets a search take; Ctrl-C stops it.
pub fn limit(time: Option<Duration>, threads: Option<u32>, terminal: &Terminal) -> Limit {
    interrupt::asks(&terminal.stop);
    let limit = Limit::default()
        .with_threads(threads.unwrap_or_else(cores))
        .with_stop(&terminal.stop);
    match time {
        Some(time) => limit.within(time),
        None => limit,
    }
}

/// A search within a limit, from now on, that tells how far it is.
pub fn searched(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    solver: &Solver,
    recalled: &Recalled,
    meter: &Meter,
) -> Result<Reply, CliError> {
    let question = Question {
        solver: solver.clone(),
        ..Question::default()
    };
    meter.begin();
    let shown = meter.clone();
    let limit = limit.again().told_to(move |now| shown.show(now));
    Ok(answer::planned(input, fit, &question, recalled, &limit)?)
}

/// How long to look for what stands in the way, unless the user says.
const EXPLAIN: Duration = Duration::from_secs(60);

/// The limit anew, for a search for what stands in the way; and how long that is.
pub fn to_explain(limit: &Limit) -> (Limit, Duration) {
    match limit.length() {
        Some(length) => (limit.again(), length),
        None => (limit.within(EXPLAIN), EXPLAIN),
    }
}

/// What of a project without a plan cannot hold together.
pub fn explained(input: &Input, limit: &Limit, meter: &Meter) -> CliError {
    let (limit, at_most) = to_explain(limit);
    let shown = meter.clone();
    let limit = limit.told_to(move |now| shown.explain(now, at_most));
    let maker = |input: &Input| fit::fit(input).ok();
    match conflict::find(input, &maker, &limit) {
        Ok(Some(found)) => CliError::Limits(report::conflict::lines(input, &found)),
        Ok(None) => CliError::Limits(Vec::new()),
        Err(error) => error.into(),
    }
}

/// Reads a plan record.
pub fn read_plan(path: &Path) -> Result<Plan, CliError> {
    plan::read(path).map_err(|error| unread(&error))
}

/// A record that can't be read.
pub fn unread(error: &ReadError) -> CliError {
    CliError::Read {
        message: error.to_string(),
        help: error.help().to_owned(),
    }
}

/// The plan record as it is written.
pub fn record_text(plan: &Plan) -> Result<String, CliError> {
    serde_json::to_string_pretty(plan)
        .map(|text| text + "\n")
        .map_err(CliError::output)
}

/// Writes a plan record.
pub fn write_plan(path: &Path, plan: &Plan) -> Result<(), CliError> {
    let write = || plan::write(path, plan);
    // A device or a pipe keeps nothing, and may have a reader that waits.
    let written = match path.exists() && !path.is_file() {
        true => interrupt::showing(write),
        false => interrupt::keeping(path, write),
    };
    written.map_err(|error| CliError::Write {
        message: error.to_string(),
        help: error.help().to_owned(),
    })
}

/// True unless Ctrl-C came before the plan was proven and the user has not said
/// to keep such a plan.
pub fn may_keep(plan: &Plan, keep_best: bool, stop: &Stop) -> bool {
    keep_best || !stop.is_asked() || plan.status != Status::TimeLimit
}
