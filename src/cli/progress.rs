//! How the search goes, on standard error.

use couplet::report::{self, wording};
use couplet::study::answer::Step;
use couplet::study::conflict::Pulse;
use couplet::units::Currency;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::io::{IsTerminal, Write};
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
}

impl Meter {
    /// For totals in this currency.
    pub fn new(currency: &Currency, is_quiet: bool) -> Self {
        let way = if is_quiet {
            Way::Quiet
        } else if std::io::stderr().is_terminal() {
            Way::Line(line())
        } else {
            Way::Plain {
                next: BETWEEN_LINES,
            }
        };
        Self {
            currency: currency.to_string(),
            way,
        }
    }

    /// Shows it, where it is time to.
    pub fn show(&mut self, best: &Best) {
        self.say(text(best, &self.currency), best.elapsed);
    }

    /// Shows what is being done, where it is time to.
    pub fn step(&mut self, doing: &str, elapsed: Duration) {
        self.say(format!("{} s: {doing}", elapsed.as_secs()), elapsed);
    }

    /// Shows how the search for a conflict goes, where it is time to.
    pub fn show_conflict(&mut self, pulse: Pulse, at_most: Duration) {
        self.step(
            &report::conflict::progress(pulse, at_most),
            pulse.effort.elapsed,
        );
    }

    /// Shows how many plans of several are solved, and the best so far of one
    /// that is being solved, where it is time to.
    pub fn show_study(&mut self, elapsed: Duration, step: &Step) {
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
        let seconds = elapsed.as_secs();
        self.say(
            format!("{seconds} s: {solves} solved{done}{about}{now}"),
            elapsed,
        );
    }

    fn say(&mut self, text: String, elapsed: Duration) {
        match &mut self.way {
            Way::Quiet => {}
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

    /// Takes the line away.
    pub fn finish(&self) {
        if let Way::Line(line) = &self.way {
            line.finish_and_clear();
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
    let doubts = match best.doubts {
        0 => String::new(),
        n => format!(
            ", {} of the solver thrown away",
            wording::counted(n as u64, "answer")
        ),
    };
    match best.total.filter(|t| t.is_finite()) {
        Some(total) => {
            let gap = gap(total, best.bound).map_or(String::new(), |gap| format!(", gap {gap}"));
            format!("{seconds} s: best {total:.2} {currency}{bound}{gap}{doubts}")
        }
        None => format!("{seconds} s: no plan yet{bound}{doubts}"),
    }
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
