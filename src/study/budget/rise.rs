//! The total when prices rise: with the order kept, and planned again.

use crate::catalog::{Kind, SupplierId};
use crate::fit::fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::plan::{Bound, Plan};
use crate::study::answer::{self, Answer, Reply};
use crate::study::failure::Failure;
use crate::units::{Money, Percent};

/// Which prices rise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiseOf {
    /// All prices.
    All,
    /// The prices of a supplier.
    Supplier(SupplierId),
    /// The prices of a kind of part.
    Kind(Kind),
}

/// Which unit prices rise by how much; shipping and thresholds stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rise {
    /// By so many percent.
    pub percent: Percent,
    /// Which prices rise.
    pub of: RiseOf,
}

/// What the rise does.
#[derive(Debug, Clone)]
pub struct Rising {
    /// What rises.
    pub rise: Rise,
    /// The total with the order kept as it is.
    pub kept: Money,
    /// The plan that is cheapest then; none where the search was stopped first.
    pub again: Option<Plan>,
    /// Parts that leave when planning again, by code.
    pub parts_out: Vec<String>,
    /// Parts that come in.
    pub parts_in: Vec<String>,
}

/// Prices the order as it is and plans again at the risen prices.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an answer is wrong.
pub fn rise(input: &Input, now: &Answer, rise: Rise, limit: &Limit) -> Result<Rising, Failure> {
    let risen = risen(input, rise);
    let fit = fit(&risen)?;
    let bound = Bound {
        lower: 0.0,
        witnesses: 0,
        wanted_gap: None,
    };
    // Prices only rise, so least orders still hold.
    let kept = answer::answer(&risen, &fit, now.solution.clone(), bound)?;
    let again = match answer::solve(&risen, &fit, limit, &[&now.solution], true)? {
        Reply::Found(answer) => Some(answer.plan),
        Reply::Infeasible | Reply::Unknown => None,
    };
    let (parts_out, parts_in) = match &again {
        Some(plan) => answer::exchanged(&now.plan, plan),
        None => Default::default(),
    };
    Ok(Rising {
        rise,
        kept: kept.total(),
        again,
        parts_out,
        parts_in,
    })
}

fn risen(input: &Input, rise: Rise) -> Input {
    let mut input = input.clone();
    let catalog = &mut input.catalog;
    let kinds: Vec<Kind> = catalog.parts.iter().map(|part| part.kind()).collect();
    for offer in &mut catalog.offers {
        let rises = match rise.of {
            RiseOf::All => true,
            RiseOf::Supplier(id) => offer.supplier == id,
            RiseOf::Kind(kind) => kinds.get(offer.part.0 as usize) == Some(&kind),
        };
        for step in offer.breaks.iter_mut().filter(|_| rises) {
            step.unit_price = step.unit_price + step.unit_price.percent(rise.percent.0);
        }
    }
    input
}
