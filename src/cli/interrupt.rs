//! Ctrl-C: the first asks for what there is so far, the second ends the program.
//! A program that Ctrl-C ends says what was kept.

use couplet::diag::joined;
use couplet::limit::Stop;
use couplet::source::Files;
use couplet::store::Watch;
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

/// The exit status of a program that Ctrl-C ended, as shells expect it.
pub const INTERRUPTED: u8 = 130;

/// A search that has not answered by then is left, and so is output that nobody takes.
const GRACE: Duration = Duration::from_millis(800);

/// The grace where the plan of the search is to be kept: rather late than lost.
const LONG_GRACE: Duration = Duration::from_secs(30);

/// How long a file that is being written is waited for, at most, in steps.
const STEP: Duration = Duration::from_millis(20);
const STEPS: usize = 100;

/// More files than these are told as a number.
const NAMED: usize = 3;

/// The stop that Ctrl-C asks. A signal comes to the whole process, so there is one stop.
static ASKED: OnceLock<Stop> = OnceLock::new();

/// True if what the search has so far is to be kept.
static KEEPS: AtomicBool = AtomicBool::new(false);

static COURSE: Mutex<Course> = Mutex::new(Course {
    gives: false,
    prints: false,
    writes: false,
    kept: Vec::new(),
});

/// What the program is at, beside searching.
struct Course {
    /// A result is on its way out since Ctrl-C, so the program is let to end by itself.
    gives: bool,
    /// A result is being shown.
    prints: bool,
    /// A file is being written.
    writes: bool,
    /// Files that were written, as the user names them.
    kept: Vec<String>,
}

impl Course {
    /// What was kept, in words.
    fn kept(&self) -> String {
        match self.kept.as_slice() {
            [] => "nothing was kept".to_owned(),
            [one] => format!("{one} was kept"),
            some if some.len() <= NAMED => format!("{} were kept", joined(some, "and")),
            many => format!("{} files were kept", many.len()),
        }
    }
}

fn course() -> MutexGuard<'static, Course> {
    COURSE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// From now on Ctrl-C asks this stop; the stop is the same for the whole run.
pub fn asks(stop: &Stop) {
    ASKED.get_or_init(|| {
        handle(stop.clone());
        stop.clone()
    });
}

fn is_asked() -> bool {
    ASKED.get().is_some_and(Stop::is_asked)
}

/// Says that what the search has so far is to be kept.
pub fn keeps() {
    KEEPS.store(true, Ordering::Relaxed);
}

/// Shows a result. Ctrl-C meanwhile ends the program if nobody takes the result.
pub fn showing<T>(show: impl FnOnce() -> T) -> T {
    {
        let mut course = course();
        course.gives |= is_asked();
        course.prints = true;
    }
    let shown = show();
    course().prints = false;
    shown
}

/// The disk, with each file that is written taken note of.
pub fn files() -> Files {
    Files::on_disk().watched(Arc::new(Noted))
}

/// Takes note of what is written.
struct Noted;

impl Watch for Noted {
    fn begins(&self, path: &Path) {
        let mut course = course();
        course.gives |= is_asked();
        match is_stream(path) {
            true => course.prints = true,
            false => course.writes = true,
        }
    }

    fn ends(&self, path: &Path, is_written: bool) {
        let is_kept = is_written && !is_stream(path);
        let mut course = course();
        (course.prints, course.writes) = (false, false);
        if is_kept {
            course.kept.push(path.display().to_string());
        }
    }
}

/// A device or a pipe keeps nothing, and may have a reader that waits.
fn is_stream(path: &Path) -> bool {
    path.exists() && !path.is_file()
}

fn handle(stop: Stop) {
    // Where no handler can be set, Ctrl-C ends the program as ever.
    let _ = ctrlc::set_handler(move || {
        let prints = course().prints;
        if stop.is_asked() {
            let course = settled();
            say(&format!("ended by Ctrl-C; {}", course.kept()));
            end();
        }
        stop.ask();
        if !prints {
            say("stopping with the best plan so far; Ctrl-C again ends at once");
        }
        std::thread::spawn(move || leave(prints));
    });
}

/// Ends a run that does not end by itself in time. `prints` says that a result
/// was being shown when Ctrl-C was pressed.
fn leave(prints: bool) {
    std::thread::sleep(match KEEPS.load(Ordering::Relaxed) && !prints {
        true => LONG_GRACE,
        false => GRACE,
    });
    let course = settled();
    if course.gives {
        return;
    }
    let what = match course.prints {
        true => "before all was shown",
        false => "before the search could answer",
    };
    say(&format!("stopped by Ctrl-C {what}; {}", course.kept()));
    end();
}

/// The course once no file is being written; a disk that hangs is not waited for.
fn settled() -> MutexGuard<'static, Course> {
    for _ in 0..STEPS {
        let course = course();
        if !course.writes {
            return course;
        }
        drop(course);
        std::thread::sleep(STEP);
    }
    course()
}

fn end() -> ! {
    std::process::exit(INTERRUPTED.into())
}

/// Where standard error is closed there is nobody to tell.
fn say(text: &str) {
    let _ = writeln!(anstream::stderr(), "\n{text}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_kept_is_named_or_counted() {
        let said = |count: usize| {
            let kept = (1..=count).map(|n| format!("{n}.csv")).collect();
            Course {
                gives: false,
                prints: false,
                writes: false,
                kept,
            }
            .kept()
        };
        assert_eq!(said(0), "nothing was kept");
        assert_eq!(said(1), "1.csv was kept");
        assert_eq!(said(3), "1.csv, 2.csv and 3.csv were kept");
        assert_eq!(said(4), "4 files were kept");
    }
}
