//! The tables of a list that was taken.

use crate::diag::joined;
use crate::lists::change::{BreakChange, Changes, Taken};
use crate::report::difference::percent;
use crate::report::table::{Column, Table};
use crate::report::wording::plain;
use crate::units::Money;

/// Prices at quantities that both lists have.
pub fn prices(changes: &Changes) -> Table {
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

/// Price breaks that are new or gone.
pub fn breaks(changes: &Changes) -> Table {
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

/// Other packs, stocks and lead times.
pub fn terms(changes: &Changes) -> Table {
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
            plain(&one.what.join(", ")),
            one.row.to_string(),
        ]);
    }
    table
}

/// Article numbers that stand side by side.
fn numbers(skus: &[String]) -> String {
    let skus: Vec<String> = skus.iter().map(|sku| plain(sku)).collect();
    joined(&skus, "or")
}

/// New articles.
pub fn new(changes: &Changes) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku"),
        Column::number("from"),
        Column::number("price"),
        Column::number("breaks"),
        Column::text("may_replace"),
        Column::number("row"),
    ]);
    for one in &changes.new {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.min_qty.to_string(),
            one.unit_price.to_string(),
            one.breaks.to_string(),
            numbers(&one.may_replace),
            one.row.to_string(),
        ]);
    }
    table
}

/// Articles that are gone.
pub fn gone(changes: &Changes) -> Table {
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

/// Parts that the supplier no longer sells.
pub fn lost(changes: &Changes) -> Table {
    let mut table = Table::new(&[Column::text("part")]);
    changes
        .no_longer_sold
        .iter()
        .for_each(|part| table.row(vec![part.clone()]));
    table
}

/// What stays where the list has an empty cell.
pub fn kept(taken: &Taken) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("sku"),
        Column::text("what"),
        Column::number("row"),
    ]);
    for one in &taken.kept {
        table.row(vec![
            one.part.clone(),
            plain(&one.sku),
            one.what.join(", "),
            one.row.to_string(),
        ]);
    }
    table
}

/// Prices that were rounded.
pub fn rounded(taken: &Taken) -> Table {
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

/// Articles without a part of ours.
pub fn unmatched(taken: &Taken) -> Table {
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

/// Cells that are not understood.
pub fn not_understood(taken: &Taken) -> Table {
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
        add(
            ["terms", &one.part, &one.sku],
            figures,
            plain(&one.what.join(", ")),
        );
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
        let notes = match one.may_replace.as_slice() {
            [] => none(),
            skus => format!("may replace {}", numbers(skus)),
        };
        add(["new", &one.part, &one.sku], figures, notes);
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
