//! How the search goes, on standard error.

use super::args::Progress;
use super::journal::{Journal, Stage};
use couplet::limit::{Doing, Progress as Now};
use couplet::report::{self, wording};
use couplet::units::Currency;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::io::{IsTerminal, Write};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Nothing is shown before this time.
const QUIET_FIRST: Duration = Duration::from_secs(1);

/// The time between two plain lines where there is no terminal.
const BETWEEN_LINES: Duration = Duration::from_secs(10);

/// What a command searches for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A plan.
    Plan,
    /// What single parts would add.
    Why,
    /// What several plans tell.
    Study,
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
    /// Progress as it is asked for, else as fits standard error.
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
/// and then elsewhere, nothing where a run is quiet. Clones show in the same place.
#[derive(Clone)]
pub struct Meter {
    currency: String,
    way: Way,
}

#[derive(Clone)]
enum Way {
    Quiet,
    Line(ProgressBar),
    /// When the next line comes at the earliest.
    Plain(Arc<Mutex<Duration>>),
    Json(Arc<Journal>),
}

impl Meter {
    /// A meter for totals in this currency.
    pub fn new(currency: &Currency, told: &Told) -> Self {
        let way = match told {
            Told::None => Way::Quiet,
            Told::Line => Way::Line(line()),
            Told::Plain => Way::Plain(Arc::new(Mutex::new(BETWEEN_LINES))),
            Told::Json(journal) => Way::Json(Arc::clone(journal)),
        };
        Self {
            currency: currency.to_string(),
            way,
        }
    }

    /// Shows how far the work is.
    pub fn hear(&self, of: Of, at_most: Duration, now: &Now) {
        match (now.doing, of) {
            (Doing::Narrowing | Doing::Easing, _) => self.explain(now, at_most),
            (_, Of::Study) => self.show_study(now),
            (Doing::Planning, Of::Plan | Of::Why) => self.show(now),
            (Doing::Studying, Of::Plan | Of::Why) => {
                self.step(Stage::Studying, &now.about, now.elapsed);
            }
        }
    }

    /// Shows how the search for a plan goes, where it is time to.
    pub fn show(&self, now: &Now) {
        match &self.way {
            Way::Json(journal) => journal.plan((now.best, now.bound), doubts(now.doubts)),
            _ => self.say(text(now, &self.currency), now.elapsed),
        }
    }

    /// Shows what is being done, where it is time to.
    pub fn step(&self, stage: Stage, doing: &str, elapsed: Duration) {
        match &self.way {
            Way::Json(journal) => journal.tell(stage, Some(doing.to_owned())),
            _ => self.say(format!("{} s: {doing}", elapsed.as_secs()), elapsed),
        }
    }

    /// Shows how the search for a conflict goes, where it is time to.
    pub fn explain(&self, now: &Now, at_most: Duration) {
        let doing = report::conflict::progress(now, at_most);
        self.step(Stage::Explaining, &doing, now.elapsed);
    }

    /// Shows how many plans of several are solved, and the best so far of one
    /// that is being solved, where it is time to.
    pub fn show_study(&self, now: &Now) {
        match (&self.way, now.doing) {
            // The plan from which the study starts.
            (Way::Json(_), Doing::Planning) => self.show(now),
            _ => self.step(Stage::Studying, &self.study(now), now.elapsed),
        }
    }

    fn study(&self, now: &Now) -> String {
        let solves = wording::counted(now.solves as u64, "plan");
        let done = match now.done {
            Some((done, of)) => format!(", {done} of {of} searches done"),
            None => String::new(),
        };
        let about = match &*now.about {
            "" => String::new(),
            about => format!(", at {about}"),
        };
        let next = match now.best.filter(|b| b.is_finite()) {
            Some(best) => format!(", the next at {best:.2} {}", self.currency),
            None => String::new(),
        };
        format!("{solves} solved{done}{about}{next}")
    }

    fn say(&self, text: String, elapsed: Duration) {
        match &self.way {
            Way::Quiet | Way::Json(_) => {}
            Way::Line(line) => {
                if elapsed >= QUIET_FIRST {
                    line.set_message(text);
                    line.tick();
                }
            }
            Way::Plain(next) => {
                let mut next = next.lock().unwrap_or_else(PoisonError::into_inner);
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
            Way::Quiet | Way::Plain(_) => {}
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
fn text(now: &Now, currency: &str) -> String {
    let seconds = now.elapsed.as_secs();
    let bound = match now.bound.filter(|b| b.is_finite()) {
        Some(bound) => format!(", bound {bound:.2} {currency}"),
        None => String::new(),
    };
    let doubts = doubts(now.doubts).map_or(String::new(), |doubts| format!(", {doubts}"));
    match now.best.filter(|t| t.is_finite()) {
        Some(total) => {
            let gap = gap(total, now.bound).map_or(String::new(), |gap| format!(", gap {gap}"));
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

    fn now(best: Option<f64>, bound: Option<f64>, doubts: usize) -> Now {
        Now {
            doing: Doing::Planning,
            about: "".into(),
            best,
            bound,
            elapsed: Duration::from_secs(12),
            solves: 0,
            done: None,
            nodes: 0,
            building: Duration::ZERO,
            doubts,
        }
    }

    fn said(best: Option<f64>, bound: Option<f64>) -> String {
        text(&now(best, bound, 0), "EUR")
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
        let said = |doubts| text(&now(Some(200.0), None, doubts), "EUR");
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
