//! `couplet take`.

use super::args::{Format, Take as Args};
use super::output::Terminal;
use super::{files, interrupt};
use couplet::desk::take::{Asked, Draft, Outcome, ReadList, Shelf};
use couplet::report::take as report;
use couplet::study::failure::Failure;

/// Reads a supplier's list, shows what it makes of the price list, and writes that.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let asked = Asked {
        place: args.place.clone(),
        supplier: args.supplier.clone(),
        list: args.file.clone(),
        dated: args.dated,
        out: args.out.clone(),
    };
    let mut shelf = Shelf::open(interrupt::files(), asked)?;
    let _held = (!args.check).then(|| shelf.hold()).transpose()?;
    match shelf.read()? {
        Outcome::Proposed(draft) => propose(args, &mut shelf, &draft, terminal),
        Outcome::Read(read) => take(args, &mut shelf, &read, terminal),
    }
}

fn propose(
    args: &Args,
    shelf: &mut Shelf,
    draft: &Draft,
    terminal: &Terminal,
) -> Result<(), Failure> {
    if !args.check {
        shelf.keep_recipe(draft)?;
    }
    if !draft.findings.is_empty() {
        terminal.findings(&draft.findings);
    }
    let shown = terminal.print(&report::proposed(draft, args.check, terminal.width));
    match args.check {
        true => Err(Failure::WouldChange),
        false => shown,
    }
}

fn take(
    args: &Args,
    shelf: &mut Shelf,
    read: &ReadList,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let taken = &read.taken;
    if !read.warnings.is_empty() {
        terminal.findings(&read.warnings);
    }
    if !args.check {
        shelf.keep(read)?;
        if let Some(new) = &args.new {
            files::write(new, &read.new_rows()?)?;
        }
    }
    let shown = terminal.print(&match args.format {
        Format::Table => report::text(taken, args.check, terminal.width),
        Format::Csv => report::changes(taken).csv().map_err(Failure::output)?,
        Format::Json => serde_json::to_string_pretty(taken).map_err(Failure::output)? + "\n",
    });
    if taken.dated.is_none() && !taken.has_day_column {
        terminal.note("nothing tells the day of the list; give it with --dated");
    }
    match args.check && taken.would_change {
        true => Err(Failure::WouldChange),
        false => shown,
    }
}
