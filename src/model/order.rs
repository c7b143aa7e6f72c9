//! What money does not settle: which of several interchangeable keys is taken,
//! and which of several like ends gets which of the sets that were chosen.
//!
//! Keys of an interface whose bodies serve the same ends in the same way, at the same prices,
//! are taken in the order of their codes, the most used first. Then the sets are dealt
//! out anew among ends of like needs, so that a net has as few keys of an
//! interface as these sets give, and earlier ends have earlier codes. Neither
//! changes what is fitted of any part on any gauge, so neither changes the
//! total, the variants or the surplus, and neither gives a net more keys.

use super::cells::{kinds, nets_by_location};
use super::rows::Terms;
use super::solution::{Set, Solution};
use super::worth::extra_keys;
use crate::catalog::{Fitting, Half, Holds, Offer, OfferId, PartId, Value};
use crate::fit::Fit;
use crate::input::Input;
use crate::solve::{Program, SolveError, Solved, Task, VarId, run};
use crate::units::{Money, Qty};
use std::collections::BTreeMap;

/// Above so many counts the sets stay as they were dealt out.
const MOST_COUNTS: usize = 20_000;

/// The same solution with its keys and ends in order.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub(super) fn in_order(
    input: &Input,
    fit: &Fit,
    solution: Solution,
    task: &Task,
) -> Result<Solution, SolveError> {
    let solution = first_keys(input, fit, solution);
    let most = extra_keys(input, fit, &solution.sets);
    let sets = deal(input, fit, &solution.sets, task)?;
    // Where the search for fewer keys ended early, the new sets may have more.
    let sets = sets.filter(|sets| extra_keys(input, fit, sets) <= most);
    Ok(Solution {
        sets: sets.unwrap_or(solution.sets),
        purchases: solution.purchases,
    })
}

/// What matters of a body, but for its key: the half, its mating face, its values of attributes
/// in which two halves agree, its usable offers, pieces that cost nothing any more, and how
/// each class can use it. What it is beside that decides only whether it fits, so it is in the
/// classes already.
type Likeness = (Half, String, Vec<Option<Value>>, Vec<Offer>, Qty, Vec<Use>);

/// A class that can use a body, and the parts that can fill each place on the body there.
type Use = (usize, Vec<(Fitting, Vec<(PartId, Qty)>)>);

/// Swaps interchangeable keys so that the most used has the first code.
fn first_keys(input: &Input, fit: &Fit, solution: Solution) -> Solution {
    let mut uses = vec![0usize; fit.identities.len()];
    let mut bodies: Vec<Vec<PartId>> = vec![Vec::new(); fit.identities.len()];
    let mut classes: BTreeMap<PartId, Vec<Use>> = BTreeMap::new();
    let mut identity: BTreeMap<PartId, usize> = BTreeMap::new();
    for (c, class) in fit.classes.iter().enumerate() {
        for choice in class.receptacles.iter().chain(&class.plugs) {
            let places = choice.slots.iter().map(|place| &class.slots[*place]);
            let places = places.map(|slot| (slot.fitting, slot.options.clone()));
            classes
                .entry(choice.body)
                .or_default()
                .push((c, places.collect()));
            if identity.insert(choice.body, choice.identity).is_none() {
                bodies[choice.identity].push(choice.body);
            }
        }
    }
    for set in &solution.sets {
        if let Some(&i) = identity.get(&set.plug) {
            uses[i] += 1;
        }
    }
    let mut swap: BTreeMap<PartId, PartId> = BTreeMap::new();
    for pool in pools(input, fit, &mut bodies, &classes) {
        let mut by_use = pool.clone();
        by_use.sort_by_key(|&i| (std::cmp::Reverse(uses[i]), i));
        for (&from, &to) in by_use.iter().zip(&pool) {
            swap.extend(bodies[from].iter().copied().zip(bodies[to].iter().copied()));
        }
    }
    swapped(input, fit, solution, &swap)
}

/// Identities that differ in nothing that matters but the key, each list by code; their
/// bodies are brought into the same order.
fn pools(
    input: &Input,
    fit: &Fit,
    bodies: &mut [Vec<PartId>],
    classes: &BTreeMap<PartId, Vec<Use>>,
) -> Vec<Vec<usize>> {
    let mut pools: Vec<(Vec<Likeness>, Vec<usize>)> = Vec::new();
    for (i, list) in bodies.iter_mut().enumerate() {
        let mut like: Vec<(Likeness, PartId)> = (list.iter())
            .filter_map(|&id| Some((likeness(input, fit, id, &classes[&id])?, id)))
            .collect();
        // Any order will do that does not depend on the key.
        like.sort_by_cached_key(|(l, id)| (format!("{l:?}"), *id));
        *list = like.iter().map(|(_, id)| *id).collect();
        let like: Vec<Likeness> = like.into_iter().map(|(l, _)| l).collect();
        match pools.iter_mut().find(|(seen, _)| *seen == like) {
            Some((_, pool)) => pool.push(i),
            None => pools.push((like, vec![i])),
        }
    }
    pools.into_iter().map(|(_, pool)| pool).collect()
}

fn likeness(input: &Input, fit: &Fit, id: PartId, classes: &[Use]) -> Option<Likeness> {
    let part = input.catalog.part(id);
    let body = part.body()?;
    let offers = usable_offers(input, fit, id)
        .map(|o| {
            let mut offer = input.catalog.offer(o).clone();
            // What a price list says beside the price does not count.
            offer.part = PartId(0);
            offer.sku.clear();
            for step in &mut offer.breaks {
                step.note.clear();
                step.quoted = None;
                step.row.line = 0;
            }
            offer
        })
        .collect();
    let attributes = input.catalog.attributes.iter().zip(&part.values);
    let agreed = attributes.filter(|(attribute, _)| attribute.holds == Holds::Same);
    let agreed = agreed.map(|(_, value)| value.clone()).collect();
    let (half, face) = (body.half, body.interface.clone());
    Some((
        half,
        face,
        agreed,
        offers,
        input.available(id),
        classes.to_vec(),
    ))
}

/// The offers of a part that may be used, in an order that heeds no sku: those of parts
/// that are alike correspond one to one.
fn usable_offers(input: &Input, fit: &Fit, part: PartId) -> std::vec::IntoIter<OfferId> {
    let offers = input.catalog.offers_of(part).map(|(id, _)| id);
    let mut offers: Vec<OfferId> = offers
        .filter(|id| fit.offers.binary_search(id).is_ok())
        .collect();
    offers.sort_by_cached_key(|id| {
        let offer = input.catalog.offer(*id);
        let steps = offer.breaks.iter().map(|b| (b.min_qty, b.unit_price));
        let steps: Vec<(Qty, Money)> = steps.collect();
        (
            offer.supplier,
            offer.pack,
            offer.stock,
            offer.lead_days,
            steps,
            *id,
        )
    });
    offers.into_iter()
}

fn swapped(
    input: &Input,
    fit: &Fit,
    solution: Solution,
    swap: &BTreeMap<PartId, PartId>,
) -> Solution {
    let to = |part: PartId| swap.get(&part).copied().unwrap_or(part);
    let sets = (solution.sets.into_iter())
        .map(|set| Set {
            receptacle: set.receptacle.map(to),
            plug: to(set.plug),
            fittings: set.fittings,
        })
        .collect();
    let mut purchases: Vec<(OfferId, Qty)> = (solution.purchases.into_iter())
        .map(|(id, packs)| {
            let part = input.catalog.offer(id).part;
            let mut own = usable_offers(input, fit, part);
            let place = own.position(|own| own == id);
            let like = place.and_then(|p| usable_offers(input, fit, to(part)).nth(p));
            (like.unwrap_or(id), packs)
        })
        .collect();
    purchases.sort_unstable();
    Solution { sets, purchases }
}

/// How many ends of each class take which set.
struct Deal {
    program: Program,
    /// For each class, for each set of its kind.
    counts: Vec<Vec<VarId>>,
    /// For each kind, its distinct sets in order.
    sets: BTreeMap<usize, Vec<(Set, Qty)>>,
    /// For each machine, net and identity, 1 if the net uses the identity anywhere.
    keys: BTreeMap<(usize, String, usize), VarId>,
}

/// Nodes of a search for the fewest keys. On 60 circuits a node takes a twentieth
/// of a second, and most of these searches end at their root.
const NODES: i32 = 100;

/// Deals the sets out anew; none if that is too much or comes to nothing.
pub(super) fn deal(
    input: &Input,
    fit: &Fit,
    sets: &[Set],
    task: &Task,
) -> Result<Option<Vec<Set>>, SolveError> {
    let kinds = kinds(&fit.classes);
    let Some(mut deal) = Deal::new(input, fit, sets, &kinds) else {
        return Ok(None);
    };
    let task = Task {
        nodes: Some(NODES),
        start: None,
        absolute_gap: 0.5,
        ..task.exact()
    };
    let keys = deal.extra(fit);
    let mut values = None;
    for objective in [keys.clone(), deal.places(&kinds)] {
        for var in &mut deal.program.vars {
            var.cost = 0.0;
        }
        for (var, cost) in objective {
            deal.program.vars[var.0].cost = cost;
        }
        match run(&deal.program, &task, &mut |_| {})? {
            Solved::Optimal { values: v, .. } | Solved::Feasible { values: v, .. } => {
                let least: f64 = keys.iter().map(|(k, _)| v[k.0]).sum();
                deal.program.at_most(keys.clone(), least + 0.5);
                values = Some(v);
            }
            Solved::Infeasible | Solved::Unknown { .. } => break,
        }
    }
    Ok(values.map(|values| deal.read(fit, &kinds, &values)))
}

impl Deal {
    fn new(input: &Input, fit: &Fit, chosen: &[Set], kinds: &[usize]) -> Option<Deal> {
        let mut sets: BTreeMap<usize, BTreeMap<&Set, Qty>> = BTreeMap::new();
        for (class, &kind) in fit.classes.iter().zip(kinds) {
            for &end in &class.ends {
                let kind = sets.entry(kind).or_default();
                *kind.entry(chosen.get(end)?).or_default() += 1;
            }
        }
        let size: usize = kinds.iter().map(|k| sets[k].len()).sum();
        if size > MOST_COUNTS {
            return None;
        }
        let sets = (sets.into_iter())
            .map(|(kind, sets)| {
                (
                    kind,
                    sets.into_iter().map(|(s, n)| (s.clone(), n)).collect(),
                )
            })
            .collect();
        let mut deal = Deal {
            program: Program::default(),
            counts: Vec::new(),
            sets,
            keys: BTreeMap::new(),
        };
        deal.add_counts(fit, kinds);
        deal.add_keys(fit, kinds);
        deal.add_keying(input, fit, kinds);
        Some(deal)
    }

    /// Each end has a set, and each set is used as often as it was chosen.
    fn add_counts(&mut self, fit: &Fit, kinds: &[usize]) {
        let mut used: BTreeMap<(usize, usize), Terms> = BTreeMap::new();
        for (class, &kind) in fit.classes.iter().zip(kinds) {
            let ends = class.ends.len() as f64;
            let counts: Vec<VarId> = (0..self.sets[&kind].len())
                .map(|_| self.program.integer(0.0, ends, 0.0))
                .collect();
            for (s, &x) in counts.iter().enumerate() {
                used.entry((kind, s)).or_default().push((x, 1.0));
            }
            let row = counts.iter().map(|&x| (x, 1.0)).collect();
            self.program.equal(row, ends);
            self.counts.push(counts);
        }
        for ((kind, s), row) in used {
            let times = self.sets[&kind][s].1 as f64;
            self.program.equal(row, times);
        }
    }

    /// The identity of a set, by the class's choices.
    fn identity(&self, fit: &Fit, kind: usize, s: usize) -> usize {
        let plug = self.sets[&kind][s].0.plug;
        (fit.classes[kind].plugs.iter())
            .find(|choice| choice.body == plug)
            .map_or(0, |choice| choice.identity)
    }

    /// count ≤ N · key, where key says that the net uses the identity anywhere.
    fn add_keys(&mut self, fit: &Fit, kinds: &[usize]) {
        for (c, class) in fit.classes.iter().enumerate() {
            for s in 0..self.counts[c].len() {
                let identity = self.identity(fit, kinds[c], s);
                let name = (class.machine, class.net.clone(), identity);
                let key = *(self.keys.entry(name)).or_insert_with(|| self.program.binary(0.0));
                let ends = class.ends.len() as f64;
                let row = vec![(self.counts[c][s], 1.0), (key, -ends)];
                self.program.at_most(row, 0.0);
            }
        }
    }

    /// The keys of each net beyond one of each interface.
    fn extra(&mut self, fit: &Fit) -> Terms {
        let mut of_net: BTreeMap<(usize, &str, &str), Terms> = BTreeMap::new();
        for ((machine, net, identity), &key) in &self.keys {
            let interface = fit.identities[*identity].interface.as_str();
            of_net
                .entry((*machine, net, interface))
                .or_default()
                .push((key, 1.0));
        }
        let mut extra = Terms::new();
        for mut row in of_net.into_values().filter(|keys| keys.len() > 1) {
            let e = self.program.continuous(0.0, row.len() as f64, 0.0);
            row.push((e, -1.0));
            self.program.at_most(row, 1.0);
            extra.push((e, 1.0));
        }
        extra
    }

    /// At a keyed location an identity goes to one net.
    fn add_keying(&mut self, input: &Input, fit: &Fit, kinds: &[usize]) {
        for nets in nets_by_location(input, &fit.classes) {
            let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
            for classes in nets {
                let mut has: BTreeMap<usize, VarId> = BTreeMap::new();
                for c in classes {
                    let ends = fit.classes[c].ends.len() as f64;
                    for s in 0..self.counts[c].len() {
                        let identity = self.identity(fit, kinds[c], s);
                        let z = *(has.entry(identity)).or_insert_with(|| self.program.binary(0.0));
                        let row = vec![(self.counts[c][s], 1.0), (z, -ends)];
                        self.program.at_most(row, 0.0);
                    }
                }
                for (identity, z) in has {
                    rows.entry(identity).or_default().push((z, 1.0));
                }
            }
            for row in rows.into_values() {
                self.program.at_most(row, 1.0);
            }
        }
    }

    /// Early ends get early codes: each end counts by the place of its set in the
    /// order of codes, and an earlier end counts more.
    fn places(&self, kinds: &[usize]) -> Terms {
        let classes = kinds.len() as f64;
        let mut terms = Terms::new();
        for (c, counts) in self.counts.iter().enumerate() {
            let weight = classes - c as f64;
            terms.extend(
                counts
                    .iter()
                    .enumerate()
                    .map(|(s, &x)| (x, weight * s as f64)),
            );
        }
        terms
    }

    fn read(&self, fit: &Fit, kinds: &[usize], values: &[f64]) -> Vec<Set> {
        let mut placed: BTreeMap<usize, Set> = BTreeMap::new();
        for (c, class) in fit.classes.iter().enumerate() {
            let mut ends = class.ends.iter();
            for (s, x) in self.counts[c].iter().enumerate() {
                for &end in ends.by_ref().take(values[x.0] as usize) {
                    placed.insert(end, self.sets[&kinds[c]][s].0.clone());
                }
            }
        }
        placed.into_values().collect()
    }
}
