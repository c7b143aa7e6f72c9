//! Why a sheet can't be changed in place, and what is said of a change.

use super::place;
use crate::book::error::BookError;

/// Why a sheet can't be changed so.
#[derive(Debug, thiserror::Error)]
pub enum SheetEditError {
    /// The workbook can't be read.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The workbook has no such sheet.
    #[error("there is no sheet {sheet}")]
    NoSheet {
        /// Its name.
        sheet: String,
    },
    /// Changing any file in it would make its signature void.
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
        /// Its name.
        column: String,
    },
    /// The header row has the column twice.
    #[error("the column {column} stands twice")]
    Twice {
        /// Its name.
        column: String,
    },
    /// Something stands where a new column would.
    #[error("cell {cell} is not empty, so that no column {column} can be added there")]
    Occupied {
        /// Its place.
        cell: String,
        /// Name of the column.
        column: String,
    },
    /// A comment, an empty row, the header row, or one that was taken out.
    #[error("row {row} is no row of the table")]
    NoRow {
        /// Its number.
        row: u64,
    },
    /// The value would be read as something else, as spaces around it.
    #[error("{value:?} in the column {column} would be read as something else")]
    Value {
        /// Name of the column.
        column: String,
        /// The value.
        value: String,
    },
    /// Other cells have their value from the formula in this one.
    #[error("cell {cell} is part of a formula for several cells")]
    Formula {
        /// Its place.
        cell: String,
    },
    /// It would not be seen there.
    #[error("cell {cell} is covered by the merged cells {area}")]
    Merged {
        /// Its place.
        cell: String,
        /// The merged cells.
        area: String,
    },
    /// Rows below would move, and what points at them can't move along.
    #[error("row {row} cannot be taken out: {what} would point at the wrong rows")]
    Pinned {
        /// Its number.
        row: u64,
        /// What points below it.
        what: String,
    },
    /// The limits of a sheet.
    #[error("the sheet has no room for more rows or columns")]
    Full,
    /// The changed workbook does not read as it should, so that it is not given.
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
    /// The workbook has formulas: they show their old results until an office
    /// program opens it and works them out anew.
    Stale,
    /// The sheet has a table with a range of its own, which new rows and columns
    /// are not in.
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
