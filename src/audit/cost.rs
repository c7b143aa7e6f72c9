//! The terms of the total, the total, and how far it is proven.

use super::count::Fitted;
use super::finding::{Finding, differs};
use super::orders::Bill;
use crate::catalog::Spec;
use crate::input::Input;
use crate::plan::{Plan, Status};
use crate::units::{Currency, Money};
use rust_decimal::Decimal;
use std::collections::BTreeSet;

/// Checks the cost, and status, bound and gap against the cost.
pub(super) fn check(
    input: &Input,
    plan: &Plan,
    fitted: &Fitted,
    bills: Option<Vec<Bill>>,
    found: &mut Vec<Finding>,
) {
    proof(plan, found);
    // Where an order has no price, a finding tells of it.
    let Some(bills) = bills else { return };
    let mut rated = Vec::new();
    for bill in &bills {
        match rate(input, &bill.supplier.currency) {
            Some(rate) => rated.push((bill, rate)),
            None => found.push(Finding::NoRate(bill.supplier.currency.to_string())),
        }
    }
    if rated.len() < bills.len() {
        return;
    }
    match terms(input, fitted, &rated) {
        Some(terms) => compare(plan, &terms, found),
        None => found.push(Finding::TooLarge("the total".to_owned())),
    }
}

/// One unit of a currency in the project's.
fn rate(input: &Input, currency: &Currency) -> Option<Decimal> {
    if currency == &input.settings.currency {
        return Some(Decimal::ONE);
    }
    input.settings.rates.get(currency).copied()
}

/// Each field of the cost with what it should be; none where a field is too
/// large.
fn terms(
    input: &Input,
    fitted: &Fitted,
    rated: &[(&Bill, Decimal)],
) -> Option<Vec<(&'static str, Decimal)>> {
    let goods = converted(rated, |bill| bill.goods)?;
    let duty = converted(rated, |bill| bill.duty)?;
    let shipping = converted(rated, |bill| bill.shipping)?;
    let dies = dies(input, fitted)?;
    let variants = Decimal::from(fitted.len());
    let lines = input.settings.line_cost.0.checked_mul(variants)?;
    let mut total = Decimal::ZERO;
    for term in [goods, duty, shipping, dies, lines] {
        total = total.checked_add(term)?;
    }
    let tax = total
        .checked_mul(input.settings.tax_percent.0)?
        .checked_div(Decimal::ONE_HUNDRED)?;
    Some(vec![
        ("goods", goods),
        ("duty", duty),
        ("shipping", shipping),
        ("dies", dies),
        ("lines", lines),
        ("total", total),
        ("tax", tax),
        ("total_with_tax", total.checked_add(tax)?),
    ])
}

fn converted(rated: &[(&Bill, Decimal)], amount: impl Fn(&Bill) -> Decimal) -> Option<Decimal> {
    rated.iter().try_fold(Decimal::ZERO, |sum, (bill, rate)| {
        sum.checked_add(amount(bill).checked_mul(*rate)?)
    })
}

/// Dies that fitted ferrules name and that are neither owned nor ordered, each once.
fn dies(input: &Input, fitted: &Fitted) -> Option<Decimal> {
    let mut dies = BTreeSet::new();
    for part in fitted.keys() {
        if let Spec::Ferrule(ferrule) = &input.catalog.part(*part).spec {
            dies.extend(ferrule.die);
        }
    }
    let mut cost = Decimal::ZERO;
    for row in &input.dies_ordered {
        dies.remove(&row.die);
    }
    for die in dies {
        let die = input.catalog.die(die);
        if !die.owned {
            cost = cost.checked_add(die.cost.0)?;
        }
    }
    Some(cost)
}

fn compare(plan: &Plan, terms: &[(&'static str, Decimal)], found: &mut Vec<Finding>) {
    let cost = &plan.cost;
    let recorded = [
        cost.goods,
        cost.duty,
        cost.shipping,
        cost.dies,
        cost.lines,
        cost.total,
        cost.tax,
        cost.total_with_tax,
    ];
    for ((field, want), amount) in terms.iter().zip(recorded) {
        let fact = differs("the cost", field, amount, Money(*want));
        found.extend(fact.map(Finding::Cost));
    }
}

/// Status, bound and gap agree with each other and with the total, which is
/// checked on its own.
pub(super) fn proof(plan: &Plan, found: &mut Vec<Finding>) {
    const OF: &str = "the proof";
    let (total, bound) = (plan.cost.total, plan.total_bound);
    let bound_holds = match plan.status {
        Status::Optimal => bound == total,
        Status::WithinGap | Status::TimeLimit => Money::ZERO <= bound && bound <= total,
    };
    if !bound_holds {
        let want = match plan.status {
            Status::Optimal => total.to_string(),
            _ => format!("between 0 and {total}"),
        };
        let fact = differs(OF, "total_bound", bound, want);
        found.extend(fact.map(Finding::Proof));
        return;
    }
    let proof_is_right = match plan.status {
        Status::Optimal => matches!(plan.proof, None | Some(1 | 2)),
        Status::WithinGap | Status::TimeLimit => plan.proof.is_none(),
    };
    if !proof_is_right {
        let said = |proof: Option<u8>| proof.map_or_else(|| "null".to_owned(), |n| n.to_string());
        let want = match plan.status {
            Status::Optimal => "1 or 2",
            _ => "null",
        };
        let fact = differs(OF, "proof", said(plan.proof), want);
        found.extend(fact.map(Finding::Proof));
    }
    let gap = plan.gap_percent;
    if gap_is_right(total.0, bound.0, gap) != Some(true) {
        let want = "(total - total_bound) / total in percent, rounded up to four decimals";
        let fact = differs(OF, "gap_percent", gap, want);
        found.extend(fact.map(Finding::Proof));
    }
}

/// Gap × total reaches 100 × (total − bound), and the next smaller gap of four
/// decimals does not. None where a number is too large.
fn gap_is_right(total: Decimal, bound: Decimal, gap: Decimal) -> Option<bool> {
    let missing = total
        .checked_sub(bound)?
        .checked_mul(Decimal::ONE_HUNDRED)?;
    if missing.is_zero() {
        return Some(gap.is_zero());
    }
    let step = Decimal::new(1, 4);
    let reaches = gap.checked_mul(total)? >= missing;
    let smaller = gap.checked_sub(step)?.checked_mul(total)? >= missing;
    Some(gap.normalize().scale() <= 4 && reaches && !smaller)
}
