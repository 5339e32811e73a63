//! Messages for people, on standard error.
//!
//! Nothing here can fail: a message that cannot be written is lost, since there is nowhere left to say so.

use std::fmt::Display;
use std::io::{IsTerminal as _, Write as _};

/// Whether standard error may be coloured: only on a terminal that knows colour, and not where `NO_COLOR` asks for none.
pub(crate) fn colour() -> bool {
    let asked_for_none = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let plain_terminal = std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    std::io::stderr().is_terminal() && !asked_for_none && !plain_terminal
}

/// `error: TEXT`.
pub(crate) fn error(text: impl Display) {
    labelled("error", "\u{1b}[1;31m", &text);
}

/// `help: TEXT`: the way out of the error just said.
pub(crate) fn help(text: impl Display) {
    labelled("help", "\u{1b}[1;36m", &text);
}

/// `note: TEXT`: worth knowing, nothing wrong.
pub(crate) fn note(text: impl Display) {
    labelled("note", "\u{1b}[1;32m", &text);
}

/// Text as it stands, for messages that are already laid out.
pub(crate) fn plain(text: impl Display) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

fn labelled(label: &str, colour_on: &str, text: &dyn Display) {
    if colour() {
        plain(format_args!("{colour_on}{label}:\u{1b}[0m {text}"));
    } else {
        plain(format_args!("{label}: {text}"));
    }
}
