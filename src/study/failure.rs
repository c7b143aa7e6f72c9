//! Why something that was asked of a project ends without its result: the cause,
//! the cure, and the exit status of a program that ends for it.

use super::conflict::Conflict;
use crate::diag::{Diagnostic, Findings};
use crate::fit::{NoSet, Unfit};
use crate::input::Input;
use crate::plan::{PlanError, ReadError};
use crate::solve::SolveError;
use crate::store;
use std::io;
use std::path::{Path, PathBuf};

/// The exit status of a program that Ctrl-C ended, as shells expect it.
pub const INTERRUPTED: u8 = 130;

/// Why there is no result.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// All that is wrong with what was read; none of it is shown yet.
    #[error("the input has errors")]
    Input(Findings),
    /// The input has errors, and they were shown.
    #[error("the input has errors")]
    Shown,
    /// Some ends have no compatible set.
    #[error(transparent)]
    NoSet(#[from] NoSet),
    /// No plan has so little of something as is asked for.
    #[error("{0}")]
    TooFew(String),
    /// Every end has a set, but no plan holds all limits. What stands in the way is
    /// told, where that was found.
    #[error("no compatible set: every end has one, but no plan holds all limits together")]
    Limits(Option<Box<Blocked>>),
    /// The time ran out before any plan was found.
    #[error("the time ran out before any plan was found")]
    OutOfTime,
    /// Ctrl-C came before any plan was found.
    #[error("stopped by Ctrl-C before any plan was found")]
    Stopped,
    /// A plan record that does not hold, with what is wrong with the record.
    #[error("the plan record does not hold: it was changed by hand, or not made from these files")]
    Untrusted(Vec<String>),
    /// What was to be kept of a plan can't be kept.
    #[error("{message}")]
    NotKept {
        /// What can't be kept and why.
        message: String,
        /// What to do.
        help: String,
    },
    /// The question was whether something would change, and it would. The change was shown.
    #[error("something would change")]
    WouldChange,
    /// The question was whether two things agree, and they do not. What differs was shown.
    #[error("something differs")]
    Differs,
    /// What the program found wrong with its own answer.
    #[error("a defect of the program: the program found its own answer wrong")]
    Defect(Vec<String>),
    /// The solver broke off.
    #[error(transparent)]
    Solver(#[from] SolveError),
    /// What is asked for can't be done.
    #[error("{message}")]
    Usage {
        /// What is wrong.
        message: String,
        /// What to do.
        help: String,
    },
    /// A file that is to be read is not there or is not what it should be.
    #[error("{}{message}", place.as_ref().map_or_else(String::new, |place| format!("{place}: ")))]
    Read {
        /// The place in the file, where that is known: `file:line:column`.
        place: Option<String>,
        /// What is wrong; names the file.
        message: String,
        /// What to do.
        help: String,
    },
    /// A file that can't be written.
    #[error("{message}")]
    Write {
        /// What is wrong; names the file.
        message: String,
        /// What to do.
        help: String,
    },
    /// What was found can't be shown.
    #[error("standard output cannot be written: {0}")]
    Output(String),
    /// Ctrl-C came before the plan was proven, and nobody said to keep it. The plan was shown.
    #[error("stopped by Ctrl-C, so the plan was not kept")]
    NotAsked,
    /// Ctrl-C came before the plan was proven. The plan was shown, and is kept.
    #[error("stopped by Ctrl-C: the best plan so far is kept in {}", .0.display())]
    KeptSoFar(PathBuf),
    /// Ctrl-C came before everything was found; the rest was shown.
    #[error("stopped by Ctrl-C, so not all is shown")]
    Cut,
    /// Nobody takes the result any more: no error of ours.
    #[error("the output was closed")]
    Closed,
}

/// What stands in the way of any plan.
#[derive(Debug, Clone)]
pub struct Blocked {
    /// The project.
    pub input: Input,
    /// What of the project cannot hold together.
    pub conflict: Conflict,
}

/// What to do about a defect of the program.
const REPORT_IT: &str = "please report the defect with the project and its catalog";

/// What to do about a plan that is not kept.
const KEEP_IT: &str =
    "let the search run to its end, or give a --time-limit to keep what was found";

impl From<Diagnostic> for Failure {
    fn from(found: Diagnostic) -> Self {
        let mut findings = Findings::default();
        findings.push(found);
        Self::Input(findings)
    }
}

impl From<Unfit> for Failure {
    fn from(unfit: Unfit) -> Self {
        match unfit {
            Unfit::NoSet(none) => Self::NoSet(none),
            Unfit::TooLarge { .. } => Self::read(unfit.to_string(), Unfit::CURE),
        }
    }
}

impl Failure {
    /// For a file or folder that can't be written.
    pub fn write(path: &Path, error: &io::Error) -> Self {
        Self::cannot_write(path, &store::why(error), store::cure(error))
    }

    /// For a file that can't be written, with what to do.
    pub fn cannot_write(path: &Path, why: &str, help: &str) -> Self {
        Self::Write {
            message: format!("{} cannot be written: {why}", path.display()),
            help: help.to_owned(),
        }
    }

    /// For output that can't be made or written.
    pub fn output(error: impl ToString) -> Self {
        Self::Output(error.to_string())
    }

    /// For something that is asked for and can't be done.
    pub fn usage(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Usage {
            message: message.into(),
            help: help.into(),
        }
    }

    /// For what is read and is not what it should be.
    pub fn read(message: impl ToString, help: impl Into<String>) -> Self {
        Self::Read {
            place: None,
            message: message.to_string(),
            help: help.into(),
        }
    }

    /// The exit status of a program that ends for this failure.
    pub fn status(&self) -> u8 {
        match self {
            Self::Closed => 0,
            Self::Input(_) | Self::Shown | Self::Read { .. } | Self::Untrusted(_) => 1,
            Self::Usage { .. } | Self::Write { .. } | Self::Output(_) => 2,
            Self::NoSet(_) | Self::TooFew(_) | Self::Limits(_) | Self::NotKept { .. } => 3,
            Self::OutOfTime | Self::Stopped | Self::Solver(SolveError::Crowded(_)) => 4,
            Self::Defect(_) | Self::Solver(SolveError::Failed(_)) => 5,
            Self::WouldChange | Self::Differs => 6,
            Self::NotAsked | Self::KeptSoFar(_) | Self::Cut => INTERRUPTED,
        }
    }

    /// Where the failure is, where that is one place of a file.
    pub fn place(&self) -> Option<&str> {
        match self {
            Self::Read { place, .. } => place.as_deref(),
            _ => None,
        }
    }

    /// What the failure is, without its place.
    pub fn sentence(&self) -> String {
        match self {
            Self::Read { message, .. } => message.clone(),
            other => other.to_string(),
        }
    }

    /// What to do about the failure, where something can be done.
    pub fn cure(&self) -> Option<&str> {
        match self {
            Self::Usage { help, .. }
            | Self::Read { help, .. }
            | Self::Write { help, .. }
            | Self::NotKept { help, .. } => Some(help),
            Self::Untrusted(_) => Some("plan again"),
            Self::NotAsked => Some(KEEP_IT),
            Self::Output(_) => Some("make room, or send the output elsewhere"),
            Self::OutOfTime => Some("give a longer --time-limit"),
            Self::Solver(SolveError::Crowded(_)) => Some("wait until these end, and ask again"),
            Self::Defect(_) | Self::Solver(SolveError::Failed(_)) => Some(REPORT_IT),
            _ => None,
        }
    }

    /// What else is known, a line each.
    pub fn notes(&self) -> Vec<String> {
        match self {
            Self::Untrusted(found) => found.clone(),
            Self::Defect(found) => {
                let nothing = "nothing was written".to_owned();
                found.iter().cloned().chain([nothing]).collect()
            }
            _ => Vec::new(),
        }
    }
}

/// Numbers beyond exact decimals come from the input; all else is our defect.
impl From<PlanError> for Failure {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::TooLarge(_) => Self::read(error, "make the prices or quantities smaller"),
            defect => Self::Defect(vec![defect.to_string()]),
        }
    }
}

impl From<&ReadError> for Failure {
    fn from(error: &ReadError) -> Self {
        match error {
            ReadError::Json {
                path,
                line,
                column,
                message,
            } => Self::Read {
                place: Some(format!("{}:{line}:{column}", path.display())),
                message: message.clone(),
                help: error.help().to_owned(),
            },
            error => Self::read(error, error.help()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limit::apart::Crowded;

    #[test]
    fn every_status_of_the_help_is_given() {
        let none = NoSet { ends: Vec::new() };
        let errors = [
            (Failure::Closed, 0),
            (Failure::Input(Findings::default()), 1),
            (Failure::Shown, 1),
            (Failure::read("gone", "look"), 1),
            (Failure::Untrusted(Vec::new()), 1),
            (Failure::usage("no", "yes"), 2),
            (
                Failure::cannot_write(Path::new("x"), "no room", "make room"),
                2,
            ),
            (Failure::NoSet(none), 3),
            (Failure::TooFew("no".into()), 3),
            (Failure::Limits(None), 3),
            (Failure::OutOfTime, 4),
            (Failure::Stopped, 4),
            (Failure::Solver(SolveError::Crowded(Crowded(8))), 4),
            (Failure::Defect(Vec::new()), 5),
            (Failure::WouldChange, 6),
            (Failure::Differs, 6),
            (Failure::NotAsked, 130),
            (Failure::KeptSoFar(PathBuf::from("plan.json")), 130),
            (Failure::Cut, 130),
        ];
        for (error, status) in errors {
            assert_eq!(error.status(), status, "{error}");
        }
    }

    #[test]
    fn a_defect_names_what_was_found() {
        let defect = Failure::Defect(vec!["total is 3.00, not 2.00".into()]);
        assert!(defect.to_string().contains("defect of the program"));
        assert_eq!(defect.notes().len(), 2);
        assert_eq!(defect.cure(), Some(REPORT_IT));
    }
}
