//! Choosing the set of one node, the others being as they are.

use super::ground::Ground;
use super::state::{Pick, State};
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
    /// A part whose cost counts by this factor only.
    pub favoured: Option<(usize, f64)>,
    /// Each cost is multiplied by up to 1 + blur, at random.
    pub blur: f64,
}

/// The set that adds least to the cost, counting each part by itself, or mostly
/// by given prices; none where other nets have all identities that would do.
pub fn cheapest(
    ground: &Ground,
    state: &State,
    tables: &Tables,
    (node, taste, prices): (usize, Taste, Option<&[f64]>),
    random: &mut fastrand::Rng,
) -> Option<Pick> {
    let facts = &ground.nodes[node];
    let cell = &ground.sets.cells[facts.cell];
    let weight = facts.ends.1;
    let mut price = |part: usize, pieces: u64| -> f64 {
        let is_shut = taste.shut.is_some() && ground.sets.parts[part].die == taste.shut;
        if is_shut || taste.banned == Some(part) {
            return f64::INFINITY;
        }
        let mut cost = state.marginal(ground, tables, part, pieces);
        if let Some(prices) = prices {
            cost = prices[part] * pieces as f64 + 0.05 * cost;
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
        price(body.part, weight) + fittings
    };
    // For each identity its cheapest receptacle.
    let mut mates: Vec<Option<(f64, usize)>> = vec![None; ground.identities];
    for (r, receptacle) in cell.receptacles.iter().enumerate() {
        let cost = cost_of(receptacle);
        let mate = &mut mates[receptacle.identity];
        if mate.is_none_or(|m| cost < m.0) {
            *mate = Some((cost, r));
        }
    }
    let mut best: Option<(f64, usize, usize)> = None;
    for (p, plug) in cell.plugs.iter().enumerate() {
        if taste.shunned == Some(plug.identity)
            || state.rival(ground, node, plug.identity).is_some()
        {
            continue;
        }
        let Some((mate, r)) = mates[plug.identity] else {
            continue;
        };
        let both = cost_of(plug) + mate;
        if best.is_none_or(|b| both < b.0) {
            best = Some((both, r, p));
        }
    }
    let (_, receptacle, plug) = best?;
    let fittings = |body: &Body| -> Vec<(usize, usize)> {
        body.slots.iter().map(|&s| (s, slots[s].0)).collect()
    };
    let mut chosen = fittings(&cell.receptacles[receptacle]);
    chosen.extend(fittings(&cell.plugs[plug]));
    Some(Pick {
        receptacle,
        plug,
        fittings: chosen,
    })
}
