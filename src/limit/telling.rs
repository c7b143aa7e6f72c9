//! How far work is, and who hears of it.

use std::fmt;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// What work is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Looks for the cheapest plan of the project as it is.
    Planning,
    /// Solves plans of the project with something changed.
    Studying,
    /// Leaves out one group of limits after the other, since no plan holds all limits.
    Narrowing,
    /// Looks for the smallest change that helps, for one limit of a conflict after
    /// the other.
    Easing,
}

/// How far work is.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// What the work is at.
    pub doing: Doing,
    /// What the search that began last is about; empty where no search has told.
    pub about: Arc<str>,
    /// The least total so far of the plan that is searched for, in the project's
    /// currency.
    pub best: Option<f64>,
    /// No such plan costs less than this bound, in the project's currency.
    pub bound: Option<f64>,
    /// The time since the listener was named.
    pub elapsed: Duration,
    /// Plans solved; for a conflict, projects tried.
    pub solves: usize,
    /// How many searches of the work are done, and how many there are; none where
    /// their number is not known.
    pub done: Option<(usize, usize)>,
    /// Nodes of all search trees of the plan, as far as the solver has told.
    pub nodes: u64,
    /// The time spent on making the programs of the plan, all threads together.
    pub building: Duration,
    /// Answers of the solver that were found wrong and thrown away.
    pub doubts: usize,
}

type Listener = Arc<dyn Fn(&Progress) + Send + Sync>;

/// Who hears of progress, and what is counted on the way.
#[derive(Clone)]
pub(super) struct Telling {
    listener: Listener,
    begun: Instant,
    counts: Arc<Counts>,
}

#[derive(Default)]
struct Counts {
    solves: AtomicUsize,
    done: AtomicUsize,
    of: AtomicUsize,
    about: Mutex<Arc<str>>,
}

impl Default for Telling {
    /// Nobody listens.
    fn default() -> Self {
        Telling::new(Arc::new(|_: &Progress| {}))
    }
}

impl fmt::Debug for Telling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Telling")
    }
}

impl Telling {
    pub fn new(listener: Listener) -> Telling {
        Telling {
            listener,
            begun: Instant::now(),
            counts: Arc::default(),
        }
    }

    pub fn counted_anew(&self) -> Telling {
        Telling {
            counts: Arc::default(),
            begun: Instant::now(),
            ..self.clone()
        }
    }

    /// What is counted so far, without anything about the plan that is searched for.
    pub fn progress(&self, doing: Doing) -> Progress {
        let of = self.counts.of.load(Ordering::Relaxed);
        let done = self.counts.done.load(Ordering::Relaxed);
        Progress {
            doing,
            about: Arc::clone(
                &self
                    .counts
                    .about
                    .lock()
                    .unwrap_or_else(PoisonError::into_inner),
            ),
            best: None,
            bound: None,
            elapsed: self.begun.elapsed(),
            solves: self.solves(),
            done: (of > 0).then_some((done, of)),
            nodes: 0,
            building: Duration::ZERO,
            doubts: 0,
        }
    }

    pub fn hear(&self, progress: &Progress) {
        (self.listener)(progress);
    }

    pub fn set_about(&self, about: &str) {
        *(self.counts.about.lock()).unwrap_or_else(PoisonError::into_inner) = about.into();
    }

    pub fn set_done(&self, done: usize, of: usize) {
        self.counts.done.store(done, Ordering::Relaxed);
        self.counts.of.store(of, Ordering::Relaxed);
    }

    pub fn one_done(&self) {
        self.counts.done.fetch_add(1, Ordering::Relaxed);
    }

    pub fn one_solved(&self) {
        self.counts.solves.fetch_add(1, Ordering::Relaxed);
    }

    pub fn solves(&self) -> usize {
        self.counts.solves.load(Ordering::Relaxed)
    }
}
