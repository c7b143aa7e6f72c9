//! Codes that must be unique. The codes of bad rows are included, so that one mistake
//! does not cause a second message elsewhere.

use super::{Col, Row, Table};
use crate::diag::{self, quote, suggest};
use std::cell::Cell;
use std::collections::HashMap;

/// So many unknown codes are compared with all known codes. Further unknown codes get
/// a message without a suggestion, since comparing takes long.
const SUGGESTED: usize = 20;

/// All codes of one kind, each with its first row.
#[derive(Debug)]
pub struct Codes {
    noun: &'static str,
    rows: HashMap<Box<str>, diag::Row>,
    complete: bool,
    suggested: Cell<usize>,
}

impl Codes {
    /// `noun` says what the codes name: `part`.
    pub fn new(noun: &'static str) -> Self {
        Self {
            noun,
            rows: HashMap::new(),
            complete: true,
            suggested: Cell::new(0),
        }
    }

    /// Codes that are never told as unknown, for a table where any code may stand.
    pub fn open(noun: &'static str) -> Self {
        Self {
            complete: false,
            ..Self::new(noun)
        }
    }

    /// The code of this row; pushes an error if the code is empty or was there before.
    /// None is given for a row whose fields can't be told apart, too.
    pub fn claim<'t>(&mut self, row: &mut Row<'t>, col: Col) -> Option<&'t str> {
        if row.is_ragged() {
            let code = row.peek(col);
            // Where one field is the whole row, its code can't be told.
            if code.is_empty() || row.width() == 1 {
                self.complete = false;
            } else {
                self.rows.entry(code.into()).or_insert_with(|| row.place());
            }
            return None;
        }
        let Some(code) = row.text(col) else {
            // Which code was meant can't be known.
            self.complete = false;
            return None;
        };
        match self.rows.get(code) {
            Some(first) => {
                let message = format!("{} {} is there already", self.noun, quote(code));
                let help =
                    format!("take out this row or {first}, or give one of the two another name");
                row.error(col, message, help);
            }
            None => {
                self.rows.insert(code.into(), row.place());
            }
        }
        Some(code)
    }

    /// Takes note of whether a table was read to its end.
    pub fn read_from(&mut self, table: Option<&Table>, col: Col) {
        self.complete &= table.is_some_and(|t| t.is_complete() && t.has(col));
    }

    /// True if the code is known, or might be in a row that was missed.
    pub fn may_know(&self, code: &str) -> bool {
        !self.complete || self.rows.contains_key(code)
    }

    /// True if all codes are known.
    pub fn is_complete(&self) -> bool {
        self.complete
    }

    /// `did you mean "P-70"?`, if a known code is near.
    pub fn did_you_mean(&self, code: &str) -> Option<String> {
        self.suggested.set(self.suggested.get() + 1);
        if self.suggested.get() > SUGGESTED {
            return None;
        }
        let near = suggest(code, self.rows.keys().map(|k| &**k))?;
        Some(format!("did you mean {}?", quote(near)))
    }
}
