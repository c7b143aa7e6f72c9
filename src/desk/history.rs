//! The history of a price list.

use super::open::{Desk, unknown_part};
use super::take::Place;
use crate::diag::{Diagnostic, Findings};
use crate::source::Files;
use crate::study::failure::Failure;
use crate::study::history::{Course, courses};
use std::collections::BTreeSet;
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

impl Desk {
    /// All that is wrong with the project, what is doubtful, and what is wrong with the
    /// history of its prices, which no plan rests on.
    pub fn all_findings(&self) -> Findings {
        let mut all = self.findings().clone();
        let past =
            Place::find(self.files(), &self.folder).and_then(|place| place.past(self.files()));
        if let Err(Failure::Input(wrong)) = past {
            let of = |one: &Diagnostic| (one.place(), one.message.clone());
            // A workbook that can't be read was told with the catalog already.
            let told: BTreeSet<(String, String)> = all.iter().map(of).collect();
            let new = wrong.iter().filter(|one| !told.contains(&of(one)));
            new.for_each(|one| all.push(one.clone()));
        }
        all
    }
}
