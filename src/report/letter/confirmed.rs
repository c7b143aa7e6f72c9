//! A confirmation beside the order.

use super::{say_yes, table_of};
use crate::report::table::{Column, Table};
use crate::report::wording::{counted, plain, wrapped};
use crate::study::letter::{Compared, Confirmed};

/// What a confirmation says to the order.
pub fn text(confirmed: &Confirmed, width: usize) -> String {
    let count = |n: usize, noun: &str| counted(n as u64, noun);
    let differ = match confirmed.differences.len() {
        1 => "1 thing differs from the order".to_owned(),
        n => format!("{n} things differ from the order"),
    };
    let missing = count(confirmed.missing.len(), "line") + " of the order not confirmed";
    let strangers = count(confirmed.not_ordered.len(), "line") + " not ordered";
    let sections = [
        (differ, differences(confirmed)),
        (missing, missing_lines(confirmed)),
        (strangers, table_of(&confirmed.not_ordered)),
    ];
    let mut all = vec![head(confirmed, width)];
    let filled = sections.into_iter().filter(|(_, table)| !table.is_empty());
    all.extend(filled.map(|(title, table)| format!("{title}\n{}", table.text(width))));
    let yes = say_yes(&confirmed.not_ordered, confirmed.recipe.as_deref(), width);
    all.join("\n") + &yes.unwrap_or_default()
}

fn head(confirmed: &Confirmed, width: usize) -> String {
    let mut lines: Vec<String> = confirmed.compared.iter().map(against).collect();
    let ordered: usize = confirmed.compared.iter().map(|one| one.lines).sum();
    let verdict = match confirmed.agrees() {
        true => "all of it agrees",
        false => "not all of it agrees",
    };
    let of = counted(ordered as u64, "line");
    lines.push(format!(
        "{} of {of} confirmed: {verdict}",
        confirmed.confirmed
    ));
    let silent = match (confirmed.has_prices, confirmed.has_days) {
        (true, true) => None,
        (true, false) => Some("days"),
        (false, true) => Some("prices"),
        (false, false) => Some("prices and days"),
    };
    lines.extend(silent.map(|what| format!("{what} are not compared: the file has none")));
    if confirmed.not_due > 0 {
        lines.push(format!(
            "the day of {} is not compared: the price list has no lead time",
            counted(confirmed.not_due as u64, "line")
        ));
    }
    let wrap = |line: &String| wrapped(line, width, "", "  ") + "\n";
    lines.iter().map(wrap).collect()
}

/// What the confirmation of a supplier is held against.
fn against(one: &Compared) -> String {
    let supplier = plain(&one.supplier);
    let day = |words: &str| one.ordered_on.as_ref().map(|day| format!("{words} {day}"));
    let day = |words: &str| day(words).unwrap_or_default();
    match (one.is_placed, one.lines) {
        (true, _) => {
            let day = day(" of the order of");
            format!("{supplier}: held against what is outstanding{day}")
        }
        (false, 0) => format!("{supplier}: nothing is on order, and the plan buys nothing there"),
        (false, _) => {
            let day = day(" as if it were placed on");
            format!("{supplier}: nothing is placed, so held against the order of the plan{day}")
        }
    }
}

fn differences(confirmed: &Confirmed) -> Table {
    let columns = [
        Column::text("part"),
        Column::text("sku"),
        Column::text("what"),
        Column::text("ordered"),
        Column::text("confirmed"),
        Column::text("change"),
        Column::number("row"),
    ];
    let mut table = Table::new(&named(confirmed, &columns));
    for one in &confirmed.differences {
        let change = match one.what {
            "day" => days(&one.change),
            _ => one.change.clone(),
        };
        let mut row = supplier(confirmed, &one.supplier);
        row.extend([one.part.clone(), plain(&one.sku), one.what.to_owned()]);
        row.extend([one.ordered.clone(), one.confirmed.clone(), change]);
        row.push(one.row.to_string());
        table.row(row);
    }
    table
}

/// These columns after that of the supplier, which is there where there are several.
fn named(confirmed: &Confirmed, columns: &[Column]) -> Vec<Column> {
    let several = (confirmed.compared.len() > 1).then(|| Column::text("supplier"));
    several.into_iter().chain(columns.iter().cloned()).collect()
}

/// The cell of that column.
fn supplier(confirmed: &Confirmed, name: &str) -> Vec<String> {
    let several = (confirmed.compared.len() > 1).then(|| plain(name));
    several.into_iter().collect()
}

/// `+7` as `7 days later`.
fn days(change: &str) -> String {
    let (number, word) = match change.strip_prefix('-') {
        Some(number) => (number, "earlier"),
        None => (change.trim_start_matches('+'), "later"),
    };
    let noun = if number == "1" { "day" } else { "days" };
    format!("{number} {noun} {word}")
}

fn missing_lines(confirmed: &Confirmed) -> Table {
    let columns = [
        Column::text("part"),
        Column::text("sku"),
        Column::number("qty"),
        Column::text("ordered_on"),
    ];
    let mut table = Table::new(&named(confirmed, &columns));
    for one in &confirmed.missing {
        let mut row = supplier(confirmed, &one.supplier);
        row.extend([one.part.clone(), plain(&one.sku)]);
        row.extend([one.qty.to_string(), one.ordered_on.clone()]);
        table.row(row);
    }
    table
}

/// All of it as a table: `what, supplier, part, sku, ordered, confirmed, change, row, notes`.
/// `what` is `quantity`, `price`, `day`, `missing` or `not ordered`.
pub fn table(confirmed: &Confirmed) -> Table {
    let mut table = Table::new(&[
        Column::text("what"),
        Column::text("supplier"),
        Column::text("part"),
        Column::text("sku"),
        Column::text("ordered"),
        Column::text("confirmed"),
        Column::number("change"),
        Column::number("row"),
        Column::text("notes"),
    ]);
    let none = String::new;
    for one in &confirmed.differences {
        table.row(vec![
            one.what.to_owned(),
            plain(&one.supplier),
            one.part.clone(),
            plain(&one.sku),
            one.ordered.clone(),
            one.confirmed.clone(),
            one.change.clone(),
            one.row.to_string(),
            none(),
        ]);
    }
    for one in &confirmed.missing {
        let mut row = vec!["missing".to_owned(), plain(&one.supplier), one.part.clone()];
        row.extend([plain(&one.sku), one.qty.to_string()]);
        row.resize(9, none());
        table.row(row);
    }
    for one in &confirmed.not_ordered {
        let pieces = one.pieces.map(|n| n.to_string()).unwrap_or_default();
        let mut row = vec!["not ordered".to_owned(), none(), none()];
        row.extend([plain(&one.article), none(), pieces, none()]);
        let notes = match one.proposals.first() {
            None => one.why.clone(),
            Some(best) => format!(
                "{}; perhaps {}, {} % sure: {}",
                one.why, best.part, best.sure, best.why
            ),
        };
        row.extend([one.row.to_string(), plain(&notes)]);
        table.row(row);
    }
    table
}

/// The confirmation as JSON.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(confirmed: &Confirmed) -> serde_json::Result<String> {
    serde_json::to_string_pretty(confirmed).map(|text| text + "\n")
}
