//! Where the tables of a catalog or a project stand: as CSV files in a folder,
//! as sheets of a workbook, or some here and some there.

mod edit;

pub use edit::{EditFileError, EditedFile};

use crate::book::{self, Book};
use crate::diag::{Diagnostic, Findings, did_you_mean, sheet_name};
use crate::source::{self, Files, Source};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A place with tables, and what has been read there.
#[derive(Debug, Default)]
pub struct Tables {
    from: Files,
    folder: Option<PathBuf>,
    book: Option<PathBuf>,
    /// The sheets; none where there is no workbook, or it can't be read.
    sheets: Option<Book>,
    files: Vec<(PathBuf, String)>,
    names: Vec<Arc<str>>,
}

impl Tables {
    /// Tables without a place, for single files.
    pub fn new(from: &Files) -> Self {
        Self {
            from: from.clone(),
            ..Self::default()
        }
    }

    /// The tables of a folder with CSV files, or of a workbook.
    pub fn open(from: &Files, path: &Path, findings: &mut Findings) -> Self {
        let mut tables = Self::new(from);
        if book::is_book(from, path) {
            tables.add_book(path, findings);
        } else {
            tables.folder = Some(path.to_owned());
        }
        tables
    }

    /// The tables of a folder with CSV files, and of a workbook of this name there, if there
    /// is such an `.xlsx` or `.ods` file.
    ///
    /// Pushes an error if both files are there.
    pub fn with_book(from: &Files, folder: &Path, name: &str, findings: &mut Findings) -> Self {
        let mut tables = Self::new(from);
        tables.folder = Some(folder.to_owned());
        let [first, second] = ["xlsx", "ods"].map(|e| folder.join(format!("{name}.{e}")));
        match (from.is_there(&first), from.is_there(&second)) {
            (true, true) => {
                let message = format!("{} is there as well", source::shown(&second));
                findings.push(
                    Diagnostic::error(&source::shown(&first), message)
                        .help("keep one of the two workbooks"),
                );
                tables.book = Some(first);
            }
            (true, false) => tables.add_book(&first, findings),
            (false, true) => tables.add_book(&second, findings),
            (false, false) => {}
        }
        tables
    }

    fn add_book(&mut self, path: &Path, findings: &mut Findings) {
        self.names.push(source::shown(path));
        self.sheets = book::read(&self.from, path, findings);
        if let Some(book) = &self.sheets {
            self.files.push((path.to_owned(), book.sha256.clone()));
        }
        self.book = Some(path.to_owned());
    }

    /// The files that the tables are read from.
    pub fn from(&self) -> &Files {
        &self.from
    }

    /// Each file that was read, with its SHA-256 in hex, in order.
    pub fn files(&self) -> &[(PathBuf, String)] {
        &self.files
    }

    /// The names of all files and sheets looked for, in order.
    pub fn names(&self) -> &[Arc<str>] {
        &self.names
    }

    /// True if the table is there, whether or not it can be read.
    pub fn has(&self, table: &str) -> bool {
        self.in_folder(table)
            .is_some_and(|path| self.from.is_there(&path))
            || self.in_book(table).is_some()
            || self.is_broken()
    }

    /// How the table is named where it stands, or would stand.
    pub fn name(&self, table: &str) -> Arc<str> {
        match (&self.book, self.in_folder(table)) {
            (Some(book), None) => sheet_name(&source::shown(book), table),
            (Some(book), Some(_)) if self.in_book(table).is_some() => {
                sheet_name(&source::shown(book), table)
            }
            (_, Some(path)) => source::shown(&path),
            (None, None) => table.into(),
        }
    }

    /// The file that the table stands in, or would stand in, and whether that is a workbook.
    pub fn stands(&self, table: &str) -> Option<(PathBuf, bool)> {
        let file = self.in_folder(table);
        match &self.book {
            Some(book) if file.is_none() || self.in_book(table).is_some() => {
                Some((book.clone(), true))
            }
            _ => file.map(|file| (file, false)),
        }
    }

    /// Reads a table that has to be there; pushes an error if the table is not there, or
    /// stands twice.
    pub fn required(&mut self, table: &str, findings: &mut Findings) -> Option<Source> {
        let errors = findings.errors();
        let found = self.optional(table, findings);
        if found.is_some() || findings.errors() > errors || self.is_broken() {
            return found;
        }
        match self.in_folder(table) {
            Some(path) => self.from.read(&path, findings),
            None => {
                findings.push(self.missing_sheet(table));
                None
            }
        }
    }

    /// Reads a table that may be missing; pushes an error if the table stands twice.
    pub fn optional(&mut self, table: &str, findings: &mut Findings) -> Option<Source> {
        let name = self.name(table);
        self.names.push(name.clone());
        let sheet = self.in_book(table);
        let file = self.in_folder(table);
        let is_file = file.as_ref().is_some_and(|path| self.from.is_there(path));
        match (sheet, file) {
            (Some(_), Some(file)) if is_file => {
                findings.push(
                    Diagnostic::error(&name, format!("{} is there as well", source::shown(&file)))
                        .help("keep the sheet or the file, and remove the other"),
                );
                None
            }
            (Some(sheet), _) => Some(sheet),
            (None, Some(file)) => {
                let source = self.from.read_optional(&file, findings)?;
                self.files.push((file, source.sha256.clone()));
                Some(source)
            }
            (None, None) => None,
        }
    }

    /// Reads a CSV file that has to be there, in any folder.
    pub fn file(&mut self, path: &Path, findings: &mut Findings) -> Option<Source> {
        self.names.push(source::shown(path));
        let source = self.from.read(path, findings)?;
        self.files.push((path.to_owned(), source.sha256.clone()));
        Some(source)
    }

    /// Reads a table that commands write, and that has to be a CSV file for that reason.
    /// The table may be missing. Pushes an error if the table stands in the workbook.
    pub fn only_file(&mut self, table: &str, findings: &mut Findings) -> Option<Source> {
        let path = self.in_folder(table)?;
        let file = source::shown(&path);
        if let (Some(_), Some(book)) = (self.in_book(table), &self.book) {
            let sheet = sheet_name(&source::shown(book), table);
            let message = format!("{table} cannot stand in a workbook: commands write to {file}");
            findings.push(
                Diagnostic::error(&sheet, message)
                    .help(format!("keep the rows in {file}, and remove the sheet")),
            );
            self.names.push(sheet);
        }
        self.names.push(file);
        let source = self.from.read_optional(&path, findings)?;
        self.files.push((path, source.sha256.clone()));
        Some(source)
    }

    /// Takes over what was read elsewhere.
    pub fn take(&mut self, other: &Tables) {
        self.files.extend_from_slice(&other.files);
        self.names.extend_from_slice(&other.names);
    }

    /// True if the workbook is there and can't be read. The error was pushed already.
    fn is_broken(&self) -> bool {
        self.book.is_some() && self.sheets.is_none()
    }

    fn in_folder(&self, table: &str) -> Option<PathBuf> {
        self.folder.as_ref().map(|f| f.join(format!("{table}.csv")))
    }

    fn in_book(&self, table: &str) -> Option<Source> {
        self.sheets.as_ref()?.source(table)
    }

    fn missing_sheet(&self, table: &str) -> Diagnostic {
        let sheets = self.sheets.iter().flat_map(|book| &book.sheets);
        let names: Vec<&str> = sheets.map(|sheet| sheet.name.as_str()).collect();
        let help = did_you_mean(table, names.iter().copied())
            .unwrap_or_else(|| format!("add a sheet named {table}"));
        let book = self.book.as_deref().map(source::shown).unwrap_or_default();
        Diagnostic::error(&book, format!("there is no sheet {table}")).help(help)
    }
}
