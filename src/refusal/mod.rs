//! Why ends have no compatible set, in sentences. [`crate::fit`] holds which rule
//! refuses what, and the phrases of the rules. This module builds messages of both.

mod blocks;
mod lines;

use crate::fit::{NoSet, Refusal, name};
use std::fmt;

impl NoSet {
    /// The explanation as lines of plain text, indented by two spaces a level:
    /// one block for each cause.
    pub fn lines(&self) -> Vec<String> {
        blocks::lines(&self.ends)
    }
}

impl fmt::Display for NoSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.lines().join("\n"))
    }
}

impl Refusal {
    /// The part's fact and the end's requirement in one sentence, with their rows:
    /// `plug P-1 is rated 350 A, circuit pump needs 400 A (catalog/bodies.csv:12, circuits.csv:4)`.
    pub fn sentence(&self) -> String {
        format!(
            "{} {} {}, circuit {} {} ({}, {})",
            name(self.kind),
            self.part,
            self.has,
            self.circuit,
            self.wants,
            self.part_row,
            self.end_row
        )
    }
}
