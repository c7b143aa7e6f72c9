//! Commands that name no project are about the project in the current folder.

use super::args::{Args, Command, HERE, Parts, Prices, Receive, TAKE_USAGE, Take, Trial};
use super::usage;
use clap::parser::ValueSource;
use clap::{ArgMatches, FromArgMatches};
use couplet::input::is_project;
use couplet::project::settings::{PROJECT, PURCHASE};
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::ffi::OsString;
use std::path::Path;

/// The command line, and whether it names a project where it takes one.
pub struct Words {
    /// The words as they were parsed.
    pub args: Args,
    names_project: bool,
}

impl Words {
    /// Parses the words of a command line.
    ///
    /// # Errors
    /// What is wrong with the words, or the help that they ask for.
    pub fn parse(words: impl IntoIterator<Item = OsString>) -> Result<Self, clap::Error> {
        let mut command = usage::command();
        let matches = command.try_get_matches_from_mut(words)?;
        let args = Args::from_arg_matches(&matches).map_err(|e| e.format(&mut command))?;
        let names_project = matches.subcommand().is_none_or(|(_, of)| names_project(of));
        Ok(Self {
            args,
            names_project,
        })
    }

    /// The command, on the project in the current folder where none is named.
    ///
    /// # Errors
    /// [`Failure::Usage`] where no project is there either.
    pub fn command(self) -> Result<Command, Failure> {
        let is_here = is_project(&Files::on_disk(), Path::new(""));
        let mut command = self.args.command;
        let names_project = match &mut command {
            Command::Parts(parts) => settle_parts(parts),
            Command::Prices(prices) => settle_prices(prices),
            Command::Take(take) => settle_take(take, is_here)?,
            Command::Receive(receive) => settle_receive(receive, self.names_project, is_here)?,
            Command::Trial(trial) => settle_trial(trial, self.names_project, is_here),
            _ => self.names_project,
        };
        match names_project || is_here {
            true => Ok(command),
            false => Err(Failure::Usage {
                message: format!(
                    "no project is named, and there is no {PROJECT} or {PURCHASE} here"
                ),
                help: "name the folder of the project, or go into it".to_owned(),
            }),
        }
    }
}

/// True unless the command takes a project and none is named.
fn names_project(matches: &ArgMatches) -> bool {
    let takes_one = matches.try_contains_id("project").unwrap_or(false);
    !takes_one || matches.value_source("project") != Some(ValueSource::DefaultValue)
}

/// A catalog may stand in place of the project.
fn settle_parts(parts: &mut Parts) -> bool {
    let is_named = parts.project.is_some() || parts.catalog.is_some();
    if !is_named {
        parts.project = Some(HERE.into());
    }
    is_named
}

/// Two lists are named always, the place of a history is not.
fn settle_prices(prices: &mut Prices) -> bool {
    let is_named = prices.old.is_some();
    prices.old.get_or_insert_with(|| HERE.into());
    is_named
}

/// A first word that is no project is a change, where a project is here.
fn settle_trial(trial: &mut Trial, names_project: bool, is_here: bool) -> bool {
    if !names_project || !is_here || is_place(&trial.project) {
        return names_project;
    }
    let Some(word) = trial.project.to_str().map(str::to_owned) else {
        return names_project;
    };
    trial.changes.insert(0, word);
    trial.project = HERE.into();
    false
}

/// True if the word leads to a folder or a settings file.
fn is_place(word: &Path) -> bool {
    word.is_dir() || [PROJECT, PURCHASE].iter().any(|file| word.ends_with(file))
}

/// Of two words the first is the supplier, where a project is here.
fn settle_take(take: &mut Take, is_here: bool) -> Result<bool, Failure> {
    let missing = |words: &str, verb: &str| {
        Failure::usage(
            format!("{words} {verb} missing"),
            format!(
                "write {}; in the folder of a project leave its name out",
                TAKE_USAGE
            ),
        )
    };
    match (take.place.take(), take.supplier.take(), take.file.take()) {
        (None, ..) => Err(missing("<SUPPLIER> and <FILE>", "are")),
        (_, None, _) => Err(missing("<FILE>", "is")),
        (Some(_), Some(_), None) if !is_here => Err(missing("<FILE>", "is")),
        (Some(supplier), Some(file), None) => {
            take.place = Some(HERE.into());
            take.supplier = Some(supplier.into_os_string());
            take.file = Some(file.into());
            Ok(false)
        }
        (place, supplier, file) => {
            (take.place, take.supplier, take.file) = (place, supplier, file);
            Ok(true)
        }
    }
}

/// A single word that is no project is the file, where a project is here.
fn settle_receive(
    receive: &mut Receive,
    names_project: bool,
    is_here: bool,
) -> Result<bool, Failure> {
    if receive.part.is_some() || receive.file.is_some() || receive.note.is_some() {
        return Ok(names_project);
    }
    if names_project && is_here && !is_place(&receive.project) {
        receive.file = Some(std::mem::replace(&mut receive.project, HERE.into()));
        return Ok(false);
    }
    Err(Failure::Usage {
        message: "what came is not said".to_owned(),
        help: "name the part and how many, --part PART --qty N, a file of what came, or a --note"
            .to_owned(),
    })
}
