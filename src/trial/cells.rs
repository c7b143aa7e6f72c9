//! Cells of a table changed in place, with what stood in them.

use crate::book;
use crate::diag::Findings;
use crate::source::{Files, Source};
use crate::table::{Col, Table};
use crate::tables::{EditFileError, EditedFile, Tables};
use std::path::{Path, PathBuf};

/// A table where it stands.
pub(super) struct Stand {
    /// The CSV file or the workbook.
    pub path: PathBuf,
    /// The name of the table, and of its sheet in a workbook.
    pub table: &'static str,
    is_sheet: bool,
    source: Option<Source>,
}

/// A row as far as it was asked for.
pub(super) struct RowOf {
    /// The line, or in a sheet the number of the row.
    pub line: u64,
    /// The cells of the columns that were asked for; empty where there is no such column.
    pub cells: Vec<String>,
}

impl Stand {
    /// A table in a folder, or in a workbook of this name there.
    pub fn beside(files: &Files, folder: &Path, book: &str, table: &'static str) -> Option<Self> {
        let mut findings = Findings::default();
        let tables = Tables::with_book(files, folder, book, &mut findings);
        Self::of(tables, table)
    }

    /// A table of a catalog: a folder or a workbook.
    pub fn in_catalog(files: &Files, catalog: &Path, table: &'static str) -> Option<Self> {
        let mut findings = Findings::default();
        let tables = Tables::open(files, catalog, &mut findings);
        Self::of(tables, table)
    }

    /// A table that is a CSV file of its own, or a sheet of the workbook that is named.
    pub fn file(files: &Files, path: &Path, table: &'static str) -> Option<Self> {
        if book::is_book(files, path) {
            return Self::in_catalog(files, path, table);
        }
        let mut findings = Findings::default();
        Some(Self {
            path: path.to_owned(),
            table,
            is_sheet: false,
            source: files.read(path, &mut findings),
        })
    }

    fn of(mut tables: Tables, table: &'static str) -> Option<Self> {
        let (path, is_sheet) = tables.stands(table)?;
        let mut findings = Findings::default();
        Some(Self {
            path,
            table,
            is_sheet,
            source: tables.optional(table, &mut findings),
        })
    }

    /// How the table is named to the user, relative to the project.
    pub fn shown(&self, files: &Files, folder: &Path) -> String {
        let file = files.relative(&self.path, folder);
        match self.is_sheet {
            true => crate::diag::sheet_name(&file, self.table).to_string(),
            false => file,
        }
    }

    /// True if the table is there.
    pub fn is_there(&self) -> bool {
        self.source.is_some()
    }

    /// The rows with the cells of these columns.
    pub fn rows(&self, columns: &[&str]) -> Vec<RowOf> {
        let cols: Vec<Col> = (columns.iter().enumerate())
            .map(|(place, name)| Col::optional(place, name))
            .collect();
        // The columns that nobody asked for are no errors here.
        let mut findings = Findings::default();
        let table = self
            .source
            .as_ref()
            .and_then(|source| Table::open(source, &cols, &mut findings));
        let mut rows = Vec::new();
        let Some(mut table) = table else {
            return rows;
        };
        while let Some(row) = table.next(&mut findings) {
            rows.push(RowOf {
                line: row.place().line,
                cells: cols.iter().map(|col| row.peek(*col).to_owned()).collect(),
            });
        }
        rows
    }

    /// Opens the table for changes; a CSV file that is not there is begun with `columns`.
    pub fn edit(
        &self,
        files: &Files,
        numbers: &'static [&'static str],
        columns: &[&str],
    ) -> Result<EditedFile, EditFileError> {
        if !self.is_there() && !self.is_sheet {
            let table = crate::table::EditedTable::create(columns, numbers)?;
            return Ok(EditedFile::Text(Box::new(table)));
        }
        let bytes = files.bytes(&self.path, crate::source::MAX_BYTES);
        let name = self.path.to_string_lossy();
        EditedFile::open(&name, &bytes.unwrap_or_default(), self.table, numbers)
    }
}
