//! What a supplier sent after an order, for a reader.

mod confirmed;
mod note;
mod proposed;

pub use confirmed::{json, table, text};
pub use note::{nothing, strangers};
pub use proposed::proposed;

use crate::lists::recipe;
use crate::report::table::{Column, Table};
use crate::report::wording::{plain, wrapped};
use crate::study::letter::Stranger;

/// Lines that are nothing that was ordered.
fn table_of(strangers: &[Stranger]) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(1),
        Column::number("pieces"),
        Column::text("perhaps"),
        Column::text("why"),
    ]);
    for one in strangers {
        let best = one.proposals.first();
        table.row(vec![
            one.row.to_string(),
            plain(&one.article),
            plain(&one.description),
            one.pieces.map(|n| n.to_string()).unwrap_or_default(),
            best.map(|best| format!("{}, {} % sure", best.part, best.sure))
                .unwrap_or_default(),
            plain(best.map_or(&one.why, |best| &best.why)),
        ]);
    }
    table
}

/// How to say that a line is the part that it may be; nothing where no line may be one.
fn say_yes(strangers: &[Stranger], recipe: Option<&str>, width: usize) -> Option<String> {
    let named = strangers.iter().filter(|one| !one.article.is_empty());
    let (article, best) = named
        .filter_map(|one| Some((&one.article, one.proposals.first()?)))
        .max_by_key(|(_, best)| best.sure)?;
    let line = recipe::mapping(article, &best.part);
    let text = format!(
        "nothing that is only alike is taken; say yes by a line under [parts] of {}, such as {}",
        plain(recipe?),
        plain(&line)
    );
    Some(wrapped(&text, width, "", "  ") + "\n")
}
