//! What changes from one plan's order to another's, as a pure difference.

use crate::plan::{Order, Plan};
use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// How a line changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The line is only in the new order.
    Added,
    /// The line is only in the old order.
    Removed,
    /// The quantity changes, and perhaps the price with it.
    Quantity,
    /// Only the price of a piece changes.
    Price,
    /// The same part from the same supplier under another sku, one line for one line.
    SkuSwitched,
    /// The same part from another supplier, one line for one line.
    SupplierSwitched,
    /// Another part took over all ends of the part, one line for one line.
    PartSwitched,
    /// Nothing changes.
    Unchanged,
}

impl Kind {
    /// The kind of change in words.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Added => "added",
            Kind::Removed => "removed",
            Kind::Quantity => "quantity",
            Kind::Price => "price",
            Kind::SkuSwitched => "sku switched",
            Kind::SupplierSwitched => "supplier switched",
            Kind::PartSwitched => "part switched",
            Kind::Unchanged => "unchanged",
        }
    }
}

/// A line of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Line {
    /// Supplier by name.
    pub supplier: String,
    /// Part code.
    pub part: String,
    /// The supplier's code; empty where the offer has none.
    pub sku: String,
    /// Pieces.
    pub qty: Qty,
    /// Price of a piece in the supplier's currency.
    pub unit_price: Money,
    /// The currency that the supplier bills in.
    pub currency: Currency,
}

/// One change: the line before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Change {
    /// How the line changes.
    pub kind: Kind,
    /// None for a line that is added.
    pub before: Option<Line>,
    /// None for a line that is removed.
    pub after: Option<Line>,
    /// By how many percent the price of a piece changes, see [`percent`]. Between two
    /// currencies the percentage takes rates, see [`at_rates`].
    #[serde(with = "rust_decimal::serde::float_option")]
    #[schemars(
        with = "Option<f64>",
        description = "By how many percent the price of a piece changes. Null between two \
                       currencies without a rate."
    )]
    pub percent: Option<Decimal>,
    /// What the goods of the line cost more, in the project's currency: none
    /// before [`at_rates`], and where a currency has no rate.
    #[schemars(
        description = "What the goods of the line cost more, in the project's currency. \
                              Null where a currency has no rate."
    )]
    pub difference: Option<Money>,
}

impl Change {
    fn new(kind: Kind, before: Option<Line>, after: Option<Line>) -> Change {
        let same = before.as_ref().zip(after.as_ref());
        let same = same.filter(|(before, after)| before.currency == after.currency);
        Change {
            kind,
            percent: same.and_then(|(a, b)| percent(a.unit_price, b.unit_price)),
            before,
            after,
            difference: None,
        }
    }
}

/// From an order to another: every line once, by part, supplier and sku. The plans
/// tell which part took over the ends of which.
pub fn changes(before: (&[Order], &Plan), after: (&[Order], &Plan)) -> Vec<Change> {
    let (old, new) = (lines(before.0), lines(after.0));
    let mut changes = Vec::new();
    let (mut gone, mut come) = (Vec::new(), Vec::new());
    for key in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
        match (old.get(key), new.get(key)) {
            (Some(old), Some(new)) => changes.push(both(old, new)),
            (Some(old), None) => gone.push(old.clone()),
            (None, Some(new)) => come.push(new.clone()),
            (None, None) => {}
        }
    }
    let took_over = took_over(before.1, after.1);
    switched(
        &mut gone,
        &mut come,
        Kind::SkuSwitched,
        &mut changes,
        |a, b| (&a.part, &a.supplier) == (&b.part, &b.supplier),
    );
    switched(
        &mut gone,
        &mut come,
        Kind::SupplierSwitched,
        &mut changes,
        |a, b| a.part == b.part,
    );
    switched(
        &mut gone,
        &mut come,
        Kind::PartSwitched,
        &mut changes,
        |a, b| took_over.get(a.part.as_str()) == Some(&b.part.as_str()),
    );
    let removed = |line| Change::new(Kind::Removed, Some(line), None);
    changes.extend(gone.into_iter().map(removed));
    let added = |line| Change::new(Kind::Added, None, Some(line));
    changes.extend(come.into_iter().map(added));
    changes.sort_by(|a, b| place(a).cmp(&place(b)));
    changes
}

/// True if any line changes.
pub fn any(changes: &[Change]) -> bool {
    changes.iter().any(|change| change.kind != Kind::Unchanged)
}

/// The changes with their differences in one currency, and with percentages between
/// two currencies. `rate` gives one unit of a currency in the one currency.
pub fn at_rates(
    mut changes: Vec<Change>,
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> Vec<Change> {
    let piece = |line: &Line| times(line.unit_price, rate(&line.currency)?);
    let goods = |line: &Option<Line>| match line {
        Some(line) => times(piece(line)?, Decimal::from(line.qty)),
        None => Some(Money::ZERO),
    };
    for change in &mut changes {
        let sides = goods(&change.before).zip(goods(&change.after));
        change.difference = sides.map(|(before, after)| after - before);
        if let (Some(before), Some(after)) = (&change.before, &change.after)
            && before.currency != after.currency
        {
            let pieces = piece(before).zip(piece(after));
            change.percent = pieces.and_then(|(before, after)| percent(before, after));
        }
    }
    changes
}

/// What the goods of all lines cost more together; none where a currency has no
/// rate.
pub fn difference(changes: &[Change]) -> Option<Money> {
    changes.iter().map(|change| change.difference).sum()
}

fn times(money: Money, factor: Decimal) -> Option<Money> {
    money.0.checked_mul(factor).map(Money)
}

/// By how many percent an amount changes, with one decimal; none where the amount
/// does not change, or where it was nothing.
pub fn percent(before: Money, after: Money) -> Option<Decimal> {
    if before == after || before == Money::ZERO {
        return None;
    }
    let share = (after - before).0.checked_mul(Decimal::ONE_HUNDRED)?;
    let mut share = share.checked_div(before.0)?.round_dp(1);
    share.rescale(1);
    Some(share)
}

fn place(change: &Change) -> (&str, &str, &str) {
    let line = change.before.as_ref().or(change.after.as_ref());
    line.map_or(("", "", ""), |line| (&line.part, &line.supplier, &line.sku))
}

fn lines(orders: &[Order]) -> BTreeMap<(String, String, String), Line> {
    let mut lines = BTreeMap::new();
    for order in orders {
        for line in &order.lines {
            let key = (line.part.clone(), order.supplier.clone(), line.sku.clone());
            let line = Line {
                supplier: order.supplier.clone(),
                part: line.part.clone(),
                sku: line.sku.clone(),
                qty: line.qty,
                unit_price: line.unit_price,
                currency: order.currency.clone(),
            };
            lines.insert(key, line);
        }
    }
    lines
}

fn both(old: &Line, new: &Line) -> Change {
    let kind = if old.qty != new.qty {
        Kind::Quantity
    } else if old.unit_price != new.unit_price || old.currency != new.currency {
        Kind::Price
    } else {
        Kind::Unchanged
    };
    Change::new(kind, Some(old.clone()), Some(new.clone()))
}

/// Pairs a line that goes with a line that comes, where neither line could be
/// paired with another.
fn switched(
    gone: &mut Vec<Line>,
    come: &mut Vec<Line>,
    kind: Kind,
    changes: &mut Vec<Change>,
    matches: impl Fn(&Line, &Line) -> bool,
) {
    let mut pairs = Vec::new();
    for (i, old) in gone.iter().enumerate() {
        let mut of_old = (0..come.len()).filter(|&j| matches(old, &come[j]));
        let (Some(j), None) = (of_old.next(), of_old.next()) else {
            continue;
        };
        if gone.iter().filter(|other| matches(other, &come[j])).count() == 1 {
            pairs.push((i, j));
        }
    }
    for &(i, j) in &pairs {
        let (before, after) = (gone[i].clone(), come[j].clone());
        changes.push(Change::new(kind, Some(before), Some(after)));
    }
    let paired =
        |of: fn(&(usize, usize)) -> usize| -> BTreeSet<usize> { pairs.iter().map(of).collect() };
    keep_others(gone, &paired(|p| p.0));
    keep_others(come, &paired(|p| p.1));
}

fn keep_others(lines: &mut Vec<Line>, taken: &BTreeSet<usize>) {
    let mut place = 0;
    lines.retain(|_| {
        place += 1;
        !taken.contains(&(place - 1))
    });
}

/// Where a part is fitted: machine, circuit, net and side, and the place on the two bodies.
pub type Places<'p> = BTreeSet<[&'p str; 6]>;

/// Every part of a plan with the places where it is fitted.
pub fn places(plan: &Plan) -> BTreeMap<&str, Places<'_>> {
    let mut places: BTreeMap<&str, Places> = BTreeMap::new();
    for end in &plan.ends {
        let [machine, circuit, net, side] =
            [&end.machine, &end.circuit, &end.net, &end.end].map(String::as_str);
        let place = |half, kind| [machine, circuit, net, side, half, kind];
        for (half, part) in end.bodies() {
            let at = places.entry(part).or_default();
            at.insert(place(half, "body"));
        }
        for fitting in &end.fittings {
            let at = places.entry(&fitting.part).or_default();
            at.insert(place(fitting.half.as_str(), fitting.kind.as_str()));
        }
    }
    places
}

/// Parts that are fitted no more, each with the new part that is fitted at just
/// its places and nowhere else.
fn took_over<'p>(before: &'p Plan, after: &'p Plan) -> BTreeMap<&'p str, &'p str> {
    let (old, new) = (places(before), places(after));
    let mut by_places: BTreeMap<&Places, &str> = BTreeMap::new();
    for (part, at) in new.iter().filter(|(part, _)| !old.contains_key(*part)) {
        by_places.insert(at, part);
    }
    old.iter()
        .filter(|(part, _)| !new.contains_key(*part))
        .filter_map(|(part, at)| Some((*part, *by_places.get(at)?)))
        .collect()
}
