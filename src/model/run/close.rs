//! Where the whole program is not too large, but can't be expected to end soon:
//! other ways to a plan and a bound beside it.

use super::frame::Run;
use super::known::{Known, News};
use crate::model::hunt::Hunt;
use crate::model::pooled::Pooled;
use crate::model::program::Built;
use crate::model::question::Outcome;
use crate::model::solution::Solution;
use crate::solve::{Gifts, SolveError, Task};
use std::panic::resume_unwind;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Share of a limit on time for the pooled program, and again for the whole
/// program held to few parts.
const SHARE: f64 = 0.3;

/// The same where there is no limit on time.
const LONGEST: Duration = Duration::from_secs(20);

/// What the other ways have to do with the proof beside them.
struct Beside {
    /// Plans that the solver finds in the proof.
    found: Receiver<Solution>,
    /// Where the proof takes plans from, if it takes any.
    given: Option<Gifts>,
    /// The whole program, once it was needed.
    built: Option<Built>,
    /// The least total that the proof is known to have.
    least: f64,
}

impl Run<'_> {
    /// Where the whole program can't be expected to end in time: other ways to a
    /// plan and a bound beside it, or before it with one thread.
    pub(super) fn closely(
        &self,
        pooled: &Pooled,
        mut hunt: Hunt,
        mut known: Known,
    ) -> Result<Outcome, SolveError> {
        if self.limit.threads < 2 {
            self.few_parts(pooled, &mut hunt, &mut known, None)?;
            return self.last(hunt, known, Some(pooled), false);
        }
        let halt = self.limit.stop.below();
        let other = Run {
            limit: self.limit.with_stop(&halt),
            ..self.clone()
        };
        let first = hunt.clone();
        hunt.ends(&other.limit.exact());
        let (send, heard) = channel::<News>();
        let bound = known.bound;
        let mut beside = self.exchange(&mut known, hunt.total());
        std::thread::scope(|scope| {
            let way = scope.spawn(move || -> Result<(Hunt, f64), SolveError> {
                let mut report = |news| {
                    // Nobody listens any more once the whole program has ended.
                    let _ = send.send(news);
                };
                let mut known = Known::new(&mut report);
                known.bound = bound;
                other.few_parts(pooled, &mut hunt, &mut known, Some(&mut beside))?;
                while !other.limit.is_over() && !other.is_near(hunt.total(), known.bound) {
                    hunt.rounds(1, 20_000, &other.limit)?;
                    known.tell(hunt.total(), f64::NEG_INFINITY);
                    other.trade(&mut beside, &mut hunt, &mut known)?;
                }
                // What came last is kept, but nothing goes on from it.
                beside.found.try_iter().for_each(|plan| hunt.offer(plan));
                other.meet(hunt.total(), known.bound);
                Ok((hunt, known.bound))
            });
            let _guard = halt.on_panic();
            known.heard = Some(heard);
            let outcome = self.last(first, known, Some(pooled), false);
            halt.ask();
            let found = way.join().unwrap_or_else(|panic| resume_unwind(panic));
            let (hunt, bound) = found?;
            self.better(outcome?, hunt, bound, Some(pooled))
        })
    }

    /// Lets the proof and the other ways give each other their plans. The proof takes
    /// plans only where a gap is near enough: which of the cheapest plans is proven must
    /// not depend on what was found beside the proof.
    fn exchange(&self, known: &mut Known, total: Option<f64>) -> Beside {
        let (send, found) = channel();
        known.found = Some(send);
        let is_loose = self.limit.gap_percent.is_some_and(|gap| gap > 0.0);
        Beside {
            found,
            given: is_loose.then(|| known.given.clone()),
            built: None,
            least: total.unwrap_or(f64::INFINITY),
        }
    }

    /// Goes on from the plans of the proof, and gives the proof the best plan.
    fn trade(
        &self,
        beside: &mut Beside,
        hunt: &mut Hunt,
        known: &mut Known,
    ) -> Result<(), SolveError> {
        for plan in beside.found.try_iter() {
            beside.least = beside.least.min(hunt.follow(plan)?);
        }
        let (Some(given), Some(plan), Some(total)) = (&beside.given, hunt.best(), hunt.total())
        else {
            return Ok(());
        };
        if total >= beside.least || self.limit.is_over() {
            return Ok(());
        }
        beside.least = total;
        let built = (beside.built).get_or_insert_with(|| known.build(|| Built::new(&self.problem)));
        if let Some(start) = self.as_start(built, &plan.sets)? {
            given.put(&start.values);
        }
        Ok(())
    }

    /// Solves the pooled program, then the whole program held to the parts that
    /// the pooled solution and the best plan use.
    fn few_parts(
        &self,
        pooled: &Pooled,
        hunt: &mut Hunt,
        known: &mut Known,
        mut beside: Option<&mut Beside>,
    ) -> Result<(), SolveError> {
        if self.limit.is_over() {
            return Ok(());
        }
        let share = self.length.map_or(LONGEST, |length| length.mul_f64(SHARE));
        let task = self.task().within(&self.limit.within(share));
        let best = hunt.total();
        let solved = crate::solve::run(&pooled.program, &task, &mut |pulse| {
            // The best of the pooled program is no plan.
            known.pulse(best, &pulse);
        })?;
        known.tell(best, solved.bound());
        let Some(values) = solved.into_values() else {
            return Ok(());
        };
        hunt.guide(pooled.guide(&self.problem, &values));
        hunt.rounds(2, 20_000, &self.limit)?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        if let Some(beside) = &mut beside {
            self.trade(beside, hunt, known)?;
        }
        if self.limit.is_over() || self.is_near(hunt.total(), known.bound) {
            return Ok(());
        }
        self.held_to(pooled, &values, share, hunt, known)
    }

    /// Solves the whole program held to the parts that a pooled solution and the
    /// best plan use.
    fn held_to(
        &self,
        pooled: &Pooled,
        values: &[f64],
        longest: Duration,
        hunt: &mut Hunt,
        known: &mut Known,
    ) -> Result<(), SolveError> {
        let mut built = known.build(|| Built::new(&self.problem));
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
        let task = Task {
            start: start.map(|s| s.values),
            ..self.task().within(&self.limit.within(longest))
        };
        let solved = crate::solve::run(&built.program, &task, &mut |pulse| {
            if let Some(values) = &pulse.found {
                hunt.offer(self.read(&built, values.to_vec()).solution);
            }
            // The solver's bound holds for these parts alone.
            known.count(&pulse);
            known.tell(hunt.total(), f64::NEG_INFINITY);
        })?;
        if let Some(values) = solved.into_values() {
            hunt.offer(self.read(&built, values).solution);
        }
        known.tell(hunt.total(), f64::NEG_INFINITY);
        Ok(())
    }
}
