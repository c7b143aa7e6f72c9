//! From a record back to the search's own terms, so that a search starts from
//! an earlier plan, or need not be made at all.

use super::offers::{self, Several, with_sku};
use super::reply::Answer;
use crate::audit::audit;
use crate::catalog::{Half, Offer, OfferId};
use crate::fit::{End, FITTINGS, Fit};
use crate::input::Input;
use crate::model::{Fitted, Given, Set, Solution, worth};
use crate::plan::{Bound, EndRecord, Order, OrderLine, Plan, Status};
use crate::units::Qty;
use rust_decimal::prelude::ToPrimitive;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Why a recorded plan can't be carried over.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Lost {
    /// The circuits have other ends now.
    #[error("the ends of the circuits are not those of the plan")]
    Ends,
    /// A part is not in the catalog any more.
    #[error("part {0} is not in the catalog any more")]
    Unknown(String),
    /// A part can't be had any more, or no longer fits where it was.
    #[error("part {0} cannot be had any more, or no longer fits")]
    Unfit(String),
    /// A line can't be bought as it stands.
    #[error("{qty} of part {} can no longer be bought from {supplier}", with_sku(.part, .sku.as_deref()))]
    Line {
        /// Supplier by name.
        supplier: String,
        /// Part code.
        part: String,
        /// The supplier's code, where there are several offers of the part.
        sku: Option<String>,
        /// Pieces.
        qty: Qty,
    },
    /// The lines can all be bought, but are no plan any more; the text says why.
    #[error("{0}")]
    NoPlan(String),
}

/// Which records stand for the cheapest plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trust {
    /// Any record: the question is about the plan that there is.
    Any,
    /// A proven plan, or the best as far as the time went. A plan within a gap that
    /// was asked for is not: such a plan may have been chosen for something else.
    Best,
    /// A proven plan.
    Proven,
}

/// What a record tells a search before it begins.
#[derive(Debug, Clone, Default)]
pub struct Recalled {
    /// The recorded set of each end, where there is one and its parts are still in
    /// the catalog.
    pub start: Given,
    /// The record as an answer, where the record is of the project as it is now and
    /// passes its audit.
    pub answer: Option<Answer>,
}

impl Recalled {
    /// What a record, if there is one, tells of this project.
    pub fn new(input: &Input, fit: &Fit, plan: Option<&Plan>) -> Self {
        let Some(plan) = plan else {
            return Self::default();
        };
        let of = |record| (name_of(record), record);
        let records: BTreeMap<Name, &EndRecord> = plan.ends.iter().map(of).collect();
        let known = |end: &End| set(input, records.get(&name(input, end))?).ok();
        Self {
            start: fit.ends.iter().map(known).collect(),
            answer: answer(input, fit, plan),
        }
    }

    /// The record as an answer, where that is good enough by `trust`.
    pub fn trusted(&self, trust: Trust) -> Option<&Answer> {
        let is_enough = |answer: &&Answer| match trust {
            Trust::Any => true,
            Trust::Best => answer.plan.status != Status::WithinGap,
            Trust::Proven => answer.is_proven(),
        };
        self.answer.as_ref().filter(is_enough)
    }

    /// No plan costs less than this bound; none where the record is of another project.
    pub fn bound(&self) -> Option<f64> {
        self.answer.as_ref().map(|answer| answer.bound.lower)
    }

    /// What was found, or the record where the record is better.
    pub fn or_found(
        &self,
        input: &Input,
        fit: &Fit,
        found: (Solution, Bound),
    ) -> (Solution, Bound) {
        let (solution, bound) = found;
        match &self.answer {
            Some(known)
                if bound.witnesses == 0
                    && worth(input, fit, &known.solution) < worth(input, fit, &solution) =>
            {
                (known.solution.clone(), bound)
            }
            _ => (solution, bound),
        }
    }
}

/// A record as an answer; none where it is not of the project as it is now.
fn answer(input: &Input, fit: &Fit, plan: &Plan) -> Option<Answer> {
    if !audit(input, plan).is_empty() {
        return None;
    }
    let bound = Bound {
        lower: plan.total_bound.0.to_f64()?,
        witnesses: plan.witnesses(),
        wanted_gap: None,
    };
    Some(Answer {
        solution: solution(input, fit, plan)?,
        plan: plan.clone(),
        bound,
    })
}

/// The sets and purchases of a record; none where it does not belong to this
/// project as it is now.
pub fn solution(input: &Input, fit: &Fit, plan: &Plan) -> Option<Solution> {
    let sets = sets(input, fit, plan).ok()?;
    let several = Several::known(&input.catalog, None, plan);
    let purchases = purchases(input, fit, &several, &plan.orders).ok()?;
    Some(Solution { sets, purchases })
}

/// The recorded set of every end, in the order of the fit.
///
/// # Errors
/// [`Lost`] if the ends are others now or a part is gone from the catalog.
pub fn sets(input: &Input, fit: &Fit, plan: &Plan) -> Result<Vec<Set>, Lost> {
    if fit.ends.len() != plan.ends.len() {
        return Err(Lost::Ends);
    }
    let ends = fit.ends.iter().zip(&plan.ends);
    ends.map(|(end, record)| match name(input, end) == name_of(record) {
        true => set(input, record),
        false => Err(Lost::Ends),
    })
    .collect()
}

/// What tells one end from all others.
type Name<'a> = (Cow<'a, str>, &'a str, &'a str);

fn name<'a>(input: &'a Input, end: &'a End) -> Name<'a> {
    let circuit = input.circuits.get(end.circuit);
    let circuit = circuit.map_or("", |circuit| circuit.name.as_str());
    (Cow::Borrowed(circuit), &end.net, end.side.word())
}

fn name_of(record: &EndRecord) -> Name<'_> {
    (record.circuit_name(), &record.net, &record.end)
}

fn set(input: &Input, record: &EndRecord) -> Result<Set, Lost> {
    let find = |code: &String| {
        let found = input.catalog.find(code);
        found.ok_or_else(|| Lost::Unknown(code.clone()))
    };
    let receptacle = record.receptacle.as_ref().map(find).transpose()?;
    let plug = find(&record.plug)?;
    let mut fittings = Vec::new();
    for fitting in &record.fittings {
        let part = find(&fitting.part)?;
        let half = [Half::Receptacle, Half::Plug];
        let half = half.into_iter().find(|h| h.word() == fitting.half);
        let kind = FITTINGS.into_iter().find(|f| f.word() == fitting.kind);
        let (Some(half), Some(kind)) = (half, kind) else {
            return Err(Lost::Unfit(fitting.part.clone()));
        };
        fittings.push(Fitted {
            half,
            fitting: kind,
            part,
            qty: fitting.qty,
        });
    }
    fittings.sort();
    Ok(Set {
        receptacle,
        plug,
        fittings,
    })
}

/// The recorded lines as purchases. `several` says which of them are one of several
/// offers; any other may have another sku by now.
///
/// # Errors
/// [`Lost`] for the first line that can't be bought as it stands.
pub fn purchases(
    input: &Input,
    fit: &Fit,
    several: &Several,
    orders: &[Order],
) -> Result<Vec<(OfferId, Qty)>, Lost> {
    let mut purchases = Vec::new();
    for order in orders {
        for line in &order.lines {
            let (supplier, part, sku) = (&order.supplier, &line.part, &line.sku);
            let offer = offers::offer_now(&input.catalog, several, supplier, part, sku);
            let bought = offer.and_then(|(id, offer)| Some((id, packs(fit, id, offer, line)?)));
            purchases.push(bought.ok_or_else(|| Lost::Line {
                supplier: order.supplier.clone(),
                part: line.part.clone(),
                sku: several.sku(part, supplier, sku),
                qty: line.qty,
            })?);
        }
    }
    purchases.sort();
    Ok(purchases)
}

/// How many packs of the offer the line takes; none where it can't be bought so.
fn packs(fit: &Fit, id: OfferId, offer: &Offer, line: &OrderLine) -> Option<Qty> {
    fit.offers.binary_search(&id).ok()?;
    let is_in_stock = offer.stock.is_none_or(|stock| line.qty <= stock);
    let is_whole = line.qty.is_multiple_of(offer.pack);
    offer.break_at(line.qty)?;
    (is_in_stock && is_whole).then(|| line.qty / offer.pack)
}
