//! Findings and other messages in words: `error: …`, where, what to change, facts.

use super::check::counts;
use super::table::{Column, Table};
use super::wording::{plain, wrapped};
use crate::diag::{Diagnostic, Findings, Level};
use anstyle::{AnsiColor, Style};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// One message for a reader.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Message {
    /// What is wrong or worth knowing: lower case, no final stop. May have
    /// several lines; the first is the heading.
    pub text: String,
    /// Where.
    pub place: Option<String>,
    /// What to change.
    pub help: Option<String>,
    /// Facts that explain it.
    pub notes: Vec<String>,
}

/// All findings, each followed by a blank line; with colours for the level.
pub fn findings(findings: &Findings, width: usize) -> String {
    findings
        .iter()
        .map(|f| diagnostic(f, width) + "\n")
        .collect()
}

/// One finding.
fn diagnostic(d: &Diagnostic, width: usize) -> String {
    let message = Message {
        text: d.message.clone(),
        place: Some(d.place()),
        help: d.help.clone(),
        notes: d.notes.clone(),
    };
    match d.level {
        Level::Error => error(&message, width),
        Level::Warning => warning(&message, width),
    }
}

/// A message headed `error`.
pub fn error(message: &Message, width: usize) -> String {
    headed("error", AnsiColor::Red, message, width)
}

/// A message headed `warning`.
pub fn warning(message: &Message, width: usize) -> String {
    headed("warning", AnsiColor::Yellow, message, width)
}

/// A message headed `note`.
pub fn note(message: &Message, width: usize) -> String {
    headed("note", AnsiColor::Cyan, message, width)
}

fn headed(level: &str, color: AnsiColor, message: &Message, width: usize) -> String {
    let style = Style::new().fg_color(Some(color.into())).bold();
    let mut lines = message.text.lines();
    let first = format!("{level}: {}", plain(lines.next().unwrap_or_default()));
    let heading = wrapped(&first, width, "", "  ");
    let rest = heading.strip_prefix(level).unwrap_or_default();
    let mut text = format!("{style}{level}{style:#}{rest}\n");
    for line in lines {
        let line = plain(line);
        let indent = " ".repeat(line.len() - line.trim_start_matches(' ').len());
        let other = format!("{indent}  ");
        text.push_str(&wrapped(
            line.trim_start_matches(' '),
            width,
            &indent,
            &other,
        ));
        text.push('\n');
    }
    if let Some(place) = &message.place {
        text.push_str(&format!("  --> {}\n", plain(place)));
    }
    if let Some(help) = &message.help {
        text.push_str(&tail("help", help, width));
    }
    for fact in &message.notes {
        text.push_str(&tail("note", fact, width));
    }
    text
}

fn tail(word: &str, text: &str, width: usize) -> String {
    let first = format!("  {word}: ");
    wrapped(&plain(text), width, &first, "        ") + "\n"
}

/// The findings as a table, in the order in which they were found.
pub fn table(findings: &Findings) -> Table {
    let mut table = Table::new(&[
        Column::text("level"),
        Column::text("file"),
        Column::number("line"),
        Column::text("column"),
        Column::text("message"),
        Column::text("help"),
        Column::text("notes"),
    ]);
    for d in findings.iter() {
        table.row(vec![
            level(d.level).to_owned(),
            d.file.to_string(),
            d.line.map(|l| l.to_string()).unwrap_or_default(),
            d.column.clone().unwrap_or_default(),
            d.message.clone(),
            d.help.clone().unwrap_or_default(),
            d.notes.join("; "),
        ]);
    }
    table
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Shape>()
}

/// The findings as JSON: `{ "errors", "warnings", "findings": [ { "level",
/// "file", "line", "column", "message", "help", "notes" } ] }`; what is not
/// there is null.
///
/// # Errors
/// What the writer says; none in memory.
pub fn json(findings: &Findings) -> serde_json::Result<String> {
    let shape = Shape {
        errors: findings.errors(),
        warnings: findings.warnings(),
        findings: findings.iter().map(ShapeOne::from).collect(),
    };
    serde_json::to_string_pretty(&shape).map(|text| text + "\n")
}

/// `2 errors, 1 warning`.
pub fn summary(findings: &Findings) -> String {
    counts(&[
        (findings.errors() as u64, "error"),
        (findings.warnings() as u64, "warning"),
    ])
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
    }
}

#[derive(Serialize, JsonSchema)]
struct Shape<'a> {
    errors: usize,
    warnings: usize,
    findings: Vec<ShapeOne<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeOne<'a> {
    level: &'static str,
    file: &'a str,
    line: Option<u64>,
    column: Option<&'a str>,
    message: &'a str,
    help: Option<&'a str>,
    notes: &'a [String],
}

impl<'a> From<&'a Diagnostic> for ShapeOne<'a> {
    fn from(d: &'a Diagnostic) -> Self {
        Self {
            level: level(d.level),
            file: &d.file,
            line: d.line,
            column: d.column.as_deref(),
            message: &d.message,
            help: d.help.as_deref(),
            notes: &d.notes,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn two() -> Findings {
        let file: Arc<str> = "catalog/bodies.csv".into();
        let mut all = Findings::default();
        all.push(
            Diagnostic::error(&file, "\"plugg\" is no half")
                .line(3)
                .column("half")
                .help("write plug or receptacle")
                .note("did you mean plug?"),
        );
        all.push(Diagnostic::warning(&file, "no part can use P-1").line(9));
        all
    }

    fn without_colours(text: &str) -> String {
        anstream::adapter::strip_str(text).to_string()
    }

    #[test]
    fn a_finding_names_place_and_cure() {
        assert_eq!(
            without_colours(&findings(&two(), 100)),
            "error: \"plugg\" is no half\n\
             \x20 --> catalog/bodies.csv, line 3, column half\n\
             \x20 help: write plug or receptacle\n\
             \x20 note: did you mean plug?\n\
             \n\
             warning: no part can use P-1\n\
             \x20 --> catalog/bodies.csv, line 9\n\
             \n"
        );
        assert_eq!(summary(&two()), "1 error, 1 warning");
    }

    #[test]
    fn only_the_level_is_coloured() {
        let text = findings(&two(), 100);
        assert!(text.starts_with("\u{1b}["), "{text:?}");
        let first = text.lines().next().unwrap();
        assert!(
            first.ends_with("\u{1b}[0m: \"plugg\" is no half"),
            "{first:?}"
        );
        assert_eq!(text.matches("\u{1b}[0m").count(), 2);
    }

    #[test]
    fn long_messages_wrap() {
        let message = Message {
            text: "many words ".repeat(12).trim().to_owned(),
            help: Some("do this ".repeat(12).trim().to_owned()),
            ..Message::default()
        };
        let text = without_colours(&error(&message, 40));
        assert!(text.lines().all(|l| l.len() <= 40), "{text}");
        assert!(text.contains("\n  many"), "{text}");
    }

    #[test]
    fn a_message_of_many_lines_keeps_them() {
        let message = Message {
            text: "no compatible set\n  circuit a\n    no plug".into(),
            ..Message::default()
        };
        let text = without_colours(&error(&message, 40));
        assert_eq!(text, "error: no compatible set\n  circuit a\n    no plug\n");
    }

    #[test]
    fn json_and_csv_hold_every_field() {
        let json: serde_json::Value = serde_json::from_str(&json(&two()).unwrap()).unwrap();
        assert_eq!(json["errors"], 1);
        assert_eq!(json["findings"][0]["column"], "half");
        assert_eq!(json["findings"][1]["help"], serde_json::Value::Null);
        assert_eq!(
            table(&two()).csv().unwrap().lines().nth(2).unwrap(),
            "warning,catalog/bodies.csv,9,,no part can use P-1,,"
        );
    }
}
