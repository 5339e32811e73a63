//! What all the tests of the command use.

#![allow(dead_code, reason = "each test file uses a part of it")]

use std::path::{Path, PathBuf};

use snapbox::cmd::Command;

/// The command, in surroundings that are the same everywhere: no colour asked for, no terminal's width.
pub(crate) fn tubewright() -> Command {
    Command::new(snapbox::cmd::cargo_bin!("tubewright"))
        .env_remove("CLICOLOR_FORCE")
        .env_remove("NO_COLOR")
        .env("COLUMNS", "100")
}

/// The top folder of the project.
pub(crate) fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}
