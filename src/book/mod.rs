//! Workbooks, `.xlsx` and `.ods`: each sheet becomes the rows of a table.
//!
//! What a workbook unpacks to, and how far its sheets reach, is held to limits
//! before and while the workbook is read.

mod archive;
mod cell;
pub mod edit;
mod error;
mod limits;
mod ods;
mod places;
mod read;
mod rows;
mod sheet;
mod xlsx;

pub use cell::reads_as;
pub use error::{BookError, SheetLimit};
pub use limits::{MAX_BYTES, MAX_COLUMNS, MAX_FIELDS, MAX_ROWS, MAX_TEXT, MAX_UNPACKED};
pub use sheet::Sheet;

use crate::diag::{Findings, is_book_name, sheet_name};
use crate::source::{self, Files, Source};
use std::path::Path;
use std::sync::Arc;

/// A workbook that was read.
#[derive(Debug, Clone)]
pub struct Book {
    /// The file as the user would name it.
    pub file: Arc<str>,
    /// SHA-256 of the file's bytes, in hex.
    pub sha256: String,
    /// The sheets, in the order of the workbook.
    pub sheets: Vec<Sheet>,
}

/// True if the path ends as the name of a workbook does, and leads to no folder.
pub fn is_book(from: &Files, path: &Path) -> bool {
    is_book_name(&path.to_string_lossy()) && !from.is_dir(path)
}

/// Reads all sheets of a workbook that has to be there.
///
/// Pushes an error and gives none if the workbook can't be read or goes beyond a limit.
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
    match file.to_ascii_lowercase().ends_with(".ods") {
        true => {
            archive::check(bytes)?;
            ods::sheets(bytes)
        }
        false => read::sheets_of_xlsx(bytes),
    }
}

impl Book {
    /// The sheet of this name, in upper or lower case.
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

#[cfg(test)]
mod tests;
