//! A table of parts of one kind.

use crate::catalog::Spec;
use crate::table::{Col, Row};

/// What is to be known of a table of parts.
pub struct PartTable {
    /// Its name: `bodies` of `bodies.csv`.
    pub name: &'static str,
    /// All columns that it can have.
    pub columns: &'static [Col],
    /// That of the part code.
    pub code: Col,
    /// Reads a row; none where the row has an error.
    pub read: fn(&mut Row) -> Option<PartRow>,
}

/// What a row says of a part beside its code.
pub struct PartRow {
    /// In words.
    pub description: String,
    /// What it is.
    pub spec: Spec,
}
