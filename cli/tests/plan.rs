//! `plan`: exit statuses, where the document goes, and what is said beside it.

mod common;

use std::fs;
use std::io::Read as _;
use std::path::PathBuf;
use std::process::Stdio;

use common::{top, tubewright};
use snapbox::str;

fn sample(name: &str) -> PathBuf {
    top().join("samples/jobs").join(name)
}

/// A pair of files that plans, in a folder of its own.
fn pair() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for the test");
    tubewright().args(["new", "--quiet"]).arg(folder.path()).assert().success();
    folder
}

#[test]
fn a_job_that_is_not_there_is_a_mistake() {
    tubewright().args(["plan", "no-such-job.yaml"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error[file-missing]: the file `no-such-job.yaml` cannot be read: there is no such file
...
"#]]);
}

#[test]
fn mistakes_in_a_file_print_nothing_on_standard_output() {
    let folder = pair();
    let job = folder.path().join("job.yaml");
    let text = fs::read_to_string(&job).unwrap();
    fs::write(&job, text.replace("od: 38.1", "odd: 38.1").replace("units: mm", "units: m")).unwrap();
    for format in ["text", "json"] {
        let run = tubewright().arg("plan").arg(&job).args(["--format", format]).output().unwrap();
        assert_eq!(run.status.code(), Some(2));
        assert!(run.stdout.is_empty());
        assert!(String::from_utf8_lossy(&run.stderr).contains("odd"), "{run:?}");
    }
}

#[test]
fn a_tube_that_is_not_in_the_job_is_a_mistake_that_names_those_that_are() {
    let run = tubewright().arg("plan").arg(sample("rack.yaml")).args(["--tube", "lop"]).output().unwrap();
    assert_eq!(run.status.code(), Some(2));
    assert!(run.stdout.is_empty());
    let said = String::from_utf8_lossy(&run.stderr);
    assert!(said.contains("lop") && said.contains("loop") && said.contains("crossbar"), "{said}");
}

#[test]
fn an_order_needs_one_tube_and_all_its_bends() {
    for (more, part) in [
        (&["--order", "1A 2A"][..], "--tube"),
        (&["--tube", "loop", "--order", "1A 1B"], "bend 1"),
        (&["--tube", "loop", "--order", "1A"], "2"),
        (&["--tube", "loop", "--order", "1A 2A 3A"], "3"),
        (&["--tube", "loop", "--order", "1C 2A"], "1C"),
    ] {
        let run = tubewright().arg("plan").arg(sample("rack.yaml")).args(more).output().unwrap();
        let said = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(2), "{more:?}: {said}");
        assert!(run.stdout.is_empty(), "{more:?}");
        assert!(said.contains(part), "{more:?}: {said}");
    }
    tubewright().arg("plan").arg(sample("rack.yaml")).args(["--tube", "loop", "--order", "2B 1B"]).assert().success();
}

#[test]
fn the_document_goes_whole_into_the_file_that_is_named() {
    let folder = pair();
    let (job, file) = (folder.path().join("job.yaml"), folder.path().join("plan.json"));
    let print = || tubewright().arg("plan").arg(&job).args(["--format", "json"]);
    let printed = print().output().unwrap().stdout;
    print().arg("--output").arg(&file).assert().success().stdout_eq("").stderr_eq("");
    assert_eq!(fs::read(&file).unwrap(), printed);
}

#[test]
fn an_existing_file_is_replaced_only_with_force() {
    let folder = pair();
    let (job, file) = (folder.path().join("job.yaml"), folder.path().join("plan.txt"));
    fs::write(&file, "mine").unwrap();
    let plan = || tubewright().current_dir(folder.path()).args(["plan", "job.yaml", "--output", "plan.txt"]);
    plan().assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: plan.txt is there already and was left as it is
help: replace it with --force, or name another file with --output

"#]]);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    plan().arg("--force").assert().success().stdout_eq("");
    assert!(fs::read_to_string(&file).unwrap().contains("hoop"));
    assert!(job.is_file());
}

#[test]
fn no_file_that_was_read_is_ever_replaced() {
    let folder = pair();
    for name in ["job.yaml", "bender.yaml"] {
        let before = fs::read(folder.path().join(name)).unwrap();
        let run = tubewright()
            .current_dir(folder.path())
            .args(["plan", "job.yaml", "--force", "--output", name])
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(2), "{name}");
        assert!(String::from_utf8_lossy(&run.stderr).contains("made from"), "{name}: {run:?}");
        assert_eq!(fs::read(folder.path().join(name)).unwrap(), before, "{name}");
    }
}

#[test]
fn what_cannot_be_bent_is_written_all_the_same() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let file = folder.path().join("plan.txt");
    tubewright().arg("plan").arg(sample("impossible.yaml")).arg("--output").arg(&file).assert().code(1).stdout_eq("");
    assert!(fs::read_to_string(&file).unwrap().contains("missing"));
}

#[test]
fn a_reader_that_goes_away_ends_the_writing_quietly() {
    let mut run = std::process::Command::new(snapbox::cmd::cargo_bin!("tubewright"))
        .arg("plan")
        .arg(sample("rail.yaml"))
        .args(["--format", "json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(run.stdout.take());
    let mut said = String::new();
    run.stderr.take().expect("standard error is a pipe").read_to_string(&mut said).unwrap();
    assert_eq!(run.wait().unwrap().code(), Some(0));
    assert_eq!(said, "");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_something_outside() {
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let run = std::process::Command::new(snapbox::cmd::cargo_bin!("tubewright"))
        .arg("plan")
        .arg(sample("hoop.yaml"))
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&run.stderr).contains("cannot write standard output"));
    tubewright().arg("plan").arg(sample("hoop.yaml")).args(["--output", "/dev/full"]).assert().code(3).stdout_eq("");
}

#[test]
fn text_is_in_the_units_asked_for_and_the_document_always_in_mm() {
    let plan = |more: &[&str]| {
        let run = tubewright().arg("plan").arg(sample("hoop.yaml")).args(more).output().unwrap();
        assert_eq!(run.status.code(), Some(0), "{more:?}: {run:?}");
        String::from_utf8(run.stdout).unwrap()
    };
    assert!(plan(&[]).contains("94 1/2 in of tube"));
    assert!(
        plan(&["--units", "mm"]).contains("2400 mm of tube") || plan(&["--units", "mm"]).contains("2401 mm of tube")
    );
    assert_ne!(plan(&["--fraction", "64"]), plan(&[]));
    assert_eq!(plan(&["--format", "json", "--units", "mm"]), plan(&["--format", "json", "--units", "in"]));
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let plan = || tubewright().arg("plan").arg(sample("rail.yaml")).args(["--format", "json"]).output().unwrap().stdout;
    assert_eq!(plan(), plan());
}
