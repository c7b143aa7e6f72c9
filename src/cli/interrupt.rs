//! Ctrl-C: the first asks for what there is so far, the second ends the program.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

/// The exit status of a program that Ctrl-C ended, as shells expect it.
const INTERRUPTED: i32 = 130;

static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();

/// The flag that Ctrl-C sets; the same one for the whole run.
pub fn flag() -> Arc<AtomicBool> {
    Arc::clone(FLAG.get_or_init(handled))
}

/// True once Ctrl-C was pressed while somebody held the flag.
pub fn is_asked() -> bool {
    FLAG.get().is_some_and(|flag| flag.load(Ordering::Relaxed))
}

fn handled() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&flag);
    // Where no handler can be set, Ctrl-C ends the program as ever.
    let _ = ctrlc::set_handler(move || {
        if set.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
        anstream::eprintln!("\nstopping with the best plan so far; Ctrl-C again ends at once");
    });
    flag
}
