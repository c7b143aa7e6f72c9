//! Where the commands meet the library: reading, planning, the record.

use super::error::CliError;
use super::output::Terminal;
use super::progress::{Best, Meter};
use super::{files, interrupt};
use couplet::fit::{self, Fit};
use couplet::input::{self, Input};
use couplet::model::{Progress, SolveOptions};
use couplet::plan::{self, Plan, Status};
use couplet::report::diagnostics::Message;
use couplet::report::wording;
use couplet::solve::{Doubts, mps};
use couplet::source::Files;
use couplet::study::answer::{self, Reply};
use couplet::study::conflict::{self, Bounds};
use couplet::study::failure::Blocked;
use couplet::study::recall::Recalled;
use std::path::Path;
use std::time::Duration;

/// When the search may stop early, and what it may use.
#[derive(Debug, Clone, Default)]
pub struct Limits {
    /// With the best plan so far.
    pub time: Option<Duration>,
    /// Within so many percent of the cheapest.
    pub gap_percent: Option<f64>,
    /// Threads.
    pub threads: Option<u32>,
    /// Where answers of the solver are noted that were found wrong.
    pub doubts: Doubts,
}

/// Fit, search from what is still there of a record, record and audit.
pub fn make_plan(
    input: &Input,
    limits: &Limits,
    before: Option<&Plan>,
    meter: &mut Meter,
) -> Result<Plan, CliError> {
    let fit = fit_of(input)?;
    let recalled = Recalled::new(input, &fit, before);
    plan_anew(input, &fit, (limits, recalled), meter)
}

/// The same with what fits and what is there of a record.
pub fn plan_anew(
    input: &Input,
    fit: &Fit,
    (limits, recalled): (&Limits, Recalled),
    meter: &mut Meter,
) -> Result<Plan, CliError> {
    match searched(input, fit, (limits, &recalled), meter)? {
        Reply::Found(answer) => Ok(answer.plan),
        Reply::Infeasible => Err(explained(input, limits, meter)),
        Reply::Unknown if interrupt::is_asked() => Err(CliError::Stopped),
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
    let folder = input::folder_of(&Files::on_disk(), project).join(".couplet");
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
    Ok(fit::fit(input)?)
}

/// As many threads as there are cores.
pub fn cores() -> u32 {
    std::thread::available_parallelism().map_or(1, |n| u32::try_from(n.get()).unwrap_or(1))
}

/// A search under these limits that tells how far it is.
pub fn searched(
    input: &Input,
    fit: &Fit,
    (limits, recalled): (&Limits, &Recalled),
    meter: &mut Meter,
) -> Result<Reply, CliError> {
    let options = SolveOptions {
        time_limit: limits.time,
        gap_percent: limits.gap_percent,
        threads: limits.threads.unwrap_or_else(cores),
        stop: Some(interrupt::flag()),
        doubts: limits.doubts.clone(),
        ..SolveOptions::default()
    };
    meter.begin();
    let mut report = |progress: Progress| {
        meter.show(&Best {
            total: progress.best,
            bound: progress.bound,
            elapsed: progress.elapsed,
            doubts: progress.work.doubts,
        });
    };
    Ok(answer::planned(
        input,
        fit,
        (&options, recalled),
        &mut report,
    )?)
}

/// How long to look for what stands in the way, unless the user says.
pub const EXPLAIN: Duration = Duration::from_secs(60);

/// What of a project without a plan cannot hold together.
pub fn explained(input: &Input, limits: &Limits, meter: &mut Meter) -> CliError {
    let time = limits.time.unwrap_or(EXPLAIN);
    let bounds = Bounds {
        time,
        threads: limits.threads.unwrap_or_else(cores),
        stop: Some(interrupt::flag()),
    };
    let maker = |input: &Input| fit::fit(input).ok();
    let mut report = |pulse| meter.show_conflict(pulse, time);
    match conflict::find(input, &maker, bounds, &mut report) {
        Ok(Some(conflict)) => CliError::Limits(Some(Box::new(Blocked {
            input: input.clone(),
            conflict,
        }))),
        Ok(None) => CliError::Limits(None),
        Err(error) => error.into(),
    }
}

/// The plan record as it is written.
pub fn record_text(plan: &Plan) -> Result<String, CliError> {
    plan::text(plan).map_err(CliError::output)
}

/// Writes a plan record.
pub fn write_plan(path: &Path, plan: &Plan) -> Result<(), CliError> {
    files::write(path, record_text(plan)?)
}

/// True unless Ctrl-C came before the plan was proven and the user has not said
/// to keep such a plan.
pub fn may_keep(plan: &Plan, keep_best: bool) -> bool {
    keep_best || !interrupt::is_asked() || plan.status != Status::TimeLimit
}
