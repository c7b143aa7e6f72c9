//! A good plan early: take some ends' sets away, give them the cheapest anew,
//! keep what is better, at first also what is a little worse.
//!
//! The random numbers are seeded, so that the same input with the same number
//! of rounds gives the same plan.

mod ground;
mod picks;
mod state;
mod tables;

pub use ground::Ground;
use picks::Taste;
pub use state::{Pick, State};
use std::time::Instant;
pub use tables::Tables;

/// The best assignment that a search has found.
#[derive(Debug, Clone)]
pub struct Found {
    /// For each node.
    pub picks: Vec<Pick>,
    /// Its cost; goods short of a threshold count as if filled up.
    pub total: f64,
    /// Suppliers that it buys from or may buy from.
    pub open: Vec<bool>,
}

/// A search that goes on in rounds.
pub struct Search<'a> {
    ground: &'a Ground<'a>,
    tables: Tables,
    open: Vec<bool>,
    state: State,
    current: f64,
    best: Option<Found>,
    random: fastrand::Rng,
    heat: f64,
}

impl<'a> Search<'a> {
    /// A first assignment: node by node the cheapest set, the nodes with the
    /// fewest choices at a location first.
    pub fn new(ground: &'a Ground<'a>, seed: u64) -> Search<'a> {
        let open = vec![true; ground.sets.suppliers.len()];
        let tables = Tables::new(ground.sets, &open);
        let mut search = Search {
            ground,
            state: State::new(ground),
            tables,
            open,
            current: f64::INFINITY,
            best: None,
            random: fastrand::Rng::with_seed(seed),
            heat: 0.0,
        };
        let mut order: Vec<usize> = (0..ground.nodes.len()).collect();
        order.sort_by_key(|&n| {
            let node = &ground.nodes[n];
            (
                node.at.map(|at| at.0),
                ground.sets.cells[node.cell].plugs.len(),
            )
        });
        search.fill(&order, Taste::default());
        search.current = search.state.total(ground, &search.tables);
        search.heat = search.current / ground.nodes.len().max(1) as f64 * 0.3;
        search.keep();
        search
    }

    /// The best so far, if any holds all rules.
    pub fn best(&self) -> Option<&Found> {
        self.best.as_ref()
    }

    /// Goes on for so many steps, cooling down over them, or until then.
    pub fn round(&mut self, steps: usize, until: Option<Instant>) {
        if self.ground.nodes.is_empty() {
            return;
        }
        let hot = self.heat;
        for step in 0..steps {
            if step % 64 == 0 && until.is_some_and(|t| Instant::now() >= t) {
                break;
            }
            let left = 1.0 - step as f64 / steps as f64;
            let heat = hot * (1e-3f64).powf(1.0 - left);
            if self.random.u32(0..200) == 0 && self.open.len() > 1 {
                self.toggle_supplier(heat);
            } else {
                self.ruin(heat);
            }
        }
    }

    /// Starts the next round from the best.
    pub fn back_to_best(&mut self) {
        let Some(best) = self.best.clone() else {
            return;
        };
        self.state = State::new(self.ground);
        self.open = best.open;
        self.tables = Tables::new(self.ground.sets, &self.open);
        for (node, pick) in best.picks.into_iter().enumerate() {
            self.state.put(self.ground, node, pick);
        }
        self.current = self.state.total(self.ground, &self.tables);
    }

    /// Takes the sets of some nodes away and gives them the cheapest anew.
    fn ruin(&mut self, heat: f64) {
        let (mut nodes, banned) = self.victims();
        self.random.shuffle(&mut nodes);
        let old: Vec<(usize, Option<Pick>)> = (nodes.iter())
            .map(|&n| (n, self.state.lift(self.ground, n)))
            .collect();
        let blur = [0.0, 0.1, 0.4][self.random.usize(0..3)];
        let filled = self.fill(&nodes, Taste { banned, blur });
        let total = self.state.total(self.ground, &self.tables);
        let missing_before = old.iter().filter(|(_, pick)| pick.is_none()).count();
        let accepted = filled + missing_before >= nodes.len() && self.accepts(total, heat);
        if accepted {
            self.current = total;
            self.keep();
            return;
        }
        for &n in &nodes {
            self.state.lift(self.ground, n);
        }
        for (n, pick) in old {
            if let Some(pick) = pick {
                self.state.put(self.ground, n, pick);
            }
        }
        self.current = self.state.total(self.ground, &self.tables);
    }

    fn accepts(&mut self, total: f64, heat: f64) -> bool {
        let worse = total - self.current;
        worse <= 0.0 || self.random.f64() < (-worse / heat.max(1e-9)).exp()
    }

    /// Which nodes to take the sets of, and perhaps a part to do without.
    fn victims(&mut self) -> (Vec<usize>, Option<usize>) {
        let ground = self.ground;
        let node = self.random.usize(0..ground.nodes.len());
        match self.random.u32(0..10) {
            0..=1 => (vec![node], None),
            2..=4 => match ground.nodes[node].at {
                Some((location, _)) => (ground.at_location[location].clone(), None),
                None => (vec![node], None),
            },
            5..=6 => {
                let alike = &ground.of_kind[ground.kind[ground.nodes[node].cell]];
                let some = self.random.usize(1..=8);
                let picked = (0..some).map(|_| alike[self.random.usize(0..alike.len())]);
                let mut nodes: Vec<usize> = picked.collect();
                nodes.sort_unstable();
                nodes.dedup();
                (nodes, None)
            }
            _ => self.users_of_a_part(node),
        }
    }

    /// A part that the node uses, and all nodes that use it, if they are not
    /// too many.
    fn users_of_a_part(&mut self, node: usize) -> (Vec<usize>, Option<usize>) {
        let Some(pick) = &self.state.picks[node] else {
            return (vec![node], None);
        };
        let parts: Vec<usize> = parts_of(self.ground, node, pick).collect();
        let part = parts[self.random.usize(0..parts.len())];
        let mut users = Vec::new();
        for (n, pick) in self.state.picks.iter().enumerate() {
            let uses = pick
                .as_ref()
                .is_some_and(|p| parts_of(self.ground, n, p).any(|q| q == part));
            if uses {
                users.push(n);
            }
            if users.len() > 40 {
                return (vec![node], Some(part));
            }
        }
        (users, Some(part))
    }

    /// Gives each of the nodes that has none the cheapest set; how many got one.
    fn fill(&mut self, nodes: &[usize], taste: Taste) -> usize {
        let mut filled = 0;
        for &n in nodes {
            let pick = picks::cheapest(
                self.ground,
                &self.state,
                &self.tables,
                (n, taste),
                &mut self.random,
            );
            if let Some(pick) = pick {
                self.state.put(self.ground, n, pick);
                self.state.total(self.ground, &self.tables);
                filled += 1;
            }
        }
        filled
    }

    /// Opens or closes a supplier for all purchases.
    fn toggle_supplier(&mut self, heat: f64) {
        let k = self.random.usize(0..self.open.len());
        self.open[k] = !self.open[k];
        let tables = Tables::new(self.ground.sets, &self.open);
        let old = std::mem::replace(&mut self.tables, tables);
        self.state.reprice(self.ground, &self.tables);
        let total = self.state.total(self.ground, &self.tables);
        if self.accepts(total, heat) {
            self.current = total;
            self.keep();
            return;
        }
        self.open[k] = !self.open[k];
        self.tables = old;
        self.state.reprice(self.ground, &self.tables);
        self.current = self.state.total(self.ground, &self.tables);
    }

    /// Remembers the current assignment if it is the best.
    fn keep(&mut self) {
        let better = self
            .best
            .as_ref()
            .is_none_or(|b| self.current < b.total - 1e-9);
        if better && self.state.is_allowed(self.ground, &self.tables) {
            self.best = Some(Found {
                picks: self.state.picks.iter().flatten().cloned().collect(),
                total: self.current,
                open: self.open.clone(),
            });
        }
    }
}

/// The parts that a pick uses, by place.
fn parts_of<'g>(
    ground: &'g Ground,
    node: usize,
    pick: &'g Pick,
) -> impl Iterator<Item = usize> + 'g {
    let cell = &ground.sets.cells[ground.nodes[node].cell];
    let bodies = [
        cell.receptacles[pick.receptacle].part,
        cell.plugs[pick.plug].part,
    ];
    let fittings = (pick.fittings.iter()).map(|&(slot, option)| cell.slots[slot].options[option].1);
    bodies.into_iter().chain(fittings)
}
