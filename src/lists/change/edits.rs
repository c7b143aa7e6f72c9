//! The rows of the price list that are written.

use crate::table::{EditError, EditedTable};

/// Columns of the price list that hold numbers.
pub const NUMBERS: &[&str] = &["min_qty", "unit_price", "pack", "stock", "lead_days"];

/// Cells by their columns.
type Cells = Vec<(&'static str, String)>;

/// A change of the price list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Cells of the row that begins at this line.
    Set(u64, Cells),
    /// The row that begins at this line goes.
    Remove(u64),
    /// A row comes, after the row that begins at this line, or at the end.
    Add(Option<u64>, Cells),
}

/// The text of a price list with the edits. Rows that come get the supplier, and the currency
/// where the list has such a column.
///
/// # Errors
/// [`EditError`] where the text can't be changed as asked.
pub fn apply(
    text: &str,
    edits: &[Edit],
    supplier: &str,
    currency: &str,
) -> Result<String, EditError> {
    let mut table = EditedTable::open(text, NUMBERS)?;
    let has_currency = table.has("currency");
    for edit in edits {
        match edit {
            Edit::Remove(line) => table.remove(*line)?,
            Edit::Set(line, cells) => {
                for (column, value) in cells {
                    set(&mut table, *line, column, value)?;
                }
            }
            Edit::Add(after, cells) => {
                let mut row = vec![("supplier", supplier)];
                row.extend(has_currency.then_some(("currency", currency)));
                row.extend(
                    cells
                        .iter()
                        .map(|(column, value)| (*column, value.as_str())),
                );
                match after {
                    Some(line) => table.add_after(*line, &row)?,
                    None => table.add(&row)?,
                }
            }
        }
    }
    Ok(table.text())
}

fn set(table: &mut EditedTable, line: u64, column: &str, value: &str) -> Result<(), EditError> {
    if !table.has(column) {
        if value.is_empty() {
            return Ok(());
        }
        table.ensure(column)?;
    }
    table.set(line, column, value)
}
