//! What a supplier sends after an order: `couplet order --outstanding` and `--confirm`, and the
//! note of `couplet receive --note`.

use super::args::{Format, Order, Receive};
use super::output::Terminal;
use super::record;
use super::today::today;
use couplet::desk::Desk;
use couplet::desk::letter::{Draft, Outcome};
use couplet::lists::recipe::Purpose;
use couplet::report::{letter as report, outstanding as open};
use couplet::study::failure::Failure;
use couplet::study::letter::Letter;
use std::path::Path;

/// What became of a delivery note.
pub enum Noted {
    /// It was read.
    Letter(Box<Letter>),
    /// There was no recipe, so one was proposed and shown.
    Proposed,
}

/// The delivery note that is named; none where a part or a table of parts is named.
pub fn of_delivery(
    args: &Receive,
    desk: &mut Desk,
    terminal: &Terminal,
) -> Result<Option<Noted>, Failure> {
    if let Some(file) = &args.file {
        let own = desk.own_letter(file, None)?;
        return Ok(own.map(|own| Noted::Letter(Box::new(own))));
    }
    let Some(note) = &args.note else {
        return Ok(None);
    };
    match desk.letter(note, args.supplier.as_deref(), Purpose::Delivery)? {
        Outcome::Read(letter) => {
            warn(&letter, terminal);
            Ok(Some(Noted::Letter(letter)))
        }
        Outcome::Proposed(draft) => {
            propose(desk, &draft, args.check || args.dry_run, terminal)?;
            Ok(Some(Noted::Proposed))
        }
    }
}

fn warn(letter: &Letter, terminal: &Terminal) {
    if !letter.warnings.is_empty() {
        terminal.findings(&letter.warnings);
    }
}

/// Writes a proposed recipe unless that is only asked, and shows it.
fn propose(
    desk: &mut Desk,
    draft: &Draft,
    is_check: bool,
    terminal: &Terminal,
) -> Result<(), Failure> {
    if !is_check {
        desk.keep_recipe(draft)?;
    }
    if !draft.findings.is_empty() {
        terminal.findings(&draft.findings);
    }
    terminal.print(&report::proposed(draft, is_check, terminal.width))
}

/// Shows what was ordered and has not come.
pub fn outstanding(args: &Order, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::own(&args.project);
    let as_of = args.as_of.unwrap_or_else(today);
    let outstanding = desk.outstanding(&args.supplier, as_of)?;
    terminal.print(&match args.format {
        Format::Table => open::text(&outstanding, terminal.width),
        Format::Csv => open::table(&outstanding).csv().map_err(Failure::output)?,
        Format::Json => open::json(&outstanding).map_err(Failure::output)?,
    })
}

/// Holds a confirmation against the order, and shows what differs.
pub fn confirm(args: &Order, file: &Path, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::on_record(&args.project, args.plan.as_deref());
    let supplier = match args.supplier.as_slice() {
        [] => None,
        [one] => Some(one.as_str()),
        _ => {
            return Err(Failure::usage(
                "a confirmation is from one supplier",
                "name one supplier",
            ));
        }
    };
    let letter = match desk.letter(file, supplier, Purpose::Confirmation)? {
        Outcome::Read(letter) => letter,
        Outcome::Proposed(draft) => {
            desk.may_confirm(supplier)?;
            return propose(&mut desk, &draft, false, terminal);
        }
    };
    warn(&letter, terminal);
    let confirmed = desk.confirmed(&letter, args.on, today())?;
    let shown = terminal.print(&match args.format {
        Format::Table => report::text(&confirmed, terminal.width),
        Format::Csv => report::table(&confirmed).csv().map_err(Failure::output)?,
        Format::Json => report::json(&confirmed).map_err(Failure::output)?,
    });
    match confirmed.agrees() {
        true => shown,
        false => Err(Failure::Differs),
    }
}
