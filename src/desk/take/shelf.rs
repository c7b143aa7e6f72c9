//! The price list of a catalog or a project, which lists are taken into.

use super::noted::Noted;
use super::place::Place;
use crate::book;
use crate::catalog::Catalog;
use crate::desk::Held;
use crate::diag::Findings;
use crate::lists::change::Taken;
use crate::lists::new_rows;
use crate::lists::recipe::{self, Purpose, Recipe};
use crate::lists::rows::Article;
use crate::source::{self, Files};
use crate::study::failure::Failure;
use jiff::civil::Date;
use std::path::{Path, PathBuf};

/// What is taken, and where.
#[derive(Debug, Clone)]
pub struct Asked {
    /// A catalog folder or a project.
    pub place: PathBuf,
    /// The supplier by name.
    pub supplier: String,
    /// The supplier's list.
    pub list: PathBuf,
    /// The day of the list, in place of what the list says.
    pub dated: Option<Date>,
    /// Where the price list is written, in place of itself.
    pub out: Option<PathBuf>,
}

/// A price list with its catalog, ready to take lists.
#[derive(Debug)]
pub struct Shelf {
    pub(super) files: Files,
    pub(super) asked: Asked,
    pub(super) place: Place,
    /// The price list that is read, and written unless it goes elsewhere.
    pub(super) prices: PathBuf,
}

/// What became of a list.
#[derive(Debug)]
pub enum Outcome {
    /// There was no recipe: here is one.
    Proposed(Box<Draft>),
    /// The list was read by its recipe.
    Read(Box<ReadList>),
}

/// A recipe that is proposed, and what the list is by it.
#[derive(Debug)]
pub struct Draft {
    /// Where the recipe goes.
    pub path: PathBuf,
    /// The recipe as it is written.
    pub text: String,
    /// The recipe.
    pub recipe: Recipe,
    /// What the list does not tell, each with the key of the recipe that it is about.
    pub remarks: Vec<(&'static str, String)>,
    /// The articles as the recipe reads them.
    pub articles: Vec<Article>,
    /// How many of them are parts of ours.
    pub matched: usize,
    /// What keeps the list from being read by the recipe; nothing where it can be.
    pub findings: Findings,
}

/// A list that was read by its recipe.
#[derive(Debug)]
pub struct ReadList {
    /// What is told of it.
    pub taken: Taken,
    /// The price list from now on.
    pub text: String,
    /// Where it goes.
    pub path: PathBuf,
    /// The history from now on; none where the history stays as it is.
    pub noted: Option<Noted>,
    /// What is legal and looks wrong.
    pub warnings: Findings,
    pub(super) catalog: Catalog,
}

impl ReadList {
    /// The articles that match no part, as rows of the catalog to fill in.
    ///
    /// # Errors
    /// [`Failure::Output`] where they can't be written as CSV.
    pub fn new_rows(&self) -> Result<String, Failure> {
        new_rows(&self.taken, &self.catalog).map_err(Failure::output)
    }
}

impl Shelf {
    /// Finds the catalog and the price list of a catalog folder or a project.
    ///
    /// # Errors
    /// [`Failure`] where the project has errors, or the price list can't be changed in place.
    pub fn open(files: Files, asked: Asked) -> Result<Self, Failure> {
        let place = Place::find(&files, &asked.place)?;
        refuse_book(&files, &place.catalog, "catalog")?;
        let prices = place.prices();
        refuse_book(&files, &prices, "price list")?;
        Ok(Self {
            files,
            asked,
            place,
            prices,
        })
    }

    /// The price list that is written.
    pub fn out(&self) -> &Path {
        self.asked.out.as_deref().unwrap_or(&self.prices)
    }

    /// Where the supplier's recipe is kept.
    pub fn recipe_path(&self) -> PathBuf {
        let name = recipe::file_name(&self.asked.supplier, Purpose::Prices);
        self.place.catalog.join(name)
    }

    /// Keeps other runs from writing the price list and its history. None is held where there
    /// is no recipe, since then no price is taken.
    ///
    /// # Errors
    /// [`Failure::Write`] where another run holds one of them.
    pub fn hold(&self) -> Result<Vec<Held>, Failure> {
        let mut paths = Vec::new();
        if self.files.is_there(&self.recipe_path()) {
            paths.push(self.out().to_owned());
            if self.asked.out.is_none() {
                paths.push(self.place.history()?);
            }
        }
        (paths.iter())
            .map(|path| Held::take(&self.files, path))
            .collect()
    }

    /// Writes a proposed recipe.
    ///
    /// # Errors
    /// [`Failure::Write`].
    pub fn keep_recipe(&mut self, draft: &Draft) -> Result<(), Failure> {
        let written = self.files.write_below(&draft.path, &draft.text);
        written.map_err(|error| Failure::write(&draft.path, &error))
    }

    /// Writes the price list and its history; what stays as it is is not written. Both are
    /// written or none, as far as can be.
    ///
    /// # Errors
    /// [`Failure::Write`].
    pub fn keep(&mut self, read: &ReadList) -> Result<(), Failure> {
        if !read.taken.would_change && self.asked.out.is_none() {
            return Ok(());
        }
        // The history goes first: a run that is killed in between leaves a history that the
        // same list adds nothing to.
        let noted = read.noted.as_ref();
        let noted = noted.map(|noted| (noted.path.as_path(), noted.text.as_bytes()));
        let prices = (read.path.as_path(), read.text.as_bytes());
        let all: Vec<(&Path, &[u8])> = noted.into_iter().chain([prices]).collect();
        let written = self.files.write_all(&all);
        written.map_err(|(path, error)| Failure::write(&path, &error))
    }
}

/// A workbook is not changed in place.
fn refuse_book(files: &Files, path: &Path, what: &str) -> Result<(), Failure> {
    if !book::is_book(files, path) {
        return Ok(());
    }
    let shown = source::shown(path);
    Err(Failure::usage(
        format!("the {what} {shown} is a workbook, which couplet take does not change"),
        format!("make CSV files of it: couplet convert {shown} FOLDER; then name the folder"),
    ))
}
