//! A plan at other prices for a reader: totals and effects, what changes in the
//! order, what became of the old lines.

use super::difference::{Lines, order, signed};
use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::plan::Status;
use crate::study::changes::Kind;
use crate::study::offers::with_sku;
use crate::study::reprice::{Keep, Repriced};
use crate::study::shifts::{Shift, Source, What};
use crate::units::Money;

/// All that is told of a plan at other prices.
pub fn text(repriced: &Repriced, width: usize) -> String {
    let mut sections = vec![wrapped(&verdict(repriced), width, "", "  ") + "\n"];
    sections.push(totals(repriced, width));
    sections.extend(unproven(repriced, width));
    sections.extend(lost(repriced, width));
    sections.push(order(&lines(repriced), width));
    if !repriced.shifts.is_empty() {
        let lines = repriced.shifts.iter().map(shift);
        let lines = lines.map(|line| wrapped(&line, width, "- ", "  ") + "\n");
        sections.push(format!("What changed\n{}", lines.collect::<String>()));
    }
    sections.join("\n")
}

/// The lines of both orders.
pub fn lines(repriced: &Repriced) -> Lines<'_> {
    Lines {
        currency: &repriced.currency,
        changes: &repriced.changes,
        difference: repriced.difference,
        several: &repriced.several,
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

/// The totals to the cent, each with its difference from the total above.
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
    // Where only the sum of both effects is known, the sum is shown.
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

/// Says that a better search may be a reason too.
fn unproven(repriced: &Repriced, width: usize) -> Option<String> {
    let saves = repriced
        .effects
        .choice
        .is_some_and(|m| m.0.is_sign_negative());
    let is_reason = saves && repriced.recorded != Status::Optimal;
    let text = "the recorded plan was not proven cheapest: a better search alone may find cheaper \
                parts, whatever the prices";
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

/// One shift as a sentence.
pub fn shift(shift: &Shift) -> String {
    let supplier = plain(shift.supplier.as_deref().unwrap_or(""));
    let part = shift.part.as_deref().unwrap_or("");
    let part = &with_sku(part, shift.sku.as_deref().map(plain).as_deref());
    let what = match &shift.what {
        What::SupplierGone => format!("{supplier} is gone: it offers nothing any more"),
        What::PartGone => format!("part {part} is no longer sold by anyone"),
        What::NotOffered => format!("{supplier} no longer sells part {part}"),
        What::Renamed { before, sku } => {
            let now = match sku.as_str() {
                "" => "without a sku".to_owned(),
                sku => format!("as sku {}", plain(sku)),
            };
            let was = match before.as_str() {
                "" => "before without a sku".to_owned(),
                before => format!("not as sku {}", plain(before)),
            };
            format!("{supplier} sells part {part} {now} now, {was}")
        }
        What::Excluded => format!("part {part} from {supplier} is excluded"),
        What::Stock { stock, wanted } => {
            format!("{supplier} has only {stock} of part {part} in stock, the order has {wanted}")
        }
        What::TooSlow { days, limit } => {
            format!("{supplier} delivers part {part} in {days} days, max_lead_days is {limit}")
        }
        What::Slower { before, days } => {
            format!("{supplier} delivers part {part} in {days} days now, not in {before}")
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
    let is_same = |source: &Source| {
        Some(&source.supplier) == shift.supplier.as_ref() && source.sku == shift.sku
    };
    let same = matches!(shift.bought_as.as_slice(), [only] if is_same(only));
    let goes_on = matches!(shift.what, What::Slower { .. } | What::Renamed { .. });
    if shift.part.is_none() || (same && goes_on) {
        return String::new();
    }
    if !shift.parts_instead.is_empty() {
        return format!("; {} took its place", list(&shift.parts_instead));
    }
    if shift.from_shelf {
        return "; what is on hand or ordered serves".to_owned();
    }
    if shift.bought_as.is_empty() {
        return String::new();
    }
    let name = |source: &Source| {
        let sku = source.sku.as_deref().map(plain);
        with_sku(&plain(&source.supplier), sku.as_deref())
    };
    let from: Vec<String> = shift.bought_as.iter().map(name).collect();
    format!("; the part is bought from {} now", list(&from))
}

#[cfg(test)]
mod tests {
    use super::order as order_text;
    use super::*;
    use crate::study::changes::{self, Line};
    use crate::study::offers::Several;
    use crate::study::reprice::Totals;
    use crate::units::Currency;
    use rust_decimal::Decimal;

    fn said(recorded: Status, anew: i64) -> String {
        text(&repriced(recorded, anew), 80)
    }

    fn repriced(recorded: Status, anew: i64) -> Repriced {
        let euro = |amount: i64| Money(Decimal::from(amount));
        let totals = Totals {
            recorded: euro(100),
            lines: Some(euro(100)),
            parts: Some(euro(100)),
            anew: euro(anew),
        };
        Repriced {
            currency: Currency("EUR".to_owned()),
            recorded,
            totals,
            effects: totals.effects(),
            keep: Keep::Lines,
            lines_lost: None,
            parts_lost: None,
            changes: Vec::new(),
            difference: Some(Money::ZERO),
            shifts: Vec::new(),
            several: Several::default(),
        }
    }

    fn line(supplier: &str, currency: &str, unit_price: &str) -> Line {
        Line {
            supplier: supplier.to_owned(),
            part: "F-7".to_owned(),
            sku: String::new(),
            qty: 10,
            unit_price: unit_price.parse().unwrap(),
            currency: Currency(currency.to_owned()),
        }
    }

    /// A line that went from pounds to euros, as it is read.
    fn switched(rate: Option<&str>, width: usize) -> String {
        let (before, after) = (line("Nord", "GBP", "4.237"), line("South", "EUR", "5.4074"));
        let order = |line: &Line| crate::plan::Order {
            supplier: line.supplier.clone(),
            currency: line.currency.clone(),
            lines: vec![crate::plan::OrderLine {
                part: line.part.clone(),
                sku: String::new(),
                qty: line.qty,
                packs: line.qty,
                unit_price: line.unit_price,
                line_total: line.unit_price.times(line.qty),
            }],
            goods: Money::ZERO,
            duty: Money::ZERO,
            shipping: Money::ZERO,
            total: Money::ZERO,
        };
        let plan = crate::report::sample::empty_plan();
        let (old, new) = ([order(&before)], [order(&after)]);
        let changes = changes::changes((&old, &plan), (&new, &plan));
        let rate = rate.map(|rate| rate.parse().unwrap());
        let changes = changes::at_rates(changes, |currency| match currency.0.as_str() {
            "EUR" => Some(Decimal::ONE),
            _ => rate,
        });
        let repriced = Repriced {
            difference: changes::difference(&changes),
            changes,
            ..repriced(Status::Optimal, 100)
        };
        order_text(&lines(&repriced), width)
    }

    #[test]
    fn a_switched_supplier_is_shown_with_both_and_their_currencies() {
        // 10 × 5.4074 − 10 × 4.237 × 1.17 = 4.5011; 5.4074 / 4.957290 = 1.0908
        assert_eq!(
            switched(Some("1.17"), 100),
            "Changes of the order\n\
             change             part  supplier       qty  unit price               percent  difference\n\
             ------------------ ----- -------------- ---- ------------------------ -------- ----------\n\
             supplier switched  F-7   Nord to South   10  4.237 GBP to 5.4074 EUR     +9.1   +4.50 EUR\n\
             0 lines unchanged; goods together +4.50 EUR at our rates, before duty and shipping\n"
        );
        // In little room both prices stay longest.
        let prices = ["Nord", "South", "4.237 GBP", "5.4074 EUR"];
        for width in [45, 60, 72, 80] {
            let text = switched(Some("1.17"), width);
            let others = ["+9.1", "+4.50"].into_iter().filter(|_| width > 60);
            for word in prices.into_iter().chain(others) {
                assert!(text.contains(word), "{width}: {word} in {text}");
            }
        }
    }

    #[test]
    fn without_a_rate_there_is_no_sum() {
        let text = switched(None, 100);
        assert!(text.contains("4.237 GBP to 5.4074 EUR"), "{text}");
        assert!(!text.contains("+"), "{text}");
        let said = "0 lines unchanged; the goods have no sum in EUR: a currency has no rate\n";
        assert!(text.ends_with(said), "{text}");
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
