//! Why a sheet can't be changed in place, and what is said of a change.

use super::place;
use crate::book::error::BookError;

/// Why a sheet can't be changed as asked.
#[derive(Debug, thiserror::Error)]
pub enum SheetEditError {
    /// The workbook can't be read.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The workbook has no such sheet.
    #[error("there is no sheet {sheet}")]
    NoSheet {
        /// Name of the sheet.
        sheet: String,
    },
    /// A change of any file in the workbook would make the signature void.
    #[error("the workbook is signed")]
    Signed,
    /// The parts of the workbook are not laid out as they are expected to be.
    #[error("the workbook cannot be changed in place: {why}")]
    Unclear {
        /// What is not as expected.
        why: &'static str,
    },
    /// No row names the columns.
    #[error("there is no header row")]
    NoHeader,
    /// The header row does not have the column.
    #[error("there is no column {column}")]
    NoColumn {
        /// Name of the column.
        column: String,
    },
    /// The header row has the column twice.
    #[error("the column {column} stands twice")]
    Twice {
        /// Name of the column.
        column: String,
    },
    /// Something stands where a new column would.
    #[error("cell {cell} is not empty, so that no column {column} can be added there")]
    Occupied {
        /// Place of the cell, such as `B7`.
        cell: String,
        /// Name of the column.
        column: String,
    },
    /// The row is a comment, is empty, is the header row, or was taken out.
    #[error("row {row} is no row of the table")]
    NoRow {
        /// Number of the row, from 1.
        row: u64,
    },
    /// The value would be read as something else, for example where spaces stand around it.
    #[error("{value:?} in the column {column} would be read as something else")]
    Value {
        /// Name of the column.
        column: String,
        /// The value.
        value: String,
    },
    /// Other cells have their value from the formula in this cell.
    #[error("cell {cell} is part of a formula for several cells")]
    Formula {
        /// Place of the cell, such as `B7`.
        cell: String,
    },
    /// The value would not be seen in a covered cell.
    #[error("cell {cell} is covered by the merged cells {area}")]
    Merged {
        /// Place of the cell, such as `B7`.
        cell: String,
        /// The merged cells, such as `A1:C9`.
        area: String,
    },
    /// Rows below would move, and what points at these rows can't move along.
    #[error("row {row} cannot be taken out: {what} would point at the wrong rows")]
    Pinned {
        /// Number of the row, from 1.
        row: u64,
        /// What points at the row or below it.
        what: String,
    },
    /// The edit goes beyond the limits of a sheet.
    #[error("the sheet has no room for more rows or columns")]
    Full,
    /// The changed workbook does not read as intended, so the change is refused.
    #[error("the changed sheet would not read as intended")]
    NotKept,
}

/// What a change does beside what was asked for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Note {
    /// A formula gave way to a value.
    Formula {
        /// Row of the cell, from 1.
        row: u64,
        /// Column of the cell, from 0.
        column: usize,
    },
    /// The workbook has formulas. The formulas show their old results until an office
    /// program opens the workbook and works them out anew.
    Stale,
    /// The sheet has a table with a range of its own. New rows and columns are not in
    /// that range.
    Range,
}

impl std::fmt::Display for Note {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Note::Formula { row, column } => {
                let cell = place::cell(*row, *column);
                write!(f, "the formula in cell {cell} gave way to its new value")
            }
            Note::Stale => f.write_str(
                "formulas in the workbook are worked out anew when an office program opens it",
            ),
            Note::Range => f.write_str(
                "the sheet has a table range of its own, which may not hold what was added",
            ),
        }
    }
}
