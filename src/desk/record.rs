//! A record before anything is done with it: read, held against the project
//! that it is of, and refused where it does not hold.

use super::Desk;
use crate::audit::{Basis, Finding, audit_alone, audit_since};
use crate::diag::Findings;
use crate::input::{self, Input, InputFile};
use crate::plan::{Plan, ReadError};
use crate::source::{Files, MAX_BYTES};
use crate::study::booking::{self, DIES, LINES};
use crate::study::failure::Failure;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The files that a project folder may do without.
const OPTIONAL: [&str; 5] = ["on_hand.csv", LINES, DIES, "project.xlsx", "project.ods"];

/// Why a record is not acted on.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Refusal {
    /// It can't be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The project can't be read as it is now.
    #[error("the input has errors")]
    Input(Findings),
    /// It is of another project.
    #[error("the plan is of project {found:?}, not of {want:?}")]
    OtherProject {
        /// The project that the record names.
        found: String,
        /// The project that is open.
        want: String,
    },
    /// Something in it is wrong.
    #[error("the plan record does not hold: it was changed by hand, or not made from these files")]
    Wrong(Vec<Finding>),
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        (&refusal).into()
    }
}

impl From<&Refusal> for Failure {
    fn from(refusal: &Refusal) -> Self {
        match refusal {
            Refusal::Read(error) => error.into(),
            Refusal::Input(findings) => Self::Input(findings.clone()),
            Refusal::OtherProject { .. } => {
                Self::read(refusal, "name the plan of this project, or plan again")
            }
            Refusal::Wrong(found) => {
                Self::Untrusted(found.iter().map(ToString::to_string).collect())
            }
        }
    }
}

/// A record that holds, as far as it can be checked.
#[derive(Debug, Clone)]
pub struct Checked {
    /// Files that are not as when the plan was made. `ordered.csv` and
    /// `dies_ordered.csv` are not among them where they only hold this plan's own
    /// orders since.
    pub changed: Vec<String>,
    /// The project as it was before those were placed; none where none were.
    pub before: Option<Input>,
    /// What could not be checked, since files have changed.
    pub unchecked: Vec<Basis>,
    /// True if every file is as when the plan was made.
    pub is_same: bool,
}

/// A record that holds, with the project that it is of.
#[derive(Debug, Clone)]
pub struct OnRecord {
    /// The record.
    pub plan: Plan,
    /// The project, read with the price list and the day of the record.
    pub input: Input,
    /// How far the record was checked.
    pub checked: Checked,
}

/// What could be read of a record's project as it was.
#[derive(Debug, Clone)]
pub struct Made {
    /// The project with the list of that time; none where it has errors.
    pub was: Option<Input>,
    /// How far the record was checked.
    pub checked: Checked,
}

/// The record that a search can start from, or why there is none.
#[derive(Debug, Clone, Copy)]
pub struct Kept<'d>(Result<&'d Plan, Option<&'d Refusal>>);

impl<'d> Kept<'d> {
    /// The record.
    pub fn plan(self) -> Option<&'d Plan> {
        self.0.ok()
    }

    /// Why what stands in its place is not used.
    pub fn lost(self) -> Option<&'d Refusal> {
        self.0.err().flatten()
    }
}

impl OnRecord {
    /// The project as the record has it: as it is now, but for what was placed of
    /// the plan itself.
    pub fn as_planned(&self) -> &Input {
        self.checked.before.as_ref().unwrap_or(&self.input)
    }
}

impl Desk {
    /// The record with the project read as the record says, checked.
    ///
    /// # Errors
    /// [`Refusal`] if either can't be read, or the record does not hold.
    pub fn on_record(&self) -> Result<&OnRecord, &Refusal> {
        let opened = self.on_record.get_or_init(|| {
            let plan = self.there()?.clone();
            let input = self.as_recorded(&plan)?;
            let checked = check(self.files(), self.folder(), &input, &plan)?;
            Ok(Arc::new(OnRecord {
                plan,
                input,
                checked,
            }))
        });
        opened.as_deref()
    }

    /// The record, which has to be there, and the project as it is now.
    ///
    /// # Errors
    /// [`Failure::Read`] and [`Failure::Input`].
    pub fn record_and_now(&self) -> Result<(&Plan, &Input), Failure> {
        Ok((self.there()?, self.sound()?))
    }

    /// The record held against the project as it was when it was made, as far as
    /// that can still be read: with its list, even where `project.toml` names
    /// another one since.
    ///
    /// # Errors
    /// [`Failure`] if the record does not hold.
    pub fn as_made(&self) -> Result<Made, Failure> {
        let plan = self.there()?;
        let list = list_then(self.files(), self.folder(), plan);
        let loaded = input::load(self.folder(), &self.options(list, plan.as_of));
        let now = || self.sound();
        let against = loaded.input.as_ref().map_or_else(now, Ok)?;
        let checked = check(self.files(), self.folder(), against, plan)?;
        Ok(Made {
            was: loaded.input,
            checked,
        })
    }

    /// The record held against itself alone, for where the project can't be read.
    ///
    /// # Errors
    /// [`Refusal::Read`] and [`Refusal::Wrong`].
    pub fn on_record_alone(&self) -> Result<&Plan, Refusal> {
        let plan = self.there()?;
        check_alone(plan)?;
        Ok(plan)
    }

    fn there(&self) -> Result<&Plan, Refusal> {
        let plan = self.unchecked();
        let plan = plan.map_err(|error| Refusal::Read(error.clone()))?;
        plan.ok_or_else(|| Refusal::Read(ReadError::Missing(self.record_path())))
    }

    /// What a search can start from: the record, where it is one of this project. A
    /// record that nobody named and that can't be read, or is of another project,
    /// is as good as none.
    ///
    /// # Errors
    /// [`Failure`] where the record was named and is none of this project, where it
    /// does not hold, or the project can't be read as it says.
    pub fn kept(&self) -> Result<Kept<'_>, Failure> {
        if let Ok(None) = self.unchecked() {
            return Ok(Kept(Err(None)));
        }
        match self.on_record() {
            Ok(on) => Ok(Kept(Ok(&on.plan))),
            Err(refusal @ (Refusal::Read(_) | Refusal::OtherProject { .. }))
                if !self.is_record_named() =>
            {
                Ok(Kept(Err(Some(refusal))))
            }
            Err(refusal) => Err(refusal.into()),
        }
    }

    /// The project with the list that was named for the record, as of its day.
    fn as_recorded(&self, plan: &Plan) -> Result<Input, Refusal> {
        let list = prices_of(self.files(), self.folder(), plan);
        if list == self.list() {
            let now = self.now();
            let sound = now.input.as_ref().filter(|_| !now.findings.has_errors());
            let mut input = sound.cloned().ok_or_else(|| self.broken())?;
            input.as_of = plan.as_of.or_else(|| input.newest_quote());
            return Ok(input);
        }
        let loaded = input::load(self.folder(), &self.options(list, plan.as_of));
        match loaded.input {
            Some(input) if !loaded.findings.has_errors() => Ok(input),
            _ => Err(Refusal::Input(loaded.findings)),
        }
    }

    fn broken(&self) -> Refusal {
        Refusal::Input(self.findings().clone())
    }

    /// True unless every file is as when the plan on record was made; none where
    /// there is no record that holds.
    pub fn is_stale(&self) -> Option<bool> {
        let on = self.on_record().ok()?;
        Some(!on.checked.is_same || Some(&on.plan.inputs) != self.input().map(|now| &now.files))
    }
}

/// The list that was named for a record in place of the project's own, where
/// that file is still there.
pub(super) fn prices_of(files: &Files, folder: &Path, plan: &Plan) -> Option<PathBuf> {
    let list = folder.join(plan.prices.as_ref()?);
    files.is_file(&list).then_some(list)
}

/// The list that a record was made with, its project's own or not, where it is
/// still there: it stands after the four files of parts.
fn list_then(files: &Files, folder: &Path, plan: &Plan) -> Option<PathBuf> {
    let is_last = |file: &InputFile| file.file.ends_with("backshells.csv");
    let place = plan.inputs.iter().position(is_last)? + 1;
    let list = folder.join(&plan.inputs.get(place)?.file);
    files.is_file(&list).then_some(list)
}

/// Holds a record against its project as the record had it.
///
/// # Errors
/// [`Refusal::OtherProject`] and [`Refusal::Wrong`].
pub fn check(files: &Files, folder: &Path, input: &Input, plan: &Plan) -> Result<Checked, Refusal> {
    if plan.project != input.settings.name {
        return Err(Refusal::OtherProject {
            found: plan.project.clone(),
            want: input.settings.name.clone(),
        });
    }
    let is_same = plan.inputs == input.files;
    let before = without_own_orders(files, folder, input, plan);
    let input = before.as_ref().unwrap_or(input);
    let changed = changed(&plan.inputs, &input.files);
    let (found, unchecked) = audit_since(input, plan, &changed);
    match found.is_empty() {
        true => Ok(Checked {
            changed,
            before,
            unchecked,
            is_same,
        }),
        false => Err(Refusal::Wrong(found)),
    }
}

/// Holds a record against itself, where there is no project to hold it against.
///
/// # Errors
/// [`Refusal::Wrong`].
pub fn check_alone(plan: &Plan) -> Result<(), Refusal> {
    let found = audit_alone(plan);
    match found.is_empty() {
        true => Ok(()),
        false => Err(Refusal::Wrong(found)),
    }
}

/// Files of a record that are others now, in its order; then those that are new.
fn changed(then: &[InputFile], now: &[InputFile]) -> Vec<String> {
    let gone = then.iter().filter(|file| !now.contains(file));
    let is_new = |file: &&InputFile| then.iter().all(|old| old.file != file.file);
    let new = now.iter().filter(is_new);
    gone.chain(new).map(|file| file.file.clone()).collect()
}

/// Files of a record that are not as they were, found without reading the project:
/// in its order, then optional files that are new.
pub fn changed_files(files: &Files, folder: &Path, plan: &Plan) -> Vec<String> {
    let is_changed = |file: &&InputFile| {
        let now = files.sha256(&folder.join(&file.file));
        now.as_deref() != Some(file.sha256.as_str())
    };
    let changed = plan.inputs.iter().filter(is_changed);
    let is_new = |file: &&&str| {
        let is_known = plan.inputs.iter().any(|old| old.file == **file);
        !is_known && files.is_there(&folder.join(file))
    };
    let new = OPTIONAL.iter().filter(is_new).copied();
    let changed = changed.map(|file| file.file.as_str());
    changed.chain(new).map(str::to_owned).collect()
}

/// The project as it was before the orders of this very plan were placed; none
/// where they were not, or the files hold something else since.
fn without_own_orders(files: &Files, folder: &Path, input: &Input, plan: &Plan) -> Option<Input> {
    let old = |file: &str| {
        let then = was(file, &plan.inputs);
        if then == was(file, &input.files) {
            return None;
        }
        let bytes = files.bytes(&folder.join(file), MAX_BYTES).ok()?;
        let text = String::from_utf8(bytes).ok()?;
        let then = then.map(|file| file.sha256.as_str());
        match file {
            DIES => booking::dies_before(&text, then, plan, input),
            _ => booking::lines_before(&text, then, &plan.orders, input),
        }
    };
    let (lines, dies) = (old(LINES), old(DIES));
    lines.or(dies)?;
    let mut before = input.clone();
    if let Some(old) = lines {
        before.ordered.retain(|row| row.row.line <= old);
        put_back(LINES, &mut before, plan);
    }
    if let Some(old) = dies {
        before.dies_ordered.retain(|row| row.row.line <= old);
        put_back(DIES, &mut before, plan);
    }
    Some(before)
}

fn was<'f>(file: &str, files: &'f [InputFile]) -> Option<&'f InputFile> {
    files.iter().find(|f| f.file == file)
}

/// Names a file as the record does. The files stand in a fixed order, so it has
/// the place that it had.
fn put_back(file: &str, before: &mut Input, plan: &Plan) {
    before.files.retain(|f| f.file != file);
    let place = plan.inputs.iter().position(|f| f.file == file);
    if let (Some(was), Some(place)) = (was(file, &plan.inputs), place) {
        before
            .files
            .insert(place.min(before.files.len()), was.clone());
    }
}
