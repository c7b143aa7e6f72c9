//! What a supplier sent after an order, for a reader.

mod confirmed;
mod note;
mod proposed;

pub use confirmed::{json, table, text};
pub use note::{nothing, strangers};
pub use proposed::proposed;

use crate::report::table::{Column, Table};
use crate::report::wording::plain;
use crate::study::letter::Stranger;

/// Lines that are nothing that was ordered.
fn table_of(strangers: &[Stranger]) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(1),
        Column::number("pieces"),
        Column::text("why"),
    ]);
    for one in strangers {
        table.row(vec![
            one.row.to_string(),
            plain(&one.article),
            plain(&one.description),
            one.pieces.map(|n| n.to_string()).unwrap_or_default(),
            plain(&one.why),
        ]);
    }
    table
}
