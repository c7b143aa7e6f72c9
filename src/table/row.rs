//! One row of a table, with its fields read as what they stand for.

use super::guard::plain;
use super::number::{self, NumberError, Span};
use super::shape::{Col, Shape};
use crate::diag::{self, Diagnostic, Findings, did_you_mean, listed, quote};
use crate::source::{Mark, mark};
use crate::units::{Currency, Gauge, GaugeError, Protection, Qty};
use csv::StringRecord;
use jiff::civil::Date;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// One row. A reader of a field pushes an error and gives none where the field is
/// wrong, or is empty and must not be. In the end [`Row::is_sound`] tells whether all
/// was well.
pub struct Row<'t> {
    shape: &'t Shape,
    cells: Cells<'t>,
    findings: &'t mut Findings,
    sound: bool,
    ragged: bool,
}

/// What stands in a row, and where.
pub(super) struct Cells<'t> {
    pub fields: &'t StringRecord,
    pub marks: &'t [(u16, Mark)],
    pub line: u64,
}

impl<'t> Row<'t> {
    pub(super) fn new(shape: &'t Shape, cells: Cells<'t>, findings: &'t mut Findings) -> Self {
        let mut row = Row {
            ragged: cells.fields.len() != shape.width,
            shape,
            cells,
            findings,
            sound: true,
        };
        if row.ragged {
            row.report_width();
        } else if shape.unnamed.iter().any(|i| !row.cell_at(*i).is_empty()) {
            row.report_unnamed();
        }
        row
    }

    fn report_width(&mut self) {
        let message = match self.cells.fields.len() {
            1 => format!(
                "the row has 1 field, the header row has {}",
                self.shape.width
            ),
            n => format!(
                "the row has {n} fields, the header row has {}",
                self.shape.width
            ),
        };
        let odd_quote = self
            .cells
            .fields
            .iter()
            .any(|c| c.contains('\n') || c.trim_start().starts_with('"'));
        let help = if odd_quote {
            "look for a quote that is not closed, or that has a space before it"
        } else if self.cells.fields.len() == 1 {
            "separate the columns as the header row does"
        } else {
            "put a field that contains the separator in quotes"
        };
        self.push(self.finding(message).help(help));
    }

    fn report_unnamed(&mut self) {
        let finding = self
            .finding("a value stands in a column without a name")
            .help("name the column in the header row, or leave it out");
        self.push(finding);
    }

    fn finding(&self, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(&self.shape.file, message).line(self.cells.line)
    }

    /// Where the row stands.
    pub fn place(&self) -> diag::Row {
        diag::Row {
            file: self.shape.file.clone(),
            line: self.cells.line,
        }
    }

    /// False once an error was pushed for this row.
    pub fn is_sound(&self) -> bool {
        self.sound
    }

    /// True if the fields can't be told apart. The error was pushed already.
    pub fn is_ragged(&self) -> bool {
        self.ragged
    }

    /// How many fields the row has.
    pub fn width(&self) -> usize {
        self.cells.fields.len()
    }

    /// Pushes a finding on this row; an error makes the row unsound.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        if diagnostic.level == diag::Level::Error {
            self.sound = false;
            self.shape.errors.set(self.shape.errors.get() + 1);
        }
        self.findings.push(diagnostic);
    }

    /// Pushes an error at a column.
    pub fn error(&mut self, col: Col, message: impl Into<String>, help: impl Into<String>) {
        self.push(self.finding(message).column(col.name).help(help));
    }

    /// Marks the row unsound where the error was reported elsewhere.
    pub fn spoil(&mut self) {
        self.sound = false;
    }

    fn cell_at(&self, place: usize) -> &'t str {
        let cell = self.cells.fields.get(place).unwrap_or("");
        match self.shape.is_sheet {
            true => cell.trim(),
            false => plain(cell),
        }
    }

    /// True if the header row has the column.
    pub fn has(&self, col: Col) -> bool {
        matches!(self.shape.places.get(col.place), Some(Some(_)))
    }

    /// The field as it stands, without any check; empty where the table lacks the column.
    pub fn peek(&self, col: Col) -> &'t str {
        match self.shape.places.get(col.place) {
            Some(Some(place)) => self.cell_at(*place),
            _ => "",
        }
    }

    /// The field as text.
    pub fn text(&mut self, col: Col) -> Option<&'t str> {
        let Some(Some(place)) = self.shape.places.get(col.place).copied() else {
            // A missing column was reported with the header row.
            self.sound &= !col.required;
            return None;
        };
        let cell = self.cell_at(place);
        if cell.is_empty() {
            if col.required {
                self.error(col, "the field is empty", "give a value");
            }
            return None;
        }
        if let Some((message, help)) = self.broken(place, cell) {
            self.error(col, message, help);
            return None;
        }
        let raw = self.cells.fields.get(place).unwrap_or("");
        if cell.starts_with('"') && raw.starts_with(char::is_whitespace) {
            let help = "leave out the space, so that the quotes count";
            self.error(col, "a space stands before the quote", help);
            return None;
        }
        if cell.contains(char::is_control) {
            let message = format!("{} contains a line break or control character", quote(cell));
            let help = match self.shape.is_sheet {
                true => "write it on one line",
                false => "write it on one line; is a quote not closed?",
            };
            self.error(col, message, help);
            return None;
        }
        Some(cell)
    }

    /// What is wrong with a cell of a sheet, whatever the cell stands for.
    fn broken(&self, place: usize, cell: &str) -> Option<(String, &'static str)> {
        match mark(self.cells.marks, place)? {
            Mark::Number => None,
            Mark::Failed => Some((
                format!("{} is an error of the spreadsheet", quote(cell)),
                "correct the formula, or write the value",
            )),
            Mark::TooLong => Some((
                format!("{} is a number of more than 15 digits", quote(cell)),
                "a spreadsheet keeps 15 digits of a number: store it as text",
            )),
        }
    }

    /// The field as text of its own; empty where the field is empty or wrong.
    pub fn owned(&mut self, col: Col) -> String {
        self.text(col).unwrap_or("").to_owned()
    }

    /// The field as a number within limits.
    pub fn number(&mut self, col: Col, limits: &Span) -> Option<Decimal> {
        let text = self.text(col)?;
        match number::parse(text, limits, self.shape.comma) {
            Ok(value) => self.one_sign(col, text).then_some(value),
            Err(error) => {
                let help = error.help(limits, self.shape.comma);
                self.error(col, format!("{} {error}", quote(text)), help);
                None
            }
        }
    }

    /// True if the cell holds a number, so that its decimal sign is certain.
    fn is_number(&self, col: Col) -> bool {
        let place = self.shape.places.get(col.place).copied().flatten();
        place.is_some_and(|place| mark(self.cells.marks, place) == Some(Mark::Number))
    }

    /// False, with an error, where the file has used another decimal sign. Where a decimal
    /// comma is understood, `1.234` could also be a thousand and more. So a file may use
    /// one decimal sign only.
    fn one_sign(&mut self, col: Col, text: &str) -> bool {
        if !self.shape.comma || self.is_number(col) {
            return true;
        }
        let Some(sign) = text.chars().find(|c| matches!(c, '.' | ',')) else {
            return true;
        };
        match self.shape.sign.get() {
            None => self.shape.sign.set(Some((sign, self.cells.line))),
            Some((first, line)) if first != sign => {
                let message = format!(
                    "{} has a decimal {}, {} {line} has a decimal {}",
                    quote(text),
                    sign_word(sign),
                    diag::line_word(&self.shape.file),
                    sign_word(first)
                );
                self.error(col, message, "use one decimal sign in the whole file");
                return false;
            }
            Some(_) => {}
        }
        true
    }

    /// The field as a whole number within limits.
    pub fn count(&mut self, col: Col, limits: &Span) -> Option<Qty> {
        debug_assert_eq!(limits.decimals, 0);
        self.number(col, limits)?.to_u64()
    }

    /// The field as a small whole number, as [`Row::count`] reads it.
    pub fn small(&mut self, col: Col, limits: &Span) -> Option<u32> {
        self.count(col, limits)?.to_u32()
    }

    /// The field as one of some words.
    pub fn word<T: Copy>(&mut self, col: Col, words: &[(&'static str, T)]) -> Option<T> {
        let text = self.text(col)?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            self.unknown_word(col, text, words.iter().map(|(w, _)| *w).collect());
        }
        found.map(|(_, value)| *value)
    }

    /// The field as several of some words, with spaces between.
    pub fn words<T: Copy>(&mut self, col: Col, words: &[(&'static str, T)]) -> Vec<T> {
        let text = self.text(col).unwrap_or("");
        let mut values = Vec::new();
        for one in text.split_whitespace() {
            match words.iter().find(|(word, _)| *word == one) {
                Some((_, value)) => values.push(*value),
                None => self.unknown_word(col, one, words.iter().map(|(w, _)| *w).collect()),
            }
        }
        values
    }

    fn unknown_word(&mut self, col: Col, text: &str, words: Vec<&'static str>) {
        let help = did_you_mean(text, words.iter().copied())
            .unwrap_or_else(|| format!("write {}", listed(&words)));
        self.error(col, format!("unknown word {}", quote(text)), help);
    }

    /// The field as a day, `YYYY-MM-DD`.
    pub fn date(&mut self, col: Col) -> Option<Date> {
        let text = self.text(col)?;
        let shape = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
        let date = shape.then(|| text.parse().ok()).flatten();
        if date.is_none() {
            let help = "write year, month and day as YYYY-MM-DD, such as 2026-03-31";
            self.error(col, format!("{} is not a date", quote(text)), help);
        }
        date
    }

    /// The field as a currency code.
    pub fn currency(&mut self, col: Col) -> Option<Currency> {
        let text = self.text(col)?;
        let currency = Currency::parse(text);
        if currency.is_none() {
            let help = "write the three capital letters of the currency, such as EUR";
            self.error(col, format!("{} is not a currency code", quote(text)), help);
        }
        currency
    }

    /// The field as protection codes.
    pub fn protection(&mut self, col: Col) -> Option<Protection> {
        let text = self.text(col)?;
        match text.parse() {
            Ok(protection) => Some(protection),
            Err(_) => {
                let help = "write a code such as IP67, or several codes joined by /";
                self.error(
                    col,
                    format!("{} is not a protection code", quote(text)),
                    help,
                );
                None
            }
        }
    }

    /// The field as a gauge.
    pub fn gauge(&mut self, col: Col) -> Option<Gauge> {
        let text = self.text(col)?;
        let parsed = if self.shape.comma {
            text.replacen(',', ".", 1).parse()
        } else {
            text.parse()
        };
        let error = match parsed {
            Ok(Gauge::Metric(area)) if area.0.scale() > 6 => NumberError::Decimals(6).to_string(),
            Ok(gauge) => return Some(gauge),
            Err(GaugeError::Bare) => "has no unit: it could be mm² or AWG".to_owned(),
            Err(GaugeError::Unknown) => "is not a gauge".to_owned(),
        };
        let help = match error.as_str() {
            "has no unit: it could be mm² or AWG" => format!("write {text} mm2 or {text} AWG"),
            _ => "write a gauge such as 70 mm2, 2/0 AWG or 6 AWG; gauges go up to 10000 mm², \
                  or from 4/0 to 40 AWG, with at most 6 decimals"
                .to_owned(),
        };
        self.error(col, format!("{} {error}", quote(text)), help);
        None
    }

    /// Pushes an error if both values are there and `min` is above `max`.
    pub fn in_order<T: PartialOrd>(&mut self, min: (Col, Option<T>), max: (Col, Option<T>)) {
        if let (Some(low), Some(high)) = (min.1, max.1)
            && low > high
        {
            let (a, b) = (self.peek(min.0), self.peek(max.0));
            let message = format!("{} {a} is above {} {b}", min.0.name, max.0.name);
            self.error(min.0, message, "exchange them, or correct one");
        }
    }
}

fn sign_word(sign: char) -> &'static str {
    if sign == ',' { "comma" } else { "point" }
}
