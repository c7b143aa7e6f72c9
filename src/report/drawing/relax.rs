//! Heights: what the layout crate spreads is drawn together. The order within
//! each layer stays, so no crossing is added.

use super::sizes::PITCH;

/// How often each layer is looked at.
const SWEEPS: usize = 24;

/// Something that stands in a layer: a box, or a line that passes.
#[derive(Debug, Clone, Copy)]
pub struct Item {
    /// Which layer the item is in.
    pub layer: usize,
    /// Its middle.
    pub y: f64,
    /// Its height with the room around it.
    pub room: f64,
}

/// A piece of a line between two items: where it meets each, below its middle.
#[derive(Debug, Clone, Copy)]
pub struct Link {
    /// Places of the two items.
    pub items: [usize; 2],
    /// Where the line meets them.
    pub offsets: [f64; 2],
}

/// Moves the items so that lines run as level as their order lets them. The
/// upper edge of the highest comes to 0.
pub fn relax(items: &mut [Item], links: &[Link]) {
    let layers = items.iter().map(|item| item.layer + 1).max().unwrap_or(0);
    let mut order: Vec<Vec<usize>> = vec![Vec::new(); layers];
    for (at, item) in items.iter().enumerate() {
        if let Some(layer) = order.get_mut(item.layer) {
            layer.push(at);
        }
    }
    for layer in &mut order {
        let y = |at: &usize| items.get(*at).map_or(0.0, |item| item.y);
        layer.sort_by(|a, b| y(a).total_cmp(&y(b)));
    }
    for sweep in 0..SWEEPS {
        for n in 0..layers {
            let at = if sweep % 2 == 0 { n } else { layers - 1 - n };
            if let Some(layer) = order.get(at) {
                settle(items, links, layer);
            }
        }
    }
    let top = items.iter().map(|item| item.y - item.room / 2.0);
    let top = top.fold(f64::INFINITY, f64::min);
    items.iter_mut().for_each(|item| item.y -= top);
}

/// Puts each item of a layer where its lines want it, as far as its neighbours
/// leave room: least squares under an order, by pooling (isotonic regression).
fn settle(items: &mut [Item], links: &[Link], layer: &[usize]) {
    let mut pools: Vec<Pool> = Vec::new();
    let mut below = 0.0;
    for &at in layer {
        let Some(item) = items.get(at) else { continue };
        let (wish, weight) = wish(items, links, at);
        // Where the first item of the layer would be if all below it stood close.
        let start = below + item.room / 2.0;
        below += item.room;
        pools.push(Pool {
            sum: (wish - start) * weight,
            weight,
            members: vec![(at, start)],
        });
        while let [.., upper, lower] = pools.as_slice() {
            if upper.level() <= lower.level() {
                break;
            }
            let Some(lower) = pools.pop() else { break };
            if let Some(upper) = pools.last_mut() {
                upper.sum += lower.sum;
                upper.weight += lower.weight;
                upper.members.extend(lower.members);
            }
        }
    }
    for pool in pools {
        let level = pool.level();
        for (at, start) in pool.members {
            if let Some(item) = items.get_mut(at) {
                item.y = level + start;
            }
        }
    }
}

struct Pool {
    sum: f64,
    weight: f64,
    members: Vec<(usize, f64)>,
}

impl Pool {
    fn level(&self) -> f64 {
        self.sum / self.weight
    }
}

/// Where the lines of an item want it, and how many they are.
fn wish(items: &[Item], links: &[Link], at: usize) -> (f64, f64) {
    let mut sum = 0.0;
    let mut count = 0.0;
    for link in links {
        for (near, far) in [(0, 1), (1, 0)] {
            if link.items[near] == at && link.items[far] != at {
                let other = items.get(link.items[far]).map_or(0.0, |item| item.y);
                sum += other + link.offsets[far] - link.offsets[near];
                count += 1.0;
            }
        }
    }
    if count > 0.0 {
        return (sum / count, count);
    }
    (items.get(at).map_or(0.0, |item| item.y), 1.0 / PITCH)
}
