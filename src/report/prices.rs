//! Two price lists compared, for a reader.

use super::difference::{percent, signed, some_sku};
use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::study::changes;
use crate::study::offers::with_sku;
use crate::study::prices::{Compared, Kind, differences, together};
use crate::units::{Currency, Money};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// What one sum of several currencies takes.
pub enum Rates {
    /// The project's currency, and what one unit of each other currency is in it.
    Known(Currency, BTreeMap<Currency, Decimal>),
    /// The rates can't be had; the text says why.
    Unknown(String),
}

/// Counts, what changed, and what the changes cost for the plan.
pub fn text(compared: &[Compared], rates: &Rates, width: usize) -> String {
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
    let changed = compared.iter().filter(|c| c.kind != Kind::Unchanged);
    let changed: Vec<&Compared> = changed.collect();
    if !changed.is_empty() {
        sections.push(shown(&changed).text(width));
    }
    sections.extend(for_plan(compared, rates, width));
    sections.join("\n")
}

/// What the changes cost for the plan; none without a plan.
fn for_plan(compared: &[Compared], rates: &Rates, width: usize) -> Option<String> {
    let of_plan: Vec<&Compared> = compared.iter().filter(|c| c.qty.is_some()).collect();
    if of_plan.is_empty() {
        return None;
    }
    let lines = counted(of_plan.len() as u64, "line");
    let mut text = format!(
        "for the {lines} of the plan on these lists: {}",
        sums(&differences(compared), rates)
    );
    let lost: Vec<String> = of_plan
        .iter()
        .filter(|c| c.after.is_none() && c.before.is_some())
        .map(|c| {
            let sku = c.is_one_of_several.then(|| plain(&c.sku));
            let part = with_sku(&c.part, sku.as_deref());
            format!("{part} from {}", plain(&c.supplier))
        })
        .collect();
    if !lost.is_empty() {
        text.push_str(&format!("; no longer sold so: {}", list(&lost)));
    }
    Some(wrapped(&text, width, "", "  ") + "\n")
}

/// The sum of each currency, and one sum of all in the project's currency.
fn sums(sums: &BTreeMap<Currency, Money>, rates: &Rates) -> String {
    if sums.is_empty() {
        return "no line is on both".to_owned();
    }
    let each: Vec<String> = sums
        .iter()
        .map(|(currency, sum)| format!("{} {currency}", signed(sum.cents())))
        .collect();
    let each = list(&each);
    let (own, rates) = match rates {
        Rates::Unknown(why) => return format!("{each} (no sum of all: {why})"),
        Rates::Known(own, rates) => (own, rates),
    };
    if sums.keys().eq([own]) {
        return each;
    }
    let rate = |currency: &Currency| match currency == own {
        true => Some(Decimal::ONE),
        false => rates.get(currency).copied(),
    };
    match together(sums, rate) {
        Ok(sum) => format!(
            "{each}, together {} {own} at our rates",
            signed(sum.cents())
        ),
        Err(without) => {
            let without: Vec<String> = without.iter().map(Currency::to_string).collect();
            format!(
                "{each} (no sum in {own}: we have no rate for {})",
                list(&without)
            )
        }
    }
}

/// The offers as they are read, each figure with its currency; with skus where these
/// tell offers apart.
fn shown(compared: &[&Compared]) -> Table {
    let with_skus = compared.iter().any(|one| one.is_one_of_several);
    let mut columns = vec![
        Column::text("change").at_least(8),
        Column::text("part"),
        Column::text("supplier"),
    ];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::number("qty"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("percent"),
        Column::number("difference"),
        Column::text("notes").detail(1),
    ]);
    let mut table = Table::new(&columns);
    for one in compared {
        let with_currency = |figure: String| match &one.currency {
            Some(currency) if !figure.is_empty() => format!("{figure} {currency}"),
            _ => figure,
        };
        let cells = Cells::of(one);
        let mut row = vec![
            one.kind.word().to_owned(),
            one.part.clone(),
            plain(&one.supplier),
        ];
        row.extend(with_skus.then(|| some_sku(&one.sku)));
        row.extend([
            cells.qty,
            with_currency(cells.before),
            with_currency(cells.after),
            cells.percent,
            with_currency(cells.difference),
            one.notes.join(", "),
        ]);
        table.row(row);
    }
    table
}

/// The offers as a table: `change, part, supplier, currency, qty, old_price,
/// new_price, percent, difference, notes, sku`.
pub fn table<'c>(compared: impl IntoIterator<Item = &'c Compared>) -> Table {
    let mut table = Table::new(&[
        Column::text("change"),
        Column::text("part"),
        Column::text("supplier"),
        Column::text("currency"),
        Column::number("qty"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("percent"),
        Column::number("difference"),
        Column::text("notes"),
        Column::text("sku"),
    ]);
    for one in compared {
        let currency = one.currency.as_ref().map(Currency::to_string);
        let cells = Cells::of(one);
        table.row(vec![
            one.kind.word().to_owned(),
            one.part.clone(),
            plain(&one.supplier),
            currency.unwrap_or_default(),
            cells.qty,
            cells.before,
            cells.after,
            cells.percent,
            cells.difference,
            one.notes.join(", "),
            plain(&one.sku),
        ]);
    }
    table
}

/// The figures of an offer; blank where there is none.
struct Cells {
    qty: String,
    before: String,
    after: String,
    percent: String,
    difference: String,
}

impl Cells {
    fn of(one: &Compared) -> Self {
        let some = |money: Option<Money>| money.map(|m| m.to_string()).unwrap_or_default();
        let both = one.before.zip(one.after);
        let share = both.and_then(|(before, after)| changes::percent(before, after));
        Self {
            qty: one.qty.map(|qty| qty.to_string()).unwrap_or_default(),
            before: some(one.before),
            after: some(one.after),
            percent: share.map(percent).unwrap_or_default(),
            difference: one.difference.map(signed).unwrap_or_default(),
        }
    }
}
