//! A plan at other prices for a reader: totals and effects, what changes in the
//! order, what became of the old lines.

use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::plan::Status;
use crate::study::changes::{Change, Kind, Line};
use crate::study::reprice::{Keep, Repriced};
use crate::study::shifts::{Shift, What};
use crate::units::Money;
use rust_decimal::Decimal;

/// Everything that is to be known.
pub fn text(repriced: &Repriced, width: usize) -> String {
    let mut sections = vec![wrapped(&verdict(repriced), width, "", "  ") + "\n"];
    sections.push(totals(repriced, width));
    sections.extend(unproven(repriced, width));
    sections.extend(lost(repriced, width));
    sections.push(order(&repriced.changes, width));
    if !repriced.shifts.is_empty() {
        let lines = repriced.shifts.iter().map(shift);
        let lines = lines.map(|line| wrapped(&line, width, "- ", "  ") + "\n");
        sections.push(format!("What changed\n{}", lines.collect::<String>()));
    }
    sections.join("\n")
}

/// What is kept, in words.
pub fn kept_words(keep: Keep) -> &'static str {
    match keep {
        Keep::Lines => "the order lines",
        Keep::Parts => "the fitted parts",
        Keep::Nothing => "nothing",
    }
}

fn verdict(repriced: &Repriced) -> String {
    let changed = repriced
        .changes
        .iter()
        .filter(|c| c.kind != Kind::Unchanged);
    let changes = match changed.count() {
        0 => "no order line changes".to_owned(),
        1 => "1 order line changes".to_owned(),
        n => format!("{} change", counted(n as u64, "order line")),
    };
    let kept = match repriced.keep {
        Keep::Lines => "the order lines are kept",
        Keep::Parts => "the fitted parts are kept and bought anew",
        Keep::Nothing => "everything is planned anew",
    };
    format!("{kept}: {changes}")
}

/// The totals to the cent, each with what it differs by from the one above.
fn totals(repriced: &Repriced, width: usize) -> String {
    let totals = repriced.totals.cents();
    let effects = totals.effects();
    let mut table = Table::new(&[
        Column::text("total"),
        Column::number("amount"),
        Column::text("effect"),
        Column::number("difference"),
    ]);
    let amount = |money: Option<Money>| {
        money.map_or_else(|| "not available".to_owned(), |money| money.to_string())
    };
    let mut row = |name: &str, total: String, effect: &str, difference: String| {
        table.row(vec![name.to_owned(), total, effect.to_owned(), difference]);
    };
    let difference = |money: Option<Money>| money.map_or_else(|| amount(None), signed);
    // Where only their sum is known, that is shown.
    let (buying, bought) = match effects.buying {
        None => ("price and buying", effects.price_and_buying),
        known => ("buying", known),
    };
    let lines = "same lines at the new prices";
    let shown = [
        (lines, totals.lines, "price", effects.price),
        ("same parts bought anew", totals.parts, buying, bought),
        (
            "everything planned anew",
            Some(totals.anew),
            "choice",
            effects.choice,
        ),
    ];
    row(
        "as recorded",
        amount(Some(totals.recorded)),
        "",
        String::new(),
    );
    for (name, total, effect, money) in shown {
        row(name, amount(total), effect, difference(money));
    }
    row("", String::new(), "all together", signed(effects.together));
    format!("Totals in {}\n{}", repriced.currency, table.text(width))
}

/// With its sign: `+3.20`, `-1.00`, `0.00`.
fn signed(money: Money) -> String {
    let plus = if money.is_positive() { "+" } else { "" };
    format!("{plus}{money}")
}

/// That a longer search may be a reason too.
fn unproven(repriced: &Repriced, width: usize) -> Option<String> {
    let saves = repriced
        .effects
        .choice
        .is_some_and(|m| m.0.is_sign_negative());
    let is_reason = saves && repriced.recorded != Status::Optimal;
    let text = "the recorded plan was not proven cheapest: other parts may be cheaper for a \
                better search alone, whatever the prices";
    is_reason.then(|| wrapped(text, width, "", "  ") + "\n")
}

fn lost(repriced: &Repriced, width: usize) -> Option<String> {
    let mut lines = String::new();
    let reasons = [
        ("the same lines", &repriced.lines_lost),
        ("the same parts", &repriced.parts_lost),
    ];
    for (what, reason) in reasons {
        if let Some(reason) = reason {
            let text = format!("{what} are not available: {reason}");
            lines.push_str(&wrapped(&text, width, "", "  "));
            lines.push('\n');
        }
    }
    (!lines.is_empty()).then_some(lines)
}

/// What changes in the order; how many lines do not is said below.
fn order(all: &[Change], width: usize) -> String {
    let changed: Vec<Change> = all
        .iter()
        .filter(|change| change.kind != Kind::Unchanged)
        .cloned()
        .collect();
    let same = (all.len() - changed.len()) as u64;
    if changed.is_empty() {
        return format!("No change of the order ({})\n", counted(same, "line"));
    }
    format!(
        "Changes of the order\n{}{} unchanged\n",
        changes(&changed).text(width),
        counted(same, "line")
    )
}

/// The changes as a table: `change, part, supplier, qty, unit_price, new_part,
/// new_supplier, new_qty, new_unit_price, percent`; what does not change is blank
/// on the new side.
pub fn changes(changes: &[Change]) -> Table {
    let mut table = Table::new(&[
        Column::text("change").at_least(8),
        Column::text("part"),
        Column::text("supplier").detail(1),
        Column::number("qty"),
        Column::number("unit_price"),
        Column::text("new_part"),
        Column::text("new_supplier"),
        Column::number("new_qty"),
        Column::number("new_unit_price"),
        Column::number("percent").detail(2),
    ]);
    for change in changes {
        let (before, after) = (change.before.as_ref(), change.after.as_ref());
        let of = |line: Option<&Line>, text: fn(&Line) -> String| line.map(text);
        let fields: [fn(&Line) -> String; 4] = [
            |line| line.part.clone(),
            |line| plain(&line.supplier),
            |line| line.qty.to_string(),
            |line| line.unit_price.to_string(),
        ];
        let old = fields.map(|field| of(before, field));
        let new = fields.map(|field| of(after, field));
        let blank_if_same = new.iter().zip(&old).map(|(new, old)| match new {
            Some(new) if Some(new) != old.as_ref() => new.clone(),
            _ => String::new(),
        });
        let mut row = vec![change.kind.word().to_owned()];
        row.extend(old.iter().map(|cell| cell.clone().unwrap_or_default()));
        row.extend(blank_if_same);
        row.push(percent(before, after));
        table.row(row);
    }
    table
}

/// By how much the price of a piece changes; blank where it does not, or where
/// the currencies differ.
fn percent(before: Option<&Line>, after: Option<&Line>) -> String {
    let pair = before.zip(after).filter(|(a, b)| a.currency == b.currency);
    let percent = pair.and_then(|(a, b)| percent_of(a.unit_price, b.unit_price));
    percent.unwrap_or_default()
}

/// By how many percent an amount changes, with one decimal: `+4.2`; none where
/// it does not or where there was nothing.
pub fn percent_of(before: Money, after: Money) -> Option<String> {
    if before == after || before == Money::ZERO {
        return None;
    }
    let share = (after - before).0.checked_mul(Decimal::ONE_HUNDRED)?;
    let mut share = share.checked_div(before.0)?.round_dp(1);
    share.rescale(1);
    let plus = if share.is_sign_positive() { "+" } else { "" };
    Some(format!("{plus}{share}"))
}

/// One shift as a sentence.
pub fn shift(shift: &Shift) -> String {
    let supplier = plain(shift.supplier.as_deref().unwrap_or(""));
    let part = shift.part.as_deref().unwrap_or("");
    let what = match &shift.what {
        What::SupplierGone => format!("{supplier} is gone: it offers nothing any more"),
        What::PartGone => format!("part {part} is no longer sold by anyone"),
        What::NotOffered => format!("{supplier} no longer sells part {part}"),
        What::Excluded => format!("the project excludes part {part} from {supplier}"),
        What::Stock { stock, wanted } => {
            format!("{supplier} has only {stock} of part {part} in stock, the order has {wanted}")
        }
        What::TooSlow { days, limit } => {
            format!("{supplier} delivers part {part} in {days} days, the project allows {limit}")
        }
        What::Slower { before, days } => {
            format!("{supplier} delivers part {part} in {days} days now, it was {before}")
        }
        What::Pack { pack } => {
            format!("{supplier} sells part {part} in packs of {pack} now")
        }
        What::Least { least } => {
            format!("{supplier} sells no fewer than {least} of part {part} now")
        }
    };
    format!("{what}{}", instead(shift))
}

fn instead(shift: &Shift) -> String {
    let same = shift.bought_from.len() == 1 && shift.bought_from.first() == shift.supplier.as_ref();
    if shift.part.is_none() || (same && matches!(shift.what, What::Slower { .. })) {
        return String::new();
    }
    if !shift.parts_instead.is_empty() {
        return format!("; {} took its place", list(&shift.parts_instead));
    }
    if shift.from_shelf {
        return "; what is on hand or ordered serves".to_owned();
    }
    if shift.bought_from.is_empty() {
        return String::new();
    }
    let from: Vec<String> = shift.bought_from.iter().map(|name| plain(name)).collect();
    format!("; it is bought from {} now", list(&from))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::reprice::Totals;
    use crate::units::Currency;

    fn said(recorded: Status, anew: i64) -> String {
        let euro = |amount: i64| Money(Decimal::from(amount));
        let totals = Totals {
            recorded: euro(100),
            lines: Some(euro(100)),
            parts: Some(euro(100)),
            anew: euro(anew),
        };
        let repriced = Repriced {
            currency: Currency("EUR".to_owned()),
            recorded,
            totals,
            effects: totals.effects(),
            keep: Keep::Lines,
            lines_lost: None,
            parts_lost: None,
            changes: Vec::new(),
            shifts: Vec::new(),
        };
        text(&repriced, 80)
    }

    #[test]
    fn a_saving_over_an_unproven_plan_may_come_of_a_better_search() {
        let words = "was not proven cheapest";
        assert!(said(Status::TimeLimit, 99).contains(words));
        assert!(said(Status::WithinGap, 99).contains(words));
        assert!(!said(Status::Optimal, 99).contains(words));
        assert!(!said(Status::TimeLimit, 100).contains(words));
    }
}
