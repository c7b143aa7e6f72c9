//! Findings and other messages in words: where and what, then what to change and
//! facts on lines of their own.
//!
//! ```text
//! boat/circuits.csv:3, column gauge: "70" has no unit
//!     write 70 mm2 or 2/0 AWG
//!     - a fact
//! ```
//!
//! A place has the form of the GNU Coding Standards, 4.4: `file:line`. Where there
//! is no place, the program's name stands there.

use super::check::counts;
use super::table::{Column, Table};
use super::wording::{plain, wrapped};
use crate::diag::{Diagnostic, Findings, Level};
use anstyle::{AnsiColor, Style};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// Who speaks where a message has no place.
const NAME: &str = "couplet";

const CURE: &str = "    ";
const FACT: &str = "    - ";
const BELOW_FACT: &str = "      ";

/// One message for a reader.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Message {
    /// What is wrong or worth knowing: lower case, no final stop. The text may have
    /// several lines; the first line is the heading.
    pub text: String,
    /// The place, as [`Diagnostic::place`] writes it.
    pub place: Option<String>,
    /// What to change.
    pub help: Option<String>,
    /// Facts that explain the text.
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

/// A message of something that is wrong.
pub fn error(message: &Message, width: usize) -> String {
    let style = Style::new().fg_color(Some(AnsiColor::Red.into())).bold();
    drawn(&head(message), style, message, width)
}

/// A message of something that looks wrong.
pub fn warning(message: &Message, width: usize) -> String {
    let style = Style::new().fg_color(Some(AnsiColor::Yellow.into())).bold();
    drawn(
        &format!("{} warning:", head(message)),
        style,
        message,
        width,
    )
}

/// A message of something that is good to know: a sentence by itself.
pub fn note(message: &Message, width: usize) -> String {
    drawn("", Style::new(), message, width)
}

/// The place, or the program's name where there is no place.
fn head(message: &Message) -> String {
    let place = message.place.as_deref();
    format!("{}:", place.map_or_else(|| NAME.to_owned(), plain))
}

/// Draws every message. The head alone is coloured.
fn drawn(head: &str, style: Style, message: &Message, width: usize) -> String {
    let mut lines = message.text.lines();
    let first = plain(lines.next().unwrap_or_default());
    let first = wrapped(format!("{head} {first}").trim_start(), width, "", CURE);
    let mut text = match first.strip_prefix(head) {
        Some(rest) if !head.is_empty() => format!("{style}{head}{style:#}{rest}\n"),
        // A long place is broken too.
        _ => format!("{first}\n"),
    };
    for line in lines {
        let line = plain(line);
        let indent = " ".repeat(line.len() - line.trim_start_matches(' ').len());
        let other = format!("{indent}  ");
        let line = line.trim_start_matches(' ');
        text.push_str(&wrapped(line, width, &indent, &other));
        text.push('\n');
    }
    if let Some(help) = &message.help {
        text.push_str(&wrapped(&plain(help), width, CURE, CURE));
        text.push('\n');
    }
    for fact in &message.notes {
        text.push_str(&wrapped(&plain(fact), width, FACT, BELOW_FACT));
        text.push('\n');
    }
    text
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
/// The error of the writer; in memory there is none.
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
            "catalog/bodies.csv:3, column half: \"plugg\" is no half\n\
             \x20   write plug or receptacle\n\
             \x20   - did you mean plug?\n\
             \n\
             catalog/bodies.csv:9: warning: no part can use P-1\n\
             \n"
        );
        assert_eq!(summary(&two()), "1 error, 1 warning");
    }

    #[test]
    fn only_the_head_is_coloured() {
        let text = findings(&two(), 100);
        assert!(text.starts_with("\u{1b}["), "{text:?}");
        let first = text.lines().next().unwrap();
        assert!(
            first.ends_with(":\u{1b}[0m \"plugg\" is no half"),
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
        assert!(text.contains("\n    words many"), "{text}");
    }

    #[test]
    fn a_message_of_many_lines_keeps_them() {
        let message = Message {
            text: "no compatible set\n  circuit a\n    no plug".into(),
            ..Message::default()
        };
        let text = without_colours(&error(&message, 40));
        assert_eq!(
            text,
            "couplet: no compatible set\n  circuit a\n    no plug\n"
        );
        let note = without_colours(&note(&message, 40));
        assert_eq!(note, "no compatible set\n  circuit a\n    no plug\n");
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
