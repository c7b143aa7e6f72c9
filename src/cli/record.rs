//! What is said of the record that a command acts on.

use super::args::Read;
use super::interrupt;
use super::output::Terminal;
use couplet::desk::record::{self, Checked, OnRecord};
use couplet::desk::{Asked, Desk, List};
use couplet::input::{self, Input};
use couplet::plan::{self, Plan};
use couplet::report::diagnostics::Message;
use couplet::report::wording::list;
use couplet::source::Files;
use couplet::store::folder_of;
use couplet::study::failure::Failure;
use std::path::Path;

/// The project with the record that is named, else its own, read with the price
/// list of that record.
pub fn on_record(project: &Path, named: Option<&Path>) -> Desk {
    opened(project, named, &Read::default(), List::Record)
}

/// The project as a study reads it: with the list of the record, unless the user
/// names one.
pub fn studied(project: &Path, read: &Read) -> Desk {
    opened(project, None, read, List::Record)
}

/// The project as it is repriced: with the list that is named, else the list of the
/// record. The record has to be there.
pub fn repriced(project: &Path, named: Option<&Path>, read: &Read) -> Desk {
    opened(project, named, read, List::Record)
}

/// The project as it is planned, with the record that the plan replaces.
pub fn planned(project: &Path, out: Option<&Path>, read: &Read) -> Desk {
    opened(project, out, read, List::Own)
}

/// The project as it is now, with what the user names in place of what the project says.
pub fn now(project: &Path, read: &Read) -> Desk {
    opened(project, None, read, List::Own)
}

/// The project as it is now.
pub fn own(project: &Path) -> Desk {
    now(project, &Read::default())
}

fn opened(project: &Path, record: Option<&Path>, read: &Read, list: List) -> Desk {
    Desk::open(
        project,
        Asked {
            files: interrupt::files(),
            record: record.map(Path::to_owned),
            prices: read.prices.clone(),
            list,
            as_of: read.as_of,
        },
    )
}

/// The record, checked; says what has changed since it was made. `before` is what
/// not to do then.
pub fn open<'d>(
    desk: &'d Desk,
    before: &str,
    terminal: &Terminal,
) -> Result<&'d OnRecord, Failure> {
    let on = desk.on_record()?;
    tell(&on.checked, before, terminal);
    note_prices(&on.input, terminal);
    Ok(on)
}

/// Says what has changed since a record was made, and what the changes leave unchecked.
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
            "the record was not checked for {}",
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

/// A record by its path, checked against the project that is named, else against the
/// project that it lies in. Without a project the record is checked against itself.
pub fn by_path(path: &Path, project: Option<&Path>, terminal: &Terminal) -> Result<Plan, Failure> {
    let beside = folder_of(path);
    let beside = Some(beside).filter(|folder| input::is_project(&Files::on_disk(), folder));
    match project.or(beside) {
        Some(project) => {
            let desk = on_record(project, Some(path));
            open(&desk, "rely on the plan", terminal).map(|on| on.plan.clone())
        }
        None => alone(path, "no project lies beside it", terminal),
    }
}

/// A record checked against itself alone, and why.
pub fn alone(path: &Path, why: &str, terminal: &Terminal) -> Result<Plan, Failure> {
    let plan = plan::read(path).map_err(|error| Failure::from(&error))?;
    record::check_alone(&plan).map_err(|refusal| Failure::from(&refusal))?;
    terminal.note(format!(
        "{} was checked by itself alone, since {why}",
        path.display()
    ));
    Ok(plan)
}

/// A project as it is read for a study, with the record that is there.
pub fn read<'d>(
    desk: &'d Desk,
    read: &Read,
    terminal: &Terminal,
) -> Result<(&'d Input, Option<&'d Plan>), Failure> {
    let plan = kept(desk, terminal)?;
    let input = desk.sound()?;
    if !desk.findings().is_empty() {
        terminal.findings(desk.findings());
    }
    if read.prices.is_none() {
        note_prices(input, terminal);
    }
    Ok((input, plan))
}

/// The record of a project, if there is one that can be relied on: checked as it
/// was made, whatever is asked of the record. Says why a record that is there is not used.
pub fn kept<'d>(desk: &'d Desk, terminal: &Terminal) -> Result<Option<&'d Plan>, Failure> {
    let kept = desk.kept()?;
    if let Some(why) = kept.lost() {
        terminal.note(format!("the command plans anew, since {why}"));
    }
    Ok(kept.plan())
}
