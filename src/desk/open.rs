//! Opening a project: everything is read when it is first asked for, and only once.

use super::record::{OnRecord, Refusal, prices_of};
use crate::catalog::{Catalog, PartId, SupplierId};
use crate::diag::{Findings, did_you_mean, joined, quote};
use crate::fit::{Fit, Unfit};
use crate::input::{self, Input, LoadOptions, Loaded};
use crate::plan::{self, Plan, ReadError};
use crate::project::settings::PURCHASE;
use crate::solve::Solver;
use crate::source::Files;
use crate::store::Hold;
use crate::study::compare::difference;
use crate::study::failure::Failure;
use jiff::civil::Date;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// Which price list is read where none is named.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum List {
    /// The project's own list.
    #[default]
    Own,
    /// The list that was named for the record, where there is one.
    Record,
}

/// What is opened, and how it is read.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Where the files are.
    pub files: Files,
    /// The record; none for `plan.json` in the project folder.
    pub record: Option<PathBuf>,
    /// The price list, in place of what the project says.
    pub prices: Option<PathBuf>,
    /// Which list is read where `prices` names none.
    pub list: List,
    /// The day as of which prices are looked at; none for the day of the newest price.
    pub as_of: Option<Date>,
}

/// While this value lives, no other run may write the file. It has to live from reading
/// the file to writing it, or what another run wrote would be lost.
#[must_use]
#[derive(Debug)]
pub struct Held(#[expect(dead_code, reason = "it holds while it lives")] Option<Hold>);

impl Held {
    /// Holds a file.
    pub(in crate::desk) fn take(files: &Files, path: &Path) -> Result<Self, Failure> {
        let hold = files.hold(path);
        hold.map(Held).map_err(|error| Failure::write(path, &error))
    }
}

/// A supplier of the catalog by name.
///
/// # Errors
/// [`Failure::Usage`] where there is no such supplier.
pub(in crate::desk) fn supplier(catalog: &Catalog, name: &str) -> Result<SupplierId, Failure> {
    catalog.find_supplier(name).ok_or_else(|| {
        let names = || catalog.suppliers.iter().map(|s| s.name.as_str());
        let all: Vec<&str> = names().collect();
        let help = did_you_mean(name, names()).unwrap_or_else(|| {
            format!(
                "add a row to suppliers.csv; there are {}",
                joined(&all, "and")
            )
        });
        Failure::usage(format!("unknown supplier {}", quote(name)), help)
    })
}

/// An open project.
///
/// A clone is the project as it is at that moment. The clone shares what was read, so
/// a search can go on with the clone while the project changes.
#[derive(Debug, Clone)]
pub struct Desk {
    pub(super) folder: PathBuf,
    pub(super) asked: Asked,
    pub(super) solver: Solver,
    pub(super) record: OnceLock<Result<Option<Arc<Plan>>, ReadError>>,
    pub(super) now: OnceLock<Arc<Loaded>>,
    pub(super) fit: OnceLock<Result<Arc<Fit>, Unfit>>,
    pub(super) on_record: OnceLock<Result<Arc<OnRecord>, Refusal>>,
}

impl Desk {
    /// Opens the project in a folder, or beside the `project.toml` that is named.
    /// Nothing is read before it is asked for, and everything is read once.
    pub fn open(project: &Path, asked: Asked) -> Self {
        Self {
            folder: input::folder_of(&asked.files, project),
            asked,
            solver: Solver::default(),
            record: OnceLock::new(),
            now: OnceLock::new(),
            fit: OnceLock::new(),
            on_record: OnceLock::new(),
        }
    }

    /// Forgets what was read, so that files are read anew when they are asked for.
    pub fn read_again(&mut self) {
        self.record = OnceLock::new();
        self.now = OnceLock::new();
        self.fit = OnceLock::new();
        self.on_record = OnceLock::new();
    }

    /// The project folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What the folder holds, in a word: `project` or `purchase`.
    pub fn word(&self) -> &'static str {
        match self.files().is_there(&self.path(PURCHASE)) {
            true => "purchase",
            false => "project",
        }
    }

    /// A file of the project.
    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.join(file)
    }

    /// Where the files are read and written.
    pub fn files(&self) -> &Files {
        &self.asked.files
    }

    /// Lays a text over a file of the project, as if it were saved.
    pub fn lay(&mut self, file: &str, text: &str) {
        let path = self.path(file);
        self.asked.files.lay(&path, text);
        self.read_again();
    }

    /// The text of a project file, laid over the file or saved; none where the file is
    /// not there or is no text.
    pub fn text(&self, file: &str) -> Option<String> {
        let bytes = self
            .files()
            .bytes(&self.path(file), crate::source::MAX_BYTES);
        String::from_utf8(bytes.ok()?).ok()
    }

    /// All that is wrong with the project, and what is doubtful.
    pub fn findings(&self) -> &Findings {
        &self.now().findings
    }

    /// The project as it is now; none where it has errors.
    pub fn input(&self) -> Option<&Input> {
        let now = self.now();
        now.input.as_ref().filter(|_| !now.findings.has_errors())
    }

    /// The path of the record.
    pub fn record_path(&self) -> PathBuf {
        let usual = || self.path("plan.json");
        self.asked.record.clone().unwrap_or_else(usual)
    }

    /// True if the record was named, and so has to be there.
    pub fn is_record_named(&self) -> bool {
        self.asked.record.is_some()
    }

    /// The record as it stands in its file, unchecked; none where there is no record
    /// and no record was named.
    ///
    /// # Errors
    /// [`ReadError`] where the record can't be read.
    pub fn unchecked(&self) -> Result<Option<&Plan>, &ReadError> {
        let read = self.record.get_or_init(|| {
            let path = self.record_path();
            // Reading from a pipe would wait for ever.
            if self.asked.record.is_none() && !self.files().is_file(&path) {
                return Ok(None);
            }
            plan::read_from(self.files(), &path).map(|plan| Some(Arc::new(plan)))
        });
        read.as_ref().map(Option::as_deref)
    }

    /// The project as it is now.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with the project.
    pub fn sound(&self) -> Result<&Input, Failure> {
        let wrong = || Failure::Input(self.findings().clone());
        self.input().ok_or_else(wrong)
    }

    /// A part of the catalog by its code.
    ///
    /// # Errors
    /// [`Failure::Usage`] where there is no such part.
    pub fn part(&self, code: &str) -> Result<PartId, Failure> {
        let catalog = &self.sound()?.catalog;
        catalog.find(code).ok_or_else(|| {
            let codes = catalog.parts.iter().map(|part| part.code.as_str());
            unknown_part(code, codes)
        })
    }

    /// Keeps other runs from writing a file.
    ///
    /// # Errors
    /// [`Failure::Write`] where another run holds it.
    pub fn hold(&self, path: &Path) -> Result<Held, Failure> {
        Held::take(self.files(), path)
    }

    /// Saves a file of the project; what was read is forgotten.
    ///
    /// # Errors
    /// [`Failure::Write`]; the file that was there is as it was.
    pub fn save(&mut self, file: &str, text: &str) -> Result<(), Failure> {
        let path = self.path(file);
        let written = self.asked.files.write(&path, text);
        written.map_err(|error| Failure::write(&path, &error))?;
        self.read_again();
        Ok(())
    }

    /// Keeps a plan as the record.
    ///
    /// # Errors
    /// [`Failure::Write`]; the record that was there is as it was.
    pub fn keep(&mut self, plan: &Plan) -> Result<(), Failure> {
        self.keep_in(&self.record_path(), plan)
    }

    /// Keeps a plan in a file, which may be the record. A plan that was there, and that
    /// differs in any figure, part, order line or end, is kept beside it, see
    /// [`plan::before_path`].
    ///
    /// # Errors
    /// [`Failure::Write`]; the files that were there are as they were, as far as can be.
    pub fn keep_in(&mut self, path: &Path, plan: &Plan) -> Result<(), Failure> {
        let text = plan::text(plan).map_err(Failure::output)?;
        let old = self.replaced(path, plan);
        let old = old
            .as_ref()
            .map(|(path, bytes)| (path.as_path(), bytes.as_slice()));
        let all: Vec<(&Path, &[u8])> = old.into_iter().chain([(path, text.as_bytes())]).collect();
        let written = match all.as_slice() {
            [(path, text)] => self.asked.files.write(path, text),
            all => self.asked.files.write_all(all).map_err(|(_, error)| error),
        };
        // Both are written or none, so the record is what the user hears of.
        written.map_err(|error| Failure::write(path, &error))?;
        self.record = OnceLock::new();
        self.on_record = OnceLock::new();
        Ok(())
    }

    /// The record that a plan takes the place of, and where that record is kept; none
    /// where no record is there, or nothing of it differs from the plan.
    fn replaced(&self, path: &Path, plan: &Plan) -> Option<(PathBuf, Vec<u8>)> {
        if !self.files().is_file(path) {
            return None;
        }
        let old = plan::read_from(self.files(), path).ok()?;
        let is_same =
            old.currency == plan.currency && difference(&old, plan, |_| None).is_nothing();
        let bytes = self.files().bytes(path, plan::MAX_BYTES).ok()?;
        (!is_same).then(|| (plan::before_path(path), bytes))
    }

    pub(super) fn now(&self) -> &Loaded {
        self.now.get_or_init(|| {
            let options = self.options(self.list(), self.asked.as_of);
            Arc::new(input::load(&self.folder, &options))
        })
    }

    pub(super) fn options(&self, prices: Option<PathBuf>, as_of: Option<Date>) -> LoadOptions {
        LoadOptions {
            files: self.files().clone(),
            prices,
            as_of,
        }
    }

    /// The list that is read in place of the project's own.
    pub(super) fn list(&self) -> Option<PathBuf> {
        let of_record = || {
            let plan = self.unchecked().ok().flatten()?;
            prices_of(self.files(), &self.folder, plan)
        };
        match (&self.asked.prices, self.asked.list) {
            (Some(prices), _) => Some(prices.clone()),
            (None, List::Record) => of_record(),
            (None, List::Own) => None,
        }
    }
}

/// No part has this code, of those that are known.
pub(super) fn unknown_part<'c>(code: &str, known: impl Iterator<Item = &'c str>) -> Failure {
    let near = did_you_mean(code, known);
    Failure::usage(
        format!("unknown part {}", quote(code)),
        near.unwrap_or_else(|| "couplet parts shows the parts of the catalog".to_owned()),
    )
}
