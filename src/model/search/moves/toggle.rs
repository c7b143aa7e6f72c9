//! Opens or closes a supplier or a die as a whole.

use crate::model::search::course::Search;
use crate::model::search::picks::Taste;
use crate::model::search::state::Pick;

/// So many nodes at the most get other sets for the sake of one die.
const MOST_MOVED: usize = 400;

impl Search<'_> {
    /// Opens or closes a supplier for all purchases, and gives the nodes whose
    /// parts can't be had any more, or that are better off now, new sets.
    pub(super) fn toggle_supplier(&mut self, heat: f64) {
        let k = self.random.usize(0..self.ground.problem.suppliers.len());
        let before = self.tables.toggle(k);
        self.state.reprice(self.ground, &self.tables);
        let nodes = self.affected(k);
        let old: Vec<(usize, Option<Pick>)> = (nodes.iter())
            .map(|&n| (n, self.state.lift(self.ground, n)))
            .collect();
        self.state.cost(self.ground, &self.tables);
        self.fill(&nodes, Taste::default());
        let cost = self.state.cost(self.ground, &self.tables);
        if self.accepts(cost, heat) {
            self.current = cost;
            self.keep();
            return;
        }
        self.restore(old);
        self.tables.restore(before);
        self.state.cost(self.ground, &self.tables);
        self.state.reprice(self.ground, &self.tables);
        self.current = self.state.cost(self.ground, &self.tables);
    }

    /// Does without a die, or gives the nodes that could use it new sets as if
    /// it were there: the cost of the die alone stands against each single step.
    pub(super) fn toggle_die(&mut self, heat: f64) {
        let ground = self.ground;
        let die = self.random.usize(0..ground.of_die.len());
        let is_used = self.state.needs(die);
        let needs = |part: usize| ground.problem.parts[part].die == Some(die);
        let mut nodes: Vec<usize> = (ground.of_die[die].iter())
            .flat_map(|&part| ground.users[part].iter().copied())
            .filter(|&n| !is_used || self.has(n, needs))
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        self.random.shuffle(&mut nodes);
        if is_used && nodes.len() > MOST_MOVED {
            return;
        }
        nodes.truncate(MOST_MOVED);
        let taste = Taste {
            shut: is_used.then_some(die),
            ..Taste::default()
        };
        self.state.lend(ground, (!is_used).then_some(die));
        self.anew_for(nodes, taste, heat);
        self.state.lend(ground, None);
    }

    /// Nodes that use a part which only supplier `k` sells, of the open ones;
    /// after opening it, some nodes that could use such a part.
    fn affected(&mut self, k: usize) -> Vec<usize> {
        let problem = self.ground.problem;
        let only_there = |part: usize| {
            let offers = &problem.parts[part].offers;
            offers.iter().all(|&o| {
                let supplier = problem.offers[o].supplier;
                supplier == k || !self.tables.open()[supplier]
            })
        };
        let mut nodes: Vec<usize> = (0..self.ground.nodes.len())
            .filter(|&n| self.tables.open()[k] || self.has(n, only_there))
            .collect();
        self.random.shuffle(&mut nodes);
        nodes.truncate(200);
        nodes
    }
}
