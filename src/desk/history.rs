//! The history of a price list.

use super::open::unknown_part;
use super::take::Place;
use crate::source::Files;
use crate::study::failure::Failure;
use crate::study::history::{Course, courses};
use std::path::Path;

/// The prices that changed so far in the price list of a catalog or a project: those of one
/// part, or of all.
///
/// # Errors
/// [`Failure`] where the project, the catalog or the history has errors, or where neither
/// the catalog nor the history has the part.
pub fn history(files: &Files, place: &Path, part: Option<&str>) -> Result<Vec<Course>, Failure> {
    let place = Place::find(files, place)?;
    let catalog = place.read(files)?;
    let past = place.past(files)?.unwrap_or_default();
    if let Some(code) = part {
        let own = catalog.parts.iter().map(|part| part.code.as_str());
        let known = || own.clone().chain(past.iter().map(|one| one.part.as_str()));
        if !known().any(|known| known == code) {
            return Err(unknown_part(code, known()));
        }
    }
    Ok(courses(&past, part))
}
