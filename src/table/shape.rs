//! The columns of a table, and where they stand in a file.

use std::cell::Cell;
use std::sync::Arc;

/// A column by its place in the list of its table's columns. The name is ours,
/// or one that the user gave in another table.
#[derive(Debug, Clone, Copy)]
pub struct Col<'n> {
    pub(super) place: usize,
    /// Its name in the header row.
    pub name: &'n str,
    pub(super) required: bool,
}

impl<'n> Col<'n> {
    /// A column that must be there, with a value in each row.
    pub const fn required(place: usize, name: &'n str) -> Self {
        Self {
            place,
            name,
            required: true,
        }
    }

    /// A column that may be absent or empty.
    pub const fn optional(place: usize, name: &'n str) -> Self {
        Self {
            place,
            name,
            required: false,
        }
    }
}

/// What all rows of a table share.
#[derive(Debug)]
pub(super) struct Shape {
    pub file: Arc<str>,
    /// For each column of the list, its place in the file.
    pub places: Vec<Option<usize>>,
    /// Fields of the header row.
    pub width: usize,
    /// Fields of the header row without a name.
    pub unnamed: Vec<usize>,
    /// True if a decimal comma is understood.
    pub comma: bool,
    /// True for a sheet of a workbook, false for a text file.
    pub is_sheet: bool,
    /// The decimal sign that the file uses, and the line that showed it first.
    pub sign: Cell<Option<(char, u64)>>,
    pub errors: Cell<usize>,
}
