//! One assignment of sets to nodes, with its cost kept up to date.
//!
//! The cost is that of the plan, but for one thing: goods short of a least
//! order or of free shipping count as money, as if filled up with surplus.

use super::ground::Ground;
use super::tables::{Buy, Lot, Tables};
use crate::model::cells::{self, Body};
use crate::model::terms;
use crate::project::Per;
use crate::units::Qty;
use std::cell::Cell;
use std::cmp::Ordering;

/// The set of a node, by places in its cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pick {
    /// Place of the receptacle; none where the device has its own.
    pub receptacle: Option<usize>,
    /// Place of the plug.
    pub plug: usize,
    /// For each slot of the two bodies: slot, option.
    pub fittings: Vec<(usize, usize)>,
}

/// What an assignment comes to. What must not be counts before any money, so
/// a search gets rid of it as soon as it can.
#[derive(Debug, Clone, Copy, Default, PartialEq, PartialOrd)]
pub struct Cost {
    /// How much there is that must not be: parts that can't be had, variants,
    /// suppliers and dies beyond their limits.
    pub broken: usize,
    /// In the project's currency.
    pub money: f64,
}

impl Cost {
    /// By how much this cost is above another: infinite where more is broken, minus
    /// infinite where less is broken.
    pub fn above(self, other: Cost) -> f64 {
        match self.broken.cmp(&other.broken) {
            Ordering::Less => f64::NEG_INFINITY,
            Ordering::Equal => self.money - other.money,
            Ordering::Greater => f64::INFINITY,
        }
    }
}

/// Costs and counts of an assignment.
#[derive(Debug, Clone)]
pub struct State {
    /// For each node.
    pub picks: Vec<Option<Pick>>,
    /// Net and number of nodes that use an identity, by location × identity.
    owner: Vec<(usize, u32)>,
    /// By part × gauge.
    fitted: Vec<Qty>,
    /// By part: what so many pieces more would add. The number of pieces is 0 where
    /// that is out of date.
    more: Vec<Cell<(Qty, f64)>>,
    /// By part: pieces needed.
    pub need: Vec<Qty>,
    /// By part: how its pieces are bought.
    bought: Vec<Buy>,
    /// By supplier: goods in its units of money, and number of orders.
    goods: Vec<f64>,
    orders: Vec<u32>,
    /// By die.
    die_uses: Vec<u32>,
    /// A die that costs nothing for the moment.
    free: Option<usize>,
    variants: usize,
    missing: usize,
    parts_cost: f64,
    dirty: Vec<usize>,
    is_dirty: Vec<bool>,
}

impl State {
    /// Nothing chosen.
    pub fn new(ground: &Ground) -> State {
        let problem = ground.problem;
        let parts = problem.parts.len();
        State {
            picks: vec![None; ground.nodes.len()],
            owner: vec![(0, 0); ground.at_location.len() * ground.identities],
            fitted: vec![0; parts * ground.gauges],
            more: vec![Cell::default(); parts],
            need: vec![0; parts],
            bought: vec![Buy::default(); parts],
            goods: vec![0.0; problem.suppliers.len()],
            orders: vec![0; problem.suppliers.len()],
            die_uses: vec![0; problem.dies.len()],
            free: None,
            variants: 0,
            missing: 0,
            parts_cost: 0.0,
            dirty: Vec::new(),
            is_dirty: vec![false; parts],
        }
    }

    /// The net that has an identity at a node's location, if any other than its own.
    pub fn rival(&self, ground: &Ground, node: usize, identity: usize) -> Option<usize> {
        let (location, net) = ground.nodes[node].at?;
        let (owner, uses) = self.owner[location * ground.identities + identity];
        (uses > 0 && owner != net).then_some(owner)
    }

    /// Takes the pick of a node away.
    pub fn lift(&mut self, ground: &Ground, node: usize) -> Option<Pick> {
        let pick = self.picks[node].take()?;
        self.count(ground, node, &pick, false);
        Some(pick)
    }

    /// Gives a node a pick; it must have none.
    pub fn put(&mut self, ground: &Ground, node: usize, pick: Pick) {
        self.count(ground, node, &pick, true);
        self.picks[node] = Some(pick);
    }

    fn count(&mut self, ground: &Ground, node: usize, pick: &Pick, add: bool) {
        let Ground { problem, nodes, .. } = ground;
        let (cell, weight) = (&problem.cells[nodes[node].cell], nodes[node].ends.1);
        if let Some((location, net)) = nodes[node].at {
            let identity = cell.plugs[pick.plug].identity;
            let owner = &mut self.owner[location * ground.identities + identity];
            owner.0 = net;
            owner.1 = if add { owner.1 + 1 } else { owner.1 - 1 };
        }
        let gauge = ground.gauge[nodes[node].cell];
        let bodies = bodies_of(cell, pick).map(|body| (body.part, cell.copies));
        let fittings = pick.fittings.iter().map(|&(slot, option)| {
            let (_, part, qty) = cell.slots[slot].options[option];
            (part, qty)
        });
        for (part, qty) in bodies.chain(fittings) {
            let fitted = &mut self.fitted[part * ground.gauges + gauge];
            let pieces = qty * weight;
            *fitted = if add {
                *fitted + pieces
            } else {
                *fitted - pieces
            };
            self.more[part].take();
            if !self.is_dirty[part] {
                self.is_dirty[part] = true;
                self.dirty.push(part);
            }
        }
    }

    /// What the assignment comes to, after all that changed is brought up to date.
    pub fn cost(&mut self, ground: &Ground, tables: &Tables) -> Cost {
        while let Some(part) = self.dirty.pop() {
            self.is_dirty[part] = false;
            let need = self.need_of(ground, part);
            if need != self.need[part] {
                self.buy(ground, tables, part, need);
            }
        }
        let problem = ground.problem;
        let mut money = self.parts_cost;
        money += self.variants as f64 * terms::variant(problem);
        let over = |count: usize, most: Option<u32>| {
            count.saturating_sub(most.map_or(usize::MAX, |m| m as usize))
        };
        let mut used = 0;
        for (k, supplier) in problem.suppliers.iter().enumerate() {
            if self.orders[k] > 0 {
                used += 1;
                money += terms::delivery(supplier, self.goods[k]);
            }
        }
        let mut dies = 0;
        for (die, &uses) in problem.dies.iter().zip(&self.die_uses) {
            if uses > 0 {
                dies += 1;
                money += terms::die(die);
            }
        }
        let broken = self.missing
            + over(self.variants, problem.max_variants)
            + over(used, problem.max_suppliers)
            + over(dies, problem.max_dies);
        Cost { broken, money }
    }

    /// True if some part needs the die.
    pub fn needs(&self, die: usize) -> bool {
        self.die_uses[die] > 0
    }

    /// Lets choices count one die as if it were there, or no die.
    pub fn lend(&mut self, ground: &Ground, die: Option<usize>) {
        for die in self.free.into_iter().chain(die) {
            for &part in &ground.of_die[die] {
                self.more[part].take();
            }
        }
        self.free = die;
    }

    /// Prices everything anew, for other tables.
    pub fn reprice(&mut self, ground: &Ground, tables: &Tables) {
        self.more.fill(Cell::default());
        for part in 0..self.need.len() {
            let need = self.need[part];
            if need > 0 {
                self.buy(ground, tables, part, need);
            }
        }
    }

    fn buy(&mut self, ground: &Ground, tables: &Tables, part: usize, need: Qty) {
        let old = self.bought[part];
        let new = tables.buy(part, need);
        for (buy, sign) in [(old, -1.0), (new, 1.0)] {
            if buy.cost.is_finite() {
                self.parts_cost += sign * buy.cost;
            } else if sign > 0.0 {
                self.missing += 1;
            } else {
                self.missing -= 1;
            }
            for lot in buy.orders.iter().filter(|lot| lot.packs > 0) {
                let k = lot.supplier as usize;
                self.goods[k] += sign * lot.goods;
                match sign > 0.0 {
                    true => self.orders[k] += 1,
                    false => self.orders[k] -= 1,
                }
            }
        }
        let (was, is) = (self.need[part] > 0, need > 0);
        if was != is {
            let die = ground.problem.parts[part].die;
            if is {
                self.variants += 1;
            } else {
                self.variants -= 1;
            }
            if let Some(die) = die {
                self.die_uses[die] = match is {
                    true => self.die_uses[die] + 1,
                    false => self.die_uses[die] - 1,
                };
                for &part in &ground.of_die[die] {
                    self.more[part].take();
                }
            }
        }
        self.bought[part] = new;
        self.need[part] = need;
        self.more[part].take();
    }

    fn need_of(&self, ground: &Ground, part: usize) -> Qty {
        let facts = &ground.problem.parts[part];
        let fitted = &self.fitted[part * ground.gauges..(part + 1) * ground.gauges];
        match facts.spares.map(|rule| rule.per) {
            Some(Per::Gauge) => fitted.iter().map(|&n| n + facts.spare_for(n)).sum(),
            _ => {
                let all: Qty = fitted.iter().sum();
                all + facts.spare_for(all)
            }
        }
    }

    /// What `pieces` more of a part would add, by itself.
    pub fn marginal(&self, ground: &Ground, tables: &Tables, part: usize, pieces: Qty) -> f64 {
        let (of, cost) = self.more[part].get();
        if of == pieces && pieces > 0 {
            return cost;
        }
        let cost = self.added(ground, tables, part, pieces);
        self.more[part].set((pieces, cost));
        cost
    }

    fn added(&self, ground: &Ground, tables: &Tables, part: usize, pieces: Qty) -> f64 {
        let facts = &ground.problem.parts[part];
        let fitted = &self.fitted[part * ground.gauges..(part + 1) * ground.gauges];
        let all: Qty = fitted.iter().sum::<Qty>() + pieces;
        // By gauge or not makes little difference here: this only ranks options.
        let need = (all + facts.spare_for(all)).max(self.need[part]);
        let now = self.bought[part].cost;
        let mut cost = tables.buy(part, need).cost - if now.is_finite() { now } else { 0.0 };
        if self.need[part] == 0 {
            cost += terms::variant(ground.problem);
            let is_new = |d: &usize| self.die_uses[*d] == 0 && self.free != Some(*d);
            if let Some(die) = facts.die.filter(is_new) {
                cost += terms::die(&ground.problem.dies[die]);
            }
        }
        cost
    }

    /// What is bought of each part by itself.
    pub fn lots(&self) -> impl Iterator<Item = Lot> {
        let lots = self.bought.iter().flat_map(|buy| buy.orders);
        lots.filter(|lot| lot.packs > 0)
    }

    /// True if every node has a set and nothing is there that must not be.
    pub fn is_allowed(&mut self, ground: &Ground, tables: &Tables) -> bool {
        self.picks.iter().all(Option::is_some) && self.cost(ground, tables).broken == 0
    }
}

/// The parts that a pick uses, by place.
pub fn parts_of<'g>(
    ground: &'g Ground,
    node: usize,
    pick: &'g Pick,
) -> impl Iterator<Item = usize> + 'g {
    let cell = &ground.problem.cells[ground.nodes[node].cell];
    let bodies = bodies_of(cell, pick).map(|body| body.part);
    let fittings = (pick.fittings.iter()).map(|&(slot, option)| cell.slots[slot].options[option].1);
    bodies.chain(fittings)
}

/// The bodies of a pick, the receptacle first if there is one.
pub fn bodies_of<'g>(cell: &'g cells::Cell, pick: &Pick) -> impl Iterator<Item = &'g Body> {
    let receptacle = pick.receptacle.map(|place| &cell.receptacles[place]);
    receptacle.into_iter().chain([&cell.plugs[pick.plug]])
}
