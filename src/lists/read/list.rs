//! Opens a supplier's file: a text, or a workbook.

use super::decode::{self, Told};
use super::split::{self, Separator};
use crate::book;
use crate::diag::{Diagnostic, Findings, sheet_name};
use crate::source::{self, Files, SheetRow};
use encoding_rs::Encoding;
use std::path::Path;
use std::sync::Arc;

/// What a recipe says of the file where the file does not tell.
#[derive(Debug, Clone, Copy)]
pub struct Hints {
    /// Of a text.
    pub encoding: Option<&'static Encoding>,
    /// Of a text.
    pub separator: Option<Separator>,
    /// True if a quote at the beginning of a field opens a quoted field.
    pub quotes: bool,
}

impl Default for Hints {
    fn default() -> Self {
        Self {
            encoding: None,
            separator: None,
            quotes: true,
        }
    }
}

/// A supplier's file.
#[derive(Debug, Clone)]
pub struct List {
    /// The file as the user would name it.
    pub file: Arc<str>,
    /// The sheets of a workbook that hold anything; of a text its one page.
    pub pages: Vec<Page>,
    /// What a text is written in, and how that is known.
    pub encoding: Option<(&'static str, Told)>,
    /// What parts the fields of a text.
    pub separator: Option<Separator>,
}

/// A sheet, or all of a text.
#[derive(Debug, Clone)]
pub struct Page {
    /// The file, with the sheet where it is one.
    pub file: Arc<str>,
    /// The name of the sheet; empty for a text.
    pub sheet: String,
    /// The rows that hold anything.
    pub rows: Arc<[SheetRow]>,
}

/// Reads a supplier's file.
///
/// Pushes an error and gives none if the file can't be read or goes beyond a limit.
pub fn open(files: &Files, path: &Path, hints: &Hints, findings: &mut Findings) -> Option<List> {
    let list = match book::is_book(files, path) {
        true => workbook(files, path, findings)?,
        false => {
            let bytes = files.read_bytes(path, book::MAX_BYTES, findings)?;
            let read = text(source::shown(path), &bytes, hints);
            read.map_err(|error| findings.push(*error)).ok()?
        }
    };
    if let Some(warning) = marked(&list, hints) {
        findings.push(warning);
    }
    if list.pages.is_empty() {
        let empty = Diagnostic::error(&list.file, "the file is empty");
        findings.push(empty.help("name the file that the supplier sent"));
        return None;
    }
    Some(list)
}

/// A warning where the mark at the beginning of a text says another encoding than the recipe.
fn marked(list: &List, hints: &Hints) -> Option<Diagnostic> {
    let (shown, named) = (list.encoding?.0, hints.encoding?.name());
    (shown != named).then(|| {
        let message = format!(
            "the file begins with a mark of {shown}, but the recipe says {named}: it is read as {shown}"
        );
        Diagnostic::warning(&list.file, message)
            .help("take encoding out of the recipe: then the file tells it, or it is guessed")
    })
}

fn workbook(files: &Files, path: &Path, findings: &mut Findings) -> Option<List> {
    let book = book::read(files, path, findings)?;
    let sheets = book.sheets.iter().filter(|sheet| !sheet.rows.is_empty());
    let pages = sheets.map(|sheet| Page {
        file: sheet_name(&book.file, &sheet.name),
        sheet: sheet.name.clone(),
        rows: sheet.rows.clone(),
    });
    Some(List {
        pages: pages.collect(),
        file: book.file.clone(),
        encoding: None,
        separator: None,
    })
}

fn text(file: Arc<str>, bytes: &[u8], hints: &Hints) -> Result<List, Box<Diagnostic>> {
    let decoded = decode::text(&file, bytes, hints.encoding)?;
    let guess = || Separator::of(&decoded.text, hints.quotes);
    let separator = hints.separator.unwrap_or_else(guess);
    let rows = split::rows(&file, &decoded.text, separator, hints.quotes)?;
    let page = Page {
        file: file.clone(),
        sheet: String::new(),
        rows: rows.into(),
    };
    Ok(List {
        pages: Some(page)
            .filter(|page| !page.rows.is_empty())
            .into_iter()
            .collect(),
        file,
        encoding: Some((decoded.encoding, decoded.told)),
        separator: Some(separator),
    })
}

impl Page {
    /// The cell of a row; empty where the row is shorter.
    pub fn cell<'r>(&self, row: &'r SheetRow, place: usize) -> &'r str {
        row.cells.get(place).unwrap_or("").trim()
    }
}
