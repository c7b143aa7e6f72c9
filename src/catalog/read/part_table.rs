//! A table of parts of one kind, or of both halves.

use crate::catalog::{Kind, Spec};
use crate::table::{Col, Row};

/// What is to be known of a table of parts.
pub struct PartTable {
    /// Name of the table: `bodies` of `bodies.csv`.
    pub name: &'static str,
    /// The kinds of part in it.
    pub kinds: &'static [Kind],
    /// All columns that it can have beside the user's own.
    pub columns: &'static [Col<'static>],
    /// That of the part code.
    pub code: Col<'static>,
    /// That of the user's remarks.
    pub note: Col<'static>,
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
