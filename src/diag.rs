//! What is wrong with the input: every finding names file, line, column and cure.

mod repeated;
mod words;

pub use repeated::REPEATED;
pub use words::{Several, did_you_mean, joined, line_list, listed, quote, suggest};

use std::fmt;
use std::sync::Arc;

/// The name of a sheet among files: `catalog.xlsx, sheet bodies`.
pub fn sheet_name(book: &str, sheet: &str) -> Arc<str> {
    // A workbook may name its sheets with anything.
    let sheet = sheet.replace(char::is_control, " ");
    format!("{book}{SHEET}{sheet}").into()
}

/// What stands between the workbook and the sheet.
const SHEET: &str = ", sheet ";

/// `row` in a sheet of a workbook, `line` in any other file.
pub fn line_word(file: &str) -> &'static str {
    let is_sheet = file
        .match_indices(SHEET)
        .any(|(at, _)| file.get(..at).is_some_and(is_book_name));
    if is_sheet { "row" } else { "line" }
}

/// How another table is named beside this file: `suppliers.csv`, in a workbook
/// `the sheet suppliers`.
pub fn table_beside(file: &str, table: &str) -> String {
    match line_word(file) {
        "row" => format!("the sheet {table}"),
        _ => format!("{table}.csv"),
    }
}

/// True for the name of a workbook that can be read: `.xlsx` or `.ods`.
pub fn is_book_name(file: &str) -> bool {
    let ending = file.rsplit_once('.').map(|(_, ending)| ending);
    ending.is_some_and(|e| e.eq_ignore_ascii_case("xlsx") || e.eq_ignore_ascii_case("ods"))
}

/// A line of a file that the user keeps.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Row {
    /// The file as the user would name it; see [`sheet_name`] for a sheet.
    pub file: Arc<str>,
    /// Line number from 1; in a sheet, the number of the row.
    pub line: u64,
}

impl fmt::Display for Row {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match line_word(&self.file) {
            "row" => write!(f, "{}, row {}", self.file, self.line),
            _ => write!(f, "{}:{}", self.file, self.line),
        }
    }
}

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Nothing can be planned.
    Error,
    /// The input is legal, but looks wrong.
    Warning,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Error or warning.
    pub level: Level,
    /// What is wrong: lower case, no final stop.
    pub message: String,
    /// The file as the user would name it.
    pub file: Arc<str>,
    /// Line from 1; none where the whole file is meant.
    pub line: Option<u64>,
    /// Column name of a table, or key of a settings file.
    pub column: Option<String>,
    /// What to change.
    pub help: Option<String>,
    /// Facts that explain the finding.
    pub notes: Vec<String>,
}

impl Diagnostic {
    /// An error at a file.
    pub fn error(file: &Arc<str>, message: impl Into<String>) -> Self {
        Self::new(Level::Error, file, message)
    }

    /// A warning at a file.
    pub fn warning(file: &Arc<str>, message: impl Into<String>) -> Self {
        Self::new(Level::Warning, file, message)
    }

    fn new(level: Level, file: &Arc<str>, message: impl Into<String>) -> Self {
        Self {
            level,
            message: message.into(),
            file: file.clone(),
            line: None,
            column: None,
            help: None,
            notes: Vec::new(),
        }
    }

    /// Puts the finding at this line, from 1.
    pub fn line(mut self, line: u64) -> Self {
        self.line = Some(line);
        self
    }

    /// Puts the finding at this column or key.
    pub fn column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// Adds the cure.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds one more fact.
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// `bodies.csv:3, column rated_a`, `project.toml:3, key name`,
    /// `catalog.xlsx, sheet bodies, row 3, column rated_a`: where the finding is.
    pub fn place(&self) -> String {
        let mut place = match self.line {
            Some(line) => Row {
                file: self.file.clone(),
                line,
            }
            .to_string(),
            None => self.file.to_string(),
        };
        if let Some(column) = &self.column {
            let word = if self.file.ends_with(".toml") {
                "key"
            } else {
                "column"
            };
            place.push_str(&format!(", {word} {column}"));
        }
        place
    }
}

/// All findings of one reading.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    list: Vec<Diagnostic>,
}

impl Findings {
    /// Adds a finding.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.list.push(diagnostic);
    }

    /// Adds all findings of another list.
    pub fn extend(&mut self, other: Findings) {
        self.list.extend(other.list);
    }

    /// Brings the findings into the order of the files given, then of the lines.
    /// A finding without a line comes last in its file.
    pub fn sort_by_place(&mut self, files: &[Arc<str>]) {
        let rank = |d: &Diagnostic| files.iter().position(|f| *f == d.file);
        self.list
            .sort_by_cached_key(|d| (rank(d).is_none(), rank(d), d.line.is_none(), d.line));
    }

    /// The findings, in the order in which they stand.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.list.iter()
    }

    /// True if any is an error.
    pub fn has_errors(&self) -> bool {
        self.errors() > 0
    }

    /// How many errors.
    pub fn errors(&self) -> usize {
        self.list.iter().filter(|d| d.level == Level::Error).count()
    }

    /// How many warnings.
    pub fn warnings(&self) -> usize {
        self.list.len() - self.errors()
    }

    /// True if nothing was found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_have_rows_and_files_have_lines() {
        let sheet = sheet_name("a/catalog.xlsx", "bodies");
        let row = |file: &Arc<str>| Row {
            file: file.clone(),
            line: 3,
        };
        assert_eq!(
            row(&sheet).to_string(),
            "a/catalog.xlsx, sheet bodies, row 3"
        );
        let at = Diagnostic::error(&sheet, "x").line(3).column("part");
        assert_eq!(
            at.place(),
            "a/catalog.xlsx, sheet bodies, row 3, column part"
        );
        for file in ["bodies.csv", "a, sheet b.csv", "catalog.xlsx"] {
            assert_eq!(line_word(file), "line", "{file}");
            assert_eq!(row(&file.into()).to_string(), format!("{file}:3"));
        }
        assert_eq!(line_word(&sheet_name("B.ODS", "x")), "row");
        assert_eq!(table_beside(&sheet, "dies"), "the sheet dies");
        assert_eq!(table_beside("a/bodies.csv", "dies"), "dies.csv");
    }
}
