//! `view` hands everything on to the program with the window.

#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

mod common;

use std::fs;
use std::path::Path;

use common::tubewright;
use snapbox::cmd::Command;

/// The command alone in a folder of its own, so that nothing lies beside it.
fn alone(folder: &Path) -> Command {
    let own = folder.join(format!("tubewright{}", std::env::consts::EXE_SUFFIX));
    fs::copy(snapbox::cmd::cargo_bin!("tubewright"), &own).unwrap();
    Command::new(own).env("PATH", folder.join("empty"))
}

#[test]
fn without_the_window_one_line_says_how_to_install_it() {
    let folder = tempfile::tempdir().unwrap();
    let run = alone(folder.path()).args(["view", "job.yaml"]).assert().code(3).stdout_eq("");
    let said = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("cargo install --locked --path viewer"), "{said}");
}

#[cfg(unix)]
#[test]
fn arguments_and_status_pass_through() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let stands_in = |folder: &Path, says: &str, status: u8| {
        fs::create_dir_all(folder).unwrap();
        let path = folder.join("tubewright-view");
        fs::write(&path, format!("#!/bin/sh\necho \"{says} $*\"\nexit {status}\n")).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    };
    stands_in(&folder.path().join("empty"), "on the path", 1);
    let args = ["view", "job.yaml", "--picture", "all", "--output", "here", "--help"];
    let words = "job.yaml --picture all --output here --help\n";
    alone(folder.path()).args(args).assert().code(1).stdout_eq(format!("on the path {words}"));
    // The one beside it goes first.
    stands_in(folder.path(), "beside", 7);
    alone(folder.path()).args(args).assert().code(7).stdout_eq(format!("beside {words}"));
}

#[test]
fn the_help_names_it() {
    let run = tubewright().arg("--help").assert().success();
    assert!(String::from_utf8_lossy(&run.get_output().stdout).contains("tubewright-view"));
}
