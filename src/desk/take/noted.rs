//! The history of prices with what a list adds to it.

use super::shelf::Shelf;
use crate::catalog::{Catalog, SupplierId};
use crate::lists::history::{added, append};
use crate::source;
use crate::study::failure::Failure;
use jiff::civil::Date;
use std::path::PathBuf;

/// A history of prices that rows were added to.
#[derive(Debug, Clone)]
pub struct Noted {
    /// Where it goes.
    pub path: PathBuf,
    /// The history as it is written.
    pub text: String,
    /// How many rows were added.
    pub rows: usize,
}

impl Shelf {
    /// The history with the prices that change from one catalog to the other; none where
    /// nothing is added. Nothing is where the price list goes elsewhere: what is written there
    /// is not in use yet.
    pub(super) fn noted(
        &self,
        (old, new): (&Catalog, &Catalog),
        supplier: SupplierId,
        dated: Option<Date>,
    ) -> Result<Option<Noted>, Failure> {
        if self.asked.out.is_some() {
            return Ok(None);
        }
        let path = self.place.history()?;
        let past = self.place.past(&self.files)?;
        let mut rows = past.clone().unwrap_or_default();
        let new = added((old, new), supplier, dated, &rows);
        if new.is_empty() {
            return Ok(None);
        }
        let text = match past {
            Some(_) => Some(self.text(&path)?),
            None => None,
        };
        let text = append(text.as_deref(), &new).map_err(|error| {
            let message = format!("{} cannot be changed: {error}", source::shown(&path));
            Failure::read(message, "correct the file")
        })?;
        let count = new.len();
        rows.extend(new);
        let mut files = self.files.clone();
        files.lay(&path, &text);
        match self.place.past(&files)? == Some(rows) {
            true => Ok(Some(Noted {
                path,
                text,
                rows: count,
            })),
            false => Err(Failure::Defect(vec![
                "the history does not hold what was added to it".to_owned(),
            ])),
        }
    }
}
