//! Where the whole program is not too large, but can't be expected to end soon:
//! other ways to a plan and a bound beside it.

use super::{Known, Run};
use crate::model::hunt::Hunt;
use crate::model::pooled::Pooled;
use crate::model::program::Built;
use crate::model::{Outcome, Progress, SolveOptions};
use crate::solve::SolveError;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::channel;

/// Share of a limit on time for the pooled program, and again for the whole
/// program held to few parts.
const SHARE: f64 = 0.3;

/// Seconds for each of them without a limit.
const LONGEST: f64 = 20.0;

impl Run<'_> {
    /// Where the whole program can't be expected to end in time: other ways to a
    /// plan and a bound beside it, or before it with one thread.
    pub(super) fn closely(
        &self,
        pooled: &Pooled,
        mut hunt: Hunt,
        mut known: Known,
    ) -> Result<Outcome, SolveError> {
        if self.options.threads < 2 {
            self.few_parts(pooled, &mut hunt, &mut known)?;
            return self.last((hunt, known), Some(pooled), false);
        }
        let halt = Arc::new(AtomicBool::new(false));
        let options = SolveOptions {
            stop: Some(halt.clone()),
            ..self.options.clone()
        };
        let other = Run {
            input: self.input,
            fit: self.fit,
            options: &options,
            sets: Arc::clone(&self.sets),
            begun: self.begun,
            met: Arc::clone(&self.met),
        };
        let first = hunt.clone();
        hunt.ends(other.end());
        let (send, heard) = channel::<Progress>();
        let (begun, bound) = (self.begun, known.bound);
        std::thread::scope(|scope| {
            let way = scope.spawn(move || -> Result<(Hunt, f64), SolveError> {
                let mut report = |progress| {
                    // Nobody listens any more once the whole program has ended.
                    let _ = send.send(progress);
                };
                let mut known = Known::new(begun, &other.options.doubts, &mut report);
                known.bound = bound;
                other.few_parts(pooled, &mut hunt, &mut known)?;
                while !other.is_over() && !other.is_near(hunt.total(), known.bound) {
                    hunt.rounds((1, 20_000), other.until(), &|| other.stopped())?;
                    known.tell(hunt.total(), f64::NEG_INFINITY);
                }
                other.meet(hunt.total(), known.bound);
                Ok((hunt, known.bound))
            });
            known.heard = Some(heard);
            let outcome = self.last((first, known), Some(pooled), false);
            halt.store(true, Ordering::Relaxed);
            let Ok(found) = way.join() else {
                return outcome;
            };
            let (hunt, bound) = found?;
            self.better(outcome?, hunt, (bound, Some(pooled)))
        })
    }

    /// The pooled program, then the whole program held to the parts that the
    /// pooled solution and the best plan use.
    fn few_parts(
        &self,
        pooled: &Pooled,
        hunt: &mut Hunt,
        known: &mut Known,
    ) -> Result<(), SolveError> {
        if self.is_over() {
            return Ok(());
        }
        let share = (self.options.time_limit).map_or(LONGEST, |l| l.as_secs_f64() * SHARE);
        let mut limits = self.limits();
        limits.seconds = share.min(limits.seconds);
        let best = hunt.total();
        let solved = crate::solve::run(&pooled.program, &limits, &mut |pulse| {
            // Its best is no plan.
            known.pulse(best, &pulse);
        })?;
        known.tell(best, solved.bound());
        let Some(values) = solved.into_values() else {
            return Ok(());
        };
        hunt.guide(pooled.guide(&self.sets, &values));
        hunt.rounds((2, 20_000), self.until(), &|| self.stopped())?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        if self.is_over() || self.is_near(hunt.total(), known.bound) {
            return Ok(());
        }
        self.held_to(pooled, &values, share, (hunt, known))
    }

    /// The whole program held to the parts that a pooled solution and the best
    /// plan use.
    fn held_to(
        &self,
        pooled: &Pooled,
        values: &[f64],
        seconds: f64,
        (hunt, known): (&mut Hunt, &mut Known),
    ) -> Result<(), SolveError> {
        let mut built = known.build(|| Built::new(&self.sets));
        let start = match hunt.best() {
            Some(plan) => self.as_start(&built, &plan.sets)?,
            None => None,
        };
        let unused = (pooled.bundles.iter()).filter(|b| values[b.used.0] < 0.5);
        for &part in unused.flat_map(|b| &b.parts) {
            let used = built.parts[part].used.0;
            if start.as_ref().is_none_or(|s| s.values[used] < 0.5) {
                built.program.vars[used].up = 0.0;
            }
        }
        let mut limits = self.limits();
        limits.seconds = seconds.min(limits.seconds);
        limits.start = start.map(|s| s.values);
        let best = hunt.total();
        let solved = crate::solve::run(&built.program, &limits, &mut |pulse| {
            // Its bound holds for these parts alone.
            let best = pulse.best.into_iter().chain(best).reduce(f64::min);
            known.count(&pulse);
            known.tell(best, f64::NEG_INFINITY);
        })?;
        if let Some(values) = solved.into_values() {
            hunt.offer(self.read(&built, values).solution);
        }
        known.tell(hunt.total(), f64::NEG_INFINITY);
        Ok(())
    }
}
