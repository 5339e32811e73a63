//! `new`: the starter pair.

mod common;

use std::fs;

use common::tubewright;

#[test]
fn both_files_are_written_and_named() {
    let folder = tempfile::tempdir().unwrap();
    tubewright()
        .current_dir(folder.path())
        .args(["new", "buggy"])
        .assert()
        .success()
        .stdout_eq("")
        .stderr_eq("note: wrote buggy/bender.yaml and buggy/job.yaml\nnote: next: tubewright plan buggy/job.yaml\n");
    assert!(folder.path().join("buggy/job.yaml").is_file());
    assert!(folder.path().join("buggy/bender.yaml").is_file());
}

#[test]
fn with_bender_only_the_bender_file_is_written() {
    let folder = tempfile::tempdir().unwrap();
    tubewright().current_dir(folder.path()).args(["new", "--bender", "--quiet"]).assert().success().stderr_eq("");
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["bender.yaml"]);
}

#[test]
fn what_is_there_already_stays_and_nothing_is_written_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.yaml"), "mine").unwrap();
    tubewright().current_dir(folder.path()).arg("new").assert().code(2).stdout_eq("").stderr_eq(
        "error: ./job.yaml is there already and was left as it is; nothing was written\n\
         help: name another folder: tubewright new FOLDER\n",
    );
    assert_eq!(fs::read_to_string(folder.path().join("job.yaml")).unwrap(), "mine");
    assert!(!folder.path().join("bender.yaml").exists());
}

#[test]
fn a_file_in_the_place_of_the_folder_is_a_mistake() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("buggy"), "a file").unwrap();
    tubewright()
        .current_dir(folder.path())
        .args(["new", "buggy"])
        .assert()
        .code(2)
        .stderr_eq("error: buggy is not a folder\n");
}
