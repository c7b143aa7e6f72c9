//! What part codes settle of a plan, by its record alone: keys that differ in
//! nothing but their code are taken in the order of their codes, the most used
//! first, and earlier ends get earlier codes.

use super::brute::purchase::Market;
use super::brute::{self, End, Set};
use couplet::catalog::{Body, PartId, Values};
use couplet::input::Input;
use couplet::plan::{EndRecord, Plan};
use couplet::project::Distinct;
use couplet::units::{Money, Qty};
use std::collections::{BTreeMap, BTreeSet};

/// Interface and key.
type Identity = (String, String);

/// How many choices codes had to settle.
#[derive(Debug, Default)]
pub struct Settled {
    /// Keys that could have been another one.
    pub keys: usize,
    /// Ends that could have had another's set.
    pub ends: usize,
}

/// What of a plan is not in the order of codes, and counts what codes settled.
pub fn out_of_order(input: &Input, plan: &Plan, settled: &mut Settled) -> Vec<String> {
    let ends = brute::ends(input);
    let sets: Vec<Vec<Set>> = ends.iter().map(|end| brute::sets(input, end)).collect();
    let mut wrong = keys((input, &Market::new(input)), plan, &sets, settled);
    wrong.extend(places((input, &ends), plan, &sets, settled));
    wrong
}

/// An offer: supplier, pack, stock, and its breaks.
type Offered = (u32, Qty, Option<Qty>, Vec<(Qty, Money)>);

/// A body but for its key, its offers, pieces that are there, ends that can have it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Like {
    body: String,
    values: Values,
    offers: Vec<Offered>,
    there: Qty,
    ends: Vec<usize>,
}

fn keys(
    (input, market): (&Input, &Market),
    plan: &Plan,
    sets: &[Vec<Set>],
    settled: &mut Settled,
) -> Vec<String> {
    let mut of_key: BTreeMap<Identity, BTreeMap<PartId, BTreeSet<usize>>> = BTreeMap::new();
    for (end, sets) in sets.iter().enumerate() {
        for set in sets {
            for body in set.receptacle.into_iter().chain([set.plug]) {
                let of_key = of_key.entry(set.identity.clone()).or_default();
                of_key.entry(body).or_default().insert(end);
            }
        }
    }
    // Keys that are alike, each with its uses, in the order of their codes.
    let mut alike: BTreeMap<Vec<Like>, Vec<(Identity, usize)>> = BTreeMap::new();
    for (identity, bodies) in of_key {
        let mut likes: Vec<Like> = (bodies.iter())
            .map(|(id, ends)| like((input, market), *id, ends))
            .collect();
        likes.sort();
        let has = |end: &&EndRecord| (&end.interface, &end.key) == (&identity.0, &identity.1);
        let uses = plan.ends.iter().filter(has).count();
        alike.entry(likes).or_default().push((identity, uses));
    }
    let mut wrong = Vec::new();
    for keys in alike.into_values() {
        for pair in keys.windows(2) {
            if pair[0].1 < pair[1].1 {
                wrong.push(format!("{pair:?}: the later key is used more"));
            }
            settled.keys += usize::from(pair[0].1 != pair[1].1);
        }
    }
    wrong
}

fn like((input, market): (&Input, &Market), id: PartId, ends: &BTreeSet<usize>) -> Like {
    let part = input.catalog.part(id);
    let body = part.body().expect("a body");
    let body = Body {
        key: String::new(),
        ..body.clone()
    };
    let offers = market.stalls(id).map(|stall| {
        let offer = stall.offer;
        let breaks = offer.breaks.iter().map(|b| (b.min_qty, b.unit_price));
        (offer.supplier.0, offer.pack, offer.stock, breaks.collect())
    });
    // What a supplier calls an offer is no difference.
    let mut offers: Vec<Offered> = offers.collect();
    offers.sort();
    let ordered = input.ordered.iter().filter(|row| row.part == id);
    let on_hand = input.on_hand.get(&id).copied().unwrap_or(0);
    Like {
        body: format!("{body:?}"),
        values: part.values.clone(),
        offers,
        there: on_hand + ordered.map(|row| row.qty).sum::<Qty>(),
        ends: ends.iter().copied().collect(),
    }
}

/// The codes of an end's set: receptacle, plug, fittings.
fn codes(end: &EndRecord) -> Vec<&str> {
    let bodies = end.bodies().map(|(_, code)| code);
    let fittings = end.fittings.iter().map(|f| f.part.as_str());
    bodies.chain(fittings).collect()
}

/// Pairs of like ends where the later one has the earlier codes, though they could
/// change. Ends of one net and branch at one location stand where the first of them stands.
fn places(
    (input, ends): (&Input, &[End]),
    plan: &Plan,
    sets: &[Vec<Set>],
    settled: &mut Settled,
) -> Vec<String> {
    let are_like = |a: usize, b: usize| {
        let (one, other) = (&ends[a], &ends[b]);
        one.gauge == other.gauge && one.copies == other.copies && sets[a] == sets[b]
    };
    let first_of = |end: usize| {
        let is_same = |other: usize| {
            let (one, other) = (&ends[end], &ends[other]);
            (one.machine, &one.location) == (other.machine, &other.location)
                && one.is_line_of(other)
        };
        (0..end).find(|&other| is_same(other) && are_like(other, end))
    };
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by_key(|&end| (first_of(end).unwrap_or(end), end));
    let mut wrong = Vec::new();
    for (place, &late) in order.iter().enumerate() {
        for &early in &order[..place] {
            let (first, second) = (codes(&plan.ends[early]), codes(&plan.ends[late]));
            if !are_like(early, late)
                || first == second
                || !may_change((input, ends), plan, (early, late))
            {
                continue;
            }
            settled.ends += 1;
            if first > second {
                wrong.push(format!("ends {early} and {late}: {first:?}, {second:?}"));
            }
        }
    }
    wrong
}

/// True if two ends can have one another's sets: no key that the rule forbids, and
/// no net has more keys.
fn may_change((input, ends): (&Input, &[End]), plan: &Plan, (a, b): (usize, usize)) -> bool {
    let keys: Vec<Identity> = (plan.ends.iter())
        .map(|end| (end.interface.clone(), end.key.clone()))
        .collect();
    let mut changed = keys.clone();
    changed.swap(a, b);
    keeps_apart(input, ends, &changed) && extra(plan, &changed) <= extra(plan, &keys)
}

fn keeps_apart(input: &Input, ends: &[End], keys: &[Identity]) -> bool {
    let is_ruled = |end: &End| {
        let keying = &end.own(input).keying;
        keying.distinct != Distinct::Off && !keying.ignore_at.contains(&end.location)
    };
    let ends: Vec<(&End, &Identity)> = ends.iter().zip(keys).collect();
    ends.iter().enumerate().all(|(n, (end, key))| {
        ends[..n].iter().all(|(other, has)| {
            let everywhere = end.own(input).keying.distinct == Distinct::Everywhere;
            let is_near =
                end.machine == other.machine && (everywhere || end.location == other.location);
            let meet = is_ruled(end) && is_ruled(other) && is_near;
            !meet || end.is_line_of(other) || key != has
        })
    })
}

fn extra(plan: &Plan, keys: &[Identity]) -> usize {
    let ends = || plan.ends.iter().zip(keys);
    let of = |e: &EndRecord| (e.machine.clone(), e.net.clone());
    let all: BTreeSet<_> = ends().map(|(e, key)| (of(e), key)).collect();
    let faces: BTreeSet<_> = ends().map(|(e, key)| (of(e), &key.0)).collect();
    all.len() - faces.len()
}
