//! From a record back to the search's own terms, so that a search can start
//! from an earlier plan.

use crate::catalog::{Fitting, Half, Kind, OfferId};
use crate::fit::Fit;
use crate::input::Input;
use crate::model::{Fitted, Set, Solution};
use crate::plan::{EndRecord, FittingRecord, Order, Plan};
use crate::units::Qty;

/// The sets and purchases of a record; none where it does not belong to this
/// project as it is now.
pub fn solution(input: &Input, fit: &Fit, plan: &Plan) -> Option<Solution> {
    if fit.ends.len() != plan.ends.len() {
        return None;
    }
    let sets = fit
        .ends
        .iter()
        .zip(&plan.ends)
        .map(|(end, record)| {
            let circuit = input.circuits.get(end.circuit)?;
            let same = (&circuit.name, end.net.as_str(), end.side.word())
                == (&record.circuit, record.net.as_str(), record.end.as_str());
            same.then(|| set(input, record))?
        })
        .collect::<Option<_>>()?;
    let mut purchases: Vec<(OfferId, Qty)> = plan
        .orders
        .iter()
        .flat_map(|order| order.lines.iter().map(move |line| (order, line)))
        .map(|(order, line)| Some((offer(input, order, &line.part)?, line.packs)))
        .collect::<Option<_>>()?;
    purchases.sort();
    Some(Solution { sets, purchases })
}

fn set(input: &Input, record: &EndRecord) -> Option<Set> {
    Some(Set {
        receptacle: input.catalog.find(&record.receptacle)?,
        plug: input.catalog.find(&record.plug)?,
        fittings: record
            .fittings
            .iter()
            .map(|f| fitted(input, f))
            .collect::<Option<_>>()?,
    })
}

fn fitted(input: &Input, record: &FittingRecord) -> Option<Fitted> {
    Some(Fitted {
        half: match Kind::from_word(&record.half)? {
            Kind::Receptacle => Half::Receptacle,
            Kind::Plug => Half::Plug,
            Kind::Ferrule | Kind::Seal | Kind::BackShell => return None,
        },
        fitting: match Kind::from_word(&record.kind)? {
            Kind::Ferrule => Fitting::Ferrule,
            Kind::Seal => Fitting::Seal,
            Kind::BackShell => Fitting::BackShell,
            Kind::Plug | Kind::Receptacle => return None,
        },
        part: input.catalog.find(&record.part)?,
        qty: record.qty,
    })
}

fn offer(input: &Input, order: &Order, part: &str) -> Option<OfferId> {
    let part = input.catalog.find(part)?;
    let supplier = input.catalog.find_supplier(&order.supplier)?;
    let mut offers = input.catalog.offers_of(part);
    offers
        .find(|(_, offer)| offer.supplier == supplier)
        .map(|(id, _)| id)
}
