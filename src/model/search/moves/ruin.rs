//! Takes the sets of a few nodes away, and gives them the cheapest anew.

use crate::model::search::course::Search;
use crate::model::search::picks::Taste;
use crate::model::search::state::{Pick, parts_of};

impl Search<'_> {
    /// Takes the sets of some nodes away and gives them the cheapest anew.
    pub(super) fn ruin(&mut self, heat: f64) {
        let (mut nodes, mut taste) = self.victims();
        self.random.shuffle(&mut nodes);
        taste.blur = [0.0, 0.1, 0.4][self.random.usize(0..3)];
        self.anew_for(nodes, taste, heat);
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

    /// Nodes that could use a part which `node` could use, and a liking for that part:
    /// so a price break or a second use can be reached that no single step pays for.
    fn possible_users(&mut self, node: usize) -> (Vec<usize>, Taste) {
        let cell = &self.ground.problem.cells[self.ground.nodes[node].cell];
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

    /// All nodes with the identity that a node has.
    fn users_of_an_identity(&mut self, node: usize) -> (Vec<usize>, Taste) {
        let identity = |n: usize, pick: &Pick| {
            let cell = &self.ground.problem.cells[self.ground.nodes[n].cell];
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
}
