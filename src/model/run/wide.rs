//! Where the whole program is too large: search and pooled program side by side.

use super::{Known, Run};
use crate::model::hunt::Hunt;
use crate::model::pooled::Pooled;
use crate::solve::{Limits, Pulse, SolveError, Solved};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
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
            let until = self.until().unwrap_or(patience);
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() || self.is_over() || self.is_near(hunt.total(), known.bound) {
                return Ok(());
            }
            // What would be left after this leg is too short for another.
            let length = if left < leg * 2 { left } else { leg };
            let solved = self.leg(pooled, from.take(), (hunt, known), length)?;
            let done = matches!(solved, Solved::Optimal { .. });
            known.tell(hunt.total(), solved.bound());
            let values = solved.into_values();
            if let Some(values) = &values {
                hunt.guide(pooled.guide(&self.sets, values));
            }
            if done && self.options.time_limit.is_none() {
                hunt.rounds((30, 20_000), self.until(), &|| self.stopped())?;
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
        (hunt, known): (&mut Hunt, &mut Known),
        length: Duration,
    ) -> Result<Solved, SolveError> {
        let until = Instant::now() + length;
        let share = if self.options.threads > 1 { 1.0 } else { 0.4 };
        let halt = Arc::new(AtomicBool::new(false));
        let limits = Limits {
            seconds: length.as_secs_f64() * share,
            threads: 1,
            start: from,
            stops: vec![halt.clone()],
            engine: Arc::clone(&self.options.engine),
            doubts: self.options.doubts.clone(),
            ..Limits::default()
        };
        let (send, receive) = channel::<Pulse>();
        std::thread::scope(|scope| {
            let solver = scope.spawn(move || {
                crate::solve::run(&pooled.program, &limits, &mut |pulse| {
                    // Nobody listens any more once the leg is over.
                    let _ = send.send(pulse);
                })
            });
            let stopped = || {
                let stop = self.stopped();
                if stop {
                    halt.store(true, Ordering::Relaxed);
                }
                stop
            };
            let waits = self.options.threads < 2;
            while Instant::now() < until && !stopped() {
                if waits && !solver.is_finished() {
                    std::thread::sleep(Duration::from_millis(20));
                } else {
                    hunt.rounds((1, 20_000), Some(until), &stopped)?;
                }
                for pulse in receive.try_iter() {
                    known.pulse(hunt.total(), &pulse);
                }
                known.tell(hunt.total(), f64::NEG_INFINITY);
                if self.is_near(hunt.total(), known.bound) {
                    halt.store(true, Ordering::Relaxed);
                    break;
                }
            }
            let solved = solver.join();
            receive.try_iter().for_each(|pulse| known.count(&pulse));
            solved.unwrap_or(Ok(Solved::Unknown {
                bound: f64::NEG_INFINITY,
            }))
        })
    }
}
