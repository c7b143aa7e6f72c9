//! Ctrl-C: the first asks for what there is so far, the second ends the program.

use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

/// The exit status of a program that Ctrl-C ended, as shells expect it.
pub const INTERRUPTED: u8 = 130;

/// A search that has not answered by then is left.
const GRACE: Duration = Duration::from_millis(800);

/// The same where its plan is to be kept: rather late than lost.
const LONG_GRACE: Duration = Duration::from_secs(30);

static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();

/// A result is on its way out, so the program is let to end by itself.
static GIVES: AtomicBool = AtomicBool::new(false);

/// What the search has so far is to be kept.
static KEEPS: AtomicBool = AtomicBool::new(false);

/// The flag that Ctrl-C sets; the same one for the whole run.
pub fn flag() -> Arc<AtomicBool> {
    Arc::clone(FLAG.get_or_init(handled))
}

/// True once Ctrl-C was pressed while somebody held the flag.
pub fn is_asked() -> bool {
    FLAG.get().is_some_and(|flag| flag.load(Ordering::Relaxed))
}

/// Says that what the search has so far is to be kept.
pub fn keeps() {
    KEEPS.store(true, Ordering::Relaxed);
}

/// Says that a result is being printed or written.
pub fn gives() {
    if is_asked() {
        GIVES.store(true, Ordering::Relaxed);
    }
}

fn handled() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&flag);
    // Where no handler can be set, Ctrl-C ends the program as ever.
    let _ = ctrlc::set_handler(move || {
        if set.swap(true, Ordering::Relaxed) {
            end();
        }
        say("stopping with the best plan so far; Ctrl-C again ends at once");
        std::thread::spawn(|| {
            std::thread::sleep(match KEEPS.load(Ordering::Relaxed) {
                true => LONG_GRACE,
                false => GRACE,
            });
            if !GIVES.load(Ordering::Relaxed) {
                say("stopped by Ctrl-C before the search could answer; nothing was kept");
                end();
            }
        });
    });
    flag
}

fn end() -> ! {
    std::process::exit(INTERRUPTED.into())
}

/// Where standard error is closed there is nobody to tell.
fn say(text: &str) {
    let _ = writeln!(anstream::stderr(), "\n{text}");
}
