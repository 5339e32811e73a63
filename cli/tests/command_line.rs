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

#[test]
fn the_help_lists_what_there_is_and_the_exit_statuses() {
    tubewright().arg("--help").assert().success().stderr_eq("").stdout_eq(str![[r#"
From the corner points of a bent tube to a checked step list for the bender

Usage: tubewright <COMMAND>

Commands:
  new        Write a commented starter job and bender file
  convert    Turn corner points into rows of length, rotation and bend angle, or rows into corner
             points
  plan       Plan the bends of a job: cut length, marks, and the steps in order, each checked
             against the bender
  card       Write the step card, as pages (PDF), for a phone (HTML), as text or JSON: what to cut,
             where to mark, each bend in the order of the hands, and what to check
  layout     Draw the tubes at full size: pages to be put together (PDF), a drawing (DXF), or chalk
             coordinates (text, JSON)
  stock      Cut all tubes from the bars and offcuts of the job's `stock`, with as little to buy as
             can be: the cut list (text, JSON), or a label for each piece (PDF, HTML)
  export     Write the finished tubes for other programs: exact solids (STEP), meshes (glTF, STL),
             or their centrelines in space (DXF)
  view       See each bend in 3D before it is made, and change the tube while looking; or write
             pictures (--picture, --animation). All arguments go on to tubewright-view, which is
             installed apart
  calibrate  Find springback, effective CLR, stretch and mark offset from a record of test bends
  inspect    Hold a bent part against the plan, and find what to do otherwise on the next piece; or
             measure a part to be copied
  survey     Find where points are, and which tape was misread, from distances between them
  schema     Print the JSON Schema of a kind of file or of an output, for editors and other programs

Options:
  -h, --help     Print help
  -V, --version  Print version

Exit status: 0 done; 1 not as asked: a tube that cannot be bent or cut, a part out of tolerance, a
survey that is misread or incomplete; 2 the input or the command line is wrong; 3 something outside
is missing or full.

"#]]);
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
