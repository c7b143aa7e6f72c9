//! `couplet take`.

use super::args::{Format, HERE, Take as Args};
use super::files::{self, Target};
use super::interrupt;
use super::output::Terminal;
use couplet::desk::Own;
use couplet::desk::take::{Asked, Draft, Outcome, ReadList, Shelf};
use couplet::report::take as report;
use couplet::source::Files;
use couplet::study::failure::Failure;
use couplet::table::one_spelling;

/// Where the price list and the new rows go, as far as that is said.
struct Targets {
    out: Option<Target>,
    new: Option<Target>,
}

impl Targets {
    fn of(args: &Args) -> Result<Self, Failure> {
        let own = Own::of(
            &Files::on_disk(),
            args.place.as_deref().unwrap_or(HERE.as_ref()),
        );
        let own = own.and_if(args.file.as_deref(), "the list that is read");
        let out = Target::if_named(args.out.as_deref(), &own)?;
        let file = out.as_ref().and_then(Target::file);
        let new = own.and_if(file, "where the price list goes");
        let new = Target::if_named(args.new.as_deref(), &new)?;
        files::one_output(&[out.as_ref(), new.as_ref()])?;
        if args.check && files::is_output(out.as_ref()) {
            return Err(Failure::usage(
                "--check writes no price list, so none can go to standard output",
                "leave out --check or --out",
            ));
        }
        Ok(Self { out, new })
    }

    /// True if what is told of the list has to go elsewhere.
    fn take_output(&self) -> bool {
        [&self.out, &self.new]
            .iter()
            .any(|target| files::is_output(target.as_ref()))
    }
}

/// Reads a supplier's list, shows what it makes of the price list, and writes that.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let targets = Targets::of(args)?;
    let supplier = args.supplier.clone().unwrap_or_default();
    let asked = Asked {
        place: args.place.clone().unwrap_or_else(|| HERE.into()),
        supplier: one_spelling(&supplier.to_string_lossy()).into_owned(),
        list: args.file.clone().unwrap_or_default(),
        dated: args.dated,
        out: args.out.clone(),
    };
    let mut shelf = Shelf::open(interrupt::files(), asked)?;
    let writes = !args.check && !files::is_output(targets.out.as_ref());
    let _held = writes.then(|| shelf.hold()).transpose()?;
    match shelf.read()? {
        Outcome::Proposed(draft) => propose(args, &mut shelf, &draft, terminal),
        Outcome::Read(read) => take(args, (&mut shelf, &targets), &read, terminal),
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
    (shelf, targets): (&mut Shelf, &Targets),
    read: &ReadList,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let mut taken = read.taken.clone();
    if files::is_output(targets.out.as_ref()) {
        taken.out = "standard output".to_owned();
    }
    let mut put = Ok(());
    if !read.warnings.is_empty() {
        terminal.findings(&read.warnings);
    }
    if !args.check {
        match &targets.out {
            Some(Target::Output) => put = terminal.print(&read.text),
            _ => shelf.keep(read)?,
        }
        if let Some(new) = &targets.new {
            new.put(&read.new_rows()?, terminal)?;
        }
    }
    let text = match args.format {
        Format::Table => report::text(&taken, args.check, terminal.width),
        Format::Csv => report::changes(&taken).csv().map_err(Failure::output)?,
        Format::Json => serde_json::to_string_pretty(&taken).map_err(Failure::output)? + "\n",
    };
    let shown = match targets.take_output() {
        true if terminal.is_quiet => put,
        true => {
            terminal.say(&text);
            put
        }
        false => terminal.print(&text),
    };
    if taken.dated.is_none() && !taken.has_day_column {
        terminal.note("nothing tells the day of the list; give it with --dated");
    }
    match args.check && taken.would_change {
        true => Err(Failure::WouldChange),
        false => shown,
    }
}
