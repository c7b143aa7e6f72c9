//! What differs between two plans: the one place that draws it.

use super::table::{Column, GLUE, Table};
use super::wording::{counted, gap, list, plain, wrapped};
use crate::plan::{Plan, Status};
use crate::study::changes::{Change, Kind, Line};
use crate::study::compare::{Difference, EndChange, PartChange, Stands};
use crate::study::offers::Several;
use crate::units::{Currency, Money, apportion};
use rust_decimal::Decimal;

/// The lines of two orders.
#[derive(Debug, Clone, Copy)]
pub struct Lines<'a> {
    /// The project's currency.
    pub currency: &'a Currency,
    /// Every line of both orders.
    pub changes: &'a [Change],
    /// What the goods of all lines cost more; none where a currency has no rate.
    pub difference: Option<Money>,
    /// Which lines need their sku to be told apart.
    pub several: &'a Several,
}

impl<'a> Lines<'a> {
    /// Those of a difference.
    pub fn of(difference: &'a Difference, currency: &'a Currency) -> Self {
        Self {
            currency,
            changes: &difference.lines,
            difference: difference.goods,
            several: &difference.several,
        }
    }
}

/// More parts than this are counted, not listed: the largest stand first.
const LARGEST: usize = 10;

/// Said where two plans are the same.
pub const SAME: &str = "the two plans are the same: no figure, part, order line or end differs";

/// All that differs from one plan to another but the terms of the total: counts, parts,
/// order lines, ends.
pub fn text(difference: &Difference, currency: &Currency, width: usize) -> String {
    if difference.is_nothing() {
        return format!("{SAME}\n");
    }
    let mut sections = vec![exchanges(difference).text(width)];
    sections.extend(parts_text(difference, currency, width));
    sections.push(order(&Lines::of(difference, currency), width));
    sections.push(ends_text(difference, width));
    sections.join("\n")
}

/// The columns of what leaves and what comes in.
pub fn exchange_columns() -> [Column; 2] {
    ["leaves", "comes_in"].map(|name| Column::text(name).at_least(20))
}

/// Their cells.
pub fn exchanged(out: &[String], into: &[String]) -> [String; 2] {
    [out, into].map(|all| list(&all.iter().map(|name| plain(name)).collect::<Vec<_>>()))
}

/// What leaves and what comes in, of parts and of suppliers.
pub fn exchanges(difference: &Difference) -> Table {
    let mut columns = vec![
        Column::text("what"),
        Column::number("before"),
        Column::number("after"),
    ];
    columns.extend(exchange_columns());
    let mut table = Table::new(&columns);
    let [variants, suppliers] = [difference.variants, difference.suppliers];
    let rows = [
        (
            "variants",
            variants,
            &difference.parts_out,
            &difference.parts_in,
        ),
        (
            "suppliers",
            suppliers,
            &difference.suppliers_out,
            &difference.suppliers_in,
        ),
    ];
    for (what, [before, after], out, into) in rows {
        let mut row = vec![what.to_owned(), before.to_string(), after.to_string()];
        row.extend(exchanged(out, into));
        table.row(row);
    }
    table
}

/// The parts of which anything differs, the largest first; none without any.
fn parts_text(difference: &Difference, currency: &Currency, width: usize) -> Option<String> {
    let all = &difference.parts;
    if all.is_empty() {
        return None;
    }
    let table = parts_table(all, currency, LARGEST).text(width);
    let more = match all.len().saturating_sub(LARGEST) {
        0 => String::new(),
        n => format!("and {} with less money\n", counted(n as u64, "more part")),
    };
    Some(format!("Parts that differ\n{table}{more}"))
}

/// The parts of which anything differs, a row each, at most so many. Fitted and bought stand
/// in each row, other numbers where they differ. Where all the money is known, the shown
/// differences of all parts add up.
pub fn parts_table(parts: &[PartChange], currency: &Currency, most: usize) -> Table {
    let of_pieces = |name: &'static str| match name {
        "fitted" | "bought" => Column::number(name),
        name => Column::number(name).detail(1),
    };
    let names = PartChange::default()
        .pieces()
        .map(|(name, _)| of_pieces(name));
    let mut columns = vec![Column::text("part"), Column::text("kind").detail(2)];
    columns.extend(names);
    columns.push(Column::number("difference"));
    let mut table = Table::new(&columns);
    let known: Option<Vec<Money>> = parts.iter().map(|part| part.difference).collect();
    let mut known = known.map(|known| apportion(&known).into_iter());
    for one in parts.iter().take(most) {
        let more = known.as_mut().and_then(Iterator::next);
        let more = more.or(one.difference.map(Money::cents));
        let mut row = vec![one.part.clone(), one.kind.clone()];
        row.extend(one.pieces().map(|(name, [before, after])| match name {
            _ if before != after => format!("{before} to {after}"),
            "fitted" | "bought" => before.to_string(),
            _ => String::new(),
        }));
        row.push(more.map_or_else(String::new, |more| {
            format!("{}{GLUE}{currency}", signed(more))
        }));
        table.row(row);
    }
    table
}

/// The ends that differ.
fn ends_text(difference: &Difference, width: usize) -> String {
    match difference.ends.is_empty() {
        true => "No end differs\n".to_owned(),
        false => format!(
            "Ends that differ\n{}",
            ends_table(&difference.ends).text(width)
        ),
    }
}

/// The ends that differ, a row each.
pub fn ends_table(ends: &[EndChange]) -> Table {
    let mut table = Table::new(&[
        Column::text("circuit"),
        Column::text("net"),
        Column::text("end"),
        Column::text("what_differs").at_least(30),
    ]);
    for end in ends {
        let circuit = match end.machine.as_str() {
            "" => end.circuit.clone(),
            machine => crate::project::circuit_name(machine, &end.circuit),
        };
        let what = match end.stands {
            Stands::Before => "is not there any more".to_owned(),
            Stands::After => "is new".to_owned(),
            Stands::Both => {
                let fields = end.what.iter().map(|field| {
                    let [before, after] = [&field.before, &field.after]
                        .map(|value| if value.is_empty() { "none" } else { value });
                    format!("{}: {before} to {after}", field.field)
                });
                fields.collect::<Vec<_>>().join("; ")
            }
        };
        table.row(
            [circuit, end.net.clone(), end.end.clone(), what]
                .iter()
                .map(|cell| plain(cell))
                .collect(),
        );
    }
    table
}

/// What changed since the plan before, in two sentences; one where nothing did. `command`
/// shows all of it.
pub fn since_before(difference: &Difference, currency: &Currency, command: &str) -> Vec<String> {
    if difference.is_nothing() {
        return vec!["nothing differs from the plan before".to_owned()];
    }
    let total = difference.terms.last();
    let [before, after] = total.map_or([Money::ZERO; 2], |term| {
        [term.before.cents(), term.after.cents()]
    });
    let total = match signed((after - before).cents()) {
        _ if before == after => format!("total {after} {currency} as before"),
        more => format!("total {before} to {after} {currency} ({more})"),
    };
    let number = |n: usize, noun: &str, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("1 {noun} {one}")),
        n => Some(format!("{} {many}", counted(n as u64, noun))),
    };
    let lines = difference.changed_lines();
    let lines = number(lines, "order line", "changes", "change");
    let parts = [
        Some(total),
        number(difference.parts_out.len(), "part", "leaves", "leave"),
        number(difference.parts_in.len(), "part", "comes in", "come in"),
        lines.or_else(|| Some("no order line changes".to_owned())),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    vec![
        format!("since the plan before: {}", list(&parts)),
        format!("{command} shows all that differs"),
    ]
}

/// `proven`, or how far the total may be above the least.
pub fn proof(plan: &Plan) -> String {
    match plan.status {
        Status::Optimal => "proven".to_owned(),
        Status::WithinGap | Status::TimeLimit => format!("within {}", gap(plan.gap_percent)),
    }
}

/// An amount with its sign: `+3.20`, `-1.00`, `0.00`.
pub fn signed(money: Money) -> String {
    let plus = if money.is_positive() { "+" } else { "" };
    format!("{plus}{money}")
}

/// What changes in the order, each figure with its currency. Below stand how many
/// lines do not change, and what the goods come to.
pub fn order(lines: &Lines, width: usize) -> String {
    let is_changed = |change: &&Change| change.kind != Kind::Unchanged;
    let changed: Vec<&Change> = lines.changes.iter().filter(is_changed).collect();
    let same = (lines.changes.len() - changed.len()) as u64;
    if changed.is_empty() {
        return format!("No change of the order ({})\n", counted(same, "line"));
    }
    let foot = format!("{} unchanged; {}", counted(same, "line"), goods(lines));
    format!(
        "Changes of the order\n{}{}\n",
        shown(&changed, lines).text(width),
        wrapped(&foot, width, "", "  ")
    )
}

/// The lines that change, as they are read.
pub fn changed(lines: &Lines) -> Table {
    let is_changed = |change: &&Change| change.kind != Kind::Unchanged;
    let changed: Vec<&Change> = lines.changes.iter().filter(is_changed).collect();
    shown(&changed, lines)
}

/// What the goods of all lines cost more together.
fn goods(lines: &Lines) -> String {
    let own = lines.currency;
    let both = (lines.changes.iter()).flat_map(|c| c.before.iter().chain(&c.after));
    let is_converted = both.clone().any(|line| line.currency != *own);
    let Some(sum) = lines.difference else {
        return format!("the goods have no sum in {own}: a currency has no rate");
    };
    let rates = match is_converted {
        true => " at our rates",
        false => "",
    };
    let sum = signed(sum.cents());
    format!("goods together {sum} {own}{rates}, before duty and shipping")
}

/// The changes as they are read: what differs on the new side follows the old. The sku
/// is shown where it tells offers apart, or changes by itself.
fn shown(changed: &[&Change], lines: &Lines) -> Table {
    let own = lines.currency;
    let needs_sku = |change: &Change| {
        let mut both = change.before.iter().chain(&change.after);
        let is_one_of_several = |line: &Line| lines.several.has(&line.part, &line.supplier);
        change.kind == Kind::SkuSwitched || both.any(is_one_of_several)
    };
    let with_skus = changed.iter().any(|change| needs_sku(change));
    let mut columns = vec![
        Column::text("change").at_least(8),
        Column::text("part"),
        Column::text("supplier"),
    ];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::number("qty"),
        Column::text("unit_price"),
        Column::number("percent").detail(2),
        Column::number("difference").detail(1),
    ]);
    let mut table = Table::new(&columns);
    // Where all are known, they add up as shown.
    let known: Option<Vec<Money>> = changed.iter().map(|change| change.difference).collect();
    let mut known = known.map(|known| apportion(&known).into_iter());
    for change in changed {
        let own_sum = known.as_mut().and_then(Iterator::next);
        let own_sum = own_sum.or(change.difference.map(Money::cents));
        let of = |text: fn(&Line) -> String| before_and_after(change, text);
        let mut cells = vec![
            change.kind.word().to_owned(),
            of(|line| line.part.clone()),
            of(|line| plain(&line.supplier)),
        ];
        cells.extend(with_skus.then(|| of(|line| some_sku(&line.sku))));
        cells.extend([
            of(|line| line.qty.to_string()),
            of(|line| format!("{}{GLUE}{}", line.unit_price, line.currency)),
            change.percent.map(percent).unwrap_or_default(),
            own_sum.map_or_else(String::new, |sum| format!("{} {own}", signed(sum))),
        ]);
        table.row(cells);
    }
    table
}

/// A sku in a column of skus.
pub(super) fn some_sku(sku: &str) -> String {
    match sku {
        "" => "(none)".to_owned(),
        sku => plain(sku),
    }
}

/// `5 to 10`; one of them where they are equal or there is only one.
fn before_and_after(change: &Change, text: impl Fn(&Line) -> String) -> String {
    let both = change.before.as_ref().map(&text);
    let both = both.into_iter().chain(change.after.as_ref().map(text));
    let mut both: Vec<String> = both.collect();
    both.dedup();
    both.join(" to ")
}

/// The changes as a table: `change, part, supplier, qty, unit_price, new_part,
/// new_supplier, new_qty, new_unit_price, percent, currency, new_currency,
/// difference, difference_currency, sku, new_sku`. What does not change is blank on the
/// new side; a price is its figure with its currency. The difference is exact.
pub fn changes(lines: &Lines) -> Table {
    let mut table = Table::new(&[
        Column::text("change"),
        Column::text("part"),
        Column::text("supplier"),
        Column::number("qty"),
        Column::number("unit_price"),
        Column::text("new_part"),
        Column::text("new_supplier"),
        Column::number("new_qty"),
        Column::number("new_unit_price"),
        Column::number("percent"),
        Column::text("currency"),
        Column::text("new_currency"),
        Column::number("difference"),
        Column::text("difference_currency"),
        Column::text("sku"),
        Column::text("new_sku"),
    ]);
    for change in lines.changes {
        table.row(cells(change, lines.currency));
    }
    table
}

fn cells(change: &Change, own: &Currency) -> Vec<String> {
    let [old, new] = [&change.before, &change.after].map(|line| {
        let names = line.as_ref().map(|line| {
            [
                line.part.clone(),
                plain(&line.supplier),
                line.qty.to_string(),
            ]
        });
        (names.unwrap_or_default(), price(line.as_ref()))
    });
    let is_new = |(new, old): (String, &String)| if new == *old { String::new() } else { new };
    let [sku, new_sku] = [&change.before, &change.after].map(|line| {
        let sku = line.as_ref().map(|line| plain(&line.sku));
        sku.unwrap_or_default()
    });
    let new_price = if new.1 == old.1 {
        Default::default()
    } else {
        new.1
    };
    let [price, currency] = old.1;
    let [new_price, new_currency] = new_price;
    let mut row = vec![change.kind.word().to_owned()];
    row.extend(old.0.clone());
    row.push(price);
    row.extend(new.0.into_iter().zip(&old.0).map(is_new));
    let difference = change.difference.map(signed);
    let own = difference.as_ref().map(|_| own.to_string());
    row.extend([
        new_price,
        change.percent.map(percent).unwrap_or_default(),
        currency,
        new_currency,
        difference.unwrap_or_default(),
        own.unwrap_or_default(),
        sku.clone(),
        is_new((new_sku, &sku)),
    ]);
    row
}

/// Figure and currency of a line's price; blank without a line.
fn price(line: Option<&Line>) -> [String; 2] {
    let texts = |line: &Line| [line.unit_price.to_string(), line.currency.to_string()];
    line.map(texts).unwrap_or_default()
}

/// A percentage with its sign: `+4.2`.
pub fn percent(percent: Decimal) -> String {
    let plus = if percent.is_sign_positive() { "+" } else { "" };
    format!("{plus}{percent}")
}
