//! The command line itself: what it answers, and with which exit status.

mod common;

use common::tubewright;
use snapbox::str;

#[test]
fn an_unknown_command_or_option_is_a_mistake_with_a_suggestion() {
    tubewright().arg("plann").assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: unrecognized subcommand 'plann'

  tip: a similar subcommand exists: 'plan'

Usage: tubewright <COMMAND>

For more information, try '--help'.

"#]]);
    tubewright().args(["plan", "job.yaml", "--oder", "1A"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: unexpected argument '--oder' found

  tip: a similar argument exists: '--order'

Usage: tubewright plan --order <ORDER> <JOB>

For more information, try '--help'.

"#]]);
}

#[test]
fn no_command_is_a_mistake_that_shows_the_help() {
    tubewright().assert().code(2).stdout_eq("");
}

#[test]
fn help_and_version_go_to_standard_output() {
    tubewright().arg("--version").assert().success().stderr_eq("").stdout_eq("tubewright [..]\n");
    tubewright().args(["plan", "--help"]).assert().success().stderr_eq("");
}

#[cfg(target_os = "linux")]
#[test]
fn help_to_a_full_disk_says_so() {
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let run =
        std::process::Command::new(snapbox::cmd::cargo_bin!("tubewright")).arg("--help").stdout(full).output().unwrap();
    assert_eq!(run.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&run.stderr).contains("cannot write standard output"));
}
