//! What a relaxation tells the search: how much of each part each kind of end
//! gets, and what any other choice would cost more.

use crate::units::Qty;
use std::collections::HashMap;

/// A choice of a relaxation: some bodies or fittings for ends of one kind.
#[derive(Debug, Clone)]
pub struct Share {
    /// A cell of the kind.
    pub cell: usize,
    /// The parts that are not told apart, by place in `Problem::parts`.
    pub parts: Vec<usize>,
    /// Ends that get one of the parts.
    pub ends: f64,
    /// What one end more would add to the cost; zero for what is used.
    pub reduced: f64,
}

/// What a relaxation tells a search.
#[derive(Debug, Clone)]
pub struct Hints {
    /// For each part what a piece comes to.
    pub prices: Vec<f64>,
    /// How many ends of each kind get what.
    pub shares: Vec<Share>,
}

/// Shares to be kept to, with what is left of them.
#[derive(Debug, Clone)]
pub struct Guide {
    /// For each part what a piece comes to.
    prices: Vec<f64>,
    /// By kind of cell and part: what one end more would add, and which share.
    of: HashMap<(usize, usize), (f64, usize)>,
    /// Ends that each share is still good for.
    left: Vec<f64>,
}

impl Guide {
    /// A guide by `hints`; `kind` gives the kind of a cell.
    pub fn new(hints: Hints, kind: &[usize]) -> Guide {
        let of = (hints.shares.iter().enumerate())
            .flat_map(|(s, share)| {
                let key =
                    move |&part: &usize| ((kind[share.cell], part), (share.reduced.max(0.0), s));
                share.parts.iter().map(key)
            })
            .collect();
        Guide {
            of,
            left: hints.shares.iter().map(|share| share.ends).collect(),
            prices: hints.prices,
        }
    }

    /// What a part is held to cost on so many ends: what more ends would add, and
    /// the price as well once the share is used up. A part without a share costs
    /// twice its price.
    pub fn cost(&self, key: (usize, usize), ends: Qty, pieces: Qty) -> f64 {
        let price = self.prices[key.1] * pieces as f64;
        match self.of.get(&key) {
            Some(&(reduced, share)) if self.left[share] < 0.5 => price + reduced * ends as f64,
            Some(&(reduced, _)) => reduced * ends as f64,
            None => 2.0 * price,
        }
    }

    /// Takes so many ends from the share of a part.
    pub fn take(&mut self, key: (usize, usize), ends: Qty) {
        if let Some(&(_, share)) = self.of.get(&key) {
            self.left[share] -= ends as f64;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_costs_nothing_as_far_as_its_share_goes() {
        let share = |parts: &[usize], ends, reduced| Share {
            cell: 1,
            parts: parts.to_vec(),
            ends,
            reduced,
        };
        let hints = Hints {
            prices: vec![10.0; 4],
            shares: vec![share(&[0, 1], 2.0, 0.0), share(&[2], 0.0, 0.5)],
        };
        let mut guide = Guide::new(hints, &[9, 7]);
        assert_eq!(guide.cost((7, 0), 1, 1), 0.0);
        guide.take((7, 0), 1);
        assert_eq!(guide.cost((7, 1), 1, 1), 0.0);
        // Parts that are not told apart have one share.
        guide.take((7, 1), 1);
        assert_eq!(guide.cost((7, 0), 1, 2), 20.0);
        assert_eq!(guide.cost((7, 2), 2, 2), 21.0);
        // What the relaxation does not know.
        assert_eq!(guide.cost((7, 3), 1, 1), 20.0);
        assert_eq!(guide.cost((9, 0), 1, 1), 20.0);
    }
}
