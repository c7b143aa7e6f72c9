//! From the solver's whole numbers to a set for every end and an order.

use super::cells::{Body, Cell, Site};
use super::problem::Problem;
use super::program::{BreakVars, Built, CellVars};
use super::solution::{Fitted, Set, Solution};
use crate::catalog::{Half, OfferId, PartId};
use crate::fit::{Class, Fit};
use crate::solve::VarId;
use crate::units::Qty;
use std::collections::BTreeMap;

/// Deals the counts of each cell out to its ends, and reads off the orders.
pub(super) fn solution(fit: &Fit, problem: &Problem, built: &Built, values: &[f64]) -> Solution {
    let count = |v: VarId| values[v.0].max(0.0) as Qty;
    let mut placed: BTreeMap<usize, Set> = BTreeMap::new();
    let mut dealt: Vec<Vec<Set>> = (problem.cells.iter().zip(&built.cells))
        .map(|(cell, vars)| whole_sets(&fit.classes[cell.class], cell, vars, &count))
        .collect();
    for site in problem.sites.iter().filter(|s| s.locations > 1) {
        spread(fit, problem, site, &mut dealt);
    }
    for (cell, sets) in problem.cells.iter().zip(dealt) {
        placed.extend(cell.ends.iter().copied().zip(sets));
    }
    Solution {
        sets: placed.into_values().collect(),
        purchases: purchases(problem, built, values),
    }
}

/// Packs from each offer that is used, by offer.
pub(super) fn purchases(problem: &Problem, built: &Built, values: &[f64]) -> Vec<(OfferId, Qty)> {
    let packs = |vars: &[BreakVars]| vars.iter().map(|v| values[v.packs.0].max(0.0) as Qty).sum();
    (problem.offers.iter().zip(&built.offers))
        .map(|(offer, vars)| (offer.id, packs(vars)))
        .filter(|&(_, packs)| packs > 0)
        .collect()
}

/// The sets that the counts of a cell come to, sorted; one for each end.
fn whole_sets(
    class: &Class,
    cell: &Cell,
    vars: &CellVars,
    count: &dyn Fn(VarId) -> Qty,
) -> Vec<Set> {
    let mut slots: Vec<Vec<Qty>> = (vars.slots.iter())
        .map(|xs| xs.iter().map(|&x| count(x)).collect())
        .collect();
    let mut plugs: Vec<Qty> = vars.plugs.iter().map(|&x| count(x)).collect();
    let mut sets = Vec::new();
    let mut add = |receptacle: Option<&Body>, plug: &Body| {
        let receptacles = receptacle.into_iter().map(|body| (Half::Receptacle, body));
        let mut fittings = Vec::new();
        for (half, body) in receptacles.chain([(Half::Plug, plug)]) {
            fittings.extend(take(class, half, body, &mut slots));
        }
        sets.push(Set {
            receptacle: receptacle.map(|body| body.id),
            plug: plug.id,
            fittings,
        });
    };
    for (receptacle, &x) in cell.receptacles.iter().zip(&vars.receptacles) {
        for _ in 0..count(x) {
            let mates = |&i: &usize| plugs[i] > 0 && cell.plugs[i].mate == receptacle.mate;
            let Some(i) = (0..plugs.len()).find(mates) else {
                continue;
            };
            plugs[i] -= 1;
            add(Some(receptacle), &cell.plugs[i]);
        }
    }
    if cell.is_built_in() {
        for (plug, &left) in cell.plugs.iter().zip(&plugs) {
            (0..left).for_each(|_| add(None, plug));
        }
    }
    sets.sort();
    sets
}

/// One option for each slot of a body, the first by code that is left.
fn take(class: &Class, half: Half, body: &Body, left: &mut [Vec<Qty>]) -> Vec<Fitted> {
    let mut fittings = Vec::new();
    for &s in &body.slots {
        if let Some(k) = left[s].iter().position(|&n| n > 0) {
            left[s][k] -= 1;
            let (part, qty) = class.slots[s].options[k];
            fittings.push(Fitted {
                half,
                fitting: class.slots[s].fitting,
                part,
                qty,
            });
        }
    }
    fittings.sort_by_key(|f| (f.half, f.fitting));
    fittings
}

/// Deals the sets out at a site of several like locations, so that no
/// identity stands twice at a location, by edge colouring (see `cells`).
fn spread(fit: &Fit, problem: &Problem, site: &Site, dealt: &mut [Vec<Set>]) {
    let locations = site.locations as usize;
    let identity = |cell: &Cell, plug: PartId| {
        cell.plugs
            .iter()
            .find(|b| b.id == plug)
            .map_or(0, |b| b.identity)
    };
    // Nodes on the left: each net of each cell, with one edge per location.
    let mut edges: Vec<(usize, usize)> = Vec::new();
    let mut nets = 0;
    for &c in &site.loose {
        let per_net = dealt[c].chunks(locations);
        for chunk in per_net {
            for set in chunk {
                edges.push((nets, identity(&problem.cells[c], set.plug)));
            }
            nets += 1;
        }
    }
    let colours = colour(&edges, nets, fit.identities.len(), locations);
    let mut at = 0;
    for &c in &site.loose {
        let per_location = dealt[c].len() / locations;
        let mut spread: Vec<Option<Set>> = vec![None; dealt[c].len()];
        for (k, set) in dealt[c].iter().enumerate() {
            // Ends stand location by location, each with all nets of the cell.
            let place = colours[at] * per_location + k / locations;
            if let Some(slot) = spread.get_mut(place) {
                *slot = Some(set.clone());
            }
            at += 1;
        }
        if spread.iter().all(Option::is_some) {
            dealt[c] = spread.into_iter().flatten().collect();
        }
    }
}

/// Colours the edges of a bipartite multigraph with `colours` colours, at
/// least its largest degree, so that no two edges at a node share a colour.
/// An edge takes a colour that is free at both its nodes, after swapping the
/// two colours along the path that stands in the way.
fn colour(edges: &[(usize, usize)], left: usize, right: usize, colours: usize) -> Vec<usize> {
    // at[node][colour] = edge; nodes on the right come after those on the left.
    let mut at: Vec<Vec<Option<usize>>> = vec![vec![None; colours]; left + right];
    let mut of = vec![0; edges.len()];
    let ends = |e: usize| (edges[e].0, left + edges[e].1);
    for e in 0..edges.len() {
        let (u, v) = ends(e);
        let free = |at: &[Vec<Option<usize>>], node: usize| {
            at[node].iter().position(Option::is_none).unwrap_or(0)
        };
        let (a, b) = (free(&at, u), free(&at, v));
        if at[v][a].is_some() {
            let mut path = Vec::new();
            let (mut node, mut want) = (v, a);
            while let Some(next) = at[node][want] {
                path.push(next);
                let (x, y) = ends(next);
                node = if node == x { y } else { x };
                want = if want == a { b } else { a };
            }
            for &edge in &path {
                let (x, y) = ends(edge);
                at[x][of[edge]] = None;
                at[y][of[edge]] = None;
            }
            for &edge in &path {
                of[edge] = if of[edge] == a { b } else { a };
                let (x, y) = ends(edge);
                at[x][of[edge]] = Some(edge);
                at[y][of[edge]] = Some(edge);
            }
        }
        of[e] = a;
        at[u][a] = Some(e);
        at[v][a] = Some(e);
    }
    of
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_edges_at_a_node_share_a_colour() {
        let mut random = fastrand::Rng::with_seed(7);
        for _ in 0..200 {
            let (left, right) = (random.usize(1..6), random.usize(1..7));
            let degree = random.usize(1..6);
            let mut edges = Vec::new();
            let mut used = vec![0; right];
            for node in 0..left {
                for _ in 0..degree {
                    let v = random.usize(0..right);
                    if used[v] < degree {
                        used[v] += 1;
                        edges.push((node, v));
                    }
                }
            }
            let colours = colour(&edges, left, right, degree);
            for (i, a) in edges.iter().enumerate() {
                assert!(colours[i] < degree);
                for (j, b) in edges.iter().enumerate().skip(i + 1) {
                    if a.0 == b.0 || a.1 == b.1 {
                        assert_ne!(colours[i], colours[j]);
                    }
                }
            }
        }
    }
}
