//! Ends that the pooled program does not tell apart, and how many of them so
//! many identities can serve.

use crate::fit::Fit;
use crate::input::Input;
use crate::model::cells::{kinds, nets_by_location};
use crate::model::problem::Problem;
use crate::units::{Gauge, Qty};
use std::collections::BTreeMap;

/// How finely ends are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grain {
    /// By gauge and possible parts.
    Kind,
    /// By cell: also by location and net.
    Cell,
}

/// Ends that are not told apart.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Their gauge.
    pub gauge: Gauge,
    /// How many, each counted once for all copies of its machine.
    pub count: Qty,
    /// How many of them one identity can serve.
    pub by_one: Qty,
    /// A cell with their choices, by place in `Problem::cells`.
    pub cell: usize,
    /// How many stand where no keying rule holds.
    free: Qty,
    /// At each keyed location, how many each net has.
    at: BTreeMap<usize, BTreeMap<usize, Qty>>,
}

/// All kinds of a project.
#[derive(Debug, Clone, Default)]
pub struct Kinds {
    /// In the order of their first cells.
    pub list: Vec<Kind>,
    /// For each cell its kind.
    pub of_cell: Vec<usize>,
}

impl Kinds {
    /// The kinds of a project.
    pub fn new(problem: &Problem, input: &Input, fit: &Fit, grain: Grain) -> Kinds {
        let mut place: BTreeMap<usize, usize> = BTreeMap::new();
        let mut it = Kinds::default();
        let mut cell_of_end: BTreeMap<usize, usize> = BTreeMap::new();
        for (c, cell) in problem.cells.iter().enumerate() {
            cell_of_end.extend(cell.ends.iter().map(|&end| (end, c)));
            let same = match grain {
                Grain::Kind => cell.kind,
                Grain::Cell => c,
            };
            let k = *place.entry(same).or_insert_with(|| {
                it.list.push(Kind {
                    gauge: cell.gauge,
                    count: 0,
                    by_one: 0,
                    cell: c,
                    free: 0,
                    at: BTreeMap::new(),
                });
                it.list.len() - 1
            });
            it.list[k].count += cell.count();
            it.list[k].free += cell.count();
            it.of_cell.push(k);
        }
        let of_class = kinds(&fit.classes);
        for (l, nets) in nets_by_location(input, &fit.classes).iter().enumerate() {
            for (n, &class) in
                (nets.iter().enumerate()).flat_map(|(n, c)| c.iter().map(move |c| (n, c)))
            {
                let ends = &fit.classes[class].ends;
                let k = match grain {
                    Grain::Kind => place[&of_class[class]],
                    Grain::Cell => it.of_cell[cell_of_end[&ends[0]]],
                };
                let kind = &mut it.list[k];
                *kind.at.entry(l).or_default().entry(n).or_default() += ends.len() as Qty;
                kind.free -= ends.len() as Qty;
            }
        }
        for k in 0..it.list.len() {
            it.list[k].by_one = it.capacity(&[k], 1);
        }
        it
    }

    /// The most ends of these kinds that so many `identities` can serve: at each
    /// location the nets with the most such ends, one net for each identity.
    /// No identities serve no ends; where no keying rule holds, one serves all.
    pub fn capacity(&self, which: &[usize], identities: usize) -> Qty {
        if identities == 0 {
            return 0;
        }
        let mut at: BTreeMap<(usize, usize), Qty> = BTreeMap::new();
        let mut most: Qty = 0;
        for &k in which {
            most += self.list[k].free;
            for (&l, nets) in &self.list[k].at {
                for (&n, &ends) in nets {
                    *at.entry((l, n)).or_default() += ends;
                }
            }
        }
        let mut here: Vec<Qty> = Vec::new();
        let mut entries = at.into_iter().peekable();
        while let Some(((l, _), ends)) = entries.next() {
            here.push(ends);
            if entries.peek().is_none_or(|((next, _), _)| *next != l) {
                here.sort_unstable_by(|a, b| b.cmp(a));
                most += here.iter().take(identities).sum::<Qty>();
                here.clear();
            }
        }
        most
    }

    /// All ends of these kinds.
    pub fn count(&self, which: &[usize]) -> Qty {
        which.iter().map(|&k| self.list[k].count).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(free: Qty, at: &[(usize, usize, Qty)]) -> Kind {
        let mut kind = Kind {
            gauge: "10 mm2".parse().expect("a gauge"),
            count: free + at.iter().map(|a| a.2).sum::<Qty>(),
            by_one: 0,
            cell: 0,
            free,
            at: BTreeMap::new(),
        };
        for &(location, net, ends) in at {
            kind.at.entry(location).or_default().insert(net, ends);
        }
        kind
    }

    #[test]
    fn so_many_identities_serve_the_nets_with_the_most_ends() {
        // At location 0 nets with 3, 2 and 1 ends, at location 1 one net with 4;
        // the second kind adds 2 ends to the net with 1, and 5 free ones.
        let kinds = Kinds {
            list: vec![
                kind(0, &[(0, 0, 3), (0, 1, 2), (0, 2, 1), (1, 0, 4)]),
                kind(5, &[(0, 2, 2)]),
            ],
            of_cell: vec![0, 1],
        };
        let at = |which: &[usize]| [0, 1, 2, 3, 4].map(|n| kinds.capacity(which, n));
        assert_eq!(at(&[0]), [0, 7, 9, 10, 10]);
        assert_eq!(at(&[1]), [0, 7, 7, 7, 7]);
        assert_eq!(at(&[0, 1]), [0, 5 + 3 + 4, 5 + 6 + 4, 5 + 8 + 4, 17]);
    }
}
