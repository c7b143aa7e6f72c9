//! A search that starts anew from what a relaxation tells it.

use super::course::Search;
use super::guide::{Guide, Hints};
use super::picks::{Chooser, Taste};
use std::collections::BTreeMap;

impl Search<'_> {
    /// Starts anew, as near to the shares as the locations let it. The next rounds
    /// are cooler, so that they keep to it.
    pub fn guide(&mut self, hints: Hints) {
        self.anew();
        self.guide = Some(Guide::new(hints, &self.ground.kind));
        for location in 0..self.ground.at_location.len() {
            self.settle(location);
        }
        self.fill_open();
        self.guide = None;
        self.warm(0.1);
        self.keep();
    }

    /// Fills a location net by net: first the one that loses most by not getting
    /// the identity that is best for it.
    fn settle(&mut self, location: usize) {
        let ground = self.ground;
        let mut nets: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for &node in &ground.at_location[location] {
            if let Some((_, net)) = ground.nodes[node].at {
                nets.entry(net).or_default().push(node);
            }
        }
        let mut open: Vec<(Vec<usize>, BTreeMap<usize, f64>)> = (nets.into_values())
            .map(|nodes| {
                let extra = self.extra(&nodes);
                (nodes, extra)
            })
            .collect();
        let mut taken: Vec<usize> = Vec::new();
        while let Some((place, identity)) = most_regretted(&open, &taken) {
            let (nodes, _) = open.swap_remove(place);
            taken.push(identity);
            let taste = Taste {
                only: Some(identity),
                ..Taste::default()
            };
            for node in nodes {
                self.fill(&[node], taste);
            }
        }
    }

    /// For each identity, what it costs beyond the best of each node; nodes that
    /// can't have it get their best.
    fn extra(&mut self, nodes: &[usize]) -> BTreeMap<usize, f64> {
        let mut extra: BTreeMap<usize, f64> = BTreeMap::new();
        for &node in nodes {
            let chooser = Chooser {
                ground: self.ground,
                state: &self.state,
                tables: &self.tables,
                guide: self.guide.as_ref(),
            };
            let list = chooser
                .priced(node, Taste::default(), &mut self.random)
                .list;
            let least = list.iter().map(|o| o.cost).fold(f64::INFINITY, f64::min);
            for offered in &list {
                *extra.entry(offered.identity).or_default() += offered.cost - least;
            }
        }
        extra
    }
}

/// The net that loses most without its best identity of those that are not taken,
/// by place in `open`, and that identity. `open` has what each identity would cost
/// each net more.
fn most_regretted(
    open: &[(Vec<usize>, BTreeMap<usize, f64>)],
    taken: &[usize],
) -> Option<(usize, usize)> {
    let mut most: Option<(f64, usize, usize)> = None;
    for (place, (_, extra)) in open.iter().enumerate() {
        let (mut best, mut second) = ((f64::INFINITY, None), f64::INFINITY);
        for (&identity, &cost) in extra.iter().filter(|(i, _)| !taken.contains(i)) {
            if cost < best.0 {
                second = best.0;
                best = (cost, Some(identity));
            } else {
                second = second.min(cost);
            }
        }
        let Some(identity) = best.1 else { continue };
        let regret = second - best.0;
        if most.is_none_or(|m| regret > m.0) {
            most = Some((regret, place, identity));
        }
    }
    most.map(|(_, place, identity)| (place, identity))
}
