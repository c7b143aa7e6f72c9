//! What a supplier sends after an order: a delivery note is booked, a confirmation is held
//! against the order.

mod against;
mod reading;

use super::Desk;
use crate::diag::Findings;
use crate::lists::recipe::Recipe;
use crate::lists::rows::Line;
use crate::study::failure::Failure;
use crate::study::letter::{self, Arrived, Letter};
use crate::study::outstanding::{self, Outstanding};
use jiff::civil::Date;
use std::path::PathBuf;

/// What became of a supplier's file.
#[derive(Debug)]
pub enum Outcome {
    /// There was no recipe: here is one.
    Proposed(Box<Draft>),
    /// The file was read, by its recipe or as our own order.
    Read(Box<Letter>),
}

/// A recipe that is proposed, and what the file is by it.
#[derive(Debug)]
pub struct Draft {
    /// Where the recipe goes.
    pub path: PathBuf,
    /// The recipe as it is written.
    pub text: String,
    /// The recipe.
    pub recipe: Recipe,
    /// What the file does not tell, each with the key of the recipe that it is about.
    pub remarks: Vec<(&'static str, String)>,
    /// The lines as the recipe reads them.
    pub lines: Vec<Line>,
    /// How many of them are parts of ours.
    pub matched: usize,
    /// What keeps the file from being read by the recipe; nothing where it can be.
    pub findings: Findings,
}

impl Desk {
    /// Writes a proposed recipe.
    ///
    /// # Errors
    /// [`Failure::Write`].
    pub fn keep_recipe(&mut self, draft: &Draft) -> Result<(), Failure> {
        let written = self.asked.files.write_below(&draft.path, &draft.text);
        written.map_err(|error| Failure::write(&draft.path, &error))
    }

    /// What a delivery note brings of what is on order. Orders that were made after `on` are
    /// left alone.
    ///
    /// # Errors
    /// [`Failure::Input`] with each line of what was ordered that is not understood, or has
    /// more than is outstanding.
    pub fn arrived(&self, note: &Letter, on: Date) -> Result<Arrived, Failure> {
        letter::arrived(self.sound()?, note, on).map_err(Failure::Input)
    }

    /// What was ordered and has not come, from these suppliers or from all where none is
    /// named.
    ///
    /// # Errors
    /// [`Failure`] where the project has errors or a supplier is not known.
    pub fn outstanding(&self, suppliers: &[String], as_of: Date) -> Result<Outstanding, Failure> {
        let input = self.sound()?;
        let named = suppliers.iter();
        let named = named.map(|name| super::open::supplier(&input.catalog, name));
        let named = named.collect::<Result<Vec<_>, _>>()?;
        Ok(outstanding::outstanding(input, &named, as_of))
    }
}
