//! How far a long job is, on standard error, only where a person is looking.

use std::io::IsTerminal as _;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Parts of the bar for each tube.
const PARTS: u64 = 1000;

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
        let style = ProgressStyle::with_template("{bar:24} {percent:>3} %, about {eta} left  {msg}");
        Self(Some(match style {
            Ok(style) => bar.with_style(style),
            Err(_) => bar,
        }))
    }

    /// How far the planning has come. The time left is worked out from the part that is done.
    pub(crate) fn at(&self, at: &tubewright::plan::Progress<'_>) {
        if let Some(bar) = &self.0 {
            bar.set_length(at.of as u64 * PARTS);
            bar.set_position(at.done as u64 * PARTS + (at.share * PARTS as f64) as u64);
            // Plain characters only: a name may not move the cursor.
            let name: String = at.tube.chars().filter(|letter| !letter.is_control()).take(40).collect();
            let states =
                if at.expanded > 0 { format!(", {} states of the search", at.expanded) } else { String::new() };
            bar.set_message(format!("{name}{states} (Ctrl-C: the best so far)"));
        }
    }

    /// Wipes the bar, so that what follows starts on a clean line.
    pub(crate) fn finish(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
