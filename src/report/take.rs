//! A supplier's list that was taken, for a reader.

use super::reprice::percent;
use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::desk::take::Draft;
use crate::lists::change::{BreakChange, Changes, Taken};
use crate::lists::rows::Article;
use crate::units::Money;

/// So many rows of a table are shown.
const SHOWN: usize = 20;

/// So many articles show how a recipe reads a list.
const SAMPLE: usize = 10;

/// What a list makes of the price list. `is_check` says that nothing is written.
pub fn text(taken: &Taken, is_check: bool, width: usize) -> String {
    let mut sections = vec![head(taken, is_check, width)];
    let changes = &taken.changes;
    let mut section = |title: String, table: Table| {
        if !table.is_empty() {
            sections.push(format!("{title}\n{}", shown(&table, width)));
        }
    };
    let count = |n: usize, noun: &str| counted(n as u64, noun);
    let title = format!(
        "{} changed, in {}",
        count(changes.prices.len(), "price"),
        taken.currency
    );
    section(title, prices(changes));
    section(
        count(changes.breaks.len(), "price break") + " new or gone",
        breaks(changes),
    );
    section("Other terms".to_owned(), terms(changes));
    section(count(changes.new.len(), "new article"), new(changes));
    section(gone_title(taken), gone(changes));
    let lost = lost(changes);
    section("Parts that the supplier no longer sells".to_owned(), lost);
    section(
        count(taken.rounded.len(), "price") + " rounded to six decimals",
        rounded(taken),
    );
    section(
        count(taken.unmatched.len(), "article") + " without a part of ours",
        unmatched(taken),
    );
    section(
        count(taken.not_understood.len(), "cell") + " not understood there",
        not_understood(taken),
    );
    sections.join("\n")
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
    let lines = [first, second].map(|line| wrapped(&line, width, "", "  "));
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

fn prices(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku").detail(1),
        Column::number("from"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("percent"),
        Column::number("row"),
    ]);
    for one in &changes.prices {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.min_qty.to_string(),
            one.before.to_string(),
            one.after.to_string(),
            one.percent.map(percent).unwrap_or_default(),
            one.row.to_string(),
        ]);
    }
    table
}

fn money(money: Option<Money>) -> String {
    money.map(|money| money.to_string()).unwrap_or_default()
}

fn breaks(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("change"),
        Column::text("part"),
        Column::text("sku").detail(1),
        Column::number("from"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("row"),
    ]);
    for one in &changes.breaks {
        table.row(vec![
            word(one).to_owned(),
            one.part.clone(),
            plain(&one.sku),
            one.min_qty.to_string(),
            money(one.before),
            money(one.after),
            one.row.to_string(),
        ]);
    }
    table
}

fn word(one: &BreakChange) -> &'static str {
    if one.before.is_none() { "new" } else { "gone" }
}

fn terms(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku").detail(1),
        Column::text("what"),
        Column::number("row"),
    ]);
    for one in &changes.terms {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.what.join(", "),
            one.row.to_string(),
        ]);
    }
    table
}

fn new(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku"),
        Column::number("from"),
        Column::number("price"),
        Column::number("breaks"),
        Column::number("row"),
    ]);
    for one in &changes.new {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.min_qty.to_string(),
            one.unit_price.to_string(),
            one.breaks.to_string(),
            one.row.to_string(),
        ]);
    }
    table
}

fn gone(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku"),
        Column::number("old_price"),
        Column::number("row"),
    ]);
    for one in &changes.gone {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.unit_price.to_string(),
            one.row.to_string(),
        ]);
    }
    table
}

fn lost(changes: &Changes) -> Table {
    let mut table = Table::new(&[Column::text("part")]);
    changes
        .no_longer_sold
        .iter()
        .for_each(|part| table.row(vec![part.clone()]));
    table
}

fn rounded(taken: &Taken) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku"),
        Column::number("price"),
        Column::number("row"),
    ]);
    for one in &taken.rounded {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.unit_price.to_string(),
            one.row.to_string(),
        ]);
    }
    table
}

fn unmatched(taken: &Taken) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(2),
        Column::number("price"),
        Column::text("perhaps"),
        Column::text("why").detail(1),
    ]);
    for one in &taken.unmatched {
        let best = one.proposals.first();
        table.row(vec![
            one.row.to_string(),
            plain(&one.article),
            plain(&one.description),
            money(one.unit_price),
            best.map(|best| format!("{}, {} % sure", best.part, best.sure))
                .unwrap_or_default(),
            best.map(|best| best.why.clone()).unwrap_or_default(),
        ]);
    }
    table
}

fn not_understood(taken: &Taken) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("column"),
        Column::text("what"),
    ]);
    for one in &taken.not_understood {
        table.row(vec![
            one.row.to_string(),
            plain(&one.article),
            plain(&one.column),
            plain(&one.message),
        ]);
    }
    table
}

/// All changes as a table: `change, part, sku, min_qty, old_price, new_price, percent, row,
/// notes`. `row` is one of the list, of a gone article one of the price list.
pub fn changes(taken: &Taken) -> Table {
    let mut table = Table::new(&[
        Column::text("change"),
        Column::text("part"),
        Column::text("sku"),
        Column::number("min_qty"),
        Column::number("old_price"),
        Column::number("new_price"),
        Column::number("percent"),
        Column::number("row"),
        Column::text("notes"),
    ]);
    let mut add = |names: [&str; 3], figures: [String; 5], notes: String| {
        let names = names.into_iter().map(plain);
        table.row(names.chain(figures).chain([notes]).collect());
    };
    let changes = &taken.changes;
    let none = String::new;
    for one in &changes.prices {
        let percent = one.percent.map(percent).unwrap_or_default();
        let (before, after) = (one.before.to_string(), one.after.to_string());
        let figures = [
            one.min_qty.to_string(),
            before,
            after,
            percent,
            one.row.to_string(),
        ];
        add(["price", &one.part, &one.sku], figures, none());
    }
    for one in &changes.breaks {
        let figures = [
            one.min_qty.to_string(),
            money(one.before),
            money(one.after),
            none(),
            one.row.to_string(),
        ];
        let change = if one.before.is_none() {
            "new break"
        } else {
            "break gone"
        };
        add([change, &one.part, &one.sku], figures, none());
    }
    for one in &changes.terms {
        let figures = [none(), none(), none(), none(), one.row.to_string()];
        add(["terms", &one.part, &one.sku], figures, one.what.join(", "));
    }
    for one in &changes.new {
        let price = one.unit_price.to_string();
        let figures = [
            one.min_qty.to_string(),
            none(),
            price,
            none(),
            one.row.to_string(),
        ];
        add(["new", &one.part, &one.sku], figures, none());
    }
    for one in &changes.gone {
        let figures = [
            none(),
            one.unit_price.to_string(),
            none(),
            none(),
            one.row.to_string(),
        ];
        add(["gone", &one.part, &one.sku], figures, none());
    }
    table
}

/// A proposed recipe: the first articles as it reads them, and what the list does not tell.
pub fn proposed(draft: &Draft, is_check: bool, width: usize) -> String {
    let path = plain(&draft.recipe.file);
    let wrote = if is_check {
        "would be written"
    } else {
        "is written"
    };
    let first = format!("there was no recipe for this supplier: {path} {wrote}");
    let second = format!(
        "by this recipe the list has {}, {} of ours; no price was taken",
        counted(articles(draft).count() as u64, "article"),
        draft.matched
    );
    let lines = [first, second].map(|line| wrapped(&line, width, "", "  "));
    let mut text = lines.join("\n") + "\n";
    let sample = sample(draft);
    if !sample.is_empty() {
        text.push_str(&format!(
            "\nThe first articles as the recipe reads them, prices of a piece\n{}",
            sample.text(width)
        ));
    }
    if !draft.remarks.is_empty() {
        text.push_str("\nLook these over in the recipe\n");
        for (key, remark) in &draft.remarks {
            text.push_str(&wrapped(
                &format!("- {key}: {}", plain(remark)),
                width,
                "",
                "  ",
            ));
            text.push('\n');
        }
    }
    text
}

/// The articles without titles.
fn articles(draft: &Draft) -> impl Iterator<Item = &Article> {
    draft.articles.iter().filter(|article| !article.is_title)
}

fn sample(draft: &Draft) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(1),
        Column::text("prices"),
        Column::number("pack"),
        Column::number("stock"),
        Column::number("lead_days"),
        Column::text("not_understood"),
    ]);
    for one in articles(draft).take(SAMPLE) {
        let terms = &one.terms;
        let prices: Vec<String> = (terms.steps.iter())
            .map(|step| match step.min_qty {
                1 => step.price.to_string(),
                from => format!("{} from {from}", step.price),
            })
            .collect();
        let shown = |n: Option<u64>| n.map(|n| n.to_string()).unwrap_or_default();
        let number = if one.number.is_empty() {
            &one.own
        } else {
            &one.number
        };
        let troubles: Vec<String> = one.troubles.iter().map(|t| plain(&t.message)).collect();
        table.row(vec![
            one.row.to_string(),
            plain(number),
            plain(&one.description),
            prices.join(", "),
            shown(Some(terms.pack).filter(|pack| *pack > 1)),
            shown(terms.stock),
            shown(terms.lead_days.map(u64::from)),
            list(&troubles),
        ]);
    }
    table
}
