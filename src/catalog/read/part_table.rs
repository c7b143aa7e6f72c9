//! A table of parts of one kind.

use crate::catalog::Spec;
use crate::table::{Col, Row};

/// What is to be known of a table of parts.
pub struct PartTable {
    /// Name of the table: `bodies` of `bodies.csv`.
    pub name: &'static str,
    /// All columns that the table can have.
    pub columns: &'static [Col],
    /// The column of the part code.
    pub code: Col,
    /// Reads a row; none where the row has an error.
    pub read: fn(&mut Row) -> Option<PartRow>,
}

/// What a row says of a part beside its code.
pub struct PartRow {
    /// The part in words.
    pub description: String,
    /// What the part is.
    pub spec: Spec,
}
