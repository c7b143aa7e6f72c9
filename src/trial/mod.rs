//! What-if: changes of a project in words, made to its files without saving them.
//!
//! A trial is a list of changes. Each change is made to the files as the changes before left
//! them, in place: what no change names stays as it is, byte for byte. So the plan of a trial
//! is the plan of a folder in which the changes were made by hand, and keeping a trial is
//! writing those files.

mod apply;
mod cells;
mod change;
mod circuit;
mod kept;
mod settings;
mod words;
mod work;

pub use change::{Change, ChangeError, FORMS};
pub use kept::{FILE, read, saved};
pub use words::quoted;
pub use work::{How, Touched};

use crate::input::Input;
use crate::source::Files;
use std::path::Path;

/// Changes that are tried together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// Its name, where the user gave it one.
    pub name: Option<String>,
    /// The changes, in order; at least one.
    pub changes: Vec<Change>,
}

impl Trial {
    /// Reads a trial: changes with semicolons between, and perhaps a name with a colon
    /// before them.
    ///
    /// # Errors
    /// [`ChangeError`] where a text is no change.
    ///
    /// ```
    /// use couplet::trial::Trial;
    /// let trial = Trial::parse("thin: circuit pump gauge \"25 mm2\"; ambient 50")?;
    /// assert_eq!(trial.name.as_deref(), Some("thin"));
    /// assert_eq!(trial.changes[1].text, "ambient 50");
    /// assert!(Trial::parse("curcuit pump gauge 25").is_err());
    /// # Ok::<(), couplet::trial::ChangeError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, ChangeError> {
        let wrong = |message: &str, help: &str| ChangeError {
            change: text.trim().to_owned(),
            message: message.to_owned(),
            help: help.to_owned(),
        };
        let open = |_| wrong("a quote is not closed", "write the second quote");
        let (name, rest) = words::named(text).map_err(open)?;
        if name.is_some_and(str::is_empty) {
            return Err(wrong(
                "the name before the colon is empty",
                "write a name there",
            ));
        }
        let changes = words::changes(rest).map_err(open)?;
        if changes.is_empty() {
            return Err(wrong(
                "there is no change",
                "write one, such as: ambient 50",
            ));
        }
        let changes = changes.into_iter();
        Ok(Self {
            name: name.map(|name| crate::table::one_spelling(name).into_owned()),
            changes: changes
                .map(|(text, words)| Change::read(text, &words))
                .collect::<Result<_, _>>()?,
        })
    }

    /// The changes as they were written, with semicolons between.
    pub fn text(&self) -> String {
        let texts: Vec<&str> = self
            .changes
            .iter()
            .map(|change| change.text.as_str())
            .collect();
        texts.join("; ")
    }

    /// The name of the trial, else its changes.
    pub fn title(&self) -> String {
        self.name.clone().unwrap_or_else(|| self.text())
    }
}

impl Change {
    /// Lays what the change makes of the files over them; says what was changed, each cell
    /// once. `input` is the project as those files have it.
    ///
    /// # Errors
    /// [`ChangeError`] where the change names what is not there, or a file can't be changed
    /// in place.
    pub fn apply(
        &self,
        files: &mut Files,
        folder: &Path,
        input: &Input,
    ) -> Result<Vec<Touched>, ChangeError> {
        apply::apply(files, folder, input, self)
    }
}
