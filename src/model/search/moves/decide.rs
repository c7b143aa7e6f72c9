//! Whether a move is kept.

use crate::model::search::course::Search;
use crate::model::search::picks::Taste;
use crate::model::search::state::{Cost, Pick};

impl Search<'_> {
    /// Takes the sets of these nodes away and gives them others, in this order,
    /// unless that is worse than the heat allows.
    pub(super) fn anew_for(&mut self, nodes: Vec<usize>, taste: Taste, heat: f64) {
        let old: Vec<(usize, Option<Pick>)> = (nodes.iter())
            .map(|&n| (n, self.state.lift(self.ground, n)))
            .collect();
        let filled = self.fill(&nodes, taste);
        let missing_before = old.iter().filter(|(_, pick)| pick.is_none()).count();
        self.decide(old, filled + missing_before >= nodes.len(), heat);
    }

    /// Keeps what has come in place of old picks if that is allowed and no worse
    /// than the heat allows; else puts them back.
    pub(super) fn decide(&mut self, old: Vec<(usize, Option<Pick>)>, is_allowed: bool, heat: f64) {
        let cost = self.state.cost(self.ground, &self.tables);
        if is_allowed && self.accepts(cost, heat) {
            self.current = cost;
            self.keep();
            return;
        }
        self.restore(old);
        self.current = self.state.cost(self.ground, &self.tables);
    }

    pub(super) fn accepts(&mut self, cost: Cost, heat: f64) -> bool {
        let worse = cost.above(self.current);
        worse <= 0.0 || self.random.f64() < (-worse / heat.max(1e-9)).exp()
    }

    /// Puts old picks back.
    pub(super) fn restore(&mut self, old: Vec<(usize, Option<Pick>)>) {
        for (n, _) in &old {
            self.state.lift(self.ground, *n);
        }
        for (n, pick) in old {
            if let Some(pick) = pick {
                self.state.put(self.ground, n, pick);
            }
        }
    }
}
