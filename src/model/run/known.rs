//! What is known of a solve while it goes on, from all its ways, and what it took.

use crate::model::{Progress, Work};
use crate::solve::{Doubts, Pulse};
use std::sync::mpsc::Receiver;
use std::time::Instant;

/// What is known: the best plan is with the search.
pub(super) struct Known<'r> {
    /// No plan costs less.
    pub bound: f64,
    /// Best, bound and nodes as they were told last.
    told: Option<(Option<f64>, Option<f64>, u64)>,
    /// What is found on another way meanwhile.
    pub heard: Option<Receiver<Progress>>,
    /// The best of that, and what it took.
    other: (Option<f64>, Work),
    /// What this way took, but for the tree that is being searched.
    pub work: Work,
    /// Nodes of the tree that is being searched.
    nodes: u64,
    begun: Instant,
    doubts: Doubts,
    report: &'r mut dyn FnMut(Progress),
}

impl<'r> Known<'r> {
    /// Nothing yet.
    pub fn new(begun: Instant, doubts: &Doubts, report: &'r mut dyn FnMut(Progress)) -> Known<'r> {
        Known {
            bound: f64::NEG_INFINITY,
            told: None,
            heard: None,
            other: (None, Work::default()),
            work: Work::default(),
            nodes: 0,
            begun,
            doubts: doubts.clone(),
            report,
        }
    }

    /// Says so, where anything is new.
    pub fn tell(&mut self, best: Option<f64>, bound: f64) {
        // A bound above a plan is wrong, and no bound.
        if best.is_none_or(|best| bound <= best + 2e-6_f64.max(best.abs() * 1e-9)) {
            self.bound = self.bound.max(bound);
        }
        for heard in self.heard.iter().flat_map(Receiver::try_iter) {
            self.bound = self.bound.max(heard.bound.unwrap_or(self.bound));
            let best = heard.best.into_iter().chain(self.other.0);
            self.other = (best.reduce(f64::min), heard.work);
        }
        let best = best.into_iter().chain(self.other.0).reduce(f64::min);
        let nodes = self.work.nodes + self.nodes + self.other.1.nodes;
        let now = (best, Some(self.bound).filter(|b| b.is_finite()), nodes);
        if self.told != Some(now) {
            self.told = Some(now);
            (self.report)(Progress {
                best: now.0,
                bound: now.1,
                elapsed: self.begun.elapsed(),
                work: Work {
                    nodes,
                    building: self.work.building + self.other.1.building,
                    doubts: self.doubts.count(),
                },
            });
        }
    }

    /// Says what the solver says.
    pub fn pulse(&mut self, best: Option<f64>, pulse: &Pulse) {
        self.count(pulse);
        self.tell(best, pulse.bound.unwrap_or(f64::NEG_INFINITY));
    }

    /// Counts the nodes of a tree; a new tree begins at none.
    pub fn count(&mut self, pulse: &Pulse) {
        if pulse.nodes < self.nodes {
            self.work.nodes += self.nodes;
        }
        self.nodes = pulse.nodes;
    }

    /// Makes a program.
    pub fn build<T>(&mut self, make: impl FnOnce() -> T) -> T {
        let begun = Instant::now();
        let made = make();
        self.work.building += begun.elapsed();
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;
    use std::time::Duration;

    #[test]
    fn nodes_of_one_tree_after_the_other_add_up() {
        let mut told = Vec::new();
        let mut report = |progress: Progress| told.push(progress.work.nodes);
        let mut known = Known::new(Instant::now(), &Doubts::default(), &mut report);
        let (send, heard) = channel();
        known.heard = Some(heard);
        let mut pulse = |nodes: u64, bound: f64| {
            let pulse = Pulse {
                best: None,
                bound: Some(bound),
                nodes,
            };
            known.pulse(None, &pulse);
        };
        pulse(0, 1.0);
        pulse(7, 2.0);
        pulse(9, 3.0);
        // The next program, and another beside it.
        pulse(0, 4.0);
        pulse(5, 5.0);
        let work = Work {
            nodes: 100,
            building: Duration::ZERO,
            doubts: 0,
        };
        let beside = Progress {
            best: None,
            bound: None,
            elapsed: Duration::ZERO,
            work,
        };
        send.send(beside).expect("it is heard");
        pulse(6, 6.0);
        assert_eq!(told, [0, 7, 9, 9, 14, 115]);
    }
}
