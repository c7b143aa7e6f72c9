//! A good plan early: take some ends' sets away, give them the cheapest anew,
//! keep what is better, at first also what is a little worse.
//!
//! The random numbers are seeded, so that the same input with the same number
//! of rounds gives the same plan.

mod ground;
mod guide;
mod moves;
mod picks;
mod state;
mod tables;

use crate::limit::Limit;
use crate::units::Qty;
pub use ground::Ground;
use guide::Guide;
pub use guide::Share;
use picks::Taste;
pub use state::Pick;
use state::{Cost, State};
use std::collections::BTreeMap;
pub use tables::Lot;
use tables::Tables;

/// The best assignment that a search has found.
#[derive(Debug, Clone)]
pub struct Found {
    /// For each node.
    pub picks: Vec<Pick>,
    /// Pieces needed of each part.
    pub need: Vec<Qty>,
    /// Its cost; goods short of a threshold count as if filled up.
    pub total: f64,
    /// What is bought of each part by itself; goods may be short of a least order.
    pub lots: Vec<Lot>,
    /// Suppliers that it buys from or may buy from.
    pub open: Vec<bool>,
}

/// A search that goes on in rounds.
#[derive(Debug, Clone)]
pub struct Search<'a> {
    ground: &'a Ground<'a>,
    tables: Tables<'a>,
    state: State,
    current: Cost,
    best: Option<Found>,
    random: fastrand::Rng,
    heat: f64,
    /// While it is guided.
    guide: Option<Guide>,
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
    fn warm(&mut self, share: f64) {
        let money = self.state.cost(self.ground, &self.tables).money;
        let known = self.best.as_ref().map_or(money, |b| b.total);
        self.heat = money.min(known) / self.ground.nodes.len().max(1) as f64 * share;
    }

    /// The best so far, if any holds all rules.
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
            match self.random.u32(0..200) {
                0 if self.ground.sets.suppliers.len() > 1 => self.toggle_supplier(heat),
                1 if self.ground.of_die.len() > 1 => self.toggle_die(heat),
                2..82 => self.exchange(heat),
                _ => self.ruin(heat),
            }
        }
    }

    /// Starts anew, as near to these shares as the locations let it; `prices` are
    /// what a piece of each part comes to. The next rounds are cooler, so that
    /// they keep to it.
    pub fn guide(&mut self, prices: Vec<f64>, shares: &[Share]) {
        self.anew();
        self.guide = Some(Guide::new(prices, shares, &self.ground.kind));
        for location in 0..self.ground.at_location.len() {
            self.settle(location);
        }
        self.fill_open();
        self.guide = None;
        self.warm(0.1);
        self.keep();
    }

    /// Fills a location net by net: first the one that loses most by not getting
    /// the identity that is best for it.
    fn settle(&mut self, location: usize) {
        let ground = self.ground;
        let mut nets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for &node in &ground.at_location[location] {
            if let Some((_, net)) = ground.nodes[node].at {
                nets.entry(net).or_default().push(node);
            }
        }
        let mut open: Vec<(Vec<usize>, BTreeMap<usize, f64>)> = (nets.into_values())
            .map(|nodes| {
                let extra = self.extra(&nodes);
                (nodes, extra)
            })
            .collect();
        let mut taken: Vec<usize> = Vec::new();
        while let Some((place, identity)) = most_regretted(&open, &taken) {
            let (nodes, _) = open.swap_remove(place);
            taken.push(identity);
            let taste = Taste {
                only: Some(identity),
                ..Taste::default()
            };
            for node in nodes {
                self.fill(&[node], taste);
            }
        }
    }

    /// For each identity, what it costs beyond the best of each node; nodes that
    /// can't have it get their best.
    fn extra(&mut self, nodes: &[usize]) -> BTreeMap<usize, f64> {
        let mut extra: BTreeMap<usize, f64> = BTreeMap::new();
        for &node in nodes {
            let from = (node, Taste::default(), self.guide.as_ref());
            let (ground, random) = (self.ground, &mut self.random);
            let list = picks::priced(ground, &self.state, &self.tables, from, random).list;
            let least = list.iter().map(|o| o.cost).fold(f64::INFINITY, f64::min);
            for offered in &list {
                *extra.entry(offered.identity).or_default() += offered.cost - least;
            }
        }
        extra
    }

    /// Goes on from these picks, one for each node; where there is none, or it
    /// breaks a rule beside those before, the cheapest set.
    pub fn adopt(&mut self, picks: Vec<Option<Pick>>) {
        let ground = self.ground;
        self.anew();
        for (node, pick) in picks.into_iter().enumerate() {
            let Some(pick) = pick else { continue };
            let identity = ground.sets.cells[ground.nodes[node].cell].plugs[pick.plug].identity;
            if self.state.rival(ground, node, identity).is_none() {
                self.state.put(ground, node, pick);
            }
        }
        self.state.cost(ground, &self.tables);
        self.fill_open();
        self.keep();
    }

    /// Nothing chosen, all suppliers open.
    fn anew(&mut self) {
        self.state = State::new(self.ground);
        self.tables = all_open(self.ground);
    }

    /// Gives each node that has none the cheapest set: location by location, the
    /// nodes with the fewest choices first.
    fn fill_open(&mut self) {
        let ground = self.ground;
        let picks = &self.state.picks;
        let mut open: Vec<usize> = (0..ground.nodes.len())
            .filter(|&node| picks[node].is_none())
            .collect();
        open.sort_by_key(|&n| {
            let node = &ground.nodes[n];
            let plugs = ground.sets.cells[node.cell].plugs.len();
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
        self.tables = Tables::new(self.ground.sets, best.open);
        for (node, pick) in best.picks.into_iter().enumerate() {
            self.state.put(self.ground, node, pick);
        }
        self.current = self.state.cost(self.ground, &self.tables);
    }

    /// Gives each of the nodes that has none the cheapest set; how many got one.
    fn fill(&mut self, nodes: &[usize], taste: Taste) -> usize {
        let mut filled = 0;
        for &n in nodes {
            let pick = picks::cheapest(
                self.ground,
                &self.state,
                &self.tables,
                (n, taste, self.guide.as_ref()),
                &mut self.random,
            );
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
    fn keep(&mut self) {
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
    Tables::new(ground.sets, vec![true; ground.sets.suppliers.len()])
}

/// Of nets that are open, with what each identity would cost them more: the one
/// that loses most without its best of those that are not taken, and that best.
fn most_regretted(
    open: &[(Vec<usize>, BTreeMap<usize, f64>)],
    taken: &[usize],
) -> Option<(usize, usize)> {
    let mut most: Option<(f64, usize, usize)> = None;
    for (place, (_, extra)) in open.iter().enumerate() {
        let (mut best, mut second) = ((f64::INFINITY, None), f64::INFINITY);
        for (&identity, &cost) in extra.iter().filter(|(i, _)| !taken.contains(i)) {
            if cost < best.0 {
                second = best.0;
                best = (cost, Some(identity));
            } else {
                second = second.min(cost);
            }
        }
        let Some(identity) = best.1 else { continue };
        let regret = second - best.0;
        if most.is_none_or(|m| regret > m.0) {
            most = Some((regret, place, identity));
        }
    }
    most.map(|(_, place, identity)| (place, identity))
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
