//! A search: its first assignment, its rounds, the best that it found.

use super::ground::Ground;
use super::guide::Guide;
use super::picks::{Chooser, Taste};
use super::state::{Cost, Pick, State, parts_of};
use super::tables::{Lot, Tables};
use crate::limit::Limit;
use crate::units::Qty;

/// The best assignment that a search has found.
#[derive(Debug, Clone)]
pub struct Found {
    /// For each node.
    pub picks: Vec<Pick>,
    /// Pieces needed of each part.
    pub need: Vec<Qty>,
    /// Its cost in the project's currency; goods short of a threshold count as if
    /// filled up.
    pub total: f64,
    /// What is bought of each part by itself; goods may be short of a least order.
    pub lots: Vec<Lot>,
    /// For each supplier, whether it may be bought from.
    pub open: Vec<bool>,
}

/// A search that goes on in rounds.
#[derive(Debug, Clone)]
pub struct Search<'a> {
    pub(super) ground: &'a Ground<'a>,
    pub(super) tables: Tables<'a>,
    pub(super) state: State,
    pub(super) current: Cost,
    pub(super) best: Option<Found>,
    pub(super) random: fastrand::Rng,
    pub(super) heat: f64,
    /// The guide, while the search has one.
    pub(super) guide: Option<Guide>,
}

impl<'a> Search<'a> {
    /// A first assignment: node by node the cheapest set, the nodes with the
    /// fewest choices at a location first.
    pub fn new(ground: &'a Ground<'a>, seed: u64) -> Search<'a> {
        let mut search = Search {
            ground,
            state: State::new(ground),
            tables: all_open(ground),
            current: Cost::default(),
            best: None,
            random: fastrand::Rng::with_seed(seed),
            heat: 0.0,
            guide: None,
        };
        search.fill_open();
        search.warm(0.3);
        search.keep();
        search
    }

    /// How much worse a step may be at first, as a share of what a node costs.
    pub(super) fn warm(&mut self, share: f64) {
        let money = self.state.cost(self.ground, &self.tables).money;
        let known = self.best.as_ref().map_or(money, |b| b.total);
        self.heat = money.min(known) / self.ground.nodes.len().max(1) as f64 * share;
    }

    /// The best assignment so far, if any holds all rules.
    pub fn best(&self) -> Option<&Found> {
        self.best.as_ref()
    }

    /// Goes on for so many steps, cooling down over them, or to its limit.
    pub fn round(&mut self, steps: usize, limit: &Limit) {
        if self.ground.nodes.is_empty() {
            return;
        }
        let hot = self.heat;
        for step in 0..steps {
            if step % 64 == 0 && limit.is_over() {
                break;
            }
            let left = 1.0 - step as f64 / steps as f64;
            let heat = hot * (1e-3f64).powf(1.0 - left);
            self.step(heat);
        }
    }

    /// Goes on from these picks, one for each node. A node without a pick, or with
    /// one that breaks a rule beside those before, gets the cheapest set.
    pub fn adopt(&mut self, picks: Vec<Option<Pick>>) {
        let ground = self.ground;
        self.anew();
        for (node, pick) in picks.into_iter().enumerate() {
            let Some(pick) = pick else { continue };
            let identity = ground.problem.cells[ground.nodes[node].cell].plugs[pick.plug].identity;
            if self.state.rival(ground, node, identity).is_none() {
                self.state.put(ground, node, pick);
            }
        }
        self.state.cost(ground, &self.tables);
        self.fill_open();
        self.keep();
    }

    /// Goes back to nothing chosen and all suppliers open.
    pub(super) fn anew(&mut self) {
        self.state = State::new(self.ground);
        self.tables = all_open(self.ground);
    }

    /// Gives each node without a set the cheapest one: location by location, the
    /// nodes with the fewest choices first.
    pub(super) fn fill_open(&mut self) {
        let ground = self.ground;
        let picks = &self.state.picks;
        let mut open: Vec<usize> = (0..ground.nodes.len())
            .filter(|&node| picks[node].is_none())
            .collect();
        open.sort_by_key(|&n| {
            let node = &ground.nodes[n];
            let plugs = ground.problem.cells[node.cell].plugs.len();
            (node.at.map(|at| at.0), plugs)
        });
        self.fill(&open, Taste::default());
        self.current = self.state.cost(ground, &self.tables);
    }

    /// Starts the next round from the best.
    pub fn back_to_best(&mut self) {
        let Some(best) = self.best.clone() else {
            return;
        };
        self.state = State::new(self.ground);
        self.tables = Tables::new(self.ground.problem, best.open);
        for (node, pick) in best.picks.into_iter().enumerate() {
            self.state.put(self.ground, node, pick);
        }
        self.current = self.state.cost(self.ground, &self.tables);
    }

    /// Gives each of the nodes without a set the cheapest one; returns how many
    /// nodes got one.
    pub(super) fn fill(&mut self, nodes: &[usize], taste: Taste) -> usize {
        let mut filled = 0;
        for &n in nodes {
            let chooser = Chooser {
                ground: self.ground,
                state: &self.state,
                tables: &self.tables,
                guide: self.guide.as_ref(),
            };
            let pick = chooser.cheapest(n, taste, &mut self.random);
            if let Some(pick) = pick {
                if let Some(guide) = &mut self.guide {
                    let node = &self.ground.nodes[n];
                    for part in parts_of(self.ground, n, &pick) {
                        guide.take((self.ground.kind[node.cell], part), node.ends.1);
                    }
                }
                self.state.put(self.ground, n, pick);
                self.state.cost(self.ground, &self.tables);
                filled += 1;
            }
        }
        filled
    }

    /// Remembers the current assignment if it is the best.
    pub(super) fn keep(&mut self) {
        let money = self.current.money;
        let better = (self.best.as_ref()).is_none_or(|best| is_below(money, best.total));
        if self.current.broken == 0 && better && self.state.is_allowed(self.ground, &self.tables) {
            self.best = Some(Found {
                picks: self.state.picks.iter().flatten().cloned().collect(),
                need: self.state.need.clone(),
                total: money,
                lots: self.state.lots().collect(),
                open: self.tables.open().to_vec(),
            });
        }
    }
}

/// True if an amount is below another by more than rounding makes.
pub fn is_below(amount: f64, other: f64) -> bool {
    other - amount > (1e-12 * amount.abs()).max(1e-9)
}

/// Tables with all suppliers open.
fn all_open<'a>(ground: &'a Ground<'a>) -> Tables<'a> {
    Tables::new(ground.problem, vec![true; ground.problem.suppliers.len()])
}
