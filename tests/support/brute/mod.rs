//! The cheapest plan by enumeration: every way to give each end a set, and for
//! each the cheapest purchase.
//!
//! Money is counted in whole 10⁻¹⁸ of its currency, so exactly.
//!
//! The least total counts first, then the number of variants, then the keys
//! that nets have beyond one of each interface, then the money in surplus: Σ over parts of surplus(p) × the lowest price that p is offered
//! at, in the project's currency, before duty. Surplus(p) is what is bought
//! beyond need less on hand.

mod orders;
pub mod purchase;
mod sets;

pub use sets::{End, Set, ends, sets};

use couplet::catalog::{DieId, OfferId, PartId, Spec};
use couplet::input::Input;
use couplet::project::{Distinct, Per};
use couplet::units::{Gauge, Qty};
use purchase::{Market, Need};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// The best plan's figures, and one plan that has them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Best {
    /// In the project's currency, exact.
    pub total: Decimal,
    /// Distinct parts fitted.
    pub variants: usize,
    /// Σ over nets and interfaces (different keys − 1).
    pub keys: usize,
    /// Money in surplus, in the project's currency, exact.
    pub surplus: Decimal,
    /// One set per end.
    pub sets: Vec<Set>,
    /// Pieces from each offer that is used.
    pub lines: Vec<(OfferId, Qty)>,
}

/// Pieces of each part on each gauge.
type Fitted = BTreeMap<(PartId, Gauge), Qty>;

/// The best plan, or none where no plan holds all limits.
pub fn best(input: &Input) -> Option<Best> {
    run(input, true)
}

/// The same without leaving anything out on the way: the check of what [`best`]
/// leaves out.
pub fn best_of_all(input: &Input) -> Option<Best> {
    run(input, false)
}

/// The best of the plans whose set at one end is of this kind.
pub fn best_where(input: &Input, at: usize, keep: impl Fn(&Set) -> bool) -> Option<Best> {
    let mut choices = choices(input);
    choices[at].retain(keep);
    among(input, &choices, true)
}

/// The best plan as [`best`] says, if it takes no more than so many steps: the
/// outer `None` where it takes more.
pub fn best_within(input: &Input, steps: u64) -> Option<Option<Best>> {
    let (ends, choices) = (ends(input), choices(input));
    let mut search = Search::new(input, (&ends, &choices), true);
    search.market.most_steps = steps;
    search.go(&Fitted::new());
    (search.market.steps <= steps).then_some(search.best)
}

fn run(input: &Input, prune: bool) -> Option<Best> {
    among(input, &choices(input), prune)
}

fn choices(input: &Input) -> Vec<Vec<Set>> {
    let ends = ends(input);
    ends.iter().map(|end| sets(input, end)).collect()
}

fn among(input: &Input, choices: &[Vec<Set>], prune: bool) -> Option<Best> {
    let ends = ends(input);
    let mut search = Search::new(input, (&ends, choices), prune);
    search.go(&Fitted::new());
    search.best
}

/// How many assignments there are, keying apart.
pub fn size(input: &Input) -> u128 {
    let ends = ends(input);
    ends.iter()
        .map(|end| sets(input, end).len() as u128)
        .product()
}

struct Search<'a> {
    input: &'a Input,
    ends: &'a [End],
    choices: &'a [Vec<Set>],
    market: Market<'a>,
    /// False where every assignment is looked at.
    prune: bool,
    picks: Vec<usize>,
    best: Option<Best>,
}

impl<'a> Search<'a> {
    fn new(
        input: &'a Input,
        (ends, choices): (&'a [End], &'a [Vec<Set>]),
        prune: bool,
    ) -> Search<'a> {
        Search {
            input,
            ends,
            choices,
            market: Market::new(input),
            prune,
            picks: Vec::new(),
            best: None,
        }
    }

    fn go(&mut self, fitted: &Fitted) {
        self.market.steps += 1;
        if self.market.steps > self.market.most_steps {
            return;
        }
        let needs = needs(self.input, fitted);
        let fixed = fixed_cost(self.input, fitted);
        let at = self.picks.len();
        let last = at == self.ends.len();
        if (self.prune || last) && self.hopeless(&needs, fixed) {
            return;
        }
        if last {
            return self.finish(&needs, fixed);
        }
        for pick in self.first_pick(at)..self.choices[at].len() {
            if self.shares_key(at, pick) {
                continue;
            }
            let mut more = fitted.clone();
            for used in &self.choices[at][pick].uses {
                let end = &self.ends[at];
                *more.entry((used.part, end.gauge)).or_default() += used.qty * end.copies;
            }
            self.picks.push(pick);
            self.go(&more);
            self.picks.pop();
        }
    }

    /// Ends that differ in nothing take their sets in rising order.
    fn first_pick(&self, at: usize) -> usize {
        if !self.prune {
            return 0;
        }
        let twin = (0..at).rev().find(|&other| {
            let (a, b) = (&self.ends[other], &self.ends[at]);
            a.machine == b.machine
                && a.location == b.location
                && a.is_line_of(b)
                && a.gauge == b.gauge
                && self.choices[other] == self.choices[at]
        });
        twin.map_or(0, |other| self.picks[other])
    }

    /// The keying rule against the ends before.
    fn shares_key(&self, at: usize, pick: usize) -> bool {
        let end = &self.ends[at];
        let keying = &end.own(self.input).keying;
        if keying.distinct == Distinct::Off || keying.ignore_at.contains(&end.location) {
            return false;
        }
        let of_machine = |other: &usize| self.ends[*other].machine == end.machine;
        (0..at).filter(of_machine).any(|other| {
            let there = &self.ends[other].location;
            let reaches = match keying.distinct {
                Distinct::Everywhere => !keying.ignore_at.contains(there),
                _ => *there == end.location,
            };
            reaches
                && !self.ends[other].is_line_of(end)
                && self.choices[other][self.picks[other]].identity
                    == self.choices[at][pick].identity
        })
    }

    /// True if what is fitted so far already breaks a limit or costs more than
    /// the best plan: need, dies and variants only grow with more ends.
    fn hopeless(&mut self, needs: &[Need], fixed: i128) -> bool {
        let most = self.input.settings.max_variants;
        if most.is_some_and(|most| needs.len() > most as usize) {
            return true;
        }
        let Some(least) = self.market.least(needs) else {
            return true;
        };
        let total = money_of(least + fixed);
        self.prune && self.best.as_ref().is_some_and(|best| total > best.total)
    }

    /// Different (machine, net, interface, key) less different (machine, net, interface).
    fn extra_keys(&self) -> usize {
        let mut keys = BTreeSet::new();
        let mut faces = BTreeSet::new();
        for (at, &pick) in self.picks.iter().enumerate() {
            let identity = &self.choices[at][pick].identity;
            let net = (self.ends[at].machine, &self.ends[at].net);
            keys.insert((net, identity));
            faces.insert((net, &identity.0));
        }
        keys.len() - faces.len()
    }

    fn finish(&mut self, needs: &[Need], fixed: i128) {
        let known = self.best.as_ref().filter(|_| self.prune);
        let most = known.map_or(i128::MAX, |best| exact(best.total) - fixed);
        let Some(bought) = self.market.cheapest(needs, most) else {
            return;
        };
        let total = money_of(bought.cost + fixed);
        let surplus = money_of(bought.surplus);
        let keys = self.extra_keys();
        let key = (total, needs.len(), keys, surplus);
        let best = self.best.as_ref();
        if best.is_none_or(|b| key < (b.total, b.variants, b.keys, b.surplus)) {
            let picked = self.picks.iter().zip(self.choices);
            self.best = Some(Best {
                total,
                variants: needs.len(),
                keys,
                surplus,
                sets: picked.map(|(&pick, sets)| sets[pick].clone()).collect(),
                lines: bought.lines,
            });
        }
    }
}

/// What must be bought of each part that is fitted: fitted + spare − on hand − ordered.
fn needs(input: &Input, fitted: &Fitted) -> Vec<Need> {
    let parts: BTreeSet<PartId> = fitted.keys().map(|&(part, _)| part).collect();
    let need = |part: PartId| {
        let by_gauge = fitted.range((part, FIRST_GAUGE)..);
        let by_gauge = by_gauge.take_while(|((p, _), _)| *p == part);
        let counts: Vec<Qty> = by_gauge.map(|(_, &qty)| qty).collect();
        let all: Qty = counts.iter().sum();
        let total = all + spare(input, part, &counts);
        let on_hand = input.on_hand.get(&part).copied().unwrap_or(0);
        let ordered = input.ordered.iter().filter(|row| row.part == part);
        let there = on_hand + ordered.map(|row| row.qty).sum::<Qty>();
        Need {
            part,
            qty: total.saturating_sub(there),
        }
    };
    parts.into_iter().map(need).collect()
}

/// Sorts before every gauge.
const FIRST_GAUGE: Gauge = Gauge::Metric(couplet::units::Mm2(Decimal::MIN));

/// Spares of a part from the pieces fitted on each gauge.
fn spare(input: &Input, part: PartId, counts: &[Qty]) -> Qty {
    let kind = input.catalog.part(part).kind();
    let Some(rule) = input.settings.spares.get(&kind) else {
        return 0;
    };
    let of = |fitted: Qty| {
        let share = rule.percent.0 * Decimal::from(fitted) / Decimal::ONE_HUNDRED;
        let share = Qty::try_from(share.ceil()).expect("a share of a small count");
        share.max(rule.minimum)
    };
    match rule.per {
        Per::Gauge => counts.iter().map(|&fitted| of(fitted)).sum(),
        Per::Part => of(counts.iter().sum()),
    }
}

/// Dies that are neither owned nor ordered, and handling of variants.
fn fixed_cost(input: &Input, fitted: &Fitted) -> i128 {
    let parts: BTreeSet<PartId> = fitted.keys().map(|&(part, _)| part).collect();
    let die_of = |&part: &PartId| match &input.catalog.part(part).spec {
        Spec::Ferrule(ferrule) => ferrule.die,
        _ => None,
    };
    let mut dies: BTreeSet<DieId> = parts.iter().filter_map(die_of).collect();
    dies.retain(|die| input.dies_ordered.iter().all(|row| row.die != *die));
    let dies = dies.iter().map(|&die| input.catalog.die(die));
    let dies: Decimal = dies.filter(|d| !d.owned).map(|d| d.cost.0).sum();
    exact(dies + input.settings.line_cost.0 * Decimal::from(parts.len()))
}

/// Decimals of money that are counted.
pub const DECIMALS: u32 = 18;

/// Whole 10⁻¹⁸ of a currency.
fn exact(amount: Decimal) -> i128 {
    let amount = amount.normalize();
    assert!(amount.scale() <= DECIMALS, "{amount} has too many decimals");
    amount.mantissa() * 10i128.pow(DECIMALS - amount.scale())
}

fn money_of(exact: i128) -> Decimal {
    Decimal::from_i128_with_scale(exact, DECIMALS).normalize()
}
