//! Choosing the set of one node, the others being as they are.

use super::ground::Ground;
use super::guide::Guide;
use super::state::{Pick, State, bodies_of};
use super::tables::Tables;
use crate::model::cells::Body;

/// What a choice may not use, and how much it is blurred.
#[derive(Debug, Clone, Copy, Default)]
pub struct Taste {
    /// A part that is not to be used.
    pub banned: Option<usize>,
    /// A die of which no part is to be used.
    pub shut: Option<usize>,
    /// An identity that is not to be used.
    pub shunned: Option<usize>,
    /// The identity that is to be used.
    pub only: Option<usize>,
    /// A part whose cost counts by this factor only.
    pub favoured: Option<(usize, f64)>,
    /// Each cost is multiplied by up to 1 + blur, at random.
    pub blur: f64,
}

/// A node's sets by what they add to the cost.
#[derive(Debug)]
pub struct Priced {
    /// For each identity the cheapest.
    pub list: Vec<Offered>,
    /// For each slot of the cell its cheapest option.
    options: Vec<(usize, f64)>,
}

/// A set, all but its fittings.
#[derive(Debug, Clone, Copy)]
pub struct Offered {
    /// Its identity.
    pub identity: usize,
    /// What it adds.
    pub cost: f64,
    receptacle: Option<usize>,
    plug: usize,
}

/// What a set is chosen by.
pub struct Chooser<'c> {
    pub ground: &'c Ground<'c>,
    pub state: &'c State,
    pub tables: &'c Tables<'c>,
    /// The guide, where what a relaxation tells counts for more than the cost.
    pub guide: Option<&'c Guide>,
}

impl Chooser<'_> {
    /// The set that adds least to the cost; none where other nets have all
    /// identities that would do.
    pub fn cheapest(&self, node: usize, taste: Taste, random: &mut fastrand::Rng) -> Option<Pick> {
        let ground = self.ground;
        let priced = self.priced(node, taste, random);
        let best = (priced.list.iter()).min_by(|a, b| a.cost.total_cmp(&b.cost))?;
        let cell = &ground.problem.cells[ground.nodes[node].cell];
        let mut pick = Pick {
            receptacle: best.receptacle,
            plug: best.plug,
            fittings: Vec::new(),
        };
        let slots = bodies_of(cell, &pick).flat_map(|body| &body.slots);
        pick.fittings = slots.map(|&s| (s, priced.options[s].0)).collect();
        Some(pick)
    }

    /// For each identity that no other net has, the set that adds least, counting
    /// each part by itself, or mostly by a guide.
    pub fn priced(&self, node: usize, taste: Taste, random: &mut fastrand::Rng) -> Priced {
        let Chooser {
            ground,
            state,
            tables,
            guide,
        } = *self;
        let facts = &ground.nodes[node];
        let cell = &ground.problem.cells[facts.cell];
        let weight = facts.ends.1;
        let mut price = |part: usize, pieces: u64| -> f64 {
            let is_shut = taste.shut.is_some() && ground.problem.parts[part].die == taste.shut;
            if is_shut || taste.banned == Some(part) {
                return f64::INFINITY;
            }
            let mut cost = state.marginal(ground, tables, part, pieces);
            if let Some(guide) = guide {
                let kind = ground.kind[facts.cell];
                cost = guide.cost((kind, part), weight, pieces) + 0.05 * cost;
            }
            if let Some((_, factor)) = taste.favoured.filter(|f| f.0 == part) {
                cost *= factor;
            }
            match taste.blur > 0.0 {
                true => cost * (1.0 + taste.blur * random.f64()),
                false => cost,
            }
        };
        let slots: Vec<(usize, f64)> = (cell.slots.iter())
            .map(|slot| {
                (slot.options.iter().enumerate())
                    .map(|(k, &(_, part, qty))| (k, price(part, qty * weight)))
                    .min_by(|a, b| a.1.total_cmp(&b.1))
                    .unwrap_or((0, f64::INFINITY))
            })
            .collect();
        let mut cost_of = |body: &Body| -> f64 {
            let fittings: f64 = body.slots.iter().map(|&s| slots[s].1).sum();
            price(body.part, weight * cell.copies) + fittings
        };
        // For each group that mates its cheapest receptacle; a built-in one costs nothing.
        let groups = cell.bodies().map(|body| body.mate + 1).max().unwrap_or(0);
        let built_in = cell.is_built_in().then_some((0.0, None));
        let mut mates: Vec<Option<(f64, Option<usize>)>> = vec![built_in; groups];
        for (r, receptacle) in cell.receptacles.iter().enumerate() {
            let cost = cost_of(receptacle);
            let mate = &mut mates[receptacle.mate];
            if mate.is_none_or(|m| cost < m.0) {
                *mate = Some((cost, Some(r)));
            }
        }
        let mut best: Vec<Option<Offered>> = vec![None; ground.identities];
        for (p, plug) in cell.plugs.iter().enumerate() {
            let identity = plug.identity;
            let is_free = taste.shunned != Some(identity)
                && taste.only.is_none_or(|only| only == identity)
                && state.rival(ground, node, identity).is_none();
            let Some((mate, receptacle)) = mates[plug.mate].filter(|_| is_free) else {
                continue;
            };
            let cost = cost_of(plug) + mate;
            if best[identity].is_none_or(|b| cost < b.cost) {
                best[identity] = Some(Offered {
                    identity,
                    cost,
                    receptacle,
                    plug: p,
                });
            }
        }
        Priced {
            list: best.into_iter().flatten().collect(),
            options: slots,
        }
    }
}
