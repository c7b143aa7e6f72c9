//! How the search goes, on standard error.

use super::args::Progress;
use super::journal::{Journal, Stage};
use super::output::Terminal;
use couplet::report::{self, wording};
use couplet::study::answer::Step;
use couplet::study::conflict::Pulse;
use couplet::units::Currency;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::time::Duration;

/// Nothing is shown before this.
const QUIET_FIRST: Duration = Duration::from_secs(1);

/// Between two plain lines where there is no terminal.
const BETWEEN_LINES: Duration = Duration::from_secs(10);

/// The best plan so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// Its total.
    pub total: Option<f64>,
    /// No plan can cost less than this.
    pub bound: Option<f64>,
    /// Since the search began.
    pub elapsed: Duration,
    /// Answers of the solver that were found wrong and thrown away.
    pub doubts: usize,
}

/// How a run tells its progress.
#[derive(Debug, Clone)]
pub enum Told {
    /// Not at all.
    None,
    /// A line now and then.
    Plain,
    /// One line that changes.
    Line,
    /// For another program.
    Json(Arc<Journal>),
}

impl Told {
    /// As it is asked for; else as fits standard error.
    pub fn new(asked: Option<Progress>, is_quiet: bool) -> Self {
        match asked {
            _ if is_quiet => Self::None,
            Some(Progress::None) => Self::None,
            Some(Progress::Plain) => Self::Plain,
            Some(Progress::Json) => Self::Json(Arc::new(Journal::new())),
            None if std::io::stderr().is_terminal() => Self::Line,
            None => Self::Plain,
        }
    }

    /// The project is being read.
    pub fn reading(&self) {
        if let Self::Json(journal) = self {
            journal.tell(Stage::Reading, None);
        }
    }
}

/// Shows how the search goes: one line that changes on a terminal, a line now
/// and then elsewhere, nothing where it is quiet.
pub struct Meter {
    currency: String,
    way: Way,
}

enum Way {
    Quiet,
    Line(ProgressBar),
    Plain { next: Duration },
    Json(Arc<Journal>),
}

impl Meter {
    /// For totals in this currency.
    pub fn new(currency: &Currency, terminal: &Terminal) -> Self {
        let way = match &terminal.progress {
            Told::None => Way::Quiet,
            Told::Line => Way::Line(line()),
            Told::Plain => Way::Plain {
                next: BETWEEN_LINES,
            },
            Told::Json(journal) => Way::Json(Arc::clone(journal)),
        };
        Self {
            currency: currency.to_string(),
            way,
        }
    }

    /// Shows nothing.
    pub fn silent(currency: &Currency) -> Self {
        Self {
            currency: currency.to_string(),
            way: Way::Quiet,
        }
    }

    /// The search for a plan begins.
    pub fn begin(&self) {
        if let Way::Json(journal) = &self.way {
            journal.plan((None, None), None);
        }
    }

    /// Shows it, where it is time to.
    pub fn show(&mut self, best: &Best) {
        match &self.way {
            Way::Json(journal) => journal.plan((best.total, best.bound), doubts(best.doubts)),
            _ => self.say(text(best, &self.currency), best.elapsed),
        }
    }

    /// Shows what is being done, where it is time to.
    pub fn step(&mut self, stage: Stage, doing: &str, elapsed: Duration) {
        match &self.way {
            Way::Json(journal) => journal.tell(stage, Some(doing.to_owned())),
            _ => self.say(format!("{} s: {doing}", elapsed.as_secs()), elapsed),
        }
    }

    /// Shows how the search for a conflict goes, where it is time to.
    pub fn show_conflict(&mut self, pulse: Pulse, at_most: Duration) {
        self.explain(pulse, at_most, pulse.effort.elapsed);
    }

    /// The same, where something else went on before.
    pub fn explain(&mut self, pulse: Pulse, at_most: Duration, elapsed: Duration) {
        let doing = report::conflict::progress(pulse, at_most);
        self.step(Stage::Explaining, &doing, elapsed);
    }

    /// Shows how many plans of several are solved, and the best so far of one
    /// that is being solved, where it is time to.
    pub fn show_study(&mut self, elapsed: Duration, step: &Step) {
        if let (Way::Json(journal), true) = (&self.way, step.is_first) {
            let now = step.now.as_ref();
            let known = now.map_or((None, None), |now| (now.best, now.bound));
            return journal.plan(known, now.and_then(|now| doubts(now.work.doubts)));
        }
        let doing = self.study(step);
        self.step(Stage::Studying, &doing, elapsed);
    }

    fn study(&self, step: &Step) -> String {
        let solves = wording::counted(step.solves as u64, "plan");
        let done = match step.done {
            Some((done, of)) => format!(", {done} of {of} searches done"),
            None => String::new(),
        };
        let about = match step.about {
            "" => String::new(),
            about => format!(", at {about}"),
        };
        let best = step.now.and_then(|now| now.best);
        let now = match best.filter(|b| b.is_finite()) {
            Some(best) => format!(", the next at {best:.2} {}", self.currency),
            None => String::new(),
        };
        format!("{solves} solved{done}{about}{now}")
    }

    fn say(&mut self, text: String, elapsed: Duration) {
        match &mut self.way {
            Way::Quiet | Way::Json(_) => {}
            Way::Line(line) => {
                if elapsed >= QUIET_FIRST {
                    line.set_message(text);
                    line.tick();
                }
            }
            Way::Plain { next } => {
                if elapsed >= *next {
                    *next = elapsed + BETWEEN_LINES;
                    // Where standard error is closed there is nobody to tell.
                    let _ = writeln!(anstream::stderr(), "{text}");
                }
            }
        }
    }

    /// Takes the line away; for a program, tells what was told last.
    pub fn finish(&self) {
        match &self.way {
            Way::Line(line) => line.finish_and_clear(),
            Way::Json(journal) => journal.flush(),
            Way::Quiet | Way::Plain { .. } => {}
        }
    }
}

fn line() -> ProgressBar {
    let line = ProgressBar::new_spinner();
    line.set_draw_target(ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template("{spinner} {wide_msg}") {
        line.set_style(style);
    }
    line
}

/// `12 s: best 1234.50 EUR, bound 1200.10 EUR, gap 2.79 %`.
fn text(best: &Best, currency: &str) -> String {
    let seconds = best.elapsed.as_secs();
    let bound = match best.bound.filter(|b| b.is_finite()) {
        Some(bound) => format!(", bound {bound:.2} {currency}"),
        None => String::new(),
    };
    let doubts = doubts(best.doubts).map_or(String::new(), |doubts| format!(", {doubts}"));
    match best.total.filter(|t| t.is_finite()) {
        Some(total) => {
            let gap = gap(total, best.bound).map_or(String::new(), |gap| format!(", gap {gap}"));
            format!("{seconds} s: best {total:.2} {currency}{bound}{gap}{doubts}")
        }
        None => format!("{seconds} s: no plan yet{bound}{doubts}"),
    }
}

/// `2 answers of the solver thrown away`, if there are any.
fn doubts(count: usize) -> Option<String> {
    let answers = || wording::counted(count as u64, "answer");
    (count > 0).then(|| format!("{} of the solver thrown away", answers()))
}

/// (total − bound) / total.
fn gap(total: f64, bound: Option<f64>) -> Option<String> {
    let bound = bound.filter(|b| b.is_finite() && total > 0.0)?;
    let percent = (100.0 * (total - bound) / total).max(0.0);
    Decimal::from_f64(percent).map(wording::gap)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(total: Option<f64>, bound: Option<f64>) -> String {
        let best = Best {
            total,
            bound,
            elapsed: Duration::from_secs(12),
            doubts: 0,
        };
        text(&best, "EUR")
    }

    #[test]
    fn says_what_is_known() {
        assert_eq!(
            said(Some(200.0), Some(190.0)),
            "12 s: best 200.00 EUR, bound 190.00 EUR, gap 5.00 %"
        );
        assert_eq!(said(Some(200.0), None), "12 s: best 200.00 EUR");
        assert_eq!(
            said(None, Some(190.0)),
            "12 s: no plan yet, bound 190.00 EUR"
        );
        assert_eq!(
            said(Some(f64::INFINITY), Some(f64::NEG_INFINITY)),
            "12 s: no plan yet"
        );
    }

    #[test]
    fn answers_thrown_away_are_counted() {
        let best = |doubts| Best {
            total: Some(200.0),
            bound: None,
            elapsed: Duration::from_secs(12),
            doubts,
        };
        let said = |doubts| text(&best(doubts), "EUR");
        let one = "12 s: best 200.00 EUR, 1 answer of the solver thrown away";
        assert_eq!(said(1), one);
        assert!(said(2).ends_with(", 2 answers of the solver thrown away"));
    }

    #[test]
    fn a_plan_that_costs_nothing_has_no_gap() {
        assert_eq!(
            said(Some(0.0), Some(0.0)),
            "12 s: best 0.00 EUR, bound 0.00 EUR"
        );
    }
}
