//! Every sample is read without a mistake; every broken one with exactly the words that stand beside it.
//!
//! `TUBEWRIGHT_UPDATE=1 cargo test -p tubewright --test samples` writes the words anew: read the difference.

use std::path::{Path, PathBuf};

use tubewright::file::{Disk, load_bender, load_job};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name)
}

fn files(name: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder(name)).expect("the folder is part of the source");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    files.sort();
    files
}

#[test]
fn every_job_of_the_samples_is_read() {
    for path in files("samples/jobs").into_iter().chain(files("tests/python/jobs")) {
        let job = load_job(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        assert!(!job.tubes.is_empty());
        assert_eq!(job.fingerprint.len(), 4);
    }
}

#[test]
fn every_bender_of_the_samples_is_read() {
    for path in files("samples/benders").into_iter().chain(files("tests/python/benders")) {
        load_bender(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }
}
