//! Ctrl-C: the first asks for what there is so far, the second ends the program.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The exit status of a program that Ctrl-C ended, as shells expect it.
const INTERRUPTED: i32 = 130;

/// A flag that Ctrl-C sets.
pub fn flag() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&flag);
    // Where no handler can be set, Ctrl-C ends the program as ever.
    let _ = ctrlc::set_handler(move || {
        if set.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
    });
    flag
}
