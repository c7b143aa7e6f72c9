//! How the search goes, for another program: each line is one JSON object.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use std::io::Write;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// The least time between two lines of the same stage.
const BETWEEN: Duration = Duration::from_secs(1);

/// What a run is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Reads the project and its catalog.
    Reading,
    /// Looks for the cheapest plan of the project.
    Planning,
    /// Looks for the limits that no plan can hold together.
    Explaining,
    /// Solves plans of the project with something changed.
    Studying,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
struct Line {
    stage: Stage,
    /// Seconds since the program began.
    elapsed: f64,
    /// Total of the best plan so far, in the currency of the project.
    best: Option<f64>,
    /// No plan costs less than this bound, in the currency of the project.
    bound: Option<f64>,
    /// How far `bound` is below `best`, in percent of `best`.
    gap_percent: Option<f64>,
    /// What the stage is at, in words.
    at: Option<String>,
}

/// The schema of a line.
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Line>()
}

/// Writes the lines of one run: each new stage at once, then at most one line a second.
#[derive(Debug)]
pub struct Journal {
    begun: Instant,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    stage: Option<Stage>,
    /// No line of the same stage comes before this.
    next: Duration,
    best: Option<f64>,
    bound: Option<f64>,
    /// What was told last, if it was not written.
    unwritten: Option<Line>,
}

impl Journal {
    /// A journal whose time begins now.
    pub fn new() -> Self {
        Self {
            begun: Instant::now(),
            state: Mutex::new(State::default()),
        }
    }

    /// Tells a stage, and what the stage is at.
    pub fn tell(&self, stage: Stage, at: Option<String>) {
        self.note(stage, (None, None), at);
    }

    /// Tells of planning, with the best total and the bound as far as they are known.
    pub fn plan(&self, known: (Option<f64>, Option<f64>), at: Option<String>) {
        self.note(Stage::Planning, known, at);
    }

    /// Writes what was told last, if it was not written.
    pub fn flush(&self) {
        if let Some(line) = self.state().unwritten.take() {
            write(&line);
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn note(&self, stage: Stage, known: (Option<f64>, Option<f64>), at: Option<String>) {
        // The state is held while a line is written, so that the times never fall.
        let mut state = self.state();
        let elapsed = self.begun.elapsed();
        if let Some(line) = state.line(stage, elapsed, known, at) {
            write(&line);
        }
    }
}

impl State {
    /// The line that is to be written now, if any.
    fn line(
        &mut self,
        stage: Stage,
        elapsed: Duration,
        known: (Option<f64>, Option<f64>),
        at: Option<String>,
    ) -> Option<Line> {
        let finite = |n: Option<f64>| n.filter(|n| n.is_finite());
        let (best, bound) = (finite(known.0), finite(known.1));
        self.best = best.into_iter().chain(self.best).reduce(f64::min);
        self.bound = bound.into_iter().chain(self.bound).reduce(f64::max);
        let is_plan = stage == Stage::Planning;
        let (best, bound) = (
            self.best.filter(|_| is_plan),
            self.bound.filter(|_| is_plan),
        );
        let line = Line {
            stage,
            elapsed: rounded(elapsed.as_secs_f64(), 1000.0),
            best: best.map(|best| rounded(best, 100.0)),
            bound: bound.map(|bound| (bound * 100.0).floor() / 100.0),
            gap_percent: gap(best, bound),
            at,
        };
        if self.stage == Some(stage) && elapsed < self.next {
            self.unwritten = Some(line);
            return None;
        }
        self.stage = Some(stage);
        self.next = elapsed + BETWEEN;
        self.unwritten = None;
        Some(line)
    }
}

/// A number rounded to the nearest of so many parts of one.
fn rounded(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}

/// (best − bound) / best, in percent.
fn gap(best: Option<f64>, bound: Option<f64>) -> Option<f64> {
    let (best, bound) = best.filter(|best| *best > 0.0).zip(bound)?;
    Some(rounded((100.0 * (best - bound) / best).max(0.0), 10_000.0))
}

/// Where standard error is closed there is nobody to tell.
fn write(line: &Line) {
    if let Ok(text) = serde_json::to_string(line) {
        let _ = anstream::stderr()
            .lock()
            .write_all(format!("{text}\n").as_bytes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(state: &mut State, millis: u64, best: f64, bound: f64) -> Option<String> {
        let now = Duration::from_millis(millis);
        let line = state.line(Stage::Planning, now, (Some(best), Some(bound)), None)?;
        Some(serde_json::to_string(&line).unwrap())
    }

    #[test]
    fn a_line_has_all_keys() {
        let line = told(&mut State::default(), 1234, 200.0, 190.0).unwrap();
        let all = r#"{"stage":"planning","elapsed":1.234,"best":200.0,"bound":190.0,"gap_percent":5.0,"at":null}"#;
        assert_eq!(line, all);
    }

    #[test]
    fn what_is_not_known_is_null() {
        let line = told(&mut State::default(), 0, f64::INFINITY, f64::NEG_INFINITY).unwrap();
        assert!(line.contains(r#""best":null,"bound":null,"gap_percent":null"#));
        let line = told(&mut State::default(), 0, 0.0, 0.0).unwrap();
        assert!(line.contains(r#""gap_percent":null"#), "{line}");
    }

    #[test]
    fn one_line_a_second_and_the_last_is_kept() {
        let mut state = State::default();
        assert!(told(&mut state, 0, 9.0, 1.0).is_some());
        assert!(told(&mut state, 999, 8.0, 2.0).is_none());
        assert_eq!(state.unwritten.as_ref().unwrap().best, Some(8.0));
        assert!(told(&mut state, 1000, 7.0, 3.0).is_some());
        assert!(state.unwritten.is_none());
        let now = Duration::from_millis(1001);
        let line = state
            .line(Stage::Studying, now, (None, None), None)
            .unwrap();
        assert_eq!((line.best, line.bound), (None, None));
    }

    #[test]
    fn the_best_never_rises_and_the_bound_never_falls() {
        let mut state = State::default();
        told(&mut state, 0, 9.0, 3.0);
        let line = told(&mut state, 2000, 10.0, 2.0).unwrap();
        assert!(line.contains(r#""best":9.0,"bound":3.0"#), "{line}");
    }

    #[test]
    fn a_bound_is_rounded_down() {
        let line = told(&mut State::default(), 0, 10.0, 9.999).unwrap();
        assert!(
            line.contains(r#""bound":9.99,"gap_percent":0.01"#),
            "{line}"
        );
    }
}
