//! What of a list is legal and looks wrong: prices that jump, and a list that is older than
//! one that was taken.

use super::offers::Offered;
use crate::catalog::{Catalog, Offer};
use crate::diag::{Diagnostic, Findings};
use crate::lists::recipe::Recipe;
use crate::units::{Currency, Money};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::sync::Arc;

/// A price so many times as high, or as low, looks wrong. A measure of our own.
const JUMP: u32 = 5;

/// At most so many prices are told one by one.
const MOST: usize = 5;

/// A price beside the one of the price list.
struct Jump<'o> {
    offer: &'o Offered,
    row: u64,
    before: Money,
    after: Money,
}

/// Warnings of prices that are five times as high or as low as they are now, or more. `page`
/// is the list with its sheet.
pub fn jumps(
    offers: &[Offered],
    catalog: &Catalog,
    recipe: &Recipe,
    (page, currency): (&Arc<str>, &Currency),
) -> Findings {
    let all = offers.iter().filter_map(|new| {
        let old = catalog.offer(new.origin.old?);
        jump(new, old)
    });
    let all: Vec<Jump> = all.collect();
    let mut findings = Findings::default();
    for one in all.iter().take(MOST) {
        let code = &catalog.part(one.offer.part).code;
        let article = match one.offer.sku.as_str() {
            "" => code.clone(),
            sku => format!("{sku} ({code})"),
        };
        let (before, after) = (one.before, one.after);
        let message =
            format!("article {article} costs {after} {currency}, and {before} {currency} so far");
        let warning = Diagnostic::warning(page, message).line(one.row);
        findings.push(warning.help(question(one, recipe)));
    }
    let more = all.len().saturating_sub(MOST);
    if more > 0 {
        let verb = if more == 1 {
            "article costs"
        } else {
            "articles cost"
        };
        let message =
            format!("{more} more {verb} {JUMP} times as much or as little as so far, or more");
        findings.push(Diagnostic::warning(page, message).help("look the recipe over"));
    }
    findings
}

/// The first price of an offer that jumps: at a quantity that both have, else at the least.
fn jump<'o>(new: &'o Offered, old: &Offer) -> Option<Jump<'o>> {
    let steps = &new.terms.steps;
    let same = steps.iter().filter_map(|step| {
        let was = old.breaks.iter().find(|b| b.min_qty == step.min_qty)?;
        Some((step, was))
    });
    let mut pairs: Vec<_> = same.collect();
    if pairs.is_empty() {
        pairs.extend(steps.first().zip(old.breaks.first()));
    }
    let jumps = |(before, after): (Money, Money)| times(before, after) >= Decimal::from(JUMP);
    let (step, was) =
        (pairs.into_iter()).find(|(step, was)| jumps((was.unit_price, step.price)))?;
    Some(Jump {
        offer: new,
        row: step.row,
        before: was.unit_price,
        after: step.price,
    })
}

/// How many times as high the higher one is; nothing where one of them is nothing.
fn times(one: Money, other: Money) -> Decimal {
    let (low, high) = (one.0.min(other.0), one.0.max(other.0));
    high.checked_div(low).unwrap_or_default()
}

/// What to look at, by how far the price jumps.
fn question(jump: &Jump, recipe: &Recipe) -> String {
    let times = times(jump.before, jump.after);
    let is_near = |pieces: u32| {
        let pieces = Decimal::from(pieces);
        times * Decimal::TWO >= pieces && times <= pieces * Decimal::TWO
    };
    let (word, pieces) = match (is_near(100), is_near(1_000)) {
        (true, _) => ("hundred", 100),
        (_, true) => ("thousand", 1_000),
        _ => return "look whether the price is that of a pack, or ask the supplier".to_owned(),
    };
    match jump.after > jump.before {
        true => format!(
            "is the price per {word}? then write per = {pieces} under [price] of {}",
            recipe.file
        ),
        false => format!(
            "is the price per {word} so far, or is per under [price] of {} too large?",
            recipe.file
        ),
    }
}

/// A warning where the list is older than the newest one that was taken of the supplier.
pub fn older(list: Date, newest: Option<Date>, file: &Arc<str>) -> Option<Diagnostic> {
    let newest = newest.filter(|newest| list < *newest)?;
    let message = format!(
        "the list is of {list}, but the price list has prices of this supplier of {newest} already"
    );
    let help = "take the newer list after it, or leave this one";
    Some(Diagnostic::warning(file, message).help(help))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_times_either_way() {
        let money = |text: &str| Money(text.parse().unwrap());
        let is = |one, other| times(money(one), money(other)) >= Decimal::from(JUMP);
        assert!(is("1", "5") && is("5", "1") && is("0.000001", "1"));
        assert!(!is("1", "4.999999") && !is("4.999999", "1") && !is("0", "1"));
    }
}
