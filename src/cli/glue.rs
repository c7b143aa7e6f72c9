//! Where the commands meet the library: what a search may take, what it leaves.

use super::interrupt;
use super::output::Terminal;
use super::progress::{Meter, Of};
use couplet::desk::Desk;
use couplet::desk::ask::EXPLAIN;
use couplet::limit::Limit;
use couplet::plan::{Plan, Status};
use couplet::report::diagnostics::Message;
use couplet::report::wording;
use couplet::study::failure::Failure;
use std::time::Duration;

/// Work that the user started: with progress, and within what it may take.
pub struct Job {
    /// What the work may take; Ctrl-C stops the work.
    pub limit: Limit,
    meter: Meter,
}

impl Job {
    /// A job on a project, whose currency the progress shows.
    pub fn new(
        of: Of,
        desk: &Desk,
        time: Option<Duration>,
        threads: Option<u32>,
        terminal: &Terminal,
    ) -> Result<Self, Failure> {
        interrupt::asks(&terminal.stop);
        let meter = Meter::new(&desk.sound()?.settings.currency, &terminal.progress);
        let (shown, at_most) = (meter.clone(), time.unwrap_or(EXPLAIN));
        let limit = Limit::default()
            .with_threads(threads.unwrap_or_else(cores))
            .with_stop(&terminal.stop)
            .told_to(move |now| shown.hear(of, at_most, now));
        Ok(Self {
            limit: match time {
                Some(time) => limit.within(time),
                None => limit,
            },
            meter,
        })
    }

    /// Takes the progress line away, and says how many answers of the solver were wrong.
    pub fn end(&self, desk: &mut Desk, terminal: &Terminal) {
        self.meter.finish();
        keep_doubts(desk, terminal);
    }

    /// Takes the progress line away.
    pub fn finish(&self) {
        self.meter.finish();
    }
}

/// Keeps the programs that the solver answered wrongly beside the project, for a
/// report, and says so.
fn keep_doubts(desk: &mut Desk, terminal: &Terminal) {
    let doubts = desk.doubts();
    if doubts == 0 {
        return;
    }
    let kept = desk.keep_doubts();
    let kept: Vec<String> = kept.iter().map(|path| path.display().to_string()).collect();
    terminal.warning(&Message {
        text: format!(
            "{} found wrong and thrown away; the result rests on no wrong answer",
            answers(doubts)
        ),
        help: Some(format!(
            "please send a report with {}",
            list_of(desk.word(), &kept)
        )),
        ..Message::default()
    });
}

fn answers(count: usize) -> String {
    match count {
        1 => "1 answer of the solver was".to_owned(),
        n => format!("{n} answers of the solver were"),
    }
}

fn list_of(word: &str, kept: &[String]) -> String {
    match kept {
        [] => format!("the {word} and its catalog"),
        kept => wording::list(kept),
    }
}

/// As many threads as there are cores.
fn cores() -> u32 {
    std::thread::available_parallelism().map_or(1, |n| u32::try_from(n.get()).unwrap_or(1))
}

/// True if Ctrl-C came before the plan was proven.
pub fn is_cut(plan: &Plan, terminal: &Terminal) -> bool {
    terminal.stop.is_asked() && plan.status == Status::TimeLimit
}
