//! What is read of a catalog, sound or not.

use super::attributes::Attributes;
use crate::catalog::{Catalog, PartId, Supplier, SupplierId};
use crate::table::Codes;
use crate::tables::Tables;
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;

/// What could be read of a catalog.
#[derive(Debug)]
pub struct Draft {
    /// All sound rows; sorted as a catalog is.
    pub catalog: Catalog,
    /// The attributes, those of bad rows included.
    pub attributes: Attributes,
    /// The name of the price list; none where it can't be read.
    pub prices_name: Option<Arc<str>>,
    /// All part codes, those of bad rows included.
    pub part_codes: Codes,
    /// All suppliers, those of bad rows included.
    pub supplier_codes: Codes,
    /// All dies, those of bad rows included.
    pub die_codes: Codes,
    /// How the table of suppliers is named.
    pub suppliers_name: Arc<str>,
    /// Each file that was read: its path and its hash.
    pub files: Vec<(PathBuf, String)>,
    /// The names of all files looked for, in order.
    pub names: Vec<Arc<str>>,
    /// True if there is a table of dies.
    pub has_dies: bool,
    /// True if no part was left out for an error.
    pub parts_sound: bool,
    /// Rows of parts so far, bad ones included.
    pub(super) part_rows: usize,
}

impl Draft {
    pub(super) fn new() -> Self {
        Self {
            catalog: Catalog::default(),
            attributes: Attributes::default(),
            prices_name: None,
            part_codes: Codes::new("part"),
            supplier_codes: Codes::new("supplier"),
            die_codes: Codes::new("die"),
            suppliers_name: Arc::default(),
            files: Vec::new(),
            names: Vec::new(),
            has_dies: false,
            parts_sound: true,
            part_rows: 0,
        }
    }

    /// Takes note of what was read.
    pub(super) fn take(&mut self, tables: &Tables) {
        self.files.extend_from_slice(tables.files());
        self.names.extend_from_slice(tables.names());
    }

    /// Place of each part by its code.
    pub(super) fn part_ids(&self) -> HashMap<&str, PartId> {
        let codes = self.catalog.parts.iter().map(|p| p.code.as_str());
        codes.zip((0..).map(PartId)).collect()
    }

    /// Place of each supplier by its name.
    pub(super) fn supplier_ids(&self) -> HashMap<&str, SupplierId> {
        let names = self
            .catalog
            .suppliers
            .iter()
            .map(|s: &Supplier| s.name.as_str());
        names.zip((0..).map(SupplierId)).collect()
    }
}
