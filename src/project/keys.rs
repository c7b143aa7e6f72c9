//! Reads keys of a settings file one by one, so that all its errors are told
//! at once, each with its line. The recipes of suppliers' lists are read the same way.

use crate::diag::{Diagnostic, Findings, Row, did_you_mean, listed, quote};
use crate::source::Source;
use crate::table::{Span, one_spelling, parse};
use crate::units::{Currency, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

/// A settings file, and what is wrong with it.
pub struct Document<'d> {
    file: &'d Arc<str>,
    text: &'d str,
    findings: RefCell<Findings>,
}

impl<'d> Document<'d> {
    pub fn new(file: &'d Arc<str>, text: &'d str) -> Self {
        Self {
            file,
            text,
            findings: RefCell::default(),
        }
    }

    /// Line of a byte.
    pub fn line(&self, byte: usize) -> u64 {
        let before = self.text.as_bytes().get(..byte).unwrap_or(&[]);
        1 + before.iter().filter(|b| **b == b'\n').count() as u64
    }

    /// A line as a place that a message can name.
    pub fn row(&self, line: u64) -> Row {
        Row {
            file: Arc::clone(self.file),
            line,
        }
    }

    pub fn error(&self, line: u64, key: &str, message: impl Into<String>, help: impl Into<String>) {
        self.findings.borrow_mut().push(
            Diagnostic::error(self.file, message)
                .line(line)
                .column(key)
                .help(help),
        );
    }

    /// All that was found, by line.
    pub fn into_findings(self) -> Findings {
        let mut findings = self.findings.into_inner();
        findings.sort_by_place(&[]);
        findings
    }
}

/// What is wrong with the syntax of a file that is no TOML.
pub fn syntax(source: &Source, errors: &[toml::de::Error]) -> Findings {
    let doc = Document::new(&source.file, source.text());
    let mut findings = Findings::default();
    for error in errors {
        let line = error.span().map_or(1, |span| doc.line(span.start));
        let message = format!("the file is not TOML: {}", error.message().trim());
        let error = Diagnostic::error(&source.file, message).line(line);
        findings.push(error.help(cure(source.text(), line)));
    }
    findings
}

/// What to do about a line that is no TOML. TOML has no number such as `.5`.
fn cure(text: &str, line: u64) -> &'static str {
    let place = usize::try_from(line.saturating_sub(1)).unwrap_or(usize::MAX);
    let value = text.lines().nth(place).and_then(|l| l.split_once('='));
    let value = value.map_or("", |(_, value)| value.trim_start());
    let fraction = value.trim_start_matches(['+', '-']).strip_prefix('.');
    match fraction.is_some_and(|f| f.starts_with(|c: char| c.is_ascii_digit())) {
        true => "write a digit before the decimal point, such as 0.5",
        false => "write key = value, put text in quotes, and begin a table with [name]",
    }
}

/// A name of the user's as it can be shown in a place.
pub fn shortened(name: &str) -> String {
    quote(name).trim_matches('"').to_owned()
}

/// A text and its line.
pub type Placed = (String, u64);

/// A table of the file.
pub struct Keys<'d> {
    doc: &'d Document<'d>,
    table: &'d DeTable<'d>,
    /// What stands before the names of the table's keys: `budget.`, or nothing.
    prefix: &'static str,
    line: u64,
    asked: RefCell<BTreeSet<&'static str>>,
}

impl<'d> Keys<'d> {
    pub fn new(
        doc: &'d Document<'d>,
        table: &'d DeTable<'d>,
        prefix: &'static str,
        line: u64,
    ) -> Self {
        Self {
            doc,
            table,
            prefix,
            line,
            asked: RefCell::default(),
        }
    }

    fn get(&self, key: &'static str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.asked.borrow_mut().insert(key);
        self.table.get(key)
    }

    fn name(&self, key: &str) -> String {
        format!("{}{key}", self.prefix)
    }

    /// Line of a key's value, or of the table where the key is absent.
    pub fn line(&self, key: &'static str) -> u64 {
        self.table
            .get(key)
            .map_or(self.line, |v| self.doc.line(v.span().start))
    }

    /// Where a key stands; none where it is absent.
    pub fn row(&self, key: &'static str) -> Option<Row> {
        self.table.get(key).map(|_| self.doc.row(self.line(key)))
    }

    /// Pushes an error at a key.
    pub fn error(&self, key: &'static str, message: impl Into<String>, help: impl Into<String>) {
        self.doc
            .error(self.line(key), &self.name(key), message, help);
    }

    /// The file.
    pub fn document(&self) -> &'d Document<'d> {
        self.doc
    }

    /// Pushes an error if a key is there that is right elsewhere, and says why it is not here.
    pub fn refuse(&self, key: &'static str, message: impl Into<String>, help: impl Into<String>) {
        if self.table.contains_key(key) {
            self.asked.borrow_mut().insert(key);
            self.error(key, message, help);
        }
    }

    /// Pushes an error for each key that was not asked for.
    pub fn finish(self) {
        let asked = self.asked.borrow();
        for (key, _) in self.table {
            let word = key.get_ref().as_ref();
            if asked.contains(word) {
                continue;
            }
            let known = || asked.iter().copied();
            let help = did_you_mean(word, known()).unwrap_or_else(|| {
                format!(
                    "leave it out; the keys are {}",
                    known().collect::<Vec<_>>().join(", ")
                )
            });
            let line = self.doc.line(key.span().start);
            let message = format!("unknown key {}", quote(word));
            self.doc.findings.borrow_mut().push(
                Diagnostic::error(self.doc.file, message)
                    .line(line)
                    .help(help),
            );
        }
    }

    /// Pushes an error if a key is absent.
    pub fn require(&self, key: &'static str, example: &str) {
        if self.get(key).is_none() {
            self.error(key, "the key is missing", format!("add {example}"));
        }
    }

    fn wrong_type(&self, key: &str, value: &Spanned<DeValue>, wanted: &str, help: &str) {
        let found = match value.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let line = self.doc.line(value.span().start);
        let message = format!("the value is {found}, but {wanted} is wanted");
        self.doc.error(line, &self.name(key), message, help);
    }

    /// Text that is not empty.
    pub fn text(&self, key: &'static str) -> Option<&'d str> {
        let value = self.get(key)?;
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_type(key, value, "text", "write it in quotes");
            return None;
        };
        self.sane(key, text, value)
    }

    fn sane(&self, key: &str, text: &'d DeString<'d>, value: &Spanned<DeValue>) -> Option<&'d str> {
        let line = self.doc.line(value.span().start);
        let text = text.trim();
        if text.is_empty() {
            let help = "give a value, or leave the key out";
            self.doc
                .error(line, &self.name(key), "the text is empty", help);
            return None;
        }
        if text.contains(char::is_control) {
            let message = format!("{} contains a line break or control character", quote(text));
            self.doc
                .error(line, &self.name(key), message, "write it on one line");
            return None;
        }
        Some(text)
    }

    /// One of some words.
    pub fn word<T: Copy>(&self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        let text = self.text(key)?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let all: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
            let help = did_you_mean(text, all.iter().copied())
                .unwrap_or_else(|| format!("write {}", listed(&all)));
            self.error(key, format!("unknown word {}", quote(text)), help);
        }
        found.map(|(_, value)| *value)
    }

    /// A currency code.
    pub fn currency(&self, key: &'static str) -> Option<Currency> {
        let text = self.text(key)?;
        let currency = Currency::parse(text);
        if currency.is_none() {
            let message = format!("{} is not a currency code", quote(text));
            self.error(
                key,
                message,
                "write the three capital letters of the currency, such as EUR",
            );
        }
        currency
    }

    /// True or false.
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => {
                let help = "write true or false, without quotes";
                self.wrong_type(key, value, "true or false", help);
                None
            }
        }
    }

    /// True if the key is there and holds text.
    pub fn is_text(&self, key: &'static str) -> bool {
        let value = self.table.get(key).map(|value| value.get_ref());
        matches!(value, Some(DeValue::String(_)))
    }

    /// A number within limits.
    pub fn number(&self, key: &'static str, limits: &Span) -> Option<Decimal> {
        let value = self.get(key)?;
        self.number_of(key, value, limits)
    }

    fn number_of(&self, key: &str, value: &Spanned<DeValue>, limits: &Span) -> Option<Decimal> {
        let text = match value.get_ref() {
            DeValue::Integer(n) if n.radix() == 10 => n.as_str(),
            DeValue::Float(x) => x.as_str(),
            DeValue::Integer(_) => {
                let line = self.doc.line(value.span().start);
                let help = "write it with the digits 0 to 9";
                self.doc
                    .error(line, &self.name(key), "the number is not decimal", help);
                return None;
            }
            _ => {
                self.wrong_type(key, value, "a number", "write it in digits, without quotes");
                return None;
            }
        };
        let text = text.strip_prefix('+').unwrap_or(text);
        match parse(text, limits, false) {
            Ok(number) => Some(number),
            Err(error) => {
                let line = self.doc.line(value.span().start);
                let message = format!("{} {error}", quote(text));
                self.doc
                    .error(line, &self.name(key), message, error.help(limits, false));
                None
            }
        }
    }

    /// A whole number within limits.
    pub fn count(&self, key: &'static str, limits: &Span) -> Option<Qty> {
        self.number(key, limits)?.to_u64()
    }

    /// A list of texts.
    pub fn texts(&self, key: &'static str) -> Vec<Placed> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(list) = value.get_ref() else {
            self.wrong_type(key, value, "a list", "write it as [\"one\", \"another\"]");
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in list.iter() {
            match item.get_ref() {
                DeValue::String(text) => {
                    let line = self.doc.line(item.span().start);
                    let text = self.sane(key, text, item);
                    texts.extend(text.map(|t| (one_spelling(t).into_owned(), line)));
                }
                _ => self.wrong_type(key, item, "text", "write it in quotes"),
            }
        }
        texts
    }

    /// A table of lists of texts under names of the user's: name, line, texts. A list
    /// with an error is left out.
    pub fn lists(&self, key: &'static str) -> Vec<(Placed, Vec<String>)> {
        let Some(table) = self.table(key, "") else {
            return Vec::new();
        };
        let mut lists = Vec::new();
        for (name, value) in table.table.iter() {
            let name = name.get_ref().trim();
            let shown = format!("{key}.{}", shortened(name));
            let line = self.doc.line(value.span().start);
            let DeValue::Array(list) = value.get_ref() else {
                self.wrong_type(&shown, value, "a list", "write it as [\"1\", \"2\"]");
                continue;
            };
            let texts: Vec<String> = list
                .iter()
                .filter_map(|item| match item.get_ref() {
                    DeValue::String(text) => self.sane(&shown, text, item),
                    _ => {
                        self.wrong_type(&shown, item, "text", "write it in quotes");
                        None
                    }
                })
                .map(|text| one_spelling(text).into_owned())
                .collect();
            if texts.len() == list.len() {
                lists.push(((one_spelling(name).into_owned(), line), texts));
            }
        }
        lists
    }

    /// A table inside this one.
    pub fn table(&self, key: &'static str, prefix: &'static str) -> Option<Keys<'d>> {
        let value = self.get(key)?;
        let DeValue::Table(table) = value.get_ref() else {
            self.wrong_type(
                key,
                value,
                "a table",
                &format!("write [{key}] on a line of its own"),
            );
            return None;
        };
        let line = self.doc.line(value.span().start);
        Some(Keys::new(self.doc, table, prefix, line))
    }

    /// Several tables, `[[key]]`.
    pub fn tables(&self, key: &'static str, prefix: &'static str) -> Vec<Keys<'d>> {
        let help = format!("write [[{key}]] on a line of its own");
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(list) = value.get_ref() else {
            self.wrong_type(key, value, "a list of tables", &help);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in list.iter() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    let line = self.doc.line(item.span().start);
                    tables.push(Keys::new(self.doc, table, prefix, line));
                }
                _ => self.wrong_type(key, item, "a table", &help),
            }
        }
        tables
    }

    /// A table of numbers under names of the user's: name, line, value.
    pub fn numbers(
        &self,
        key: &'static str,
        limits: &Span,
    ) -> Vec<(&'d str, u64, Option<Decimal>)> {
        let Some(table) = self.table(key, "") else {
            return Vec::new();
        };
        table
            .table
            .iter()
            .map(|(name, value)| {
                let name = name.get_ref().as_ref();
                let number = self.number_of(&format!("{key}.{}", shortened(name)), value, limits);
                (name, self.doc.line(value.span().start), number)
            })
            .collect()
    }
}
