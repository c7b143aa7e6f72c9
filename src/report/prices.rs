//! Two price lists compared, for a reader.

use super::reprice::percent_of;
use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::study::prices::{Compared, Kind, differences};
use crate::units::{Currency, Money};

/// Counts, what changed, and what that makes for the plan.
pub fn text(compared: &[Compared], width: usize) -> String {
    let count = |kind: Kind| compared.iter().filter(|c| c.kind == kind).count();
    let counts: Vec<String> = [
        (Kind::Price, "price changed"),
        (Kind::Breaks, "with breaks moved"),
        (Kind::New, "new"),
        (Kind::Gone, "gone"),
        (Kind::Terms, "with other terms"),
        (Kind::Unchanged, "unchanged"),
    ]
    .iter()
    .filter(|(kind, _)| count(*kind) > 0)
    .map(|(kind, words)| format!("{} {words}", count(*kind)))
    .collect();
    let head = match counts.is_empty() {
        true => "no offers in either list".to_owned(),
        false => {
            let offers = counted(compared.len() as u64, "offer");
            format!("{offers}: {}", list(&counts))
        }
    };
    let mut sections = vec![wrapped(&head, width, "", "  ") + "\n"];
    let changed = table(compared.iter().filter(|c| c.kind != Kind::Unchanged));
    if !changed.is_empty() {
        sections.push(changed.text(width));
    }
    sections.extend(for_plan(compared, width));
    sections.join("\n")
}

/// What the changes make for the plan; nothing without one.
fn for_plan(compared: &[Compared], width: usize) -> Option<String> {
    let of_plan: Vec<&Compared> = compared.iter().filter(|c| c.qty.is_some()).collect();
    if of_plan.is_empty() {
        return None;
    }
    let sums: Vec<String> = differences(compared)
        .iter()
        .map(|(currency, sum)| format!("{} {currency}", signed(sum.cents())))
        .collect();
    let lines = counted(of_plan.len() as u64, "line");
    let mut text = format!(
        "for the {lines} of the plan on these lists: {}",
        list(&sums)
    );
    let lost: Vec<String> = of_plan
        .iter()
        .filter(|c| c.after.is_none() && c.before.is_some())
        .map(|c| format!("{} from {}", c.part, plain(&c.supplier)))
        .collect();
    if !lost.is_empty() {
        text.push_str(&format!("; no longer sold so: {}", list(&lost)));
    }
    Some(wrapped(&text, width, "", "  ") + "\n")
}

/// The offers as a table: `change, part, supplier, currency, qty, old_price,
/// new_price, percent, difference, notes`.
pub fn table<'c>(compared: impl IntoIterator<Item = &'c Compared>) -> Table {
    let mut table = Table::new(&[
        Column::text("change").at_least(8),
        Column::text("part"),
        Column::text("supplier"),
        Column::text("currency").detail(2),
        Column::number("qty"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("percent"),
        Column::number("difference"),
        Column::text("notes").detail(1),
    ]);
    let some = |money: Option<Money>| money.map(|m| m.to_string()).unwrap_or_default();
    for one in compared {
        let percent = one.before.zip(one.after);
        let percent = percent.and_then(|(before, after)| percent_of(before, after));
        let currency = one.currency.as_ref().map(Currency::to_string);
        table.row(vec![
            one.kind.word().to_owned(),
            one.part.clone(),
            plain(&one.supplier),
            currency.unwrap_or_default(),
            one.qty.map(|qty| qty.to_string()).unwrap_or_default(),
            some(one.before),
            some(one.after),
            percent.unwrap_or_default(),
            one.difference.map(signed).unwrap_or_default(),
            one.notes.join(", "),
        ]);
    }
    table
}

fn signed(money: Money) -> String {
    let plus = if money.is_positive() { "+" } else { "" };
    format!("{plus}{money}")
}
