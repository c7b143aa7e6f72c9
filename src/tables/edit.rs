//! A table changed in place, wherever it stands: in a CSV file or in a workbook.

use crate::book::edit::{Edited, EditedSheet, SheetEditError};
use crate::diag::is_book_name;
use crate::table::{EditError, EditedTable};
use std::collections::BTreeSet;

/// A table and the edits of it. A row is named by its line in a CSV file, and by its
/// number in a sheet.
#[derive(Debug, Clone)]
pub enum EditedFile {
    /// A CSV file.
    Text(Box<EditedTable>),
    /// A sheet of a workbook.
    Sheet(Box<EditedSheet>),
}

/// Why a table can't be changed as asked.
#[derive(Debug, thiserror::Error)]
pub enum EditFileError {
    /// A CSV file can't be changed as asked.
    #[error(transparent)]
    Text(#[from] EditError),
    /// A sheet of a workbook can't be changed as asked.
    #[error(transparent)]
    Sheet(#[from] SheetEditError),
    /// The CSV file is not in UTF-8.
    #[error("the file is not in UTF-8")]
    NotText,
    /// The file is an `.ods` workbook.
    #[error(
        "an .ods workbook is only read, not changed: save it as .xlsx, or make CSV files of it \
         with couplet convert"
    )]
    OnlyRead,
}

impl EditedFile {
    /// Opens a file by its ending: the sheet `table` of an `.xlsx` workbook, else a
    /// CSV file. `numbers` are the columns that hold a number.
    ///
    /// # Errors
    /// [`EditFileError`] where the file can't be changed in place. An `.ods` workbook never can.
    ///
    /// ```
    /// use couplet::tables::{EditFileError, EditedFile};
    /// let mut file = EditedFile::open("on_hand.csv", b"part,qty\nP-1,3\n", "on_hand", &["qty"])?;
    /// file.set(2, "qty", "4")?;
    /// assert_eq!(file.finish()?.bytes, b"part,qty\nP-1,4\n");
    /// let ods = EditedFile::open("project.ods", b"", "on_hand", &["qty"]);
    /// assert!(matches!(ods, Err(EditFileError::OnlyRead)));
    /// # Ok::<(), EditFileError>(())
    /// ```
    pub fn open(
        file: &str,
        bytes: &[u8],
        table: &str,
        numbers: &'static [&'static str],
    ) -> Result<Self, EditFileError> {
        if file.to_ascii_lowercase().ends_with(".ods") {
            return Err(EditFileError::OnlyRead);
        }
        if is_book_name(file) {
            let sheet = EditedSheet::open(bytes, table, numbers)?;
            return Ok(EditedFile::Sheet(Box::new(sheet)));
        }
        let text = std::str::from_utf8(bytes).map_err(|_| EditFileError::NotText)?;
        let table = EditedTable::open(text, numbers)?;
        Ok(EditedFile::Text(Box::new(table)))
    }

    /// How many rows the table has now, without the header row.
    pub fn rows(&self) -> usize {
        match self {
            EditedFile::Text(table) => table.rows(),
            EditedFile::Sheet(sheet) => sheet.rows(),
        }
    }

    /// Writes the cell of a row.
    ///
    /// # Errors
    /// As [`EditedTable::set`] and [`EditedSheet::set`].
    pub fn set(&mut self, row: u64, column: &str, value: &str) -> Result<(), EditFileError> {
        match self {
            EditedFile::Text(table) => table.set(row, column, value)?,
            EditedFile::Sheet(sheet) => sheet.set(row, column, value)?,
        }
        Ok(())
    }

    /// Adds a row at the end.
    ///
    /// # Errors
    /// As [`EditedTable::add`] and [`EditedSheet::add`].
    pub fn add(&mut self, row: &[(&str, &str)]) -> Result<(), EditFileError> {
        match self {
            EditedFile::Text(table) => table.add(row)?,
            EditedFile::Sheet(sheet) => sheet.add(row)?,
        }
        Ok(())
    }

    /// Takes a row out.
    ///
    /// # Errors
    /// As [`EditedTable::remove`] and [`EditedSheet::remove`].
    pub fn remove(&mut self, row: u64) -> Result<(), EditFileError> {
        match self {
            EditedFile::Text(table) => table.remove(row)?,
            EditedFile::Sheet(sheet) => sheet.remove(row)?,
        }
        Ok(())
    }

    /// Adds a column after the last column, unless it is there; gives its place from 0.
    ///
    /// # Errors
    /// As [`EditedTable::ensure`] and [`EditedSheet::ensure`].
    pub fn ensure(&mut self, column: &str) -> Result<usize, EditFileError> {
        Ok(match self {
            EditedFile::Text(table) => table.ensure(column)?,
            EditedFile::Sheet(sheet) => sheet.ensure(column)?,
        })
    }

    /// The whole file with all edits.
    ///
    /// # Errors
    /// As [`EditedSheet::finish`].
    pub fn finish(&self) -> Result<Edited, EditFileError> {
        Ok(match self {
            EditedFile::Text(table) => Edited {
                bytes: table.text().into_bytes(),
                notes: BTreeSet::new(),
            },
            EditedFile::Sheet(sheet) => sheet.finish()?,
        })
    }
}
