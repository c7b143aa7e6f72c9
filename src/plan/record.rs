//! From a solver's answer to the record: counted and priced in exact decimals.

use super::count::{self, Count};
use super::proof::{self, Bound};
use super::{Cost, EndRecord, FittingRecord, PartRecord, Plan, SCHEMA, ordered, price};
use crate::catalog::Catalog;
use crate::fit::{End, Fit};
use crate::input::Input;
use crate::model::{Set, Solution};
use crate::units::{Currency, Money, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// Why a solver's answer makes no record. All but [`PlanError::TooLarge`] are
/// defects of the program: a checked input and a right model never lead there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// Not one set for each end.
    #[error("the answer has {sets} sets for {ends} ends")]
    Sets {
        /// In the answer.
        sets: usize,
        /// That need one.
        ends: usize,
    },
    /// Bought, but nothing uses it.
    #[error("the answer buys part {0}, which it does not fit")]
    NotFitted(String),
    /// Fewer pieces than the supplier sells.
    #[error("the answer buys {qty} of part {part} from {supplier}, below its least quantity")]
    BelowLeast {
        /// Part code.
        part: String,
        /// Supplier by name.
        supplier: String,
        /// Pieces.
        qty: Qty,
    },
    /// Fewer pieces than are needed.
    #[error("the answer has {have} of part {part}, but {need} are needed")]
    Short {
        /// Part code.
        part: String,
        /// Fitted and spare.
        need: Qty,
        /// On hand, ordered and bought.
        have: Qty,
    },
    /// A supplier's currency has no rate.
    #[error("currency {0} has no rate")]
    NoRate(Currency),
    /// A number beyond what exact decimals hold.
    #[error("{0} is too large to add up exactly")]
    TooLarge(&'static str),
}

/// Turns a solver's answer into the record: counts, prices and totals by the
/// rules of count and cost. Money is exact as far as 28 digits go.
pub fn record(
    input: &Input,
    fit: &Fit,
    solution: &Solution,
    bound: Bound,
) -> Result<Plan, PlanError> {
    if fit.ends.len() != solution.sets.len() {
        return Err(PlanError::Sets {
            sets: solution.sets.len(),
            ends: fit.ends.len(),
        });
    }
    let counts = count::count(input, fit, solution)?;
    let orders = price::orders(input, &solution.purchases)?;
    let cost = price::cost(input, &orders, &counts)?;
    let proof = proof::proof(cost.total, bound)?;
    Ok(Plan {
        schema: SCHEMA.to_owned(),
        project: input.settings.name.clone(),
        currency: input.settings.currency.clone(),
        as_of: input.as_of,
        prices: input.prices.instead.clone(),
        status: proof.status,
        total_bound: proof.bound,
        gap_percent: proof.gap_percent,
        proof: proof.witnesses,
        doubts: 0,
        cost,
        spent: ordered::spent(input)?,
        ends: ends(input, fit, solution),
        parts: parts(&input.catalog, &counts),
        orders,
        ordered: ordered::ordered(input, &counts)?,
        inputs: input.files.clone(),
    })
}

impl Plan {
    /// The same plan, chosen for something else than its total, held against
    /// the cheapest: whatever the gap is, it was asked for.
    ///
    /// # Errors
    /// [`PlanError::TooLarge`] if the gap is beyond exact decimals.
    pub fn beside(self, cheapest: &Plan) -> Result<Plan, PlanError> {
        let bound = Bound {
            lower: cheapest.total_bound.0.to_f64().unwrap_or(0.0),
            witnesses: match self.cost.total == cheapest.total_bound {
                true => cheapest.witnesses(),
                false => 0,
            },
            wanted_gap: Some(Decimal::ONE_HUNDRED),
        };
        let proof = proof::proof(self.cost.total, bound)?;
        Ok(Plan {
            status: proof.status,
            total_bound: proof.bound,
            gap_percent: proof.gap_percent,
            proof: proof.witnesses,
            ..self
        })
    }
}

fn ends(input: &Input, fit: &Fit, solution: &Solution) -> Vec<EndRecord> {
    fit.ends
        .iter()
        .zip(&solution.sets)
        .map(|(end, set)| end_record(input, end, set))
        .collect()
}

fn end_record(input: &Input, end: &End, set: &Set) -> EndRecord {
    let catalog = &input.catalog;
    let plug = catalog.part(set.plug);
    let (interface, key) = plug.body().map_or_else(Default::default, |body| {
        (body.interface.clone(), body.key.clone())
    });
    EndRecord {
        circuit: input.circuits[end.circuit].name.clone(),
        net: end.net.clone(),
        end: end.side.word().to_owned(),
        location: end.location.clone(),
        gauge: end.gauge.to_string(),
        plug: plug.code.clone(),
        receptacle: catalog.part(set.receptacle).code.clone(),
        key,
        interface,
        fittings: fittings(catalog, set),
    }
}

fn fittings(catalog: &Catalog, set: &Set) -> Vec<FittingRecord> {
    let mut fittings = set.fittings.clone();
    fittings.sort();
    fittings
        .iter()
        .map(|fitted| FittingRecord {
            half: fitted.half.word().to_owned(),
            kind: fitted.fitting.word().to_owned(),
            part: catalog.part(fitted.part).code.clone(),
            qty: fitted.qty,
        })
        .collect()
}

fn parts(catalog: &Catalog, counts: &[Count]) -> Vec<PartRecord> {
    counts
        .iter()
        .map(|count| {
            let part = catalog.part(count.part);
            PartRecord {
                part: part.code.clone(),
                kind: part.kind().word().to_owned(),
                fitted: count.fitted,
                spare: count.spare,
                on_hand_used: count.on_hand_used,
                ordered_used: count.ordered_used,
                bought: count.bought,
                surplus: count.surplus,
            }
        })
        .collect()
}

/// Product of two decimals, or that it is too large.
pub(super) fn product(a: Decimal, b: Decimal, what: &'static str) -> Result<Decimal, PlanError> {
    a.checked_mul(b).ok_or(PlanError::TooLarge(what))
}

/// Sum of amounts, or that it is too large.
pub(super) fn sum(
    amounts: impl IntoIterator<Item = Money>,
    what: &'static str,
) -> Result<Money, PlanError> {
    amounts
        .into_iter()
        .try_fold(Decimal::ZERO, |sum, amount| sum.checked_add(amount.0))
        .map(Money)
        .ok_or(PlanError::TooLarge(what))
}

impl Cost {
    /// The terms with their sum, and the tax on it.
    pub(super) fn new(terms: [Money; 5], tax_percent: Decimal) -> Result<Cost, PlanError> {
        let total = sum(terms, "the total")?;
        let tax = hundredths(total, tax_percent, "the tax")?;
        let [goods, duty, shipping, dies, lines] = terms;
        Ok(Cost {
            goods,
            duty,
            shipping,
            dies,
            lines,
            total,
            tax,
            total_with_tax: sum([total, tax], "the total with tax")?,
        })
    }
}

/// `percent` hundredths of an amount.
pub(super) fn hundredths(
    amount: Money,
    percent: Decimal,
    what: &'static str,
) -> Result<Money, PlanError> {
    product(amount.0, percent, what)?
        .checked_div(Decimal::ONE_HUNDRED)
        .map(Money)
        .ok_or(PlanError::TooLarge(what))
}
