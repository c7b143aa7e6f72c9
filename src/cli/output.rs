//! Standard output and standard error.

use super::args::Progress;
use super::interrupt;
use super::progress::Told;
use couplet::diag::Findings;
use couplet::limit::Stop;
use couplet::report::diagnostics::{self, Message};
use couplet::report::table::FULL_WIDTH;
use couplet::store;
use couplet::study::failure::Failure;
use std::io::{self, ErrorKind, IsTerminal, Write};

/// Where results and messages go, and how wide they may be.
pub struct Terminal {
    /// Columns for results.
    pub width: usize,
    message_width: usize,
    /// True if neither warnings nor progress are wanted.
    pub is_quiet: bool,
    /// How progress is told.
    pub progress: Told,
    /// Asked once the user has said that it is enough.
    pub stop: Stop,
}

impl Terminal {
    /// Measures the streams of the program.
    pub fn new(is_quiet: bool, progress: Option<Progress>, stop: Stop) -> Self {
        Self {
            width: width(io::stdout()),
            message_width: width(io::stderr()),
            is_quiet,
            progress: Told::new(progress, is_quiet),
            stop,
        }
    }

    /// Writes a result to standard output.
    ///
    /// # Errors
    /// [`Failure::Closed`] if nobody reads the result any more.
    pub fn print(&self, text: &str) -> Result<(), Failure> {
        let written = interrupt::showing(|| {
            let mut out = anstream::stdout().lock();
            out.write_all(text.as_bytes()).and_then(|()| out.flush())
        });
        written.map_err(|error| unprinted(&error))
    }

    /// Writes bytes that are no text to standard output.
    ///
    /// # Errors
    /// As [`Terminal::print`].
    pub fn print_bytes(&self, bytes: &[u8]) -> Result<(), Failure> {
        let written = interrupt::showing(|| {
            let mut out = io::stdout().lock();
            out.write_all(bytes).and_then(|()| out.flush())
        });
        written.map_err(|error| unprinted(&error))
    }

    /// True if standard output is a terminal, which shows no workbook.
    pub fn is_screen(&self) -> bool {
        io::stdout().is_terminal()
    }

    /// Writes to standard error. If that can't be written there is nobody to tell.
    pub fn say(&self, text: &str) {
        let _ = anstream::stderr().lock().write_all(text.as_bytes());
    }

    /// Shows all findings; only errors where the run is quiet.
    pub fn findings(&self, findings: &Findings) {
        if !self.is_quiet {
            self.say(&diagnostics::findings(findings, self.message_width));
            return;
        }
        let mut errors = Findings::default();
        let is_error = |level| level == couplet::diag::Level::Error;
        for finding in findings.iter().filter(|f| is_error(f.level)) {
            errors.push(finding.clone());
        }
        self.say(&diagnostics::findings(&errors, self.message_width));
    }

    /// Shows an error.
    pub fn error(&self, message: &Message) {
        self.say(&diagnostics::error(message, self.message_width));
    }

    /// Shows a warning, unless the run is quiet.
    pub fn warning(&self, message: &Message) {
        if !self.is_quiet {
            self.say(&diagnostics::warning(message, self.message_width));
        }
    }

    /// Shows a fact, unless the run is quiet.
    pub fn note(&self, text: impl Into<String>) {
        if !self.is_quiet {
            let message = Message {
                text: text.into(),
                ..Message::default()
            };
            self.say(&diagnostics::note(&message, self.message_width));
        }
    }
}

fn unprinted(error: &io::Error) -> Failure {
    match error.kind() {
        ErrorKind::BrokenPipe => Failure::Closed,
        _ => Failure::Output(store::why(error)),
    }
}

#[cfg(unix)]
fn width(stream: impl std::os::fd::AsFd) -> usize {
    capped(terminal_size::terminal_size_of(stream))
}

#[cfg(windows)]
fn width(stream: impl std::os::windows::io::AsHandle) -> usize {
    capped(terminal_size::terminal_size_of(stream))
}

fn capped(size: Option<(terminal_size::Width, terminal_size::Height)>) -> usize {
    match size {
        Some((terminal_size::Width(columns), _)) if columns > 0 => {
            usize::from(columns).min(FULL_WIDTH)
        }
        _ => FULL_WIDTH,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use terminal_size::{Height, Width};

    #[test]
    fn a_table_is_as_wide_as_the_terminal_up_to_full_width() {
        let of = |columns| capped(Some((Width(columns), Height(24))));
        assert_eq!((of(60), of(100), of(101)), (60, 100, 100));
        // Some terminals do not know their size.
        assert_eq!((of(0), capped(None)), (100, 100));
    }
}
