//! From a solver's answer to the record: counted and priced in exact decimals.

use super::count::{self, Count};
use super::error::PlanError;
use super::form::{EndRecord, FittingRecord, MachineRecord, PartRecord, Plan, SCHEMA};
use super::proof::{self, Bound};
use super::{ordered, price};
use crate::catalog::Catalog;
use crate::fit::{End, Fit};
use crate::input::Input;
use crate::model::{Set, Solution};
use crate::project::Machine;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// Turns a solver's answer into the record: counts, prices and totals by the
/// rules of count and cost. Money is exact as far as 28 digits go.
///
/// # Errors
/// [`PlanError`] if the answer makes no record.
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
        machines: input.machines.iter().map(machine_record).collect(),
        ends: ends(input, fit, solution),
        parts: parts(&input.catalog, &counts),
        orders,
        ordered: ordered::ordered(input, &counts)?,
        inputs: input.files.clone(),
    })
}

impl Plan {
    /// The same plan, held against the cheapest: it was chosen for something else
    /// than its total, so whatever the gap is, the gap was asked for.
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

fn machine_record(machine: &Machine) -> MachineRecord {
    MachineRecord {
        machine: machine.name.clone(),
        project: machine.project.clone(),
        count: machine.count,
    }
}

fn end_record(input: &Input, end: &End, set: &Set) -> EndRecord {
    let catalog = &input.catalog;
    let plug = catalog.part(set.plug);
    let (interface, key) = plug.body().map_or_else(Default::default, |body| {
        (body.interface.clone(), body.key.clone())
    });
    let machine = input.machines.get(end.machine);
    let circuit = &input.circuits[end.circuit];
    EndRecord {
        machine: machine.map_or_else(String::new, |machine| machine.name.clone()),
        circuit: circuit.own_name(&input.machines).to_owned(),
        net: end.net.clone(),
        end: end.side.word().to_owned(),
        location: end.location.clone(),
        gauge: end.gauge.to_string(),
        plug: plug.code.clone(),
        receptacle: set.receptacle.map(|id| catalog.part(id).code.clone()),
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
