//! A record before anything is done with it: the record is read, held against its
//! project, and refused where it does not hold.

use crate::audit::{Basis, Finding, audit_alone, audit_since};
use crate::diag::Findings;
use crate::input::{Input, InputFile};
use crate::plan::{Plan, ReadError};
use crate::source::{Files, MAX_BYTES};
use crate::study::booking::{self, DIES, LINES};
use crate::study::failure::Failure;
use std::path::{Path, PathBuf};

/// The files that a project folder may do without.
const OPTIONAL: [&str; 5] = ["on_hand.csv", LINES, DIES, "project.xlsx", "project.ods"];

/// Why a record is not acted on.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Refusal {
    /// The record can't be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The project can't be read as it is now.
    #[error("the input has errors")]
    Input(Findings),
    /// The record is of another project.
    #[error("the plan is of {is} {found:?}, not of {want:?}")]
    OtherProject {
        /// What the record is of, in a word: `project` or `purchase`.
        is: &'static str,
        /// The project that the record names.
        found: String,
        /// The project that is open.
        want: String,
    },
    /// Something in the record is wrong.
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
            Refusal::OtherProject { .. } => Self::read(
                refusal,
                "name the plan of what is in the folder, or plan again",
            ),
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
    /// `dies_ordered.csv` are not among these files where only this plan's own orders
    /// were added.
    pub changed: Vec<String>,
    /// The project before the plan's own orders were placed; none where none were placed.
    pub before: Option<Input>,
    /// What could not be checked, since files have changed.
    pub unchecked: Vec<Basis>,
    /// True if every file is as when the plan was made.
    pub is_same: bool,
}

/// A record that holds, with the project that the record is of.
#[derive(Debug, Clone)]
pub struct OnRecord {
    /// The record.
    pub plan: Plan,
    /// The project, read with the price list and the day of the record.
    pub input: Input,
    /// How far the record was checked.
    pub checked: Checked,
}

/// What could be read of a record's project as it was when the plan was made.
#[derive(Debug, Clone)]
pub struct Made {
    /// The project with the list of that time; none where it has errors.
    pub was: Option<Input>,
    /// How far the record was checked.
    pub checked: Checked,
}

/// The record that a search can start from, or why there is none.
#[derive(Debug, Clone, Copy)]
pub struct Kept<'d>(pub(super) Result<&'d Plan, Option<&'d Refusal>>);

impl<'d> Kept<'d> {
    /// The record.
    pub fn plan(self) -> Option<&'d Plan> {
        self.0.ok()
    }

    /// Why the record that is there is not used.
    pub fn lost(self) -> Option<&'d Refusal> {
        self.0.err().flatten()
    }
}

impl OnRecord {
    /// The project as the record has it: the project as it is now, without what was
    /// placed of the plan itself.
    pub fn as_planned(&self) -> &Input {
        self.checked.before.as_ref().unwrap_or(&self.input)
    }
}

/// The list that was named for a record in place of the project's own, where
/// that file is still there.
pub(super) fn prices_of(files: &Files, folder: &Path, plan: &Plan) -> Option<PathBuf> {
    let list = folder.join(plan.prices.as_ref()?);
    files.is_file(&list).then_some(list)
}

/// The list that a record was made with, its project's own or not, where the file is
/// still there. In a record the list stands after the four files of parts.
pub(super) fn list_then(files: &Files, folder: &Path, plan: &Plan) -> Option<PathBuf> {
    let is_last = |file: &InputFile| file.file.ends_with("backshells.csv");
    let place = plan.inputs.iter().position(is_last)? + 1;
    let list = folder.join(&plan.inputs.get(place)?.file);
    files.is_file(&list).then_some(list)
}

/// Holds a record against its project as that was when the plan was made.
///
/// # Errors
/// [`Refusal::OtherProject`] and [`Refusal::Wrong`].
pub fn check(files: &Files, folder: &Path, input: &Input, plan: &Plan) -> Result<Checked, Refusal> {
    if plan.project != input.settings.name {
        return Err(Refusal::OtherProject {
            is: match plan.machines.is_empty() {
                true => "project",
                false => "purchase",
            },
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

/// Files of a record that are others now, in the record's order; then files that are new.
fn changed(then: &[InputFile], now: &[InputFile]) -> Vec<String> {
    let gone = then.iter().filter(|file| !now.contains(file));
    let is_new = |file: &&InputFile| then.iter().all(|old| old.file != file.file);
    let new = now.iter().filter(is_new);
    gone.chain(new).map(|file| file.file.clone()).collect()
}

/// Files of a record that are not as they were, in the record's order; then optional
/// files that are new. The project need not be readable.
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
/// where these were not placed, or the files have other changes.
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

/// Names a file as the record does. The files stand in a fixed order, so the file has
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
