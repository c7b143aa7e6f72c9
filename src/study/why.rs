//! Why an end has what it has: what each alternative would add to the total,
//! by a search with the alternative forced.

use super::answer::{self, Answer, Reply, StudyError};
use super::conflict::{self, Bounds, Conflict, Pulse};
use super::recall::{self, Recalled};
use crate::catalog::{Half, Kind, PartId};
use crate::fit::{self, Choice, Fit, Refusal};
use crate::input::Input;
use crate::model::{self, Progress, Set, Solution, SolveOptions};
use crate::plan::{Cost, Plan, Status};
use crate::solve::Stop;
use crate::units::Money;
use std::time::Duration;

/// A project with its plan, and how to search.
pub struct Context<'a> {
    /// The project.
    pub input: &'a Input,
    /// What fits it.
    pub fit: &'a Fit,
    /// Its plan, by this input.
    pub plan: &'a Plan,
    /// For each search.
    pub time_limit: Option<Duration>,
    /// For the solver.
    pub threads: u32,
    /// Set from elsewhere to end each search with what is known.
    pub stop: Option<Stop>,
}

/// One place of an end: a half, or a fitting on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The half that it is or is on.
    pub half: Half,
    /// What stands there.
    pub kind: Kind,
    /// The plan's choice.
    pub chosen: PartId,
    /// All other parts that some set has there with the same body (for a
    /// fitting) or with any mate (for a half); lowest unit price first.
    pub others: Vec<PartId>,
}

/// What a forced part comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Forced {
    /// A plan with it.
    Costs {
        /// Its terms.
        cost: Cost,
        /// What it adds to the plan's total; below zero only where that was
        /// not proven.
        extra: Money,
        /// True if both totals are proven.
        proven: bool,
        /// Where it adds nothing: why the plan comes first all the same.
        tie: Option<Tie>,
    },
    /// No plan has it; why, where that was found in time.
    NoPlan(Option<Box<Conflict>>),
    /// The time ran out before any plan was found.
    Unknown,
}

/// Where in the order of equally cheap plans one with the part falls behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tie {
    /// So many variants more.
    Variants(usize),
    /// Nets have so many keys more beyond one of each interface.
    Keys(usize),
    /// So much more money in surplus.
    Surplus(Money),
    /// In nothing but the order of part codes.
    Codes,
}

/// The plan's set of an end, place by place: receptacle and what is on it, then
/// the plug. None where the plan is not of this project.
pub fn places(context: &Context<'_>, end: usize) -> Option<Vec<Place>> {
    let Context { input, fit, .. } = context;
    let solution = recall::solution(input, fit, context.plan)?;
    let set = solution.sets.get(end)?;
    let class = fit.classes.iter().find(|class| class.ends.contains(&end))?;
    let mut places = Vec::new();
    for (half, chosen, choices) in [
        (Half::Receptacle, set.receptacle, &class.receptacles),
        (Half::Plug, set.plug, &class.plugs),
    ] {
        let body = choices.iter().find(|choice| choice.body == chosen)?;
        let others = choices.iter().map(|choice| choice.body);
        places.push(place(context, (half, half.into()), chosen, others));
        for (kind, fitted, options) in fittings(class, set, half, body) {
            places.push(place(context, (half, kind), fitted, options.into_iter()));
        }
    }
    Some(places)
}

/// What is fitted on a body, with all that could be.
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
    context: &Context<'_>,
    (half, kind): (Half, Kind),
    chosen: PartId,
    options: impl Iterator<Item = PartId>,
) -> Place {
    let mut others: Vec<PartId> = options.filter(|part| *part != chosen).collect();
    others.sort_by_key(|part| (lowest_price(context, *part), *part));
    others.dedup();
    Place {
        half,
        kind,
        chosen,
        others,
    }
}

/// The lowest unit price of a part in the project's currency; none where it is
/// on hand only.
fn lowest_price(context: &Context<'_>, part: PartId) -> Option<Money> {
    let Context { input, fit, .. } = context;
    let offers = input.catalog.offers_of(part);
    let usable = offers.filter(|(id, _)| fit.offers.binary_search(id).is_ok());
    let prices = usable.flat_map(|(_, offer)| {
        let currency = &input.catalog.supplier(offer.supplier).currency;
        let rate = input.settings.rate(currency).unwrap_or_default();
        offer.breaks.iter().map(move |step| step.unit_price * rate)
    });
    prices.min()
}

/// What the plan would cost with a part on a half of an end.
///
/// # Errors
/// [`StudyError`] if the solver breaks off or an audit fails.
pub fn forced(
    context: &Context<'_>,
    (end, half, part): (usize, Half, PartId),
    report: &mut dyn FnMut(Progress),
) -> Result<Forced, StudyError> {
    let Some(fit) = fit::force(context.fit, end, half, part) else {
        return Ok(Forced::NoPlan(None));
    };
    let Answer { plan, solution, .. } = match search(context, &fit, false, report)? {
        Reply::Found(answer) => *answer,
        Reply::Infeasible => return Ok(Forced::NoPlan(None)),
        Reply::Unknown => return Ok(Forced::Unknown),
    };
    let extra = Money(plan.cost.total.0 - context.plan.cost.total.0);
    let proven = is_proven(&plan) && is_proven(context.plan);
    let tie = match extra == Money::ZERO && proven {
        true => Some(tie(context, &fit, solution, report)?),
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
/// [`StudyError`] if the solver breaks off or an audit fails.
pub fn conflict_with(
    context: &Context<'_>,
    (end, half, part): (usize, Half, PartId),
    time: Duration,
    report: &mut dyn FnMut(Pulse),
) -> Result<Option<Conflict>, StudyError> {
    let maker = |input: &Input| fit::force(&fit::fit(input).ok()?, end, half, part);
    let bounds = Bounds {
        time,
        threads: context.threads,
        stop: context.stop.clone(),
    };
    conflict::find(context.input, &maker, bounds, report)
}

/// All rules that refuse a part at an end by itself; empty if it fits.
pub fn refusals(context: &Context<'_>, end: usize, part: PartId) -> Vec<Refusal> {
    match context.fit.ends.get(end) {
        Some(end) => fit::refusals(context.input, end, part),
        None => Vec::new(),
    }
}

fn is_proven(plan: &Plan) -> bool {
    plan.status == Status::Optimal
}

/// A plan for a fit, audited; from a start if that is one of its own.
fn search(
    context: &Context<'_>,
    fit: &Fit,
    ties: bool,
    report: &mut dyn FnMut(Progress),
) -> Result<Reply, StudyError> {
    let input = context.input;
    let options = SolveOptions {
        time_limit: context.time_limit,
        threads: context.threads,
        starts: vec![Recalled::new(input, fit, Some(context.plan)).start],
        ties,
        stop: context.stop.clone(),
        ..SolveOptions::default()
    };
    answer::planned(input, fit, (&options, &Recalled::default()), report)
}

/// Compares the first of the equally cheap plans with the part to the plan.
fn tie(
    context: &Context<'_>,
    fit: &Fit,
    solution: Solution,
    report: &mut dyn FnMut(Progress),
) -> Result<Tie, StudyError> {
    let input = context.input;
    let solution = match search(context, fit, true, report)? {
        Reply::Found(answer) => answer.solution,
        Reply::Infeasible | Reply::Unknown => solution,
    };
    let theirs = model::worth(input, fit, &solution);
    let Some(ours) = recall::solution(input, context.fit, context.plan) else {
        return Ok(Tie::Codes);
    };
    let ours = model::worth(input, context.fit, &ours);
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
