//! `view` hands everything on to the program with the window.

#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

mod common;

use std::fs;
use std::path::Path;

use common::tubewright;
use snapbox::cmd::Command;

/// The command alone in a folder of its own, so that nothing lies beside it. Linked, not copied: a file that is written cannot be run while
/// another thread starts a program.
fn alone(folder: &Path) -> Command {
    let own = folder.join(format!("tubewright{}", std::env::consts::EXE_SUFFIX));
    if !own.exists() {
        fs::hard_link(snapbox::cmd::cargo_bin!("tubewright"), &own).unwrap();
    }
    Command::new(own).env("PATH", folder.join("path"))
}

#[cfg(unix)]
fn stands_in(folder: &Path, says: &str, status: u8) {
    use std::os::unix::fs::PermissionsExt as _;
    fs::create_dir_all(folder).unwrap();
    let path = folder.join("tubewright-view");
    fs::write(&path, format!("#!/bin/sh\necho \"{says} $*\"\nexit {status}\n")).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
}

// One test, since no thread may start a program while another writes one.
#[test]
fn everything_is_passed_on_to_the_window_or_one_line_says_how_to_install_it() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let run = alone(folder.path()).args(["view", "job.yaml"]).assert().code(3).stdout_eq("");
    let said = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("cargo install --locked --path viewer"), "{said}");
    let help = tubewright().arg("--help").assert().success();
    assert!(String::from_utf8_lossy(&help.get_output().stdout).contains("tubewright-view"));
    #[cfg(unix)]
    {
        stands_in(&folder.path().join("path"), "on the path", 1);
        let args = ["view", "job.yaml", "--picture", "all", "--output", "here", "--help"];
        let words = "job.yaml --picture all --output here --help\n";
        alone(folder.path()).args(args).assert().code(1).stdout_eq(format!("on the path {words}"));
        // The one beside it goes first.
        stands_in(folder.path(), "beside", 7);
        alone(folder.path()).args(args).assert().code(7).stdout_eq(format!("beside {words}"));
    }
}
