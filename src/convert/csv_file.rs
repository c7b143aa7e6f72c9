//! The CSV side of a conversion.

use super::{Grid, Line, is_number_column};
use crate::book::{MAX_COLUMNS, MAX_ROWS, Sheet};
use crate::diag::{Diagnostic, Findings, quote, sheet_name};
use crate::source::{Mark, SheetRow, Source};
use crate::table::rows::{Step, TextRows};
use crate::table::{MAX_LINE, guarded, header, unguarded};
use csv::StringRecord;
use std::sync::Arc;

/// The most characters that a cell of a workbook takes, counted in units of UTF-16. The
/// common spreadsheet programs state this limit in their specifications.
pub const MAX_CELL: usize = 32_767;

/// Reads a CSV file line by line.
///
/// Pushes an error and gives none where the fields can't be told apart, or where a
/// sheet can't hold the file.
pub fn read(name: &str, source: &Source, findings: &mut Findings) -> Option<Grid> {
    let before = findings.errors();
    let text = source.text();
    let mut rows = TextRows::new(text, header::separator(text));
    let mut reading = Reading {
        file: &source.file,
        lines: Vec::new(),
        width: None,
        findings,
    };
    let mut record = StringRecord::new();
    loop {
        let step = rows.advance(&mut record);
        reading.skipped(rows.skipped());
        match step {
            Step::Record(line) => reading.record(&record, line),
            Step::End => break,
            Step::OpenQuote(line) => {
                let message = "a quote that opens in this row is not closed";
                reading.refuse(line, message.to_owned(), "close the quote");
                break;
            }
        }
    }
    let lines = reading.lines;
    if lines.len() as u64 > MAX_ROWS {
        findings.push(
            Diagnostic::error(
                &source.file,
                format!("the file has more than {MAX_ROWS} lines"),
            )
            .help("leave out what no circuit needs"),
        );
    }
    (findings.errors() == before).then(|| Grid {
        name: name.to_owned(),
        lines,
    })
}

struct Reading<'r> {
    file: &'r Arc<str>,
    lines: Vec<Line>,
    /// Fields of the header row.
    width: Option<usize>,
    findings: &'r mut Findings,
}

impl Reading<'_> {
    /// Takes comments and empty lines.
    fn skipped(&mut self, text: &str) {
        for line in text.lines() {
            self.lines.push(match line {
                "" => Line::Blank,
                comment => Line::Comment(comment.to_owned()),
            });
            self.check_length(line, self.lines.len() as u64);
        }
    }

    fn record(&mut self, record: &StringRecord, line: u64) {
        if record.iter().all(|field| field.trim().is_empty()) {
            self.lines.push(Line::Blank);
            return;
        }
        let fields: Vec<String> = record.iter().map(|f| unguarded(f).to_owned()).collect();
        let width = *self.width.get_or_insert(fields.len());
        if fields.len() != width {
            let message = format!(
                "the row has {} fields, the header row has {width}",
                fields.len()
            );
            self.refuse(
                line,
                message,
                "correct the row first; couplet check says more",
            );
        }
        if fields.len() as u64 > MAX_COLUMNS {
            let message = format!("the row has more than {MAX_COLUMNS} fields");
            self.refuse(line, message, "leave out columns");
        }
        if fields.first().is_some_and(|field| field.starts_with('#')) {
            self.refuse(
                line,
                "a row of a sheet whose first cell starts with # is a comment".to_owned(),
                "put another column first",
            );
        }
        for field in &fields {
            self.check_length(field, line);
        }
        self.lines.push(Line::Fields(fields));
    }

    fn check_length(&mut self, field: &str, line: u64) {
        if field.len() > MAX_CELL && field.encode_utf16().count() > MAX_CELL {
            let message = format!("a cell of a workbook takes {MAX_CELL} characters at most");
            self.refuse(line, message, "shorten the field");
        }
    }

    fn refuse(&mut self, line: u64, message: String, help: &str) {
        self.findings
            .push(Diagnostic::error(self.file, message).line(line).help(help));
    }
}

/// A sheet of the workbook `book` as the text of a CSV file; none for a sheet that
/// holds nothing.
///
/// Pushes an error where a cell has no value that could be written.
pub fn write(book: &str, sheet: &Sheet, findings: &mut Findings) -> Option<String> {
    let records = || sheet.rows.iter().filter(|row| !row.is_comment());
    let header = records().find(|row| row.cells.iter().any(|cell| !cell.trim().is_empty()));
    let width = records().map(|row| row.cells.len()).max().unwrap_or(0);
    let table = Columns {
        file: sheet_name(book, &sheet.name),
        header,
        width,
        comma: header.is_some_and(|header| has_decimal_comma(header, records())),
    };
    let mut text = String::new();
    let mut next = 1;
    for row in sheet.rows.iter() {
        let blank = row.number.saturating_sub(next);
        text.extend((0..blank).map(|_| '\n'));
        text.push_str(&if row.is_comment() {
            comment(row)
        } else {
            table.record(row, findings)
        });
        next = row.number + 1;
    }
    (!text.is_empty()).then_some(text)
}

/// A comment as lines of which each starts with `#`.
fn comment(row: &SheetRow) -> String {
    let cells = row.cells.iter().filter(|cell| !cell.is_empty());
    let whole = cells.collect::<Vec<_>>().join(", ");
    whole
        .split(['\n', '\r'])
        .map(|line| match line.starts_with('#') {
            true => format!("{line}\n"),
            false => format!("# {line}\n"),
        })
        .collect()
}

/// What the rows of a sheet share.
struct Columns<'s> {
    file: Arc<str>,
    header: Option<&'s SheetRow>,
    width: usize,
    /// True if a decimal comma stands in the sheet: then semicolons separate the columns.
    comma: bool,
}

impl Columns<'_> {
    fn record(&self, row: &SheetRow, findings: &mut Findings) -> String {
        let fields: Vec<String> = (0..self.width)
            .map(|place| self.field(row, place, findings))
            .collect();
        let mut writer = csv::WriterBuilder::new()
            .delimiter(if self.comma { b';' } else { b',' })
            .from_writer(Vec::new());
        let written = writer.write_record(&fields);
        let bytes = written.ok().and_then(|()| writer.into_inner().ok());
        let text = bytes.and_then(|bytes| String::from_utf8(bytes).ok());
        let text = text.unwrap_or_default();
        if text.len() > MAX_LINE {
            findings.push(
                Diagnostic::error(&self.file, "the row is too long for a line of a CSV file")
                    .line(row.number)
                    .help("shorten its cells"),
            );
        }
        text
    }

    fn field(&self, row: &SheetRow, place: usize, findings: &mut Findings) -> String {
        let text = row.cells.get(place).unwrap_or("");
        let wrong = match row.mark(place) {
            None => return guarded(text),
            Some(Mark::Number) if self.comma => return text.replacen('.', ",", 1),
            Some(Mark::Number) => return text.to_owned(),
            Some(Mark::Failed) => format!("{} is an error of the spreadsheet", quote(text)),
            Some(Mark::TooLong) => format!("{} is a number of more than 15 digits", quote(text)),
        };
        let column = self.header.and_then(|header| header.cells.get(place));
        findings.push(
            Diagnostic::error(&self.file, wrong)
                .line(row.number)
                .column(column.unwrap_or("").trim())
                .help("write the value; write a long number as text"),
        );
        String::new()
    }
}

fn has_decimal_comma<'s>(header: &SheetRow, mut rows: impl Iterator<Item = &'s SheetRow>) -> bool {
    let numbers: Vec<usize> = (0..header.cells.len())
        .filter(|place| header.cells.get(*place).is_some_and(is_number_column))
        .collect();
    rows.any(|row| {
        let cells = numbers.iter().filter_map(|place| row.cells.get(*place));
        cells.into_iter().any(decimal_comma)
    })
}

/// True for a number with a decimal comma: `14,5`, `,5`, `2,5 mm2`.
fn decimal_comma(text: &str) -> bool {
    let Some((whole, rest)) = text.trim().split_once(',') else {
        return false;
    };
    let whole = whole.strip_prefix('-').unwrap_or(whole);
    whole.bytes().all(|b| b.is_ascii_digit()) && rest.starts_with(|c: char| c.is_ascii_digit())
}
