//! What a list that was taken makes of the price list, in words and tables.

use super::tables;
use crate::lists::change::Taken;
use crate::report::table::Table;
use crate::report::wording::{counted, plain, wrapped};

/// So many rows of a table are shown.
const SHOWN: usize = 20;

/// What a list makes of the price list. `is_check` says that nothing is written.
pub fn text(taken: &Taken, is_check: bool, width: usize) -> String {
    let changes = &taken.changes;
    let count = |n: usize, noun: &str| counted(n as u64, noun);
    let prices = format!(
        "{} changed, in {}",
        count(changes.prices.len(), "price"),
        taken.currency
    );
    let breaks = count(changes.breaks.len(), "price break") + " new or gone";
    let new = count(changes.new.len(), "new article");
    let kept = "Kept as it was, since the list has an empty cell".to_owned();
    let rounded = count(taken.rounded.len(), "price") + " rounded to six decimals";
    let unmatched = count(taken.unmatched.len(), "article") + " without a part of ours";
    let not_understood = count(taken.not_understood.len(), "cell") + " not understood there";
    let lost = "Parts that the supplier no longer sells".to_owned();
    let all = [
        (prices, tables::prices(changes)),
        (breaks, tables::breaks(changes)),
        ("Other terms".to_owned(), tables::terms(changes)),
        (new, tables::new(changes)),
        (gone_title(taken), tables::gone(changes)),
        (lost, tables::lost(changes)),
        (kept, tables::kept(taken)),
        (rounded, tables::rounded(taken)),
        (unmatched, tables::unmatched(taken)),
        (not_understood, tables::not_understood(taken)),
    ];
    let mut sections = vec![head(taken, is_check, width)];
    if is_hardly_complete(taken) {
        sections.push(wrapped(NOT_COMPLETE, width, "", "  ") + "\n");
    }
    if changes.new.iter().any(|new| !new.may_replace.is_empty()) {
        let unclear = unclear(taken);
        sections.push(wrapped(&unclear, width, "", "  ") + "\n");
    }
    let filled = all.into_iter().filter(|(_, table)| !table.is_empty());
    sections.extend(filled.map(|(title, table)| format!("{title}\n{}", shown(&table, width))));
    sections.join("\n")
}

/// What to do where most of the supplier's articles seem to be gone.
const NOT_COMPLETE: &str = "most of the supplier's rows go: if the list does not have all that the \
                            supplier sells, write complete = false into the recipe";

/// What to do where a new article may replace an old one, and which is not clear.
fn unclear(taken: &Taken) -> String {
    format!(
        "which article a new one replaces is not clear, so the new one has none of the old terms; \
         where it replaces one, fill in pack, stock and lead time in {}, and delete the rows of \
         the old one",
        plain(&taken.prices)
    )
}

/// True if more than half of the supplier's rows go with their articles.
fn is_hardly_complete(taken: &Taken) -> bool {
    let gone = taken.changes.gone.len();
    gone > 2 && taken.rows_after * 2 < taken.rows_before
}

fn gone_title(taken: &Taken) -> String {
    let gone = counted(taken.changes.gone.len() as u64, "article");
    format!(
        "{gone} gone from the list, with rows of {}",
        plain(&taken.prices)
    )
}

fn head(taken: &Taken, is_check: bool, width: usize) -> String {
    let dated = match &taken.dated {
        Some(day) => format!(" of {day}"),
        None => String::new(),
    };
    let never = match taken.never_ours {
        0 => String::new(),
        n => format!(", {n} never ours"),
    };
    let first = format!(
        "{}, list{dated}: {}, {} of ours{never}",
        plain(&taken.supplier),
        counted(taken.articles as u64, "article"),
        taken.matched
    );
    let out = plain(&taken.out);
    let rows = counted(taken.rows_before as u64, "row");
    let second = match (taken.would_change, is_check) {
        (false, _) => format!("{out} is as the list says: nothing changes"),
        (true, true) => format!(
            "{out}: {rows} of the supplier would become {}",
            taken.rows_after
        ),
        (true, false) => format!("{out}: {rows} of the supplier became {}", taken.rows_after),
    };
    let quotes = match taken.would_change && taken.changes.is_empty() && taken.out == taken.prices {
        true => "\nonly the day of the quotes changes",
        false => "",
    };
    let mut lines = vec![first, second];
    if taken.history_rows > 0 {
        let rows = counted(taken.history_rows as u64, "row");
        let verb = if is_check { "would be added" } else { "added" };
        lines.push(format!("{}: {rows} {verb}", plain(&taken.history)));
    }
    let lines: Vec<String> = (lines.iter())
        .map(|line| wrapped(line, width, "", "  "))
        .collect();
    format!("{}{quotes}\n", lines.join("\n"))
}

/// The first rows of a table, and how many more there are.
fn shown(table: &Table, width: usize) -> String {
    let more = table.rows().len().saturating_sub(SHOWN);
    if more == 0 {
        return table.text(width);
    }
    let mut first = Table::new(table.columns());
    table
        .rows()
        .iter()
        .take(SHOWN)
        .for_each(|row| first.row(row.clone()));
    format!(
        "{}and {more} more: --format json shows all\n",
        first.text(width)
    )
}
