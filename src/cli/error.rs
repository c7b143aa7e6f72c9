//! Why a command ends without its result, and the exit status that says so.

use super::interrupt::INTERRUPTED;
use super::output::Terminal;
use couplet::diag::Findings;
use couplet::plan::PlanError;
use couplet::report::diagnostics::{self, Message};
use couplet::store;
use couplet::study::answer::StudyError;
use std::path::Path;

/// Why a command ends without its result.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// All of them have been found; none is shown yet.
    #[error("the input has errors")]
    Input(Findings),
    /// Findings that the command has shown itself.
    #[error("the input has errors")]
    Shown,
    /// Why, in one or more lines.
    #[error("{0}")]
    NoSet(String),
    /// Every end has a set, but no plan holds all limits; what stands in the way, in lines.
    #[error("no compatible set: every end has one, but no plan holds all limits together")]
    Limits(Vec<String>),
    /// Before any plan was found.
    #[error("the time ran out before any plan was found")]
    OutOfTime,
    /// Before any plan was found.
    #[error("stopped by Ctrl-C before any plan was found")]
    Stopped,
    /// A plan record that does not hold; what is wrong with it.
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
    /// A `--check` found that something would change; it was shown.
    #[error("something would change")]
    WouldChange,
    /// What the program found wrong with its own answer.
    #[error("the program found its own answer wrong; this is a defect of the program")]
    Defect(Vec<String>),
    /// The solver broke off; what it says.
    #[error("{0}")]
    Solver(String),
    /// The command line asks for what can't be done.
    #[error("{message}")]
    Usage {
        /// What is wrong.
        message: String,
        /// What to do.
        help: String,
    },
    /// A file that is to be read is not there or is not what it should be.
    #[error("{message}")]
    Read {
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
    /// Standard output can't be written.
    #[error("standard output cannot be written: {0}")]
    Output(String),
    /// Ctrl-C came before the plan was proven, and nobody said to keep it; it was shown.
    #[error("stopped by Ctrl-C, so the plan was not kept")]
    NotAsked,
    /// Ctrl-C came before everything was found; the rest was shown.
    #[error("stopped by Ctrl-C, so not all is shown")]
    Cut,
    /// The reader of the output has gone: no error of ours.
    #[error("the output was closed")]
    Closed,
}

/// What to do about a defect of the program.
const REPORT_IT: &str = "please report it with the project and its catalog";

/// What to do about a plan that is not kept.
const KEEP_IT: &str = "let it run to its end, or start it with --keep-best or with a --time-limit to keep what it has";

impl From<StudyError> for CliError {
    fn from(error: StudyError) -> CliError {
        match error {
            StudyError::NoSet(none) => CliError::NoSet(none.to_string()),
            StudyError::Limits => CliError::Limits(Vec::new()),
            StudyError::OutOfTime => CliError::OutOfTime,
            StudyError::Record(error) => error.into(),
            StudyError::Defect(found) => CliError::Defect(found),
            error @ StudyError::Solver(_) => CliError::Solver(error.to_string()),
        }
    }
}

/// Numbers beyond exact decimals come from the input; all else is our defect.
impl From<PlanError> for CliError {
    fn from(error: PlanError) -> CliError {
        match error {
            PlanError::TooLarge(_) => CliError::Read {
                message: error.to_string(),
                help: "make the prices or quantities smaller".to_owned(),
            },
            defect => CliError::Defect(vec![defect.to_string()]),
        }
    }
}

impl CliError {
    /// For a file or folder that can't be written.
    pub fn write(path: &Path, error: &std::io::Error) -> Self {
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

    /// The exit status of the program.
    pub fn status(&self) -> u8 {
        match self {
            CliError::Closed => 0,
            CliError::Input(_)
            | CliError::Shown
            | CliError::Read { .. }
            | CliError::Untrusted(_) => 1,
            CliError::Usage { .. } | CliError::Write { .. } | CliError::Output(_) => 2,
            CliError::NoSet(_) | CliError::Limits(_) | CliError::NotKept { .. } => 3,
            CliError::WouldChange => 6,
            CliError::OutOfTime | CliError::Stopped => 4,
            CliError::NotAsked | CliError::Cut => INTERRUPTED,
            CliError::Defect(_) | CliError::Solver(_) => 5,
        }
    }

    /// Says it on standard error.
    pub fn tell(&self, terminal: &Terminal) {
        match self {
            CliError::Closed | CliError::Shown | CliError::WouldChange => {}
            CliError::Input(findings) => {
                terminal.findings(findings);
                terminal.say(&format!("{}\n", diagnostics::summary(findings)));
            }
            CliError::NoSet(text) => {
                for text in groups(text) {
                    terminal.error(&Message {
                        text,
                        ..Message::default()
                    });
                    terminal.say("\n");
                }
            }
            error => terminal.error(&error.message()),
        }
    }

    fn message(&self) -> Message {
        let (help, notes) = match self {
            CliError::Usage { help, .. }
            | CliError::Read { help, .. }
            | CliError::Write { help, .. }
            | CliError::NotKept { help, .. } => (Some(help.clone()), Vec::new()),
            CliError::Untrusted(found) => (Some("plan again".to_owned()), found.clone()),
            CliError::NotAsked => (Some(KEEP_IT.to_owned()), Vec::new()),
            CliError::Output(_) => (
                Some("make room, or send the output elsewhere".to_owned()),
                Vec::new(),
            ),
            CliError::OutOfTime => (Some("give it a longer --time-limit".to_owned()), Vec::new()),
            CliError::Defect(found) => {
                let mut notes = found.clone();
                notes.push("nothing was written".to_owned());
                (Some(REPORT_IT.to_owned()), notes)
            }
            CliError::Solver(_) => (Some(REPORT_IT.to_owned()), Vec::new()),
            _ => (None, Vec::new()),
        };
        let text = match self {
            CliError::Limits(lines) => {
                let lines: Vec<String> = lines.iter().map(|line| format!("\n  {line}")).collect();
                format!("{self}{}", lines.concat())
            }
            error => error.to_string(),
        };
        Message {
            text,
            place: None,
            help,
            notes,
        }
    }
}

/// The text in groups: each begins with a line that is not indented.
fn groups(text: &str) -> Vec<String> {
    let mut groups: Vec<String> = Vec::new();
    for line in text.lines() {
        match groups.last_mut() {
            Some(group) if line.starts_with(' ') => {
                group.push('\n');
                group.push_str(line);
            }
            _ => groups.push(line.to_owned()),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_without_a_set_are_told_group_by_group() {
        let text = "no set for 2 ends\n  circuit a\n    no plug\nno set for 1 end\n  circuit b";
        assert_eq!(
            groups(text),
            [
                "no set for 2 ends\n  circuit a\n    no plug",
                "no set for 1 end\n  circuit b"
            ]
        );
        assert!(groups("").is_empty());
    }

    #[test]
    fn every_status_of_the_help_is_given() {
        let errors = [
            (CliError::Closed, 0),
            (CliError::Input(Findings::default()), 1),
            (CliError::Shown, 1),
            (
                CliError::cannot_write(Path::new("x"), "no room", "make room"),
                2,
            ),
            (CliError::NoSet("no".into()), 3),
            (CliError::Limits(Vec::new()), 3),
            (CliError::WouldChange, 6),
            (CliError::OutOfTime, 4),
            (CliError::Stopped, 4),
            (CliError::NotAsked, 130),
            (CliError::Cut, 130),
            (CliError::Defect(Vec::new()), 5),
            (CliError::Solver("no memory".into()), 5),
        ];
        for (error, status) in errors {
            assert_eq!(error.status(), status, "{error}");
        }
    }

    #[test]
    fn a_defect_names_what_was_found() {
        let message = CliError::Defect(vec!["total is 3.00, not 2.00".into()]).message();
        assert!(message.text.contains("defect of the program"));
        assert_eq!(message.notes.len(), 2);
    }
}
