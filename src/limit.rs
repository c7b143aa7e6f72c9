//! When work ends, what the work may use, and how the work tells how far it is: one
//! type for all that searches.

pub mod apart;
mod telling;

pub use telling::{Doing, Progress};

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use telling::Telling;

/// A word from outside that the work shall end. Clones hear the same word.
#[derive(Clone, Default)]
pub struct Stop {
    own: Arc<AtomicBool>,
    above: Option<Arc<Stop>>,
}

impl Stop {
    /// Says that the work shall end.
    pub fn ask(&self) {
        self.own.store(true, Ordering::Relaxed);
    }

    /// True once this stop was asked, or a stop above.
    pub fn is_asked(&self) -> bool {
        self.own.load(Ordering::Relaxed) || self.above.as_ref().is_some_and(|a| a.is_asked())
    }

    /// A stop for a part of the work: asked by itself, and whenever this stop is asked.
    pub fn below(&self) -> Stop {
        Stop {
            own: Arc::default(),
            above: Some(Arc::new(self.clone())),
        }
    }
}

impl Stop {
    /// Asks this stop where the thread breaks off by a panic while it holds the value:
    /// who works beside it is waited for before the panic goes on.
    pub fn on_panic(&self) -> OnPanic {
        OnPanic(self.clone())
    }
}

/// Asks a stop if it is dropped by a panic.
#[derive(Debug)]
pub struct OnPanic(Stop);

impl Drop for OnPanic {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.ask();
        }
    }
}

impl fmt::Debug for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Stop({})", self.is_asked())
    }
}

/// When to end with what there is, what may be used, and where progress goes.
#[derive(Debug, Clone)]
pub struct Limit {
    /// No work goes on after this time.
    pub until: Option<Instant>,
    /// No work goes on after this time either, but until then the work goes its way as
    /// without an end: a proof that is whole by then is the proof of a run without an end.
    pub patience: Option<Instant>,
    /// A plan within so many percent of the cheapest is near enough.
    pub gap_percent: Option<f64>,
    /// The threads of one search, or the number of searches that go on side by side;
    /// at least one.
    pub threads: u32,
    /// Asked from elsewhere to end with the best plan so far.
    pub stop: Stop,
    /// What the work is at, for the listener.
    pub doing: Doing,
    telling: Telling,
    begun: Instant,
}

impl Default for Limit {
    /// No limit, and one thread.
    fn default() -> Self {
        Limit {
            until: None,
            patience: None,
            gap_percent: None,
            threads: 1,
            stop: Stop::default(),
            doing: Doing::Planning,
            telling: Telling::default(),
            begun: Instant::now(),
        }
    }
}

impl Limit {
    /// The time that is left; none without an end.
    pub fn left(&self) -> Option<Duration> {
        let left = |until: Instant| until.saturating_duration_since(Instant::now());
        self.until.map(left)
    }

    /// The time from the beginning to the end; none without an end.
    pub fn length(&self) -> Option<Duration> {
        let length = |until: Instant| until.saturating_duration_since(self.begun);
        self.until.map(length)
    }

    /// True once no more work is to be begun.
    pub fn is_over(&self) -> bool {
        let mut ends = self.until.into_iter().chain(self.patience);
        self.stop.is_asked() || ends.any(|end| Instant::now() >= end)
    }

    /// The same limit for so long at the most, from now on.
    pub fn within(&self, longest: Duration) -> Limit {
        let begun = Instant::now();
        // Too long for a clock is no end.
        let end = begun.checked_add(longest);
        Limit {
            until: self.until.into_iter().chain(end).min(),
            begun,
            ..self.clone()
        }
    }

    /// The same limit, where the work ends by itself after so long, from now on.
    pub fn patient(&self, patience: Duration) -> Limit {
        Limit {
            patience: Instant::now().checked_add(patience),
            begun: Instant::now(),
            ..self.clone()
        }
    }

    /// The same limit, up to this time at the most.
    pub fn up_to(&self, until: Instant) -> Limit {
        Limit {
            until: self.until.into_iter().chain([until]).min(),
            ..self.clone()
        }
    }

    /// The same limit with a part of the time that is left; a share of 1 is all of that time.
    pub fn share(&self, share: f64) -> Limit {
        match self.left() {
            Some(left) => self.within(left.mul_f64(share)),
            None => self.clone(),
        }
    }

    /// The same limit anew: as much time from now on as there was at first.
    pub fn again(&self) -> Limit {
        let begun = Instant::now();
        let patience = self
            .patience
            .map(|end| end.saturating_duration_since(self.begun));
        Limit {
            until: self.length().and_then(|length| begun.checked_add(length)),
            patience: patience.and_then(|length| begun.checked_add(length)),
            begun,
            ..self.clone()
        }
    }

    /// The same limit after its end or a stop: work may go on for so long at least, even
    /// where a stop was asked.
    pub fn with_grace(&self, grace: Duration) -> Limit {
        let soon = Instant::now() + grace;
        match self.stop.is_asked() {
            true => Limit {
                until: Some(soon),
                patience: None,
                stop: Stop::default(),
                ..self.clone()
            },
            false => Limit {
                until: self.until.map(|until| until.max(soon)),
                patience: self.patience.map(|end| end.max(soon)),
                ..self.clone()
            },
        }
    }

    /// The same limit, but no gap is near enough.
    pub fn exact(&self) -> Limit {
        Limit {
            gap_percent: None,
            ..self.clone()
        }
    }

    /// The same limit, where a plan so many percent above the cheapest is near enough.
    pub fn with_gap(&self, percent: f64) -> Limit {
        Limit {
            gap_percent: Some(percent),
            ..self.clone()
        }
    }

    /// The same limit with so many threads, at least one.
    pub fn with_threads(&self, threads: u32) -> Limit {
        Limit {
            threads: threads.max(1),
            ..self.clone()
        }
    }

    /// The same limit with another stop.
    pub fn with_stop(&self, stop: &Stop) -> Limit {
        Limit {
            stop: stop.clone(),
            ..self.clone()
        }
    }

    /// The same limit for work of another kind.
    pub fn doing(&self, doing: Doing) -> Limit {
        Limit {
            doing,
            ..self.clone()
        }
    }

    /// The same limit with a listener who hears how far the work is, perhaps from several
    /// threads. Time and counts begin now.
    pub fn told_to(&self, listener: impl Fn(&Progress) + Send + Sync + 'static) -> Limit {
        Limit {
            telling: Telling::new(Arc::new(listener)),
            ..self.clone()
        }
    }

    /// The same limit with a time and counts of its own, told to the same listener.
    pub fn counted_anew(&self) -> Limit {
        Limit {
            telling: self.telling.counted_anew(),
            ..self.clone()
        }
    }

    /// Tells how far the work is, with what `fill` knows of the plan that is searched for.
    pub fn tell(&self, fill: impl FnOnce(&mut Progress)) {
        let mut progress = self.telling.progress(self.doing);
        fill(&mut progress);
        self.telling.hear(&progress);
    }

    /// Tells from now on what a search that begins is about.
    pub fn begins(&self, about: &str) {
        self.telling.set_about(about);
        self.tell(|_| {});
    }

    /// Tells from now on how many of so many searches are done.
    pub fn expect(&self, searches: usize) {
        self.is_at(0, searches);
    }

    /// Tells from now on that so many of so many searches are done.
    pub fn is_at(&self, done: usize, of: usize) {
        self.telling.set_done(done, of);
    }

    /// Tells that one more search is done.
    pub fn one_done(&self) {
        self.telling.one_done();
        self.tell(|_| {});
    }

    /// Tells that one more plan is solved.
    pub fn one_solved(&self) {
        self.telling.one_solved();
        self.tell(|_| {});
    }

    /// Plans solved so far.
    pub fn solves(&self) -> usize {
        self.telling.solves()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    const HOUR: Duration = Duration::from_secs(3600);

    #[test]
    fn a_stop_below_hears_the_one_above_and_not_the_other_way() {
        let above = Stop::default();
        let (one, other) = (above.below(), above.below());
        one.ask();
        assert!(one.clone().is_asked() && one.below().is_asked());
        assert!(!above.is_asked() && !other.is_asked());
        above.ask();
        assert!(other.is_asked());
    }

    #[test]
    fn a_panic_asks_a_stop_and_a_quiet_end_does_not() {
        let stop = Stop::default();
        drop(stop.on_panic());
        assert!(!stop.is_asked());
        let held = stop.clone();
        let thread = std::thread::spawn(move || {
            let _guard = held.on_panic();
            panic!("no more");
        });
        assert!(thread.join().is_err() && stop.is_asked());
    }

    #[test]
    fn a_limit_within_another_never_ends_later() {
        let limit = Limit::default();
        assert_eq!((limit.left(), limit.is_over()), (None, false));
        let hour = limit.within(HOUR);
        assert!(hour.left() <= Some(HOUR) && hour.left() > Some(HOUR / 2));
        assert_eq!(hour.within(HOUR * 2).until, hour.until);
        assert!(hour.within(Duration::ZERO).is_over());
        assert!(hour.share(0.5).left() <= Some(HOUR / 2));
        assert_eq!(limit.share(0.5).until, None);
        assert_eq!(limit.within(Duration::MAX).until, None);
    }

    #[test]
    fn again_is_as_long_as_it_was_at_first() {
        let over = Limit::default().within(Duration::from_millis(50));
        std::thread::sleep(Duration::from_millis(60));
        assert!(over.is_over());
        let again = over.again();
        assert!(again.left() > Some(Duration::ZERO));
        assert!(again.left() <= Some(Duration::from_millis(50)));
        assert_eq!(Limit::default().again().until, None);
    }

    #[test]
    fn grace_comes_after_a_stop_or_the_end_and_not_for_ever() {
        let limit = Limit::default();
        assert_eq!(limit.with_grace(HOUR).until, None);
        let over = limit.within(Duration::ZERO);
        assert!(over.with_grace(HOUR).left() > Some(HOUR / 2));
        limit.stop.ask();
        let graced = limit.with_grace(HOUR);
        assert!(!graced.is_over() && graced.left() <= Some(HOUR));
    }

    #[test]
    fn who_listens_hears_what_is_counted_and_what_is_known() {
        let heard: Arc<Mutex<Vec<Progress>>> = Arc::default();
        let list = Arc::clone(&heard);
        let limit = Limit::default().told_to(move |p| list.lock().unwrap().push(p.clone()));
        limit.expect(2);
        limit.begins("P-70");
        limit.one_solved();
        limit.one_done();
        limit
            .doing(Doing::Studying)
            .tell(|progress| progress.best = Some(7.0));
        // Counts of its own, and what was counted before stays.
        let inner = limit.counted_anew();
        inner.one_solved();
        assert_eq!((inner.solves(), limit.solves()), (1, 1));
        let heard = heard.lock().unwrap();
        let of = |place: usize| {
            let p: &Progress = &heard[place];
            (p.doing, &*p.about, p.best, p.solves, p.done)
        };
        assert_eq!(of(0), (Doing::Planning, "P-70", None, 0, Some((0, 2))));
        assert_eq!(of(3), (Doing::Studying, "P-70", Some(7.0), 1, Some((1, 2))));
        assert_eq!(of(4), (Doing::Planning, "", None, 1, None));
    }
}
