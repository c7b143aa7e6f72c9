//! Why an end has what it has: what each alternative would add to the total,
//! by a search with the alternative forced.

use super::answer::{self, Answer, Reply};
use super::conflict::{self, Conflict};
use super::failure::Failure;
use super::recall::{self, Recalled};
use crate::catalog::{Half, Kind, PartId};
use crate::diag::Row;
use crate::fit::{self, Choice, Fit, Refusal};
use crate::input::Input;
use crate::limit::Limit;
use crate::model::{self, Question, Set, Solution};
use crate::plan::{Cost, Plan, Status};
use crate::units::Money;
use std::collections::BTreeSet;

/// A project with its plan.
#[derive(Debug, Clone, Copy)]
pub struct Planned<'a> {
    /// The project.
    pub input: &'a Input,
    /// What fits the project's ends.
    pub fit: &'a Fit,
    /// The project's plan, made from this input.
    pub plan: &'a Plan,
}

/// One place of an end: a half, or a fitting on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The half that the place is or is on.
    pub half: Half,
    /// What stands there.
    pub kind: Kind,
    /// The plan's choice.
    pub chosen: PartId,
    /// All other parts that some set has there with the same body (for a
    /// fitting) or with any mate (for a half); lowest unit price first.
    pub others: Vec<PartId>,
    /// Where nothing else fits: parts that would, but that are excluded.
    pub left_out: Vec<LeftOut>,
}

/// A part that is excluded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The part.
    pub part: PartId,
    /// Where it is excluded.
    pub row: Row,
}

/// What was tried in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// The place.
    pub place: Place,
    /// What each alternative that was tried came to, in the order of
    /// [`Place::others`]; the rest were not tried.
    pub forced: Vec<Forced>,
}

/// A part that an end is made to use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Forcing {
    /// The end, by place in [`Fit::ends`].
    pub end: usize,
    /// The half that the part is, or is on.
    pub half: Half,
    /// The part.
    pub part: PartId,
}

impl Forcing {
    /// What fits with the part forced; none where the part does not fit.
    fn fit(self, fit: &Fit) -> Option<Fit> {
        fit::force(fit, self.end, self.half, self.part)
    }
}

/// What a forced part comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Forced {
    /// There is a plan with the part.
    Costs {
        /// The terms of that plan's total.
        cost: Cost,
        /// What the part adds to the plan's total; below zero only where that total
        /// was not proven.
        extra: Money,
        /// True if both totals are proven.
        proven: bool,
        /// Why the plan comes first all the same, where the part adds nothing.
        tie: Option<Tie>,
    },
    /// No plan has the part; the conflict says why, where it was found in time.
    NoPlan(Option<Box<Conflict>>),
    /// The time ran out before any plan was found.
    Unknown,
}

/// Why a plan with the part comes behind an equally cheap plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tie {
    /// The plan has so many variants more.
    Variants(usize),
    /// Nets have so many keys more beyond one of each interface.
    Keys(usize),
    /// The plan has so much more money in surplus.
    Surplus(Money),
    /// Only the order of part codes tells the plans apart.
    Codes,
}

/// The plan's set of an end, place by place: receptacle and what is on it, then
/// the plug. None where the plan is not of this project.
pub fn places(planned: &Planned<'_>, end: usize) -> Option<Vec<Place>> {
    let Planned { input, fit, .. } = planned;
    let solution = recall::solution(input, fit, planned.plan)?;
    let set = solution.sets.get(end)?;
    let class = fit.classes.iter().find(|class| class.ends.contains(&end))?;
    let mut places = Vec::new();
    let receptacle = set
        .receptacle
        .map(|id| (Half::Receptacle, id, &class.receptacles));
    let plug = (Half::Plug, set.plug, &class.plugs);
    for (half, chosen, choices) in receptacle.into_iter().chain([plug]) {
        let body = choices.iter().find(|choice| choice.body == chosen)?;
        // A body stands once for each way in which it mates.
        let others: BTreeSet<PartId> = choices.iter().map(|choice| choice.body).collect();
        places.push(place(
            planned,
            half,
            half.into(),
            chosen,
            others.into_iter(),
        ));
        for (kind, fitted, options) in fittings(class, set, half, body) {
            places.push(place(planned, half, kind, fitted, options.into_iter()));
        }
    }
    Some(places)
}

/// What is fitted on a body, with all that could be fitted there.
fn fittings(
    class: &fit::Class,
    set: &Set,
    half: Half,
    body: &Choice,
) -> Vec<(Kind, PartId, Vec<PartId>)> {
    let slots = body.slots.iter().filter_map(|&s| class.slots.get(s));
    slots
        .filter_map(|slot| {
            let is_here = |f: &&model::Fitted| f.half == half && f.fitting == slot.fitting;
            let fitted = set.fittings.iter().find(is_here)?;
            let options = slot.options.iter().map(|option| option.0).collect();
            Some((slot.fitting.into(), fitted.part, options))
        })
        .collect()
}

fn place(
    planned: &Planned<'_>,
    half: Half,
    kind: Kind,
    chosen: PartId,
    options: impl Iterator<Item = PartId>,
) -> Place {
    let mut others: Vec<PartId> = options.filter(|part| *part != chosen).collect();
    others.sort_by_key(|part| (lowest_price(planned, *part), *part));
    others.dedup();
    Place {
        half,
        kind,
        chosen,
        others,
        left_out: Vec::new(),
    }
}

/// The project with no part excluded, and what fits then. None where no part is excluded.
pub fn with_all_parts(input: &Input) -> Option<(Input, Fit)> {
    let mut all = input.clone();
    let machines = all.machines.iter_mut().map(|of| &mut of.settings);
    let mut settings: Vec<_> = machines.chain([&mut all.settings]).collect();
    if settings.iter().all(|of| of.exclude_parts.is_empty()) {
        return None;
    }
    settings.iter_mut().for_each(|of| of.exclude_parts.clear());
    let fit = fit::fit(&all).ok()?;
    Some((all, fit))
}

/// Parts that would fit in a place of an end, if they were not excluded.
pub fn left_out(
    planned: &Planned<'_>,
    (all, fit): &(Input, Fit),
    end: usize,
    place: &Place,
) -> Vec<LeftOut> {
    let wide = Planned {
        input: all,
        fit,
        plan: planned.plan,
    };
    let machine = planned.fit.ends.get(end).map_or(0, |end| end.machine);
    let here = places(&wide, end).into_iter().flatten();
    let here =
        here.filter(|of| (of.half, of.kind, of.chosen) == (place.half, place.kind, place.chosen));
    let excluded = |part: PartId| {
        let code = &planned.input.catalog.part(part).code;
        let row = planned.input.excluded_at(machine, code)?.clone();
        Some(LeftOut { part, row })
    };
    here.flat_map(|of| of.others).filter_map(excluded).collect()
}

/// The lowest unit price of a part in the project's currency; none where the part
/// is on hand only.
fn lowest_price(planned: &Planned<'_>, part: PartId) -> Option<Money> {
    let Planned { input, fit, .. } = planned;
    let offers = input.catalog.offers_of(part);
    let usable = offers.filter(|(id, _)| fit.offers.binary_search(id).is_ok());
    let prices = usable.flat_map(|(_, offer)| {
        let currency = &input.catalog.supplier(offer.supplier).currency;
        let rate = input.settings.rate(currency).unwrap_or_default();
        offer.breaks.iter().map(move |step| step.unit_price * rate)
    });
    prices.min()
}

/// What the plan would cost with a part on a half of an end. Each search for such a
/// plan has the whole time of the limit.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an audit fails.
pub fn forced(planned: &Planned<'_>, with: Forcing, limit: &Limit) -> Result<Forced, Failure> {
    let Some(fit) = with.fit(planned.fit) else {
        return Ok(Forced::NoPlan(None));
    };
    let Answer { plan, solution, .. } = match search(planned, &fit, false, limit)? {
        Reply::Found(answer) => *answer,
        Reply::Infeasible => return Ok(Forced::NoPlan(None)),
        Reply::Unknown => return Ok(Forced::Unknown),
    };
    let extra = Money(plan.cost.total.0 - planned.plan.cost.total.0);
    let proven = is_proven(&plan) && is_proven(planned.plan);
    let tie = match extra == Money::ZERO && proven {
        true => Some(tie(planned, &fit, solution, limit)?),
        false => None,
    };
    Ok(Forced::Costs {
        cost: plan.cost,
        extra,
        proven,
        tie,
    })
}

/// Why no plan has the part there.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an audit fails.
pub fn conflict_with(
    planned: &Planned<'_>,
    with: Forcing,
    limit: &Limit,
) -> Result<Option<Conflict>, Failure> {
    let maker = |input: &Input| with.fit(&fit::fit(input).ok()?);
    conflict::find(planned.input, &maker, limit)
}

/// All rules that refuse a part at an end by itself; empty if it fits.
pub fn refusals(planned: &Planned<'_>, end: usize, part: PartId) -> Vec<Refusal> {
    match planned.fit.ends.get(end) {
        Some(end) => fit::refusals(planned.input, end, part),
        None => Vec::new(),
    }
}

fn is_proven(plan: &Plan) -> bool {
    plan.status == Status::Optimal
}

/// A plan for a fit, audited. The search starts from the project's plan as far as it fits.
fn search(planned: &Planned<'_>, fit: &Fit, ties: bool, limit: &Limit) -> Result<Reply, Failure> {
    let input = planned.input;
    let question = Question {
        starts: vec![Recalled::new(input, fit, Some(planned.plan)).start],
        ties,
        ..Question::default()
    };
    let recalled = Recalled::default();
    answer::planned(input, fit, &question, &recalled, &limit.again())
}

/// Compares the plan with the first of the equally cheap plans that have the part.
fn tie(
    planned: &Planned<'_>,
    fit: &Fit,
    solution: Solution,
    limit: &Limit,
) -> Result<Tie, Failure> {
    let input = planned.input;
    let solution = match search(planned, fit, true, limit)? {
        Reply::Found(answer) => answer.solution,
        Reply::Infeasible | Reply::Unknown => solution,
    };
    let theirs = model::worth(input, fit, &solution);
    let Some(ours) = recall::solution(input, planned.fit, planned.plan) else {
        return Ok(Tie::Codes);
    };
    let ours = model::worth(input, planned.fit, &ours);
    Ok(if theirs.variants > ours.variants {
        Tie::Variants(theirs.variants - ours.variants)
    } else if theirs.keys > ours.keys {
        Tie::Keys(theirs.keys - ours.keys)
    } else if theirs.surplus > ours.surplus {
        Tie::Surplus(Money(theirs.surplus.0 - ours.surplus.0))
    } else {
        Tie::Codes
    })
}
