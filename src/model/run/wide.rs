//! Where the whole program is too large: search and pooled program side by side.

use super::frame::Run;
use super::known::Known;
use crate::model::hunt::Hunt;
use crate::model::pooled::Pooled;
use crate::solve::{Pulse, SolveError, Solved, Task};
use std::panic::resume_unwind;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// How long search and pooled program go on side by side without a limit on
/// time, before the whole program is tried all the same.
const PATIENCE: Duration = Duration::from_secs(900);

impl Run<'_> {
    /// Search and pooled program side by side, in legs of growing length: each
    /// leg's solution of the program guides the search of the next.
    pub(super) fn widely(
        &self,
        pooled: &Pooled,
        hunt: &mut Hunt,
        known: &mut Known,
    ) -> Result<(), SolveError> {
        let mut leg = Duration::from_secs(6);
        let mut from: Option<Vec<f64>> = None;
        let patience = Instant::now() + PATIENCE;
        loop {
            let ends = self.limit.until.or(self.limit.patience);
            let until = ends.unwrap_or(patience);
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() || self.limit.is_over() || self.is_near(hunt.total(), known.bound) {
                return Ok(());
            }
            // Where the rest would be too short for another leg, this leg takes it.
            let length = if left < leg * 2 { left } else { leg };
            let solved = self.leg(pooled, from.take(), hunt, known, length)?;
            let done = matches!(solved, Solved::Optimal { .. });
            known.tell(hunt.total(), solved.bound());
            let values = solved.into_values();
            if let Some(values) = &values {
                hunt.guide(pooled.guide(&self.problem, values));
            }
            if done && ends.is_none() {
                hunt.rounds(30, 20_000, &self.limit)?;
                return Ok(());
            }
            from = values;
            leg *= 3;
        }
    }

    /// One leg. With one thread the program comes first, then the search.
    fn leg(
        &self,
        pooled: &Pooled,
        from: Option<Vec<f64>>,
        hunt: &mut Hunt,
        known: &mut Known,
        length: Duration,
    ) -> Result<Solved, SolveError> {
        let share = if self.limit.threads > 1 { 1.0 } else { 0.4 };
        let halt = self.limit.stop.below();
        let leg = self.limit.exact().with_stop(&halt).within(length);
        let task = Task {
            start: from,
            ..Task::new(&leg.within(length.mul_f64(share)), &self.question.solver)
        };
        let (send, receive) = channel::<Pulse>();
        std::thread::scope(|scope| {
            let solver = scope.spawn(move || {
                crate::solve::run(&pooled.program, &task, &mut |pulse| {
                    // Nobody listens any more once the leg is over.
                    let _ = send.send(pulse);
                })
            });
            let _guard = halt.on_panic();
            let waits = self.limit.threads < 2;
            let mut hunted = Ok(());
            while hunted.is_ok() && !leg.is_over() {
                if waits && !solver.is_finished() {
                    std::thread::sleep(Duration::from_millis(20));
                } else {
                    hunted = hunt.rounds(1, 20_000, &leg);
                }
                for pulse in receive.try_iter() {
                    known.pulse(hunt.total(), &pulse);
                }
                known.tell(hunt.total(), f64::NEG_INFINITY);
                if hunted.is_err() || self.is_near(hunt.total(), known.bound) {
                    halt.ask();
                }
            }
            let solved = solver.join().unwrap_or_else(|panic| resume_unwind(panic));
            receive.try_iter().for_each(|pulse| known.count(&pulse));
            hunted.and(solved)
        })
    }
}
