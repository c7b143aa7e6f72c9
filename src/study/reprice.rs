//! A plan at other prices: its lines kept, its parts bought anew, or everything
//! planned anew.

use super::changes::Change;
use super::offers::Several;
use super::open::open_orders;
use super::recall::{self, Lost};
use super::shifts::Shift;
use crate::audit::{Finding, audit};
use crate::catalog::PartId;
use crate::fit::{Choice, Class, Fit};
use crate::input::Input;
use crate::model::{Set, Solution};
use crate::plan::{Bound, Plan, PlanError, Status, record};
use crate::units::{Currency, Money};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// What of the recorded plan is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Keep {
    /// Its order lines.
    Lines,
    /// Its fitted parts; where they are bought is chosen anew.
    Parts,
    /// Nothing: everything is planned anew.
    Nothing,
}

impl Keep {
    /// What is kept, in words.
    pub fn what(self) -> &'static str {
        match self {
            Keep::Lines => "the order lines",
            Keep::Parts => "the fitted parts",
            Keep::Nothing => "nothing",
        }
    }
}

/// The four totals, spent and still to spend together, in the project's currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Totals {
    /// The total by the record.
    pub recorded: Money,
    /// The same lines at the new prices; none where a line can't be bought any more.
    pub lines: Option<Money>,
    /// The same fitted parts bought anew; none where a part can't be had any more.
    pub parts: Option<Money>,
    /// Everything planned anew.
    pub anew: Money,
}

/// What makes up the difference between the last and the first total. An effect that
/// is not known on its own is none; the sums always hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Effects {
    /// The effect of the prices: the same lines at the new prices.
    pub price: Option<Money>,
    /// The effect of buying anew: suppliers, packs, breaks, shipping.
    pub buying: Option<Money>,
    /// The sum of these two effects, which may be known where neither effect is.
    pub price_and_buying: Option<Money>,
    /// The effect of choosing other parts.
    pub choice: Option<Money>,
    /// All effects together.
    pub together: Money,
}

impl Totals {
    /// The effects, exact.
    pub fn effects(&self) -> Effects {
        let minus = |a: Option<Money>, b: Option<Money>| a.zip(b).map(|(a, b)| a - b);
        Effects {
            price: minus(self.lines, Some(self.recorded)),
            buying: minus(self.parts, self.lines),
            price_and_buying: minus(self.parts, Some(self.recorded)),
            choice: minus(Some(self.anew), self.parts),
            together: self.anew - self.recorded,
        }
    }

    /// These totals to the cent. Their effects are what the shown totals differ by,
    /// so that the effects add up as shown.
    pub fn cents(&self) -> Totals {
        Totals {
            recorded: self.recorded.cents(),
            lines: self.lines.map(Money::cents),
            parts: self.parts.map(Money::cents),
            anew: self.anew.cents(),
        }
    }

    /// What pays: everything anew if that saves something, and at least
    /// `worth_changing`, over keeping the parts; else the parts bought anew if
    /// that saves something over keeping the lines; else the lines.
    pub fn best(&self, worth_changing: Money) -> Keep {
        let saves = |over: Option<Money>, total: Money, least: Money| {
            over.is_none_or(|over| over - total >= least && over > total)
        };
        let kept = self.parts.or(self.lines);
        if saves(kept, self.anew, worth_changing) {
            Keep::Nothing
        } else if self
            .parts
            .is_some_and(|parts| saves(self.lines, parts, Money::ZERO))
        {
            Keep::Parts
        } else {
            Keep::Lines
        }
    }
}

/// The fit narrowed down to these sets: each end has its own set and no choice
/// but where to buy it.
///
/// # Errors
/// [`Lost`] if a part can't be had any more or no longer fits.
fn restricted(input: &Input, fit: &Fit, sets: &[Set]) -> Result<Fit, Lost> {
    let mut classes = Vec::new();
    for class in &fit.classes {
        let mut by_set: BTreeMap<&Set, Vec<usize>> = BTreeMap::new();
        for &end in &class.ends {
            let set = sets.get(end).ok_or(Lost::Ends)?;
            by_set.entry(set).or_default().push(end);
        }
        for (set, ends) in by_set {
            classes.push(narrowed(input, class, set, ends)?);
        }
    }
    classes.sort_by_key(|class| class.ends.first().copied());
    Ok(Fit {
        classes,
        ..fit.clone()
    })
}

/// The choices of a set that mate, the receptacle if there is one to be had.
///
/// # Errors
/// A body of the set that the class does not have, or not in a pair.
fn pair(class: &Class, set: &Set) -> Result<(Option<Choice>, Choice), PartId> {
    let plugs = || class.plugs.iter().filter(|choice| choice.body == set.plug);
    let first = plugs().next().ok_or(set.plug)?;
    let Some(part) = set.receptacle else {
        return match class.is_built_in() {
            true => Ok((None, first.clone())),
            false => Err(set.plug),
        };
    };
    let receptacles = class
        .receptacles
        .iter()
        .filter(|choice| choice.body == part);
    let mated = receptacles.flat_map(|r| plugs().map(move |p| (r, p)));
    let found = { mated }.find(|(r, p)| r.mate == p.mate);
    let (receptacle, plug) = found.ok_or(part)?;
    Ok((Some(receptacle.clone()), plug.clone()))
}

/// The class with this one set.
fn narrowed(input: &Input, class: &Class, set: &Set, ends: Vec<usize>) -> Result<Class, Lost> {
    let unfit = |part: PartId| Lost::Unfit(input.catalog.part(part).code.clone());
    let (mut receptacle, mut plug) = pair(class, set).map_err(unfit)?;
    let mut fittings = set.fittings.clone();
    let mut slots = Vec::new();
    for choice in receptacle.iter_mut().chain([&mut plug]) {
        for place in &mut choice.slots {
            let mut slot = class.slots.get(*place).cloned().ok_or(Lost::Ends)?;
            let at = fittings
                .iter()
                .position(|f| f.half == slot.half && f.fitting == slot.fitting);
            let fitted = at.map(|at| fittings.remove(at));
            let Some(fitted) = fitted else {
                return Err(unfit(choice.body));
            };
            slot.options
                .retain(|option| *option == (fitted.part, fitted.qty));
            if slot.options.is_empty() {
                return Err(unfit(fitted.part));
            }
            *place = slots.len();
            slots.push(slot);
        }
    }
    if let Some(left) = fittings.first() {
        return Err(unfit(left.part));
    }
    Ok(Class {
        ends,
        machine: class.machine,
        copies: class.copies,
        location: class.location.clone(),
        net: class.net.clone(),
        branch: class.branch.clone(),
        gauge: class.gauge,
        receptacles: receptacle.into_iter().collect(),
        plugs: vec![plug],
        slots,
    })
}

/// A plan with the recorded sets and these purchases, against what planning
/// anew proved, if that came to an end.
///
/// # Errors
/// [`Lost`] if these are no plan by their record or by its audit.
fn kept(input: &Input, fit: &Fit, solution: &Solution, anew: Option<&Plan>) -> Result<Plan, Lost> {
    let no_plan = |error: PlanError| Lost::NoPlan(error.to_string());
    let unknown = Bound {
        lower: 0.0,
        witnesses: 0,
        wanted_gap: None,
    };
    let plan = record(input, fit, solution, unknown).and_then(|plan| match anew {
        Some(anew) => plan.beside(anew),
        None => Ok(plan),
    });
    let plan = plan.map_err(no_plan)?;
    match audit(input, &plan).first() {
        None => Ok(plan),
        Some(finding) => Err(Lost::NoPlan(Finding::to_string(finding))),
    }
}

/// A plan at other prices, with what to know of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Repriced {
    /// The project's currency.
    pub currency: Currency,
    /// How far the recorded plan was proven.
    pub recorded: Status,
    /// The four totals.
    pub totals: Totals,
    /// What makes the difference.
    pub effects: Effects,
    /// What is kept of the recorded plan.
    pub keep: Keep,
    /// Why the lines can't be kept.
    pub lines_lost: Option<String>,
    /// Why the parts can't be kept.
    pub parts_lost: Option<String>,
    /// Every line of the old and of the new order.
    pub changes: Vec<Change>,
    /// What the goods of all these lines cost more, in the project's currency;
    /// none where a currency has no rate.
    pub difference: Option<Money>,
    /// What became of the old lines on the new price list.
    pub shifts: Vec<Shift>,
    /// Which of these lines need their sku to be told apart.
    #[serde(skip)]
    pub several: Several,
}

/// The plans that a recorded one can become.
#[derive(Debug, Clone)]
pub struct Options {
    /// The recorded plan with its lines kept.
    pub lines: Result<Plan, Lost>,
    /// The recorded plan with its parts kept.
    pub parts: Result<Plan, Lost>,
    /// The plan made anew, or a kept plan where the time brought nothing better.
    pub anew: Plan,
}

/// Carries a recorded plan over, beside the one planned anew: none where the time
/// ran out before that was found. `several` says which of its lines are one of
/// several offers. `buy` finds the cheapest purchases for a fit that leaves no other
/// choice. None where there is no plan at all.
///
/// # Errors
/// What `buy` breaks off with. Where something can't be bought, that is a [`Lost`].
pub fn options<E>(
    input: &Input,
    fit: &Fit,
    old: &Plan,
    several: &Several,
    anew: Option<Plan>,
    buy: impl FnOnce(&Fit) -> Result<Result<Solution, Lost>, E>,
) -> Result<Option<Options>, E> {
    let (lines, parts) = match recall::sets(input, fit, old) {
        Ok(sets) => {
            let parts = match restricted(input, fit, &sets) {
                Ok(own) => buy(&own)?.and_then(|found| kept(input, fit, &found, anew.as_ref())),
                Err(lost) => Err(lost),
            };
            let open = open_orders(input, old);
            let lines = recall::purchases(input, fit, several, &open).and_then(|purchases| {
                let solution = Solution { sets, purchases };
                kept(input, fit, &solution, anew.as_ref())
            });
            (lines, parts)
        }
        Err(lost) => (Err(lost.clone()), Err(lost)),
    };
    // Where the time ran out, what is kept may be better than what is new.
    let all = (anew.as_ref().into_iter()).chain(&parts).chain(&lines);
    let best = all.min_by_key(|plan| plan.cost.total).cloned();
    Ok(best.map(|anew| Options { lines, parts, anew }))
}

impl Options {
    /// The four totals.
    pub fn totals(&self, recorded: &Plan) -> Totals {
        let total = |plan: &Result<Plan, Lost>| plan.as_ref().ok().map(Plan::altogether);
        Totals {
            recorded: recorded.altogether(),
            lines: total(&self.lines),
            parts: total(&self.parts),
            anew: self.anew.altogether(),
        }
    }

    /// The plan that keeps what `keep` says.
    ///
    /// # Errors
    /// [`Lost`] says why that can't be kept.
    pub fn plan(&self, keep: Keep) -> Result<&Plan, Lost> {
        match keep {
            Keep::Lines => self.lines.as_ref().map_err(Clone::clone),
            Keep::Parts => self.parts.as_ref().map_err(Clone::clone),
            Keep::Nothing => Ok(&self.anew),
        }
    }
}
