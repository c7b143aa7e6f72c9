//! Money as the world has it: currencies whose unit is worth next to nothing or
//! a great deal, prices from a hundredth to near a million, cheap pieces beside
//! dear ones, and thresholds that a few pieces more would reach.

use super::brute::{self, Best};
use super::dec;
use couplet::catalog::{Kind, Offer, OfferId, Supplier, SupplierId};
use couplet::input::Input;
use couplet::units::{Currency, Money, Percent};
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// What one unit of the money in which a project is drawn comes to in the
/// project's currency, and what one unit of its suppliers' may come to there.
const WORLDS: [(&str, &[&str]); 4] = [
    ("1", &["0.002", "0.006", "0.01", "1", "1.17", "500"]),
    ("1", &["0.002", "0.01", "0.92", "500"]),
    ("503.7", &["0.002", "0.01", "1", "30", "500"]),
    ("19873.37", &["0.92", "1", "25", "500"]),
];

/// Other money for a project as [`super::random`] draws it. What things are
/// worth to one another stays within the same range.
pub fn exchange(rng: &mut Rng, input: &mut Input) {
    let (scale, rates) = WORLDS[rng.usize(..WORLDS.len())];
    let scale = dec(scale);
    let drawn: Vec<Decimal> = (0..input.catalog.suppliers.len())
        .map(|_| dec(rates[rng.usize(..rates.len())]))
        .collect();
    input.settings.rates.clear();
    for (place, &rate) in drawn.iter().enumerate() {
        let supplier = &mut input.catalog.suppliers[place];
        if rate == Decimal::ONE {
            supplier.currency = input.settings.currency.clone();
        } else {
            let letter = char::from(b'A' + place as u8);
            supplier.currency = Currency(format!("X{letter}{letter}"));
            let rates = &mut input.settings.rates;
            rates.insert(supplier.currency.clone(), rate);
        }
        supplier.shipping = worth(supplier.shipping, scale / rate);
        supplier.free_over = supplier.free_over.map(|m| worth(m, scale / rate));
        supplier.min_order = supplier.min_order.map(|m| worth(m, scale / rate));
        if rng.u32(..100) < 45 {
            supplier.duty_percent = Percent(dec(["3", "10", "25"][rng.usize(..3)]));
        }
    }
    for die in &mut input.catalog.dies {
        die.cost = worth(die.cost, scale);
    }
    input.settings.line_cost = worth(input.settings.line_cost, scale);
    if rng.bool() {
        level(rng, input);
    }
    let cheap = cheap_kind(rng);
    for offer in &mut input.catalog.offers {
        let rate = drawn[offer.supplier.0 as usize];
        let kind = input.catalog.parts[offer.part.0 as usize].kind();
        let by = cheap.filter(|c| c.0 == kind).map_or(Decimal::ONE, |c| c.1);
        for step in &mut offer.breaks {
            step.unit_price = worth(step.unit_price, scale / rate / by);
        }
        if by > Decimal::from(5) {
            in_bags(offer, if by > Decimal::from(20) { 25 } else { 10 });
        }
    }
}

/// Every supplier has what any has, at nearly the same price.
fn level(rng: &mut Rng, input: &mut Input) {
    let sellers = (0..input.catalog.suppliers.len()).map(|s| SupplierId(s as u32));
    let sellers: Vec<SupplierId> = sellers.collect();
    let mut offers = Vec::new();
    for own in input.catalog.offers.chunk_by(|a, b| a.part == b.part) {
        for &supplier in &sellers {
            let known = own.iter().find(|o| o.supplier == supplier);
            let mut offer = known.unwrap_or(&own[0]).clone();
            offer.supplier = supplier;
            let near = dec(["1", "1", "1", "0.998", "1.02"][rng.usize(..5)]);
            for step in &mut offer.breaks {
                let like = own[0].break_at(step.min_qty).unwrap_or(&own[0].breaks[0]);
                step.unit_price = Money((like.unit_price.0 * near).round_dp(4));
            }
            offers.push(offer);
        }
    }
    input.catalog.offers = offers;
}

/// An offer of small things: so many in a bag for each one that was drawn.
fn in_bags(offer: &mut Offer, pieces: u64) {
    offer.pack *= pieces;
    offer.stock = offer.stock.map(|stock| stock * pieces);
    for step in offer.breaks.iter_mut().skip(1) {
        step.min_qty *= pieces;
    }
}

/// A kind of fitting that costs next to nothing beside bodies, and how many
/// times less than it was drawn.
fn cheap_kind(rng: &mut Rng) -> Option<(Kind, Decimal)> {
    let kinds = [Kind::Ferrule, Kind::Seal, Kind::BackShell];
    let kind = kinds[rng.usize(..kinds.len())];
    let by = Decimal::from([3, 10, 30][rng.usize(..3)]);
    (rng.u32(..100) < 50).then_some((kind, by))
}

/// An amount in other units, as a price list would have it: with cents, or
/// with more decimals where it is less than one.
fn worth(amount: Money, units: Decimal) -> Money {
    let exact = amount.0 * units;
    if exact.is_zero() {
        return Money::ZERO;
    }
    let decimals = match exact {
        x if x >= Decimal::TWO => 2,
        x if x >= dec("0.1") => 3,
        x if x >= dec("0.01") => 4,
        _ => 6,
    };
    let rounded = exact.round_dp(decimals);
    Money(rounded.max(dec("0.00001")).normalize())
}

/// Puts thresholds a few pieces above what the best plan without any buys, and
/// fees near what these pieces cost; not in one project of five, nor where it
/// takes more steps to find that plan. Often bodies are scarce: no more of them
/// can be bought to come to a threshold.
pub fn near_thresholds(rng: &mut Rng, input: &mut Input, steps: u64) {
    if rng.u32(..100) < 20 {
        return;
    }
    let mut plain = input.clone();
    without_thresholds(&mut plain);
    let Some(Some(best)) = brute::best_within(&plain, steps) else {
        return;
    };
    if rng.bool() {
        make_scarce(input, &best);
    }
    for (seller, goods) in goods(&plain, &best) {
        let Some(one) = filler(&plain, &best, seller) else {
            continue;
        };
        let most = (goods / Decimal::TWO / one).ceil();
        let more = one * Decimal::from(rng.u64(2..=24)).min(most);
        let above = |rng: &mut Rng| {
            let share = dec(["0.7", "0.95", "1", "1"][rng.usize(..4)]);
            Money(cents(goods + more * share))
        };
        let supplier = &mut input.catalog.suppliers[seller.0 as usize];
        let (is_free, has_least) = [(true, false), (false, true), (true, true)][rng.usize(..3)];
        supplier.free_over = is_free.then(|| above(rng));
        supplier.min_order = has_least.then(|| above(rng));
        if is_free {
            let duty = Decimal::ONE + supplier.duty_percent.0 / Decimal::ONE_HUNDRED;
            let fee = dec(["0.9", "0.97", "1.2", "2", "4"][rng.usize(..5)]);
            supplier.shipping = Money(cents(more * duty * fee));
        }
    }
}

/// Of no body that a plan buys is there more than it buys.
fn make_scarce(input: &mut Input, best: &Best) {
    for &(id, qty) in &best.lines {
        let offer = &mut input.catalog.offers[id.0 as usize];
        if input.catalog.parts[offer.part.0 as usize].body().is_some() {
            offer.stock = Some(qty);
        }
    }
}

/// No free shipping and no least orders.
pub fn without_thresholds(input: &mut Input) {
    for supplier in &mut input.catalog.suppliers {
        (supplier.free_over, supplier.min_order) = (None, None);
    }
}

/// Up, to what money of that size is told in.
fn cents(amount: Decimal) -> Decimal {
    let decimals = if amount >= Decimal::ONE { 2 } else { 6 };
    let up = rust_decimal::RoundingStrategy::AwayFromZero;
    amount.round_dp_with_strategy(decimals, up).normalize()
}

/// What a plan buys of each supplier, in the supplier's currency.
pub fn goods(input: &Input, best: &Best) -> BTreeMap<SupplierId, Decimal> {
    let mut goods = BTreeMap::new();
    for &(id, qty) in &best.lines {
        let offer = input.catalog.offer(id);
        *goods.entry(offer.supplier).or_insert(Decimal::ZERO) += line(input, id, qty);
    }
    goods
}

/// What so many pieces of an offer cost.
pub fn line(input: &Input, id: OfferId, qty: u64) -> Decimal {
    let price = input.catalog.offer(id).break_at(qty).expect("a break");
    price.unit_price.0 * Decimal::from(qty)
}

/// What the cheapest pack of fittings costs that the plan could buy more of there.
fn filler(input: &Input, best: &Best, seller: SupplierId) -> Option<Decimal> {
    let fitted = |part| {
        best.sets
            .iter()
            .flat_map(|s| &s.uses)
            .any(|u| u.part == part)
    };
    let offers = input.catalog.offers.iter();
    let own = offers.filter(|o| o.supplier == seller && o.stock.is_none() && fitted(o.part));
    let packs = own.map(|o| o.breaks[0].unit_price.0 * Decimal::from(o.pack));
    packs.min()
}

/// A kind of money, whether it is there, and how one overlooks it.
type Axis = (&'static str, bool, fn(&mut Input));

/// For each kind of money that a project has, the project as one would take it
/// who overlooks that kind.
pub fn overlooked(input: &Input, best: &Best) -> Vec<(&'static str, Input)> {
    let there = axes(input, best).into_iter().filter(|axis| axis.1);
    let other = |(name, _, overlook): Axis| {
        let mut other = input.clone();
        overlook(&mut other);
        (name, other)
    };
    there.map(other).collect()
}

fn axes(input: &Input, best: &Best) -> [Axis; 9] {
    let rate = |s: &Supplier| input.settings.rate(&s.currency).expect("a rate");
    let any = |is: &dyn Fn(&Supplier) -> bool| input.catalog.suppliers.iter().any(is);
    let limited = |s: &Supplier| s.free_over.is_some() || s.min_order.is_some();
    let duty = |s: &Supplier| s.duty_percent.0 > Decimal::ZERO;
    [
        ("a weak currency", any(&|s| is_weak(rate(s))), |input| {
            one_to_one(input, is_weak)
        }),
        ("a strong currency", any(&|s| is_strong(rate(s))), |input| {
            one_to_one(input, is_strong)
        }),
        ("thresholds", any(&limited), without_thresholds),
        (
            "thresholds in a weak currency",
            any(&|s| is_weak(rate(s)) && limited(s)),
            out_of_reach,
        ),
        (
            "thresholds in a strong currency",
            any(&|s| is_strong(rate(s)) && limited(s)),
            reached_at_once,
        ),
        ("parts of a cent", true, |input| to_decimals(input, 2)),
        (
            "cents of tens of thousands and more",
            best.total >= dec("10000"),
            |input| to_decimals(input, 0),
        ),
        (
            "duty where shipping can be free",
            any(&|s| duty(s) && s.free_over.is_some()),
            |input| without_duty(input, true),
        ),
        (
            "duty where shipping is never free",
            any(&|s| duty(s) && s.free_over.is_none()),
            |input| without_duty(input, false),
        ),
    ]
}

fn is_weak(rate: Decimal) -> bool {
    rate <= dec("0.01")
}

fn is_strong(rate: Decimal) -> bool {
    rate >= dec("25")
}

/// Money of such a rate taken as the project's.
fn one_to_one(input: &mut Input, is: fn(Decimal) -> bool) {
    let rates = input.settings.rates.values_mut();
    rates
        .filter(|rate| is(**rate))
        .for_each(|rate| *rate = Decimal::ONE);
}

/// Suppliers whose rate is so.
fn having(input: &mut Input, is: fn(Decimal) -> bool) -> impl Iterator<Item = &mut Supplier> {
    let settings = &input.settings;
    let suppliers = input.catalog.suppliers.iter_mut();
    suppliers.filter(move |s| settings.rate(&s.currency).is_some_and(is))
}

/// Thresholds of weak money taken as the project's: nothing comes to them.
fn out_of_reach(input: &mut Input) {
    let mut closed = Vec::new();
    for supplier in having(input, is_weak) {
        supplier.free_over = None;
        closed.extend(supplier.min_order.map(|_| supplier.name.clone()));
    }
    input.settings.exclude_suppliers.extend(closed);
}

/// Thresholds of strong money taken as the project's: everything comes to them.
fn reached_at_once(input: &mut Input) {
    for supplier in having(input, is_strong) {
        supplier.min_order = None;
        if supplier.free_over.take().is_some() {
            supplier.shipping = Money::ZERO;
        }
    }
}

fn to_decimals(input: &mut Input, decimals: u32) {
    let steps = input.catalog.offers.iter_mut().flat_map(|o| &mut o.breaks);
    for step in steps {
        let rounded = step.unit_price.0.round_dp(decimals);
        step.unit_price = Money(rounded.max(Decimal::new(1, decimals)));
    }
}

fn without_duty(input: &mut Input, is_free: bool) {
    for supplier in &mut input.catalog.suppliers {
        if supplier.free_over.is_some() == is_free {
            supplier.duty_percent = Percent(Decimal::ZERO);
        }
    }
}

/// True if an order of several lines comes to a threshold that no line of it
/// comes to.
pub fn lines_add_up(input: &Input, best: &Best) -> bool {
    goods(input, best).into_iter().any(|(seller, goods)| {
        let supplier = input.catalog.supplier(seller);
        let own = |id: &OfferId| input.catalog.offer(*id).supplier == seller;
        let lines = best.lines.iter().filter(|(id, _)| own(id));
        let largest = lines.map(|&(id, qty)| line(input, id, qty)).max();
        let between = |m: Money| goods >= m.0 && largest.is_some_and(|largest| largest < m.0);
        let thresholds = [supplier.free_over, supplier.min_order];
        thresholds.into_iter().flatten().any(between)
    })
}
