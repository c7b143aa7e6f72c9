//! Gives many nodes another part at once.

use crate::model::cells::Body;
use crate::model::search::course::Search;
use crate::model::search::ground::Ground;
use crate::model::search::picks::Taste;
use crate::model::search::state::{Pick, parts_of};

/// So many nodes at the most get one part in place of another at once.
const MOST_EXCHANGED: usize = 1000;

/// One part in place of another, both by place.
#[derive(Debug, Clone, Copy)]
struct Exchange {
    from: usize,
    to: usize,
}

impl Search<'_> {
    /// Gives nodes that have some part another one in its place, many at once:
    /// no single step shows what a price break or one variant less saves.
    pub(super) fn exchange(&mut self, heat: f64) {
        let node = self.random.usize(0..self.ground.nodes.len());
        let Some(exchange) = self.other_part(node) else {
            return;
        };
        let mut nodes = self.users_of_both(exchange);
        self.random.shuffle(&mut nodes);
        if self.random.bool() {
            nodes.truncate(self.random.usize(1..=nodes.len().max(1)));
        }
        nodes.truncate(MOST_EXCHANGED);
        if self.random.u32(0..100) < 85 {
            self.substitute(&nodes, exchange, heat);
            return;
        }
        let taste = Taste {
            banned: Some(exchange.from),
            favoured: Some((exchange.to, [0.0, 0.5, 0.8][self.random.usize(0..3)])),
            ..Taste::default()
        };
        self.anew_for(nodes, taste, heat);
    }

    /// A part that the node has, and another that it could have there.
    fn other_part(&mut self, node: usize) -> Option<Exchange> {
        let pick = self.state.picks[node].as_ref()?;
        let cell = &self.ground.problem.cells[self.ground.nodes[node].cell];
        let of = |bodies: &[Body]| -> Vec<usize> { bodies.iter().map(|b| b.part).collect() };
        let (from, mut others) = match self.random.usize(0..2 + pick.fittings.len()) {
            0 => (
                cell.receptacles[pick.receptacle?].part,
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
        others.get(some).map(|&to| Exchange { from, to })
    }

    /// Nodes that have the one part, and could have the other.
    fn users_of_both(&self, exchange: Exchange) -> Vec<usize> {
        let Exchange { from, to } = exchange;
        (self.ground.users[from].iter().copied())
            .filter(|n| self.ground.users[to].binary_search(n).is_ok())
            .filter(|&n| self.has(n, |part| part == from))
            .collect()
    }

    /// True if one of the parts that the node has is such.
    pub(super) fn has(&self, node: usize, is_such: impl Fn(usize) -> bool) -> bool {
        let pick = self.state.picks[node].as_ref();
        pick.is_some_and(|pick| parts_of(self.ground, node, pick).any(is_such))
    }

    /// Puts one part in place of another, everything else as it is, where that
    /// can be, unless that is worse than the heat allows.
    fn substitute(&mut self, nodes: &[usize], exchange: Exchange, heat: f64) {
        let ground = self.ground;
        let mut old = Vec::new();
        for &node in nodes {
            let pick = self.state.picks[node].as_ref();
            if let Some(pick) = pick.and_then(|p| substituted(ground, node, p, exchange)) {
                old.push((node, self.state.lift(ground, node)));
                self.state.put(ground, node, pick);
            }
        }
        self.decide(old, true, heat);
    }
}

/// A pick with one part in place of another; none where the two would not mate any
/// more, or need something else.
fn substituted(ground: &Ground, node: usize, pick: &Pick, exchange: Exchange) -> Option<Pick> {
    let Exchange { from, to } = exchange;
    let cell = &ground.problem.cells[ground.nodes[node].cell];
    let mut pick = pick.clone();
    let other = |bodies: &[Body], now: usize| {
        let is_like =
            |b: &Body| b.part == to && b.mate == bodies[now].mate && b.slots == bodies[now].slots;
        bodies.iter().position(is_like)
    };
    if let Some(now) = pick
        .receptacle
        .filter(|r| cell.receptacles[*r].part == from)
    {
        pick.receptacle = Some(other(&cell.receptacles, now)?);
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
