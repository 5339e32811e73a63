//! How far a long job is, on standard error, only where a person is looking.

use std::io::IsTerminal as _;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar that is drawn on a terminal and nowhere else.
pub(crate) struct Progress(Option<ProgressBar>);

impl Progress {
    /// No bar where `quiet` asks for none or standard error is not a terminal.
    pub(crate) fn new(quiet: bool) -> Self {
        if quiet || !std::io::stderr().is_terminal() {
            return Self(None);
        }
        // Drawn ten times a second at most: a job of a few tubes is over before the first.
        let bar = ProgressBar::with_draw_target(Some(0), ProgressDrawTarget::stderr_with_hz(10));
        let style = ProgressStyle::with_template("{bar:30} {pos} of {len}  {msg}");
        Self(Some(match style {
            Ok(style) => bar.with_style(style),
            Err(_) => bar,
        }))
    }

    /// `done` of `all` are done, the next is `name`.
    pub(crate) fn at(&self, done: usize, all: usize, name: &str) {
        if let Some(bar) = &self.0 {
            bar.set_length(all as u64);
            bar.set_position(done as u64);
            // Plain characters only: a name may not move the cursor.
            bar.set_message(name.chars().filter(|letter| !letter.is_control()).collect::<String>());
        }
    }

    /// Wipes the bar, so that what follows starts on a clean line.
    pub(crate) fn finish(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
