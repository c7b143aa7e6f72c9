//! Which price list a catalog folder or a project has, and where its history stands.

use crate::book;
use crate::catalog::Catalog;
use crate::catalog::PastPrice;
use crate::catalog::read::history::{self, NAME};
use crate::diag::Findings;
use crate::input::{self, LoadOptions, load_catalog, load_settings};
use crate::source::{self, Files};
use crate::store::folder_of;
use crate::study::failure::Failure;
use crate::tables::Tables;
use std::path::{Path, PathBuf};

/// A catalog, and the price list of a project where the project names one.
#[derive(Debug, Clone)]
pub(in crate::desk) struct Place {
    /// The catalog: a folder or a workbook.
    pub catalog: PathBuf,
    /// The price list that the project names.
    pub named: Option<PathBuf>,
}

impl Place {
    /// Finds the catalog of a catalog folder or a project.
    ///
    /// # Errors
    /// [`Failure`] where the project has errors.
    pub fn find(files: &Files, place: &Path) -> Result<Self, Failure> {
        let folder = input::folder_of(files, place);
        if !input::is_project(files, &folder) {
            let catalog = place.to_owned();
            return Ok(Self {
                catalog,
                named: None,
            });
        }
        let settings = load_settings(files, &folder).ok_or_else(|| {
            let options = LoadOptions {
                files: files.clone(),
                ..LoadOptions::default()
            };
            Failure::Input(input::load(&folder, &options).findings)
        })?;
        Ok(Self {
            catalog: folder.join(&settings.catalog),
            named: settings.prices.as_ref().map(|prices| folder.join(prices)),
        })
    }

    /// The price list, if the catalog is a folder.
    pub fn prices(&self) -> PathBuf {
        let own = || self.catalog.join("prices.csv");
        self.named.clone().unwrap_or_else(own)
    }

    /// The history of that price list: the file beside it.
    ///
    /// # Errors
    /// [`Failure::Usage`] where the price list itself has the name of the history.
    pub fn history(&self) -> Result<PathBuf, Failure> {
        let prices = self.prices();
        let path = folder_of(&prices).join(format!("{NAME}.csv"));
        if prices.file_name() != path.file_name() {
            return Ok(path);
        }
        let shown = source::shown(&prices);
        Err(Failure::usage(
            format!("the price list {shown} has the name of the history of prices"),
            "give the price list another name",
        ))
    }

    /// The catalog with its price list.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with them.
    pub fn read(&self, files: &Files) -> Result<Catalog, Failure> {
        let loaded = load_catalog(files, &self.catalog, self.named.as_deref());
        loaded.catalog.ok_or(Failure::Input(loaded.findings))
    }

    /// The history, from its file, or from a sheet where the price list stands in a workbook;
    /// none where there is no history.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with the history.
    pub fn past(&self, files: &Files) -> Result<Option<Vec<PastPrice>>, Failure> {
        let list = self.named.as_deref().unwrap_or(&self.catalog);
        let beside = match (&self.named, book::is_book(files, list)) {
            (_, true) => list,
            (Some(list), false) => folder_of(list),
            (None, false) => &self.catalog,
        };
        let mut findings = Findings::default();
        let mut tables = Tables::open(files, beside, &mut findings);
        let source = tables.optional(NAME, &mut findings);
        let past = source.map(|source| history::read(&source, &mut findings));
        findings.merge_repeated();
        match findings.has_errors() {
            true => Err(Failure::Input(findings)),
            false => Ok(past),
        }
    }
}
