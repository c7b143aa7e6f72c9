//! The history of prices with what a list adds to it.

use super::place::Place;
use crate::catalog::{Catalog, SupplierId};
use crate::lists::history::{added, append};
use crate::source::{self, Files};
use crate::study::failure::Failure;
use jiff::civil::Date;
use std::path::{Path, PathBuf};

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

impl Noted {
    /// The history of a price list with the prices that change from one catalog to the other;
    /// none where nothing is added.
    pub(super) fn of(
        files: &Files,
        place: &Place,
        (old, new): (&Catalog, &Catalog),
        (supplier, dated): (SupplierId, Option<Date>),
    ) -> Result<Option<Self>, Failure> {
        let path = place.history()?;
        let past = place.past(files)?;
        let mut rows = past.clone().unwrap_or_default();
        let new = added((old, new), supplier, dated, &rows);
        if new.is_empty() {
            return Ok(None);
        }
        let text = match past {
            Some(_) => Some(text_of(files, &path)?),
            None => None,
        };
        let text = append(text.as_deref(), &new).map_err(|error| {
            let message = format!("{} cannot be changed: {error}", source::shown(&path));
            Failure::read(message, "correct the file")
        })?;
        let count = new.len();
        rows.extend(new);
        let mut files = files.clone();
        files.lay(&path, &text);
        match place.past(&files)? == Some(rows) {
            true => Ok(Some(Self {
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

/// The text of a file that was read already.
pub(super) fn text_of(files: &Files, path: &Path) -> Result<String, Failure> {
    let bytes = files.bytes(path, source::MAX_BYTES);
    let text = bytes.ok().and_then(|bytes| String::from_utf8(bytes).ok());
    text.ok_or_else(|| {
        let message = format!("{} cannot be read any more", source::shown(path));
        Failure::read(message, "run it again")
    })
}
