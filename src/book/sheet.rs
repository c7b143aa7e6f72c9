//! What is read of a workbook.

use crate::source::SheetRow;
use std::sync::Arc;

/// A sheet of a workbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// The name in the workbook.
    pub name: String,
    /// The rows that hold anything.
    pub rows: Arc<[SheetRow]>,
}
