//! Ctrl-C: the first asks for the best so far, the second ends the program.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::say;

static STOP: AtomicBool = AtomicBool::new(false);

/// What a shell reports of a program that Ctrl-C ended.
const INTERRUPTED: i32 = 130;

/// A flag that is set by Ctrl-C from now on.
pub(crate) fn watched() -> &'static AtomicBool {
    let set = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
        say::plain("stopping: the best so far is written; Ctrl-C again ends at once");
    });
    // Without a handler Ctrl-C ends the program as ever.
    drop(set);
    &STOP
}
