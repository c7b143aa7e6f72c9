//! The record that a command acts on: checked before anything is shown or written.

use super::args::Read;
use super::error::CliError;
use super::glue::{self, Instead};
use super::output::Terminal;
use couplet::desk::record::{self, Checked, OnRecord, Refusal};
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::report::diagnostics::Message;
use couplet::report::wording::list;
use couplet::store::folder_of;
use std::path::Path;

/// Reads and checks the record that is named, else that of the project, and says
/// what has changed since it was made; `before` is what not to do then.
pub fn open(
    project: &Path,
    named: Option<&Path>,
    before: &str,
    terminal: &Terminal,
) -> Result<OnRecord, CliError> {
    let on = record::open(project, &record::path_of(project, named)).map_err(refused)?;
    tell(&on.checked, before, terminal);
    note_prices(&on.input, terminal);
    Ok(on)
}

/// Says what has changed since a record was made, and what that leaves unchecked.
pub fn tell(checked: &Checked, before: &str, terminal: &Terminal) {
    if checked.changed.is_empty() {
        return;
    }
    let verb = if checked.changed.len() == 1 {
        "is"
    } else {
        "are"
    };
    let unchecked: Vec<String> = checked.unchecked.iter().map(ToString::to_string).collect();
    terminal.warning(&Message {
        text: format!(
            "{} {verb} not as when the plan was made",
            list(&checked.changed)
        ),
        help: Some(format!("run couplet plan again before you {before}")),
        notes: vec![format!(
            "not checked in the record for that: {}",
            list(&unchecked)
        )],
        ..Message::default()
    });
}

/// Says which list the prices come from, where it is not the project's own.
pub fn note_prices(input: &Input, terminal: &Terminal) {
    if let Some(prices) = &input.prices.instead {
        terminal.note(format!(
            "the prices are those of {prices}, as in the plan on record"
        ));
    }
}

/// A record that is not acted on.
pub fn refused(refusal: Refusal) -> CliError {
    match refusal {
        Refusal::Read(error) => glue::unread(&error),
        Refusal::Input(findings) => CliError::Input(findings),
        Refusal::OtherProject { .. } => CliError::Read {
            message: refusal.to_string(),
            help: "name the plan of this project, or plan again".to_owned(),
        },
        Refusal::Wrong(found) => {
            CliError::Untrusted(found.iter().map(ToString::to_string).collect())
        }
    }
}

/// A record by its path, checked against its project: the one that is named, else
/// the one that it lies in; against itself alone where there is none.
pub fn by_path(path: &Path, project: Option<&Path>, terminal: &Terminal) -> Result<Plan, CliError> {
    let beside = folder_of(path);
    let beside = Some(beside).filter(|folder| folder.join("project.toml").is_file());
    match project.or(beside) {
        Some(project) => open(project, Some(path), "rely on it", terminal).map(|on| on.plan),
        None => alone(path, "no project lies beside it", terminal),
    }
}

/// A record checked against itself alone, and why.
pub fn alone(path: &Path, why: &str, terminal: &Terminal) -> Result<Plan, CliError> {
    let plan = glue::read_plan(path)?;
    record::check_alone(&plan).map_err(refused)?;
    terminal.note(format!(
        "{} was checked by itself alone, since {why}",
        path.display()
    ));
    Ok(plan)
}

/// A project as a study reads it, with the record that is there: with the list
/// of the record, unless the user names one.
pub fn read(
    project: &Path,
    read: &Read,
    terminal: &Terminal,
) -> Result<(Input, Option<Plan>), CliError> {
    let plan = match kept(project, None, terminal) {
        // A list that is not used may be broken; what else is, is told below.
        Err(CliError::Input(_)) if read.prices.is_some() => None,
        kept => kept?,
    };
    let mut instead = Instead::from(read);
    if instead.prices.is_none() {
        instead.prices = (plan.as_ref()).and_then(|plan| record::prices_of(project, plan));
    }
    let input = match glue::load(project, &instead) {
        (Some(input), findings) if !findings.has_errors() => {
            if !findings.is_empty() {
                terminal.findings(&findings);
            }
            input
        }
        (_, findings) => return Err(CliError::Input(findings)),
    };
    if read.prices.is_none() {
        note_prices(&input, terminal);
    }
    Ok((input, plan))
}

/// The record of a project, if there is one that can be read: checked as it was
/// made, whatever is asked of it.
pub fn kept(
    project: &Path,
    named: Option<&Path>,
    terminal: &Terminal,
) -> Result<Option<Plan>, CliError> {
    let path = record::path_of(project, named);
    // Reading from a pipe would wait for ever.
    if named.is_none() && !path.is_file() {
        return Ok(None);
    }
    match record::open(project, &path) {
        Ok(on) => Ok(Some(on.plan)),
        Err(Refusal::Read(error)) if named.is_none() => {
            terminal.note(format!("this plans anew, since {error}"));
            Ok(None)
        }
        Err(refusal @ Refusal::OtherProject { .. }) if named.is_none() => {
            terminal.note(format!("this plans anew, since {refusal}"));
            Ok(None)
        }
        Err(refusal) => Err(refused(refusal)),
    }
}
