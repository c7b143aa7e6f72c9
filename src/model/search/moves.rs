//! The steps of a search, each kept or taken back as a whole.

use super::ground::Ground;
use super::picks::Taste;
use super::state::{Cost, Pick};
use super::{Search, parts_of};
use crate::model::cells::Body;

/// So many nodes at the most get other sets for the sake of one die.
const MOST_MOVED: usize = 400;

/// So many nodes at the most get one part in place of another at once.
const MOST_EXCHANGED: usize = 1000;

impl Search<'_> {
    /// Takes the sets of some nodes away and gives them the cheapest anew.
    pub(super) fn ruin(&mut self, heat: f64) {
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
        let missing_before = old.iter().filter(|(_, pick)| pick.is_none()).count();
        self.decide(old, filled + missing_before >= nodes.len(), heat);
    }

    /// Keeps what has come in place of old picks if that is allowed and no worse
    /// than the heat allows; else puts them back.
    fn decide(&mut self, old: Vec<(usize, Option<Pick>)>, is_allowed: bool, heat: f64) {
        let cost = self.state.cost(self.ground, &self.tables);
        if is_allowed && self.accepts(cost, heat) {
            self.current = cost;
            self.keep();
            return;
        }
        self.restore(old);
        self.current = self.state.cost(self.ground, &self.tables);
    }

    fn accepts(&mut self, cost: Cost, heat: f64) -> bool {
        let worse = cost.above(self.current);
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
    pub(super) fn exchange(&mut self, heat: f64) {
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
        (self.ground.users[from].iter().copied())
            .filter(|n| self.ground.users[to].binary_search(n).is_ok())
            .filter(|&n| self.has(n, |part| part == from))
            .collect()
    }

    /// True if one of the parts that the node has is such.
    fn has(&self, node: usize, is_such: impl Fn(usize) -> bool) -> bool {
        let pick = self.state.picks[node].as_ref();
        pick.is_some_and(|pick| parts_of(self.ground, node, pick).any(is_such))
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
        self.decide(old, true, heat);
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
            if self.has(n, |q| q == part) {
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

    /// Opens or closes a supplier for all purchases, and gives the nodes whose
    /// parts can't be had any more, or that are better off now, new sets.
    pub(super) fn toggle_supplier(&mut self, heat: f64) {
        let k = self.random.usize(0..self.ground.sets.suppliers.len());
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
    /// it were there: its cost alone stands against each single step.
    pub(super) fn toggle_die(&mut self, heat: f64) {
        let ground = self.ground;
        let die = self.random.usize(0..ground.of_die.len());
        let is_used = self.state.needs(die);
        let needs = |part: usize| ground.sets.parts[part].die == Some(die);
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
        let sets = self.ground.sets;
        let only_there = |part: usize| {
            let offers = &sets.parts[part].offers;
            offers.iter().all(|&o| {
                let supplier = sets.offers[o].supplier;
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
