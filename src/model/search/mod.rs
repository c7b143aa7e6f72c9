//! A good plan early: take some ends' sets away, give them the cheapest anew,
//! keep what is better, at first also what is a little worse.
//!
//! The random numbers are seeded, so that the same input with the same number
//! of rounds gives the same plan.

mod ground;
mod guide;
mod picks;
mod state;
mod tables;

use crate::model::cells::Body;
use crate::units::Qty;
pub use ground::Ground;
use guide::Guide;
pub use guide::Share;
use picks::Taste;
pub use state::{Pick, State};
use std::collections::BTreeMap;
use std::time::Instant;
pub use tables::Tables;

/// The best assignment that a search has found.
#[derive(Debug, Clone)]
pub struct Found {
    /// For each node.
    pub picks: Vec<Pick>,
    /// Pieces needed of each part.
    pub need: Vec<Qty>,
    /// Its cost; goods short of a threshold count as if filled up.
    pub total: f64,
    /// Suppliers that it buys from or may buy from.
    pub open: Vec<bool>,
}

/// So many nodes at the most get other sets for the sake of one die.
const MOST_MOVED: usize = 400;

/// So many nodes at the most get one part in place of another at once.
const MOST_EXCHANGED: usize = 1000;

/// A search that goes on in rounds.
#[derive(Debug, Clone)]
pub struct Search<'a> {
    ground: &'a Ground<'a>,
    tables: Tables,
    open: Vec<bool>,
    state: State,
    current: f64,
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
            guide: None,
        };
        search.fill(&Self::hardest_first(ground), Taste::default());
        search.current = search.state.total(ground, &search.tables);
        search.warm(0.3);
        search.keep();
        search
    }

    /// How much worse a step may be at first, as a share of what a node costs.
    fn warm(&mut self, share: f64) {
        let (money, _) = self.state.cost(self.ground, &self.tables);
        let known = self.best.as_ref().map_or(money, |b| b.total);
        self.heat = money.min(known) / self.ground.nodes.len().max(1) as f64 * share;
    }

    /// The best so far, if any holds all rules.
    pub fn best(&self) -> Option<&Found> {
        self.best.as_ref()
    }

    /// Goes on for so many steps, cooling down over them, or until then, or until
    /// it is told to stop.
    pub fn round(&mut self, steps: usize, until: Option<Instant>, stopped: &dyn Fn() -> bool) {
        if self.ground.nodes.is_empty() {
            return;
        }
        let hot = self.heat;
        for step in 0..steps {
            if step % 64 == 0 && (stopped() || until.is_some_and(|t| Instant::now() >= t)) {
                break;
            }
            let left = 1.0 - step as f64 / steps as f64;
            let heat = hot * (1e-3f64).powf(1.0 - left);
            match self.random.u32(0..200) {
                0 if self.open.len() > 1 => self.toggle_supplier(heat),
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
        let mut rest = Self::hardest_first(self.ground);
        rest.retain(|&node| self.state.picks[node].is_none());
        self.fill(&rest, Taste::default());
        self.guide = None;
        self.current = self.state.total(self.ground, &self.tables);
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
        let mut open = Self::hardest_first(ground);
        open.retain(|&node| self.state.picks[node].is_none());
        self.state.total(ground, &self.tables);
        self.fill(&open, Taste::default());
        self.current = self.state.total(ground, &self.tables);
        self.keep();
    }

    /// Nothing chosen, all suppliers open.
    fn anew(&mut self) {
        self.state = State::new(self.ground);
        self.open = vec![true; self.ground.sets.suppliers.len()];
        self.tables = Tables::new(self.ground.sets, &self.open);
    }

    /// Location by location, the nodes with the fewest choices first.
    fn hardest_first(ground: &Ground) -> Vec<usize> {
        let mut order: Vec<usize> = (0..ground.nodes.len()).collect();
        order.sort_by_key(|&n| {
            let node = &ground.nodes[n];
            let plugs = ground.sets.cells[node.cell].plugs.len();
            (node.at.map(|at| at.0), plugs)
        });
        order
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
        let (mut nodes, mut taste) = self.victims();
        self.random.shuffle(&mut nodes);
        taste.blur = [0.0, 0.1, 0.4][self.random.usize(0..3)];
        self.anew_for(nodes, taste, heat);
    }

    /// Takes the sets of these nodes away and gives them others, in this order,
    /// unless that is worse than the heat allows.
    fn anew_for(&mut self, nodes: Vec<usize>, taste: Taste, heat: f64) {
        let old: Vec<(usize, Option<Pick>)> = (nodes.iter())
            .map(|&n| (n, self.state.lift(self.ground, n)))
            .collect();
        let filled = self.fill(&nodes, taste);
        let total = self.state.total(self.ground, &self.tables);
        let missing_before = old.iter().filter(|(_, pick)| pick.is_none()).count();
        let accepted = filled + missing_before >= nodes.len() && self.accepts(total, heat);
        if accepted {
            self.current = total;
            self.keep();
            return;
        }
        self.restore(old);
        self.current = self.state.total(self.ground, &self.tables);
    }

    fn accepts(&mut self, total: f64, heat: f64) -> bool {
        let worse = total - self.current;
        worse <= 0.0 || self.random.f64() < (-worse / heat.max(1e-9)).exp()
    }

    /// Which nodes to take the sets of, and what to do without or to favour.
    fn victims(&mut self) -> (Vec<usize>, Taste) {
        let ground = self.ground;
        let node = self.random.usize(0..ground.nodes.len());
        match self.random.u32(0..20) {
            0..=2 => (vec![node], Taste::default()),
            3..=7 => match ground.nodes[node].at {
                Some((location, _)) => (ground.at_location[location].clone(), Taste::default()),
                None => (vec![node], Taste::default()),
            },
            8..=10 => {
                let alike = &ground.of_kind[ground.kind[ground.nodes[node].cell]];
                let some = self.random.usize(1..=8);
                let picked = (0..some).map(|_| alike[self.random.usize(0..alike.len())]);
                let mut nodes: Vec<usize> = picked.collect();
                nodes.sort_unstable();
                nodes.dedup();
                (nodes, Taste::default())
            }
            11..=16 => self.users_of_a_part(node),
            17 => self.users_of_an_identity(node),
            _ => self.possible_users(node),
        }
    }

    /// Nodes that could use a part which `node` could use, and a liking for it:
    /// so a price break or a second use can be reached that no single step pays for.
    fn possible_users(&mut self, node: usize) -> (Vec<usize>, Taste) {
        let cell = &self.ground.sets.cells[self.ground.nodes[node].cell];
        let parts: Vec<usize> = (cell.bodies().map(|b| b.part))
            .chain(
                cell.slots
                    .iter()
                    .flat_map(|s| s.options.iter().map(|o| o.1)),
            )
            .collect();
        let part = parts[self.random.usize(0..parts.len())];
        let mut nodes = self.ground.users[part].clone();
        self.random.shuffle(&mut nodes);
        nodes.truncate(self.random.usize(2..=30));
        let factor = [0.0, 0.5, 0.7, 0.85][self.random.usize(0..4)];
        let taste = Taste {
            favoured: Some((part, factor)),
            ..Taste::default()
        };
        (nodes, taste)
    }

    /// Gives nodes that have some part another one in its place, many at once:
    /// what a price break or one variant less saves, no single step shows.
    fn exchange(&mut self, heat: f64) {
        let node = self.random.usize(0..self.ground.nodes.len());
        let Some((from, to)) = self.other_part(node) else {
            return;
        };
        let mut nodes = self.users_of_both(from, to);
        self.random.shuffle(&mut nodes);
        if self.random.bool() {
            nodes.truncate(self.random.usize(1..=nodes.len().max(1)));
        }
        nodes.truncate(MOST_EXCHANGED);
        if self.random.u32(0..100) < 85 {
            self.substitute(&nodes, (from, to), heat);
            return;
        }
        let taste = Taste {
            banned: Some(from),
            favoured: Some((to, [0.0, 0.5, 0.8][self.random.usize(0..3)])),
            ..Taste::default()
        };
        self.anew_for(nodes, taste, heat);
    }

    /// A part that the node has, and another that it could have there.
    fn other_part(&mut self, node: usize) -> Option<(usize, usize)> {
        let pick = self.state.picks[node].as_ref()?;
        let cell = &self.ground.sets.cells[self.ground.nodes[node].cell];
        let of = |bodies: &[Body]| -> Vec<usize> { bodies.iter().map(|b| b.part).collect() };
        let (from, mut others) = match self.random.usize(0..2 + pick.fittings.len()) {
            0 => (
                cell.receptacles[pick.receptacle].part,
                of(&cell.receptacles),
            ),
            1 => (cell.plugs[pick.plug].part, of(&cell.plugs)),
            place => {
                let (slot, option) = pick.fittings[place - 2];
                let options = &cell.slots[slot].options;
                (options[option].1, options.iter().map(|o| o.1).collect())
            }
        };
        if self.random.u32(0..100) < 30 {
            others.retain(|&part| self.state.need[part] > 0);
        }
        others.retain(|&part| part != from);
        let some = self.random.usize(0..others.len().max(1));
        others.get(some).map(|&to| (from, to))
    }

    /// Nodes that have the one part, and could have the other.
    fn users_of_both(&self, from: usize, to: usize) -> Vec<usize> {
        let has = |n: usize, pick: &Pick| parts_of(self.ground, n, pick).any(|part| part == from);
        (self.ground.users[from].iter().copied())
            .filter(|n| self.ground.users[to].binary_search(n).is_ok())
            .filter(|&n| self.state.picks[n].as_ref().is_some_and(|p| has(n, p)))
            .collect()
    }

    /// Puts one part in place of another, everything else as it is, where that
    /// can be, unless that is worse than the heat allows.
    fn substitute(&mut self, nodes: &[usize], parts: (usize, usize), heat: f64) {
        let ground = self.ground;
        let mut old = Vec::new();
        for &node in nodes {
            let pick = self.state.picks[node].as_ref();
            if let Some(pick) = pick.and_then(|p| substituted(ground, node, p, parts)) {
                old.push((node, self.state.lift(ground, node)));
                self.state.put(ground, node, pick);
            }
        }
        let total = self.state.total(ground, &self.tables);
        if self.accepts(total, heat) {
            self.current = total;
            self.keep();
            return;
        }
        self.restore(old);
        self.current = self.state.total(ground, &self.tables);
    }

    /// All nodes with the identity that a node has.
    fn users_of_an_identity(&mut self, node: usize) -> (Vec<usize>, Taste) {
        let identity = |n: usize, pick: &Pick| {
            let cell = &self.ground.sets.cells[self.ground.nodes[n].cell];
            cell.plugs[pick.plug].identity
        };
        let Some(wanted) = self.state.picks[node].as_ref().map(|p| identity(node, p)) else {
            return (vec![node], Taste::default());
        };
        let could = &self.ground.could_use[self.ground.face[wanted]];
        let has = |n: usize, pick: &Option<Pick>| {
            (pick.as_ref()).is_some_and(|p| identity(n, p) == wanted)
        };
        let users = (could.iter().copied())
            .filter(|&n| has(n, &self.state.picks[n]))
            .take(60)
            .collect();
        let taste = Taste {
            shunned: Some(wanted),
            ..Taste::default()
        };
        (users, taste)
    }

    /// A part that the node uses, and all nodes that use it, if they are not
    /// too many.
    fn users_of_a_part(&mut self, node: usize) -> (Vec<usize>, Taste) {
        let Some(pick) = &self.state.picks[node] else {
            return (vec![node], Taste::default());
        };
        let parts: Vec<usize> = parts_of(self.ground, node, pick).collect();
        let part = parts[self.random.usize(0..parts.len())];
        let mut users = Vec::new();
        for &n in &self.ground.users[part] {
            let uses = self.state.picks[n]
                .as_ref()
                .is_some_and(|p| parts_of(self.ground, n, p).any(|q| q == part));
            if uses {
                users.push(n);
            }
            if users.len() > 40 {
                users = vec![node];
                break;
            }
        }
        let taste = Taste {
            banned: Some(part),
            ..Taste::default()
        };
        (users, taste)
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
                self.state.total(self.ground, &self.tables);
                filled += 1;
            }
        }
        filled
    }

    /// Opens or closes a supplier for all purchases, and gives the nodes whose
    /// parts can't be had any more, or that are better off now, new sets.
    fn toggle_supplier(&mut self, heat: f64) {
        let k = self.random.usize(0..self.open.len());
        self.open[k] = !self.open[k];
        let tables = self.tables.toggled(self.ground.sets, &self.open, k);
        let old_tables = std::mem::replace(&mut self.tables, tables);
        self.state.reprice(self.ground, &self.tables);
        let nodes = self.affected(k);
        let old: Vec<(usize, Option<Pick>)> = (nodes.iter())
            .map(|&n| (n, self.state.lift(self.ground, n)))
            .collect();
        self.state.total(self.ground, &self.tables);
        self.fill(&nodes, Taste::default());
        let total = self.state.total(self.ground, &self.tables);
        if self.accepts(total, heat) {
            self.current = total;
            self.keep();
            return;
        }
        self.restore(old);
        self.open[k] = !self.open[k];
        self.tables = old_tables;
        self.state.total(self.ground, &self.tables);
        self.state.reprice(self.ground, &self.tables);
        self.current = self.state.total(self.ground, &self.tables);
    }

    /// Does without a die, or gives the nodes that could use it new sets as if
    /// it were there: its cost alone stands against each single step.
    fn toggle_die(&mut self, heat: f64) {
        let ground = self.ground;
        let die = self.random.usize(0..ground.of_die.len());
        let is_used = self.state.needs(die);
        let has = |n: usize, pick: &Pick| {
            parts_of(ground, n, pick).any(|part| ground.sets.parts[part].die == Some(die))
        };
        let mut nodes: Vec<usize> = (ground.of_die[die].iter())
            .flat_map(|&part| ground.users[part].iter().copied())
            .filter(|&n| !is_used || self.state.picks[n].as_ref().is_some_and(|p| has(n, p)))
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
        let sets = self.ground.sets;
        let only_there = |part: usize| {
            let offers = &sets.parts[part].offers;
            offers.iter().all(|&o| {
                let supplier = sets.offers[o].supplier;
                supplier == k || !self.open[supplier]
            })
        };
        let mut nodes: Vec<usize> = (self.state.picks.iter().enumerate())
            .filter_map(|(n, pick)| Some((n, pick.as_ref()?)))
            .filter(|(n, pick)| parts_of(self.ground, *n, pick).any(only_there))
            .map(|(n, _)| n)
            .collect();
        if self.open[k] {
            nodes = (0..self.ground.nodes.len()).collect();
        }
        self.random.shuffle(&mut nodes);
        nodes.truncate(200);
        nodes
    }

    /// Puts old picks back.
    fn restore(&mut self, old: Vec<(usize, Option<Pick>)>) {
        for (n, _) in &old {
            self.state.lift(self.ground, *n);
        }
        for (n, pick) in old {
            if let Some(pick) = pick {
                self.state.put(self.ground, n, pick);
            }
        }
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
                need: self.state.need.clone(),
                total: self.current,
                open: self.open.clone(),
            });
        }
    }
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

/// A pick with one part in place of another; none where that changes its
/// identity or what else it needs.
fn substituted(
    ground: &Ground,
    node: usize,
    pick: &Pick,
    (from, to): (usize, usize),
) -> Option<Pick> {
    let cell = &ground.sets.cells[ground.nodes[node].cell];
    let mut pick = pick.clone();
    let other = |bodies: &[Body], now: usize| {
        let is_like = |b: &Body| {
            b.part == to && b.identity == bodies[now].identity && b.slots == bodies[now].slots
        };
        bodies.iter().position(is_like)
    };
    if cell.receptacles[pick.receptacle].part == from {
        pick.receptacle = other(&cell.receptacles, pick.receptacle)?;
        return Some(pick);
    }
    if cell.plugs[pick.plug].part == from {
        pick.plug = other(&cell.plugs, pick.plug)?;
        return Some(pick);
    }
    let mut is_other = false;
    for (slot, option) in &mut pick.fittings {
        let options = &cell.slots[*slot].options;
        if options[*option].1 == from
            && let Some(place) = options.iter().position(|o| o.1 == to)
        {
            *option = place;
            is_other = true;
        }
    }
    is_other.then_some(pick)
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
