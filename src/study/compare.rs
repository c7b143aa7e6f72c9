//! Plans held against one another: terms of the total, parts, order lines, ends.

use super::answer::{differ, exchanged};
use super::changes::{self, Change, changes};
use super::offers::Several;
use crate::plan::{EndRecord, Order, PartRecord, Plan};
use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What differs from one plan to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Difference {
    /// The terms of the total, then the sums, exact, in the order in which a plan shows them.
    pub terms: Vec<Term>,
    /// Distinct parts fitted, before and after.
    pub variants: [usize; 2],
    /// Parts that leave, by code.
    pub parts_out: Vec<String>,
    /// Parts that come in.
    pub parts_in: Vec<String>,
    /// Suppliers with an order, before and after.
    pub suppliers: [usize; 2],
    /// Suppliers that leave.
    pub suppliers_out: Vec<String>,
    /// Suppliers that come in.
    pub suppliers_in: Vec<String>,
    /// Parts of which anything differs, those with the most money first.
    pub parts: Vec<PartChange>,
    /// Every line of both orders.
    pub lines: Vec<Change>,
    /// What the goods of all these lines cost more, in the project's currency; none where a
    /// currency has no rate.
    pub goods: Option<Money>,
    /// Ends that differ, in the order of the plan after, then those that are gone.
    pub ends: Vec<EndChange>,
    /// Which lines need their sku to be told apart.
    #[serde(skip)]
    pub several: Several,
}

/// A term of the total or a sum, in the project's currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Term {
    /// Its name.
    pub term: &'static str,
    /// What it was.
    pub before: Money,
    /// What it is.
    pub after: Money,
}

/// A part that is not fitted, bought or taken from stock as before.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PartChange {
    /// Part code.
    pub part: String,
    /// One of the five kinds.
    pub kind: String,
    /// Pieces fitted, before and after.
    pub fitted: [Qty; 2],
    /// Spare pieces, before and after.
    pub spare: [Qty; 2],
    /// Pieces that are used of those on hand, before and after.
    pub on_hand_used: [Qty; 2],
    /// Pieces that are used of those ordered, before and after.
    pub ordered_used: [Qty; 2],
    /// Pieces bought, before and after.
    pub bought: [Qty; 2],
    /// Pieces beyond the need, before and after.
    pub surplus: [Qty; 2],
    /// What the pieces that are bought cost more, in the project's currency, before duty;
    /// none where a currency has no rate.
    pub difference: Option<Money>,
}

/// An end that has not the same set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct EndChange {
    /// Machine by name; empty in a project.
    pub machine: String,
    /// Circuit by name.
    pub circuit: String,
    /// Net.
    pub net: String,
    /// `from` or `to`.
    pub end: String,
    /// What differs: nothing where the end is only in one of the plans.
    pub what: Vec<Field>,
    /// In which of the plans the end is.
    pub stands: Stands,
}

/// In which plans an end stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stands {
    /// In both.
    Both,
    /// In the plan before alone.
    Before,
    /// In the plan after alone.
    After,
}

/// What of an end differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Field {
    /// Its name, such as `plug` or `plug ferrule`.
    pub field: String,
    /// What it was; empty for nothing.
    pub before: String,
    /// What it is; empty for nothing.
    pub after: String,
}

/// Plans that can't be held against one another.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan of {one} is in {ours}, that of {other} in {theirs}")]
pub struct OtherCurrency {
    /// Name of the first plan.
    pub one: String,
    /// Its currency.
    pub ours: Currency,
    /// Name of the other plan.
    pub other: String,
    /// Its currency.
    pub theirs: Currency,
}

/// Plans side by side: each but the first is held against the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The plans with their names, in order; at least two.
    pub plans: Vec<(String, Plan)>,
    /// What differs from the first to each other plan.
    pub differences: Vec<Difference>,
}

impl PartChange {
    /// Its numbers of pieces with their names, in the order in which a plan shows them.
    pub fn pieces(&self) -> [(&'static str, [Qty; 2]); 6] {
        [
            ("fitted", self.fitted),
            ("spare", self.spare),
            ("on_hand_used", self.on_hand_used),
            ("ordered_used", self.ordered_used),
            ("bought", self.bought),
            ("surplus", self.surplus),
        ]
    }
}

impl Difference {
    /// True if no figure, part, line or end differs.
    pub fn is_nothing(&self) -> bool {
        self.terms.iter().all(|term| term.before == term.after)
            && self.parts.is_empty()
            && self.ends.is_empty()
            && !changes::any(&self.lines)
    }

    /// Order lines that change.
    pub fn changed_lines(&self) -> usize {
        let changed = |line: &&Change| line.kind != changes::Kind::Unchanged;
        self.lines.iter().filter(changed).count()
    }
}

/// Holds plans against the first of them. `rate` gives one unit of a currency in the
/// currency of the plans.
///
/// # Errors
/// [`OtherCurrency`] where the plans are not all in one currency.
pub fn compare(
    plans: Vec<(String, Plan)>,
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> Result<Compared, OtherCurrency> {
    let mut differences = Vec::new();
    if let Some(((one, first), others)) = plans.split_first() {
        for (other, plan) in others {
            if plan.currency != first.currency {
                return Err(OtherCurrency {
                    one: one.clone(),
                    ours: first.currency.clone(),
                    other: other.clone(),
                    theirs: plan.currency.clone(),
                });
            }
            differences.push(difference(first, plan, &rate));
        }
    }
    Ok(Compared { plans, differences })
}

/// What differs from one plan to another of the same currency.
pub fn difference(
    before: &Plan,
    after: &Plan,
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> Difference {
    let at_home = |currency: &Currency| match *currency == after.currency {
        true => Some(Decimal::ONE),
        false => rate(currency),
    };
    let (parts_out, parts_in) = exchanged(before, after);
    let names = |plan: &Plan| -> Vec<String> {
        plan.orders
            .iter()
            .map(|order| order.supplier.clone())
            .collect()
    };
    let (suppliers_out, suppliers_in) = differ(&names(before), &names(after));
    let lines = changes((&before.orders, before), (&after.orders, after));
    let lines = changes::at_rates(lines, at_home);
    let mut several = Several::ordered(&before.orders);
    several.join(Several::ordered(&after.orders));
    Difference {
        terms: terms(before, after),
        variants: [before.parts.len(), after.parts.len()],
        parts_out,
        parts_in,
        suppliers: [before.orders.len(), after.orders.len()],
        suppliers_out,
        suppliers_in,
        parts: parts(before, after, at_home),
        goods: changes::difference(&lines),
        lines,
        ends: ends(before, after),
        several,
    }
}

/// The terms of a plan and its sums, with their names.
pub fn amounts(plan: &Plan) -> Vec<(&'static str, Money)> {
    let cost = &plan.cost;
    let sums = [
        ("total", cost.total),
        ("tax", cost.tax),
        ("total with tax", cost.total_with_tax),
        ("spent", plan.spent),
        ("spent and still to spend", plan.altogether()),
    ];
    cost.terms().into_iter().chain(sums).collect()
}

fn terms(before: &Plan, after: &Plan) -> Vec<Term> {
    let both = amounts(before).into_iter().zip(amounts(after));
    both.map(|((term, before), (_, after))| Term {
        term,
        before,
        after,
    })
    .collect()
}

/// What a part was and is: its row in both plans, and what its pieces cost.
#[derive(Default)]
struct Sides<'p> {
    rows: [Option<&'p PartRecord>; 2],
    goods: [Option<Money>; 2],
}

impl Sides<'_> {
    /// What is not the same on both sides; none where all is.
    fn change(&self, part: &str) -> Option<PartChange> {
        let of = |count: fn(&PartRecord) -> Qty| self.rows.map(|row| row.map_or(0, count));
        let bought = of(|row| row.bought);
        let is_unknown = |side: usize| bought[side] > 0 && self.goods[side].is_none();
        let [was, is] = self.goods.map(Option::unwrap_or_default);
        let kind = self.rows[1].or(self.rows[0]).map(|row| row.kind.clone());
        let change = PartChange {
            part: part.to_owned(),
            kind: kind.unwrap_or_default(),
            fitted: of(|row| row.fitted),
            spare: of(|row| row.spare),
            on_hand_used: of(|row| row.on_hand_used),
            ordered_used: of(|row| row.ordered_used),
            bought,
            surplus: of(|row| row.surplus),
            difference: (!is_unknown(0) && !is_unknown(1)).then(|| is - was),
        };
        let counts = change.pieces();
        let is_same = counts.iter().all(|(_, [before, after])| before == after)
            && change.difference.is_none_or(|more| more == Money::ZERO);
        (!is_same).then_some(change)
    }
}

fn parts(
    before: &Plan,
    after: &Plan,
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> Vec<PartChange> {
    let mut all: BTreeMap<&str, Sides> = BTreeMap::new();
    for (side, plan) in [before, after].into_iter().enumerate() {
        let goods = goods(&plan.orders, &rate);
        for part in &plan.parts {
            all.entry(&part.part).or_default().rows[side] = Some(part);
        }
        for (part, cost) in goods {
            all.entry(part).or_default().goods[side] = cost;
        }
    }
    let changes = all.iter().filter_map(|(part, of)| of.change(part));
    let mut changed: Vec<PartChange> = changes.collect();
    let size = |one: &PartChange| one.difference.map(|more| more.0.abs());
    changed.sort_by(|a, b| size(b).cmp(&size(a)).then_with(|| a.part.cmp(&b.part)));
    changed
}

/// What the lines of each part cost; none where a currency has no rate.
fn goods(
    orders: &[Order],
    rate: impl Fn(&Currency) -> Option<Decimal>,
) -> BTreeMap<&str, Option<Money>> {
    let mut goods: BTreeMap<&str, Option<Money>> = BTreeMap::new();
    for order in orders {
        let rate = rate(&order.currency);
        for line in &order.lines {
            let cost = rate
                .and_then(|rate| line.line_total.0.checked_mul(rate))
                .map(Money);
            let of = goods.entry(&line.part).or_insert(Some(Money::ZERO));
            *of = of.zip(cost).map(|(sum, cost)| sum + cost);
        }
    }
    goods
}

type Name<'p> = (&'p str, &'p str, &'p str, &'p str);

fn name(end: &EndRecord) -> Name<'_> {
    (&end.machine, &end.circuit, &end.net, &end.end)
}

fn ends(before: &Plan, after: &Plan) -> Vec<EndChange> {
    let old: BTreeMap<Name, &EndRecord> = before.ends.iter().map(|end| (name(end), end)).collect();
    let mut changed = Vec::new();
    let change = |end: &EndRecord, what, stands| EndChange {
        machine: end.machine.clone(),
        circuit: end.circuit.clone(),
        net: end.net.clone(),
        end: end.end.clone(),
        what,
        stands,
    };
    for end in &after.ends {
        match old.get(&name(end)) {
            None => changed.push(change(end, Vec::new(), Stands::After)),
            Some(was) => {
                let what = fields(was, end);
                if !what.is_empty() {
                    changed.push(change(end, what, Stands::Both));
                }
            }
        }
    }
    let new: BTreeSet<Name> = after.ends.iter().map(name).collect();
    let gone = before.ends.iter().filter(|end| !new.contains(&name(end)));
    changed.extend(gone.map(|end| change(end, Vec::new(), Stands::Before)));
    changed
}

/// What of an end differs, in the order in which a plan shows ends.
fn fields(before: &EndRecord, after: &EndRecord) -> Vec<Field> {
    let own = |end: &EndRecord| {
        let receptacle = end
            .receptacle
            .clone()
            .unwrap_or_else(|| "built-in".to_owned());
        let mut all = vec![
            ("location".to_owned(), end.location.clone()),
            ("gauge".to_owned(), end.gauge.clone()),
            ("interface".to_owned(), end.interface.clone()),
            ("key".to_owned(), end.key.clone()),
            ("receptacle".to_owned(), receptacle),
            ("plug".to_owned(), end.plug.clone()),
        ];
        for of in &end.fittings {
            let pieces = if of.qty == 1 {
                String::new()
            } else {
                format!("{} × ", of.qty)
            };
            all.push((
                format!("{} {}", of.half, of.kind),
                format!("{pieces}{}", of.part),
            ));
        }
        all
    };
    let (old, new) = (own(before), own(after));
    let value = |all: &[(String, String)], field: &str| {
        let found = all.iter().find(|(name, _)| name == field);
        found.map(|(_, value)| value.clone()).unwrap_or_default()
    };
    let mut names: Vec<&String> = Vec::new();
    for (name, _) in old.iter().chain(&new) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
        .into_iter()
        .map(|field| Field {
            field: field.clone(),
            before: value(&old, field),
            after: value(&new, field),
        })
        .filter(|field| field.before != field.after)
        .collect()
}
