//! Workbooks, `.xlsx` and `.ods`: each sheet becomes the rows of a table.
//!
//! What a workbook unpacks to, and how far its sheets reach, is held to limits
//! before and while it is read.

mod archive;
mod cell;
mod ods;
mod places;
mod rows;
mod xlsx;

pub use cell::reads_as;
pub use rows::{MAX_COLUMNS, MAX_FIELDS, MAX_ROWS, MAX_TEXT};

use crate::diag::{Diagnostic, Findings, is_book_name, sheet_name};
use crate::source::{self, Files, SheetRow, Source};
use std::path::Path;
use std::sync::Arc;

/// Larger workbooks are refused: 64 MiB.
pub const MAX_BYTES: u64 = 64 << 20;

/// Workbooks that unpack to more are refused: 256 MiB.
pub const MAX_UNPACKED: u64 = 256 << 20;

/// A workbook that was read.
#[derive(Debug, Clone)]
pub struct Book {
    /// The file as the user would name it.
    pub file: Arc<str>,
    /// SHA-256 of its bytes, in hex.
    pub sha256: String,
    /// In the order of the workbook.
    pub sheets: Vec<Sheet>,
}

/// A sheet of a workbook.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// As it is named in the workbook.
    pub name: String,
    /// The rows that hold anything.
    pub rows: Arc<[SheetRow]>,
}

/// True if the path names a workbook: by its ending, where no folder is so named.
pub fn is_book(from: &Files, path: &Path) -> bool {
    is_book_name(&path.to_string_lossy()) && !from.is_dir(path)
}

/// Reads all sheets of a workbook that has to be there.
///
/// Pushes an error and gives none if it can't be read or goes beyond a limit.
pub fn read(from: &Files, path: &Path, findings: &mut Findings) -> Option<Book> {
    let bytes = from.read_bytes(path, MAX_BYTES, findings)?;
    let file = source::shown(path);
    match sheets(&file, &bytes) {
        Ok(sheets) => Some(Book {
            sha256: source::sha256(&bytes),
            file,
            sheets,
        }),
        Err(error) => {
            findings.push(error.diagnostic(&file));
            None
        }
    }
}

fn sheets(file: &str, bytes: &[u8]) -> Result<Vec<Sheet>, BookError> {
    archive::check(bytes)?;
    if file.to_ascii_lowercase().ends_with(".ods") {
        ods::sheets(bytes)
    } else {
        places::check(bytes)?;
        xlsx::sheets(bytes)
    }
}

impl Book {
    /// The sheet of this name, upper or lower case.
    pub fn sheet(&self, name: &str) -> Option<&Sheet> {
        let lower = name.to_lowercase();
        self.sheets
            .iter()
            .find(|sheet| sheet.name.trim().to_lowercase() == lower)
    }

    /// The sheet of this name as the source of a table.
    pub fn source(&self, name: &str) -> Option<Source> {
        let sheet = self.sheet(name)?;
        let file = sheet_name(&self.file, name);
        Some(Source::from_sheet(
            file,
            self.sha256.clone(),
            sheet.rows.clone(),
        ))
    }
}

/// Why a workbook can't be read.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// No archive, or no workbook in it; what the reader says.
    #[error("it is no workbook that can be read: {0}")]
    NotABook(String),
    /// It needs a password.
    #[error("the workbook is protected by a password")]
    Password,
    /// More than [`MAX_UNPACKED`].
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
    fn diagnostic(&self, file: &Arc<str>) -> Diagnostic {
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

/// What a reader says may quote the file at any length, control characters
/// and all.
fn printable(text: &str) -> String {
    const MOST: usize = 200;
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    let mut short: String = text.chars().take(MOST).map(plain).collect();
    if text.chars().nth(MOST).is_some() {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests;
