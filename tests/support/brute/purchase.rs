//! The cheapest way to buy what is needed, exactly.
//!
//! Each supplier is closed, pays shipping, or ships free. With that fixed, the
//! parts are independent but for the goods that a supplier must come to
//! (minimum order, free shipping), so parts are taken one after the other with
//! the goods so far as state. An amount of excess over the parts' own cheapest
//! orders bounds what must be looked at. It grows until a plan is found, which
//! is then the best, or until nothing was cut off, when there is none.

use super::orders::{Order, Orders, Stall};
use super::{DECIMALS, exact};
use couplet::catalog::{Offer, OfferId, PartId, Supplier, SupplierId};
use couplet::input::Input;
use couplet::units::Qty;
use rust_decimal::{Decimal, RoundingStrategy};
use std::collections::BTreeMap;

/// Pieces of a fitted part to be bought at least; zero where stock on hand will do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Need {
    /// The part.
    pub part: PartId,
    /// Pieces.
    pub qty: Qty,
}

/// A purchase.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bought {
    /// Goods, duty and shipping.
    pub cost: i128,
    /// Money in surplus.
    pub surplus: i128,
    /// Pieces from each offer.
    pub lines: Vec<(OfferId, Qty)>,
}

/// What may be bought where.
pub struct Market<'a> {
    input: &'a Input,
    stalls: BTreeMap<PartId, Vec<Stall<'a>>>,
    modes: Vec<Mode>,
    alone: BTreeMap<(Need, u32), Option<i128>>,
    solved: BTreeMap<Vec<Need>, Known>,
    /// Orders put together so far.
    pub steps: u64,
    /// From here on nothing more is looked at.
    pub most_steps: u64,
}

/// The cheapest purchase, or that none costs so little.
struct Known {
    best: Option<Bought>,
    none_up_to: i128,
}

struct Seller {
    landed: Decimal,
    /// In the project's currency.
    shipping: i128,
    /// In its own.
    free_over: Option<i128>,
    min_order: i128,
}

/// How each supplier is used.
#[derive(Clone, PartialEq)]
pub struct Mode {
    pub mask: u32,
    shipping: i128,
    /// Where that is more than nothing.
    goals: Vec<Goal>,
}

/// The goods that a supplier must come to.
#[derive(Clone, Copy, PartialEq)]
struct Goal {
    supplier: SupplierId,
    /// In the supplier's currency.
    goods: i128,
    /// What one unit of goods costs in the project's currency, duty included.
    landed: Decimal,
}

impl<'a> Market<'a> {
    /// The offers that the settings allow.
    pub fn new(input: &'a Input) -> Market<'a> {
        let mut stalls: BTreeMap<PartId, Vec<Stall>> = BTreeMap::new();
        for (place, offer) in input.catalog.offers.iter().enumerate() {
            let settings = &input.settings;
            let supplier = input.catalog.supplier(offer.supplier);
            let slow = settings.max_lead_days.zip(offer.lead_days);
            let least = offer.breaks[0].min_qty.div_ceil(offer.pack).max(1) * offer.pack;
            if offer.stock.is_some_and(|stock| stock < least) {
                continue;
            }
            if settings.exclude_suppliers.contains(&supplier.name)
                || slow.is_some_and(|(most, days)| days > most)
            {
                continue;
            }
            let rate = settings.rate(&supplier.currency).expect("a rate");
            stalls.entry(offer.part).or_default().push(Stall {
                id: OfferId(place as u32),
                offer,
                bit: 1 << offer.supplier.0,
                landed: duty(supplier) * rate,
                rate,
            });
        }
        let rate = |s: &Supplier| input.settings.rate(&s.currency).expect("a rate");
        let seller = |s: &Supplier| Seller {
            landed: rate(s) * duty(s),
            shipping: exact(s.shipping.0 * rate(s)),
            free_over: s.free_over.map(|m| exact(m.0)),
            min_order: s.min_order.map_or(0, |m| exact(m.0)),
        };
        Market {
            input,
            stalls,
            modes: modes(
                input.catalog.suppliers.iter().map(seller),
                input.settings.max_suppliers,
            ),
            alone: BTreeMap::new(),
            solved: BTreeMap::new(),
            steps: 0,
            most_steps: u64::MAX,
        }
    }

    /// The offers of a part.
    pub fn stalls(&self, part: PartId) -> impl Iterator<Item = &Stall<'a>> {
        self.stalls.get(&part).into_iter().flatten()
    }

    /// What a piece of surplus of a part counts: the lowest unit price of its
    /// offers, in the project's currency, without duty.
    pub fn surplus_value(&self, part: PartId) -> Decimal {
        let prices = self.stalls(part).flat_map(|stall| {
            let breaks = stall.offer.breaks.iter();
            breaks.map(move |b| b.unit_price.0 * stall.rate)
        });
        prices.min().unwrap_or_default()
    }

    /// No purchase costs less than this; none where stock does not suffice.
    pub fn least(&mut self, needs: &[Need]) -> Option<i128> {
        let modes = self.modes.clone();
        let costs = modes.iter().filter_map(|mode| self.floor(needs, mode));
        costs.min()
    }

    /// The cheapest purchase that costs at most `most`, and of those the one with
    /// the least money in surplus.
    pub fn cheapest(&mut self, needs: &[Need], most: i128) -> Option<Bought> {
        let known = self.solved.get(needs);
        if known.is_none_or(|k| k.best.is_none() && k.none_up_to < most) {
            let best = self.widening(needs, most);
            let known = Known {
                best,
                none_up_to: most,
            };
            self.solved.insert(needs.to_vec(), known);
        }
        let best = self.solved.get(needs).and_then(|k| k.best.as_ref());
        best.filter(|best| best.cost <= most).cloned()
    }

    /// Shipping, and the parts' own cheapest orders or the goods to reach.
    fn floor(&mut self, needs: &[Need], mode: &Mode) -> Option<i128> {
        let apart = self.apart(needs, mode)?;
        Some(mode.shipping + apart.max(mode.missing(&mode.none())))
    }

    /// The parts' own cheapest orders.
    fn apart(&mut self, needs: &[Need], mode: &Mode) -> Option<i128> {
        let parts: Option<Vec<i128>> = needs.iter().map(|&n| self.alone(n, mode.mask)).collect();
        Some(parts?.iter().sum())
    }

    fn alone(&mut self, need: Need, mask: u32) -> Option<i128> {
        if let Some(&known) = self.alone.get(&(need, mask)) {
            return known;
        }
        let no_goal = Mode {
            mask,
            shipping: 0,
            goals: Vec::new(),
        };
        let orders = Orders::of(self, need, &no_goal, None);
        let tried = orders.tried;
        let least = orders.found.first().map(|o| o.cost);
        self.steps += tried;
        self.alone.insert((need, mask), least);
        least
    }

    /// The best purchase below a growing limit on its cost, up to `most`.
    fn widening(&mut self, needs: &[Need], most: i128) -> Option<Bought> {
        let mut modes: Vec<(i128, Mode)> = Vec::new();
        for mode in self.modes.clone() {
            if mode.goals.iter().all(|goal| self.can_reach(needs, goal)) {
                modes.extend(self.floor(needs, &mode).map(|floor| (floor, mode)));
            }
        }
        modes.sort_by_key(|(floor, _)| *floor);
        let lowest = modes.first()?.0;
        let mut slack = exact(Decimal::ONE).max(lowest / 64);
        loop {
            let limit = most.min(lowest + slack);
            let (found, cut) = self.below(needs, &modes, limit);
            if found.is_some() || !cut || limit == most || self.steps > self.most_steps {
                return found;
            }
            slack += slack / 2;
        }
    }

    /// The best purchase of all modes that costs at most `limit`, and whether
    /// the limit cut anything off.
    fn below(
        &mut self,
        needs: &[Need],
        modes: &[(i128, Mode)],
        mut limit: i128,
    ) -> (Option<Bought>, bool) {
        let mut best: Option<Bought> = None;
        let mut cut = false;
        for (floor, mode) in modes {
            if *floor > limit {
                cut = true;
                break;
            }
            let (found, more) = self.within(needs, mode, limit);
            cut |= more;
            let key = |b: &Bought| (b.cost, b.surplus);
            if let Some(found) = found.filter(|f| best.as_ref().is_none_or(|b| key(f) < key(b))) {
                limit = found.cost;
                best = Some(found);
            }
        }
        (best, cut)
    }

    /// False where the stock of the fitted parts can't come to these goods.
    fn can_reach(&self, needs: &[Need], goal: &Goal) -> bool {
        let stalls = needs.iter().filter_map(|n| self.stalls.get(&n.part));
        let stalls = stalls
            .flatten()
            .filter(|s| s.offer.supplier == goal.supplier);
        // an offer without stock limit reaches any goal
        let goods: Option<Vec<i128>> = stalls.map(|s| most_goods(s.offer)).collect();
        goods.is_none_or(|goods| goods.iter().sum::<i128>() >= goal.goods)
    }

    /// The best purchase in this mode that costs at most `limit`, and whether
    /// the limit cut anything off.
    fn within(&mut self, needs: &[Need], mode: &Mode, limit: i128) -> (Option<Bought>, bool) {
        let Some(mut rest) = self.apart(needs, mode) else {
            return (None, false);
        };
        let slack = limit - mode.shipping - rest;
        let mut cut = false;
        let mut states = vec![(mode.none(), Bought::nothing(mode))];
        for &need in needs {
            if self.steps > self.most_steps {
                return (None, true);
            }
            let alone = self.alone(need, mode.mask).unwrap_or(0);
            rest -= alone;
            let orders = Orders::of(self, need, mode, Some(alone + slack));
            cut |= orders.cut;
            let (found, tried) = (orders.found, orders.tried);
            self.steps += tried;
            let useful = front(
                found,
                |o| mode.add(&mode.none(), o),
                |o| (o.cost, o.surplus),
                (&mut self.steps, self.most_steps),
            );
            self.steps += (states.len() * useful.len()) as u64;
            if self.steps > self.most_steps {
                return (None, true);
            }
            let mut next: BTreeMap<Vec<i128>, Bought> = BTreeMap::new();
            for (goods, so_far) in &states {
                for (_, order) in &useful {
                    let bought = so_far.with(order);
                    let goods = mode.add(goods, order);
                    if bought.cost + rest.max(mode.missing(&goods)) > limit {
                        cut = true;
                        continue;
                    }
                    let place = next.entry(goods).or_insert_with(|| bought.clone());
                    if (bought.cost, bought.surplus) < (place.cost, place.surplus) {
                        *place = bought;
                    }
                }
            }
            states = front(
                next,
                |(goods, _)| goods.clone(),
                |(_, b)| (b.cost, b.surplus),
                (&mut self.steps, self.most_steps),
            )
            .into_iter()
            .map(|(_, state)| state)
            .collect();
        }
        let goals: Vec<i128> = mode.goals.iter().map(|goal| goal.goods).collect();
        let full = states.into_iter().find(|(goods, _)| *goods == goals);
        (full.map(|(_, bought)| bought), cut)
    }
}

/// One plus the duty's share.
fn duty(supplier: &Supplier) -> Decimal {
    Decimal::ONE + supplier.duty_percent.0 / Decimal::ONE_HUNDRED
}

/// Every way to use the suppliers that the limit on their number leaves.
fn modes(sellers: impl Iterator<Item = Seller>, most: Option<u32>) -> Vec<Mode> {
    let closed = Mode {
        mask: 0,
        shipping: 0,
        goals: Vec::new(),
    };
    let mut modes = vec![closed];
    for (place, seller) in sellers.enumerate() {
        let mut more = Vec::new();
        for mode in &modes {
            more.push(mode.open(place, &seller, seller.shipping, seller.min_order));
            if let Some(over) = seller.free_over {
                more.push(mode.open(place, &seller, 0, over.max(seller.min_order)));
            }
        }
        modes.extend(more);
    }
    modes.retain(|m| most.is_none_or(|most| m.mask.count_ones() <= most));
    modes
}

/// The dearest order that the stock of an offer allows.
fn most_goods(offer: &Offer) -> Option<i128> {
    let packs = offer.stock? / offer.pack;
    let orders = (0..=packs).map(|packs| packs * offer.pack);
    let goods = orders.filter_map(|qty| {
        let price = offer.break_at(qty)?.unit_price.0;
        Some(exact(price * Decimal::from(qty)))
    });
    Some(goods.max().unwrap_or(0))
}

impl Mode {
    fn open(&self, place: usize, seller: &Seller, shipping: i128, goods: i128) -> Mode {
        let mut mode = self.clone();
        mode.mask |= 1 << place;
        mode.shipping += shipping;
        if goods > 0 {
            mode.goals.push(Goal {
                supplier: SupplierId(place as u32),
                goods,
                landed: seller.landed,
            });
        }
        mode
    }

    /// What the goods that are missing to all goals cost, rounded down.
    fn missing(&self, goods: &[i128]) -> i128 {
        let pairs = self.goals.iter().zip(goods);
        let cost = |(goal, so_far): (&Goal, &i128)| {
            let missing = Decimal::from_i128_with_scale(goal.goods - so_far, DECIMALS);
            (missing.normalize() * goal.landed)
                .round_dp_with_strategy(DECIMALS, RoundingStrategy::ToZero)
        };
        pairs.map(cost).map(exact).sum()
    }

    fn none(&self) -> Vec<i128> {
        vec![0; self.goals.len()]
    }

    /// Goods with an order on top, each counted up to its goal.
    fn add(&self, goods: &[i128], order: &Order) -> Vec<i128> {
        let of = |supplier| {
            let own = order.goods.iter().filter(|(s, _)| *s == supplier);
            own.map(|(_, money)| money).sum::<i128>()
        };
        let pairs = self.goals.iter().zip(goods);
        pairs
            .map(|(goal, so_far)| goal.goods.min(so_far + of(goal.supplier)))
            .collect()
    }

    /// The goods that a supplier must come to.
    pub fn goal(&self, supplier: SupplierId) -> i128 {
        let own = self.goals.iter().find(|g| g.supplier == supplier);
        own.map_or(0, |goal| goal.goods)
    }
}

/// Those that no other beats: another that costs no more (then has no more
/// surplus) and comes to at least the same goods everywhere can take its place,
/// since goods only help to reach a goal.
fn front<T>(
    all: impl IntoIterator<Item = T>,
    goods: impl Fn(&T) -> Vec<i128>,
    cost: impl Fn(&T) -> (i128, i128),
    (steps, most_steps): (&mut u64, u64),
) -> Vec<(Vec<i128>, T)> {
    let mut all: Vec<(Vec<i128>, T)> = all.into_iter().map(|t| (goods(&t), t)).collect();
    all.sort_by(|a, b| cost(&a.1).cmp(&cost(&b.1)).then_with(|| b.0.cmp(&a.0)));
    let mut kept: Vec<(Vec<i128>, T)> = Vec::new();
    let mut stairs = Stairs::default();
    for (goods, one) in all {
        let beaten = |other: &(Vec<i128>, T)| other.0.iter().zip(&goods).all(|(a, b)| a >= b);
        let is_beaten = match goods[..] {
            [] => !kept.is_empty(),
            [one] => stairs.are_above((one, 0)),
            [one, other] => stairs.are_above((one, other)),
            _ => {
                *steps += kept.len() as u64 / 16;
                *steps > most_steps || kept.iter().any(beaten)
            }
        };
        if !is_beaten {
            kept.push((goods, one));
        }
    }
    kept
}

/// Pairs of which none is at least another in both: the second falls as the
/// first rises.
#[derive(Default)]
struct Stairs(BTreeMap<i128, i128>);

impl Stairs {
    /// True if a pair taken in before is at least this one in both; else takes
    /// this one in.
    fn are_above(&mut self, (one, other): (i128, i128)) -> bool {
        if self
            .0
            .range(one..)
            .next()
            .is_some_and(|above| *above.1 >= other)
        {
            return true;
        }
        let below = self.0.range(..=one).rev();
        let below: Vec<i128> = (below.take_while(|pair| *pair.1 <= other))
            .map(|pair| *pair.0)
            .collect();
        for one in below {
            self.0.remove(&one);
        }
        self.0.insert(one, other);
        false
    }
}

impl Bought {
    fn nothing(mode: &Mode) -> Bought {
        Bought {
            cost: mode.shipping,
            surplus: 0,
            lines: Vec::new(),
        }
    }

    fn with(&self, order: &Order) -> Bought {
        Bought {
            cost: self.cost + order.cost,
            surplus: self.surplus + order.surplus,
            lines: [&self.lines[..], &order.lines[..]].concat(),
        }
    }
}
