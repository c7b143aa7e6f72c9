//! Codes that must be unique, those of bad rows included: so that one mistake
//! does not cause a second message elsewhere.

use super::{Col, Row, Table};
use crate::diag::{self, quote, suggest};
use std::cell::Cell;
use std::collections::HashMap;

/// So many unknown codes are compared with all known ones; the others get a
/// message without a suggestion, for the comparing takes long.
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

    /// Where all codes may be known: for what was checked before.
    pub fn open(noun: &'static str) -> Self {
        Self {
            complete: false,
            ..Self::new(noun)
        }
    }

    /// The code of this row; pushes an error if it is empty or was there before.
    /// None also for a row whose fields can't be told apart.
    pub fn claim<'t>(&mut self, row: &mut Row<'t>, col: Col) -> Option<&'t str> {
        if row.is_ragged() {
            let code = row.peek(col);
            // One field is the whole row: its code can't be told.
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
                let help = format!("take out this row or {first}, or give one another name");
                row.error(col, message, help);
            }
            None => {
                self.rows.insert(code.into(), row.place());
            }
        }
        Some(code)
    }

    /// Takes note of a table that was read to its end, or of one that was not.
    pub fn read_from(&mut self, table: Option<&Table>, col: Col) {
        self.complete &= table.is_some_and(|t| t.is_complete() && t.has(col));
    }

    /// True if the code is known, or might be.
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
