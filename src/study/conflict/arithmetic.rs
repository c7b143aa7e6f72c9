//! What counting alone says of a project without a plan.
//!
//! Each finding proves that there is no plan. Where there is no finding, there
//! may still be no plan.

use crate::catalog::{Kind, OfferId, PartId, SupplierId};
use crate::fit::{Class, FITTINGS, Fit};
use crate::input::Input;
use crate::project::{Distinct, Per, Spares};
use crate::study::feed::Feed;
use crate::units::{Gauge, Money, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, BTreeSet};

/// Too little of something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shortage {
    /// Nets that need a key each, and fewer keys that fit any of them: no two of
    /// n nets may share a key, so n nets need n keys (the pigeonhole principle;
    /// which nets lack keys is told by P. Hall, "On Representatives of
    /// Subsets", 1935). A net of two branches needs a key for each.
    Keys {
        /// The machine, by place among the machines of a purchase; 0 in a project.
        machine: usize,
        /// The location; none for the whole machine.
        location: Option<String>,
        /// Nets with their branches, sorted.
        feeds: Vec<Feed>,
        /// Places in `Fit::identities`; fewer than nets.
        keys: Vec<usize>,
    },
    /// A part that some ends cannot do without.
    Part {
        /// The part.
        part: PartId,
        /// Pieces fitted on those ends, and their spares.
        need: Qty,
        /// Pieces that can be had: on hand, ordered, and in stock, in whole packs.
        have: Qty,
    },
    /// Parts that some ends cannot do without, in number above `max_variants`.
    Variants {
        /// The parts.
        parts: Vec<PartId>,
    },
    /// Suppliers that alone offer a part that must be bought, in number above
    /// `max_suppliers`.
    Suppliers {
        /// Each with its first such part.
        sellers: Vec<(SupplierId, PartId)>,
    },
    /// A supplier that alone offers a part that must be bought, where all that can
    /// be bought there comes to less than its least order.
    Goods {
        /// The supplier.
        supplier: SupplierId,
        /// The part.
        part: PartId,
        /// The most that its goods can come to, in its currency.
        most: Money,
    },
}

/// All that counting can say against a plan.
pub fn shortages(input: &Input, fit: &Fit) -> Vec<Shortage> {
    let needs = needs(fit);
    let sole = sole_sellers(input, fit, &needs);
    let mut found = keys(input, fit);
    found.extend(parts(input, fit, &needs));
    found.extend(variants(input, &needs));
    found.extend(suppliers(input, &sole));
    found.extend(goods(input, fit, &sole));
    found
}

/// The identities that a class can have.
fn identities(class: &Class) -> BTreeSet<usize> {
    class.plugs.iter().map(|c| c.identity).collect()
}

/// Locations, or the machine, with too few keys.
fn keys(input: &Input, fit: &Fit) -> Vec<Shortage> {
    let mut places: BTreeMap<(usize, Option<&str>), Lists<'_>> = BTreeMap::new();
    for class in &fit.classes {
        let keying = &input.rules(class.machine).keying;
        let location = class.location.as_str();
        if keying.distinct == Distinct::Off || keying.ignore_at.contains(location) {
            continue;
        }
        let within = (keying.distinct == Distinct::ByLocation).then_some(location);
        let keys = identities(class);
        // Of a net with several classes, the one with the least choice.
        let feeds = places.entry((class.machine, within)).or_default();
        let feed = (class.net.as_str(), class.branch.as_str());
        let least = feeds.entry(feed).or_insert_with(|| keys.clone());
        if keys.len() < least.len() {
            *least = keys;
        }
    }
    places
        .into_iter()
        .filter_map(|((machine, location), feeds)| {
            let (feeds, keys) = too_few(&feeds)?;
            Some(Shortage::Keys {
                machine,
                location: location.map(str::to_owned),
                feeds: feeds.into_iter().map(Feed::from).collect(),
                keys,
            })
        })
        .collect()
}

/// The keys that each net of a branch can have.
type Lists<'n> = BTreeMap<(&'n str, &'n str), BTreeSet<usize>>;

/// Nets that together have fewer keys than they are; none if each can have one
/// of its own. Augmenting paths (H. W. Kuhn, "The Hungarian Method for the
/// Assignment Problem", 1955): from a net without a key, all nets on
/// alternating paths are short together.
fn too_few<N: Ord + Copy>(nets: &BTreeMap<N, BTreeSet<usize>>) -> Option<(Vec<N>, Vec<usize>)> {
    let mut holder: BTreeMap<usize, N> = BTreeMap::new();
    for net in nets.keys() {
        let mut seen = BTreeSet::new();
        if !augment(nets, *net, &mut holder, &mut seen) {
            let holders = seen.iter().filter_map(|key| holder.get(key).copied());
            let short: BTreeSet<N> = holders.chain([*net]).collect();
            return Some((short.into_iter().collect(), seen.into_iter().collect()));
        }
    }
    None
}

fn augment<N: Ord + Copy>(
    nets: &BTreeMap<N, BTreeSet<usize>>,
    net: N,
    holder: &mut BTreeMap<usize, N>,
    seen: &mut BTreeSet<usize>,
) -> bool {
    for &key in nets.get(&net).into_iter().flatten() {
        if !seen.insert(key) {
            continue;
        }
        let free = match holder.get(&key).copied() {
            None => true,
            Some(other) => augment(nets, other, holder, seen),
        };
        if free {
            holder.insert(key, net);
            return true;
        }
    }
    false
}

/// Pieces by gauge of every part that some ends cannot do without, in all copies of their
/// machines.
type Needs = BTreeMap<PartId, BTreeMap<Gauge, Qty>>;

fn needs(fit: &Fit) -> Needs {
    let mut needs = Needs::new();
    for class in &fit.classes {
        for (part, pieces) in forced(class) {
            let by_gauge = needs.entry(part).or_default();
            let ends = class.ends.len() as Qty * class.copies;
            *by_gauge.entry(class.gauge).or_default() += pieces * ends;
        }
    }
    needs
}

/// Parts that every set of a class has, with the pieces on one end.
fn forced(class: &Class) -> BTreeMap<PartId, Qty> {
    let mut forced: BTreeMap<PartId, Qty> = BTreeMap::new();
    for half in [&class.receptacles, &class.plugs] {
        if let [only] = half.as_slice() {
            *forced.entry(only.body).or_default() += 1;
        }
        for fitting in FITTINGS {
            let mut options = BTreeSet::new();
            let mut everywhere = !half.is_empty();
            for body in half {
                let mut slots = body.slots.iter().filter_map(|&s| class.slots.get(s));
                match slots.find(|slot| slot.fitting == fitting) {
                    Some(slot) => options.extend(slot.options.iter().copied()),
                    None => everywhere = false,
                }
            }
            if let (true, Some((part, qty)), 1) = (everywhere, options.first(), options.len()) {
                *forced.entry(*part).or_default() += qty;
            }
        }
    }
    forced
}

fn parts(input: &Input, fit: &Fit, needs: &Needs) -> Vec<Shortage> {
    let short = |(part, by_gauge): (&PartId, &BTreeMap<Gauge, Qty>)| {
        let need = with_spares(input, *part, by_gauge);
        let have = supply(input, fit, *part)?;
        (have < need).then_some(Shortage::Part {
            part: *part,
            need,
            have,
        })
    };
    needs.iter().filter_map(short).collect()
}

/// Pieces of a part, fitted and spare.
fn with_spares(input: &Input, part: PartId, by_gauge: &BTreeMap<Gauge, Qty>) -> Qty {
    let fitted: Qty = by_gauge.values().sum();
    let kind: Kind = input.catalog.part(part).kind();
    let Some(rule) = input.settings.spares.get(&kind) else {
        return fitted;
    };
    fitted
        + match rule.per {
            Per::Gauge => by_gauge.values().map(|&n| spares(rule, n)).sum(),
            Per::Part => spares(rule, fitted),
        }
}

fn spares(rule: &Spares, fitted: Qty) -> Qty {
    let share = rule.percent.0.saturating_mul(Decimal::from(fitted)) / Decimal::ONE_HUNDRED;
    rule.minimum.max(share.ceil().to_u64().unwrap_or(Qty::MAX))
}

/// The offers of a part that may be used.
fn offers(input: &Input, fit: &Fit, part: PartId) -> Vec<OfferId> {
    let offers = input.catalog.offers_of(part).map(|(id, _)| id);
    offers
        .filter(|id| fit.offers.binary_search(id).is_ok())
        .collect()
}

/// Pieces that can be had of a part; none where stock sets no end.
fn supply(input: &Input, fit: &Fit, part: PartId) -> Option<Qty> {
    let mut have = input.available(part);
    for id in offers(input, fit, part) {
        let offer = input.catalog.offer(id);
        let pack = offer.pack.max(1);
        have = have.saturating_add(offer.stock? / pack * pack);
    }
    Some(have)
}

fn variants(input: &Input, needs: &Needs) -> Option<Shortage> {
    let most = input.settings.max_variants?;
    (needs.len() as u64 > u64::from(most)).then(|| Shortage::Variants {
        parts: needs.keys().copied().collect(),
    })
}

/// Suppliers that alone offer a part of which some must be bought, each with
/// its first such part.
fn sole_sellers(input: &Input, fit: &Fit, needs: &Needs) -> BTreeMap<SupplierId, PartId> {
    let mut sellers = BTreeMap::new();
    for (&part, by_gauge) in needs {
        if with_spares(input, part, by_gauge) <= input.available(part) {
            continue;
        }
        let of_part = offers(input, fit, part).into_iter();
        let selling = of_part.map(|id| input.catalog.offer(id).supplier);
        let selling: BTreeSet<SupplierId> = selling.collect();
        if let (Some(supplier), 1) = (selling.first(), selling.len()) {
            sellers.entry(*supplier).or_insert(part);
        }
    }
    sellers
}

fn suppliers(input: &Input, sole: &BTreeMap<SupplierId, PartId>) -> Option<Shortage> {
    let most = input.settings.max_suppliers?;
    (sole.len() as u64 > u64::from(most)).then(|| Shortage::Suppliers {
        sellers: sole.iter().map(|(s, p)| (*s, *p)).collect(),
    })
}

fn goods(input: &Input, fit: &Fit, sole: &BTreeMap<SupplierId, PartId>) -> Vec<Shortage> {
    let short = |(&supplier, &part): (&SupplierId, &PartId)| {
        let least = input.catalog.supplier(supplier).min_order?;
        let most = most_goods(input, fit, supplier)?;
        (most < least).then_some(Shortage::Goods {
            supplier,
            part,
            most,
        })
    };
    sole.iter().filter_map(short).collect()
}

/// The most that goods of a supplier can come to; none where stock sets no end.
fn most_goods(input: &Input, fit: &Fit, supplier: SupplierId) -> Option<Money> {
    let offers = fit.offers.iter().map(|&id| input.catalog.offer(id));
    let mut most = Decimal::ZERO;
    for offer in offers.filter(|offer| offer.supplier == supplier) {
        let pack = offer.pack.max(1);
        let stock = offer.stock? / pack * pack;
        let mut best = Decimal::ZERO;
        for (place, step) in offer.breaks.iter().enumerate() {
            let next = offer.breaks.get(place + 1);
            let top = next.map_or(stock, |next| stock.min(next.min_qty.saturating_sub(1)));
            let amount = step.unit_price.0.checked_mul(Decimal::from(top))?;
            best = best.max(amount);
        }
        most = most.checked_add(best)?;
    }
    Some(Money(most))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nets(lists: &[(&'static str, &[usize])]) -> BTreeMap<&'static str, BTreeSet<usize>> {
        let set = |keys: &[usize]| keys.iter().copied().collect();
        lists.iter().map(|(net, keys)| (*net, set(keys))).collect()
    }

    /// Some choice of one key for each net has no key twice.
    fn by_trying(lists: &[&BTreeSet<usize>], taken: &mut BTreeSet<usize>) -> bool {
        let Some((first, rest)) = lists.split_first() else {
            return true;
        };
        first.iter().any(|key| {
            let is_new = taken.insert(*key);
            let found = is_new && by_trying(rest, taken);
            if is_new {
                taken.remove(key);
            }
            found
        })
    }

    #[test]
    fn as_many_keys_as_nets_are_enough_and_one_less_is_not() {
        for n in 1..=6usize {
            let names = ["a", "b", "c", "d", "e", "f"];
            let all = |keys: usize| -> BTreeMap<&str, BTreeSet<usize>> {
                names[..n]
                    .iter()
                    .map(|net| (*net, (0..keys).collect()))
                    .collect()
            };
            assert_eq!(too_few(&all(n)), None);
            let (short, keys) = too_few(&all(n - 1)).unwrap();
            assert_eq!((short.len(), keys.len()), (n, n - 1));
        }
    }

    #[test]
    fn nets_that_are_not_short_are_not_named() {
        let found = too_few(&nets(&[("a", &[0, 1, 2]), ("b", &[3]), ("c", &[3])]));
        assert_eq!(found, Some((vec!["b", "c"], vec![3])));
        assert_eq!(
            too_few(&nets(&[("a", &[0, 1]), ("b", &[0]), ("c", &[2])])),
            None
        );
    }

    #[test]
    fn random_lists_are_short_just_where_trying_finds_no_choice() {
        let mut rng = fastrand::Rng::with_seed(4);
        let mut short = 0;
        for _ in 0..3000 {
            let names = ["a", "b", "c", "d", "e"];
            let lists: BTreeMap<&str, BTreeSet<usize>> = names[..rng.usize(1..=5)]
                .iter()
                .map(|net| (*net, (0..5).filter(|_| rng.u8(..10) < 4).collect()))
                .collect();
            let sets: Vec<&BTreeSet<usize>> = lists.values().collect();
            match too_few(&lists) {
                None => assert!(by_trying(&sets, &mut BTreeSet::new()), "{lists:?}"),
                Some((nets, keys)) => {
                    short += 1;
                    assert!(!by_trying(&sets, &mut BTreeSet::new()), "{lists:?}");
                    assert!(keys.len() < nets.len());
                    let named = nets.iter().flat_map(|net| &lists[net]);
                    assert_eq!(
                        named.copied().collect::<BTreeSet<_>>(),
                        keys.into_iter().collect()
                    );
                }
            }
        }
        assert!(short > 300);
    }
}
