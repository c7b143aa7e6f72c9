//! What keeps a workbook from being read.

use super::limits::{MAX_COLUMNS, MAX_FIELDS, MAX_ROWS, MAX_TEXT, MAX_UNPACKED};
use crate::diag::{Diagnostic, sheet_name};
use std::sync::Arc;

/// Why a workbook can't be read.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// The file is no archive, or holds no workbook; with what the reader says.
    #[error("the file is no workbook that can be read: {0}")]
    NotABook(String),
    /// The workbook needs a password.
    #[error("the workbook is protected by a password")]
    Password,
    /// The workbook unpacks to more than [`MAX_UNPACKED`] bytes.
    #[error("the workbook unpacks to more than {MAX_UNPACKED} bytes")]
    Unpacked,
    /// A sheet goes beyond a limit.
    #[error("{limit}")]
    Sheet {
        /// The sheet's name.
        sheet: String,
        /// Which limit.
        limit: SheetLimit,
    },
}

/// A limit of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SheetLimit {
    /// Rows.
    #[error("row {0} holds something; a sheet may have {MAX_ROWS} rows")]
    Rows(u64),
    /// Columns.
    #[error("column {0} holds something; a sheet may have {MAX_COLUMNS} columns")]
    Columns(u64),
    /// Cells.
    #[error("the workbook has more than {MAX_FIELDS} cells up to here")]
    Fields,
    /// Text.
    #[error("the workbook holds more than {MAX_TEXT} bytes of text up to here")]
    Text,
}

impl BookError {
    pub(super) fn diagnostic(&self, file: &Arc<str>) -> Diagnostic {
        let (at, help) = match self {
            BookError::NotABook(_) => (file.clone(), "save it anew as .xlsx or .ods"),
            BookError::Password => (file.clone(), "save it without a password"),
            BookError::Unpacked => (file.clone(), "leave out what no circuit needs"),
            BookError::Sheet { sheet, .. } => (
                sheet_name(file, sheet),
                "leave out what no circuit needs; delete empty rows and columns that hold spaces",
            ),
        };
        Diagnostic::error(&at, printable(&self.to_string())).help(help)
    }
}

/// A text without control characters, at most 200 characters long. What a reader
/// says may quote the file at any length.
fn printable(text: &str) -> String {
    const MOST: usize = 200;
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    let mut short: String = text.chars().take(MOST).map(plain).collect();
    if text.chars().nth(MOST).is_some() {
        short.push('…');
    }
    short
}
