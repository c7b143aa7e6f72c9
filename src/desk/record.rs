//! A record before anything is done with it: read, held against the project
//! that it is of, and refused where it does not hold.

use crate::audit::{Basis, Finding, audit_alone, audit_since};
use crate::diag::Findings;
use crate::input::{self, Input, InputFile, LoadOptions};
use crate::plan::{self, Plan, ReadError};
use crate::source::sha256;
use crate::study::booking::{self, DIES, LINES};
use std::path::{Path, PathBuf};

/// The files that a project folder may do without.
const OPTIONAL: [&str; 5] = ["on_hand.csv", LINES, DIES, "project.xlsx", "project.ods"];

/// Why a record is not acted on.
#[derive(Debug, thiserror::Error)]
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
    /// Warnings of reading it.
    pub findings: Findings,
    /// How far the record was checked.
    pub checked: Checked,
}

/// The record of a project: the one that is named, else `plan.json` in the
/// project folder.
pub fn path_of(project: &Path, named: Option<&Path>) -> PathBuf {
    let usual = || input::folder_of(project).join("plan.json");
    named.map_or_else(usual, Path::to_owned)
}

/// Reads a record with its project, and checks it.
///
/// # Errors
/// [`Refusal`] if either can't be read, or the record does not hold.
pub fn open(project: &Path, record: &Path) -> Result<OnRecord, Refusal> {
    let plan = plan::read(record)?;
    let loaded = input::load(project, &as_recorded(project, &plan));
    let (input, findings) = match loaded.input {
        Some(input) if !loaded.findings.has_errors() => (input, loaded.findings),
        _ => return Err(Refusal::Input(loaded.findings)),
    };
    let checked = check(project, &input, &plan)?;
    Ok(OnRecord {
        plan,
        input,
        findings,
        checked,
    })
}

/// How to read a project so that it is as the record had it: with the list that
/// was named for it, as of its day.
pub fn as_recorded(project: &Path, plan: &Plan) -> LoadOptions {
    LoadOptions {
        prices: prices_of(project, plan),
        as_of: plan.as_of,
    }
}

/// The list that was named for a record in place of the project's own, where
/// that file is still there.
pub fn prices_of(project: &Path, plan: &Plan) -> Option<PathBuf> {
    let list = input::folder_of(project).join(plan.prices.as_ref()?);
    list.is_file().then_some(list)
}

/// Holds a record against a project that was read as [`as_recorded`] says.
///
/// # Errors
/// [`Refusal::OtherProject`] and [`Refusal::Wrong`].
pub fn check(project: &Path, input: &Input, plan: &Plan) -> Result<Checked, Refusal> {
    if plan.project != input.settings.name {
        return Err(Refusal::OtherProject {
            found: plan.project.clone(),
            want: input.settings.name.clone(),
        });
    }
    let is_same = plan.inputs == input.files;
    let before = without_own_orders(project, input, plan);
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
pub fn changed_files(project: &Path, plan: &Plan) -> Vec<String> {
    let folder = input::folder_of(project);
    let is_changed = |file: &&InputFile| {
        let bytes = std::fs::read(folder.join(&file.file));
        !bytes.is_ok_and(|bytes| sha256(&bytes) == file.sha256)
    };
    let changed = plan.inputs.iter().filter(is_changed);
    let is_new = |file: &&&str| {
        plan.inputs.iter().all(|old| old.file != **file) && folder.join(file).exists()
    };
    let new = OPTIONAL.iter().filter(is_new).copied();
    let changed = changed.map(|file| file.file.as_str());
    changed.chain(new).map(str::to_owned).collect()
}

/// The project as it was before the orders of this very plan were placed; none
/// where they were not, or the files hold something else since.
fn without_own_orders(project: &Path, input: &Input, plan: &Plan) -> Option<Input> {
    let folder = input::folder_of(project);
    let old = |file: &str| {
        let then = was(file, &plan.inputs);
        if then == was(file, &input.files) {
            return None;
        }
        let text = std::fs::read_to_string(folder.join(file)).ok()?;
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
