//! What does not change during a search: the nodes and where they stand.

use crate::fit::Fit;
use crate::model::problem::Problem;
use crate::units::{Gauge, Qty};

/// Ends that take the same set: all ends of a class that has a net of its
/// own, or one end of a cell.
#[derive(Debug, Clone)]
pub struct Node {
    /// Its cell.
    pub cell: usize,
    /// First end within the cell, and how many.
    pub ends: (usize, Qty),
    /// Keyed location and net there, by number; none where keying does not apply.
    pub at: Option<(usize, usize)>,
}

/// Fixed facts of a search.
#[derive(Debug)]
pub struct Ground<'a> {
    /// What the program is made from.
    pub problem: &'a Problem,
    /// All nodes, location by location.
    pub nodes: Vec<Node>,
    /// Nodes at each keyed location.
    pub at_location: Vec<Vec<usize>>,
    /// Nodes of each kind of cell, by place in `kinds`.
    pub of_kind: Vec<Vec<usize>>,
    /// For each part, the nodes that could use it.
    pub users: Vec<Vec<usize>>,
    /// For each die, the parts that need it.
    pub of_die: Vec<Vec<usize>>,
    /// For each cell, the place of its kind.
    pub kind: Vec<usize>,
    /// For each cell, the place of its gauge.
    pub gauge: Vec<usize>,
    /// How many gauges.
    pub gauges: usize,
    /// How many identities.
    pub identities: usize,
    /// For each identity, the place of its mating face.
    pub face: Vec<usize>,
    /// For each mating face, the nodes that could use it.
    pub could_use: Vec<Vec<usize>>,
}

impl<'a> Ground<'a> {
    /// The nodes of a project.
    pub fn new(problem: &'a Problem, fit: &Fit) -> Ground<'a> {
        let mut nodes = Vec::new();
        let mut at_location: Vec<Vec<usize>> = Vec::new();
        let mut sited = vec![false; problem.cells.len()];
        for site in &problem.sites {
            for location in 0..site.locations as usize {
                let (mut here, mut net) = (Vec::new(), 0);
                let mut add = |cell: usize, ends: (usize, Qty), net: usize| {
                    here.push(nodes.len());
                    nodes.push(Node {
                        cell,
                        ends,
                        at: Some((at_location.len(), net)),
                    });
                };
                for &c in &site.loose {
                    sited[c] = true;
                    let nets = problem.cells[c].ends.len() / site.locations as usize;
                    for k in 0..nets {
                        add(c, (location * nets + k, 1), net);
                        net += 1;
                    }
                }
                for cells in &site.nets {
                    for &c in cells {
                        sited[c] = true;
                        add(c, (0, problem.cells[c].count()), net);
                    }
                    net += 1;
                }
                at_location.push(here);
            }
        }
        for c in (0..problem.cells.len()).filter(|&c| !sited[c]) {
            let ends = (0..problem.cells[c].ends.len()).map(|k| (k, 1));
            nodes.extend(ends.map(|ends| Node {
                cell: c,
                ends,
                at: None,
            }));
        }
        let kind = places(problem.cells.iter().map(|c| c.kind).collect());
        let gauges: Vec<Gauge> = problem.cells.iter().map(|c| c.gauge).collect();
        let gauge = places(gauges);
        let mut of_kind = vec![Vec::new(); kind.iter().max().map_or(0, |m| m + 1)];
        for (n, node) in nodes.iter().enumerate() {
            of_kind[kind[node.cell]].push(n);
        }
        let mut users = vec![Vec::new(); problem.parts.len()];
        for (n, node) in nodes.iter().enumerate() {
            for &part in problem.cells[node.cell].most_uses().keys() {
                users[part].push(n);
            }
        }
        let face = places(fit.identities.iter().map(|i| &i.interface).collect());
        let mut could_use = vec![Vec::new(); face.iter().max().map_or(0, |m| m + 1)];
        for (n, node) in nodes.iter().enumerate() {
            let plugs = &problem.cells[node.cell].plugs;
            let mut faces: Vec<usize> = plugs.iter().map(|b| face[b.identity]).collect();
            faces.sort_unstable();
            faces.dedup();
            for f in faces {
                could_use[f].push(n);
            }
        }
        let mut of_die = vec![Vec::new(); problem.dies.len()];
        for (part, facts) in problem.parts.iter().enumerate() {
            if let Some(die) = facts.die {
                of_die[die].push(part);
            }
        }
        Ground {
            problem,
            of_die,
            face,
            could_use,
            users,
            nodes,
            at_location,
            of_kind,
            kind,
            gauges: gauge.iter().max().map_or(0, |m| m + 1),
            gauge,
            identities: fit.identities.len(),
        }
    }
}

/// For each value its place among the distinct values in order.
fn places<T: Ord + Clone>(values: Vec<T>) -> Vec<usize> {
    let mut distinct = values.clone();
    distinct.sort();
    distinct.dedup();
    (values.iter())
        .map(|v| distinct.binary_search(v).unwrap_or(0))
        .collect()
}
