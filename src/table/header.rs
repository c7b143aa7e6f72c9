//! The header row.

use super::shape::{Col, Shape};
use crate::diag::{Diagnostic, Findings, did_you_mean, quote};
use crate::source::Source;
use csv::StringRecord;
use std::sync::Arc;

/// Byte offset of the first record at or after `start`, past empty lines and
/// comments.
pub fn skip_comments(text: &str, start: usize) -> usize {
    let bytes = text.as_bytes();
    let mut at = start;
    loop {
        match bytes.get(at) {
            Some(b'\r' | b'\n') => at += 1,
            Some(b'#') => {
                let rest = bytes.get(at..).unwrap_or(&[]);
                at += rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len());
            }
            _ => return at,
        }
    }
}

/// What separates the columns: the sign among comma, semicolon and tab that stands
/// most often in the header row outside quotes. Where all are equal, the comma does.
pub fn separator(text: &str) -> u8 {
    let line = text.split(['\r', '\n']).find(|line| holds_record(line));
    let line = line.unwrap_or("");
    let (mut counts, mut quoted) = ([0usize; 3], false);
    for byte in line.bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b';' if !quoted => counts[1] += 1,
            b'\t' if !quoted => counts[2] += 1,
            b',' if !quoted => counts[0] += 1,
            _ => {}
        }
    }
    let [commas, semicolons, tabs] = counts;
    if semicolons > commas && semicolons >= tabs {
        b';'
    } else if tabs > commas {
        b'\t'
    } else {
        b','
    }
}

fn holds_record(line: &str) -> bool {
    !line.trim().is_empty() && !line.starts_with('#')
}

/// The error for a file without any record.
pub fn nothing(source: &Source, columns: &[Col]) -> Diagnostic {
    let message = match source.rows() {
        Some([]) => "the sheet is empty",
        None if source.text().trim().is_empty() => "the file is empty",
        _ => "there are only comments, no header row",
    };
    Diagnostic::error(&source.file, message).help(begin_with(columns))
}

fn begin_with(columns: &[Col]) -> String {
    let names: Vec<&str> = columns.iter().map(|c| c.name).collect();
    format!("begin with a header row: {}", names.join(","))
}

/// Finds the place of each column; none if the row is no header row.
pub(super) fn read(
    shape: &mut Shape,
    record: &StringRecord,
    line: u64,
    columns: &[Col],
    findings: &mut Findings,
) -> Option<()> {
    shape.width = record.len();
    shape.places = vec![None; columns.len()];
    let known = |name: &str| columns.iter().find(|c| c.name == name);
    if !record.iter().any(|cell| known(cell.trim()).is_some()) {
        findings.push(no_header(shape, record, line, columns));
        return None;
    }
    for (place, cell) in record.iter().enumerate() {
        let name = cell.trim();
        if name.is_empty() {
            shape.unnamed.push(place);
        } else if let Some(col) = known(name) {
            let slot = shape.places.get_mut(col.place)?;
            if slot.is_some() {
                findings.push(
                    Diagnostic::error(&shape.file, "the column stands twice")
                        .line(line)
                        .column(name)
                        .help("leave one of them out"),
                );
            } else {
                *slot = Some(place);
            }
        } else {
            findings.push(unknown(&shape.file, name, line, columns));
        }
    }
    for col in columns.iter().filter(|c| c.required) {
        if shape.places.get(col.place).is_some_and(Option::is_none) {
            findings.push(
                Diagnostic::error(&shape.file, "the column is missing")
                    .line(line)
                    .column(col.name)
                    .help("add it to the header row, with a value in each row"),
            );
        }
    }
    Some(())
}

fn no_header(shape: &Shape, record: &StringRecord, line: u64, columns: &[Col]) -> Diagnostic {
    let file = &shape.file;
    let names_in_it = columns
        .iter()
        .filter(|c| record.get(0).is_some_and(|cell| cell.contains(c.name)))
        .count();
    if record.len() == 1 && names_in_it > 1 {
        return Diagnostic::error(file, "nothing that is known separates the columns")
            .line(line)
            .help(match shape.is_sheet {
                true => "put each of them into a column of the sheet",
                false => "separate them with commas, semicolons or tabs",
            });
    }
    Diagnostic::error(
        file,
        "there is no header row: no field of the first row names a column",
    )
    .line(line)
    .help(begin_with(columns))
}

fn unknown(file: &Arc<str>, name: &str, line: u64, columns: &[Col]) -> Diagnostic {
    let names = || columns.iter().map(|c| c.name);
    let help = did_you_mean(name, names()).unwrap_or_else(|| {
        format!(
            "leave it out; the columns are {}",
            names().collect::<Vec<_>>().join(", ")
        )
    });
    Diagnostic::error(file, format!("unknown column {}", quote(name)))
        .line(line)
        .help(help)
}
