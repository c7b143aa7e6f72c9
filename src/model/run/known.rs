//! What is known of a solve while it goes on, from all its ways, and what it took.

use crate::model::solution::Solution;
use crate::solve::{Gifts, Pulse};
use std::sync::mpsc::{Receiver, Sender};
use std::time::{Duration, Instant};

/// What is known of a solve, and what it took so far.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct News {
    /// Least total, in the project's currency.
    pub best: Option<f64>,
    /// Total that no plan is below, in the project's currency.
    pub bound: Option<f64>,
    /// Nodes of all search trees.
    pub nodes: u64,
    /// Time for making the programs, all threads together.
    pub building: Duration,
}

/// What is known beside the best plan, which is with the search.
pub(super) struct Known<'r> {
    /// Total that no plan is below, in the project's currency.
    pub bound: f64,
    /// The news told last, without the time for making programs.
    told: Option<News>,
    /// News from another way at the same time.
    pub heard: Option<Receiver<News>>,
    /// The best of that news, and what the other way took.
    other: News,
    /// Where plans go that the solver finds on this way.
    pub found: Option<Sender<Solution>>,
    /// What other ways give the solver of this way.
    pub given: Gifts,
    /// What this way took to make its programs.
    pub building: Duration,
    /// Nodes of the trees that were searched before.
    before: u64,
    /// Nodes of the tree that is being searched.
    nodes: u64,
    report: &'r mut dyn FnMut(News),
}

impl<'r> Known<'r> {
    /// Nothing is known yet.
    pub fn new(report: &'r mut dyn FnMut(News)) -> Known<'r> {
        Known {
            bound: f64::NEG_INFINITY,
            told: None,
            heard: None,
            other: News::default(),
            found: None,
            given: Gifts::default(),
            building: Duration::ZERO,
            before: 0,
            nodes: 0,
            report,
        }
    }

    /// Takes in a total and a bound, and tells what is new.
    pub fn tell(&mut self, best: Option<f64>, bound: f64) {
        // A bound above a plan is wrong, and no bound.
        if best.is_none_or(|best| bound <= best + 2e-6_f64.max(best.abs() * 1e-9)) {
            self.bound = self.bound.max(bound);
        }
        for heard in self.heard.iter().flat_map(Receiver::try_iter) {
            self.bound = self.bound.max(heard.bound.unwrap_or(self.bound));
            let best = heard.best.into_iter().chain(self.other.best);
            self.other = News {
                best: best.reduce(f64::min),
                ..heard
            };
        }
        let now = News {
            best: self.least(best),
            bound: Some(self.bound).filter(|b| b.is_finite()),
            nodes: self.before + self.nodes + self.other.nodes,
            building: Duration::ZERO,
        };
        if self.told != Some(now) {
            self.told = Some(now);
            (self.report)(News {
                building: self.building + self.other.building,
                ..now
            });
        }
    }

    /// The least total of this way's and the other way's plans.
    pub fn least(&self, best: Option<f64>) -> Option<f64> {
        best.into_iter().chain(self.other.best).reduce(f64::min)
    }

    /// Hands a plan to the other way, if there is one.
    pub fn hand_on(&self, plan: impl FnOnce() -> Solution) {
        if let Some(found) = &self.found {
            // Nobody listens any more once the other way has ended.
            let _ = found.send(plan());
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
            self.before += self.nodes;
        }
        self.nodes = pulse.nodes;
    }

    /// Makes a program, and counts the time for it.
    pub fn build<T>(&mut self, make: impl FnOnce() -> T) -> T {
        let begun = Instant::now();
        let made = make();
        self.building += begun.elapsed();
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;

    #[test]
    fn nodes_of_one_tree_after_the_other_add_up() {
        let mut told = Vec::new();
        let mut report = |news: News| told.push(news.nodes);
        let mut known = Known::new(&mut report);
        let (send, heard) = channel();
        known.heard = Some(heard);
        let mut pulse = |nodes: u64, bound: f64| {
            let pulse = Pulse {
                bound: Some(bound),
                nodes,
                ..Pulse::default()
            };
            known.pulse(None, &pulse);
        };
        pulse(0, 1.0);
        pulse(7, 2.0);
        pulse(9, 3.0);
        // The next program, and another beside it.
        pulse(0, 4.0);
        pulse(5, 5.0);
        let beside = News {
            nodes: 100,
            ..News::default()
        };
        send.send(beside).expect("it is heard");
        pulse(6, 6.0);
        assert_eq!(told, [0, 7, 9, 9, 14, 115]);
    }
}
