//! Jobs and plans for tests of what is drawn.

#![allow(dead_code, reason = "each test file uses a part of it")]

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use tubewright::file::{Disk, Held, load_job};
use tubewright::job::Job;
use tubewright::plan::{Options, Plan, plan};
use tubewright::round::People;

/// The sample jobs, those with ends that land on other tubes included.
pub(crate) fn jobs() -> Vec<PathBuf> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples");
    let files = ["jobs", "ends"].into_iter().flat_map(|folder| {
        let entries = std::fs::read_dir(samples.join(folder)).expect("the samples are there");
        entries.map(|entry| entry.expect("it can be read").path())
    });
    let mut files: Vec<PathBuf> = files.filter(|path| path.extension().is_some_and(|one| one == "yaml")).collect();
    files.sort();
    assert!(files.len() >= 7, "{files:?}");
    files
}

/// A job on the disk.
pub(crate) fn job_of(path: &Path) -> Job {
    load_job(&Disk, path).unwrap_or_else(|_| panic!("{}", path.display()))
}

/// A job in a bender, both as text.
pub(crate) fn written(bender: &str, job: &str) -> Job {
    let files = Held::default().with("bender.yaml", bender).with("job.yaml", job);
    load_job(&files, Path::new("job.yaml")).unwrap_or_else(|mistakes| panic!("{}", mistakes.render(false)))
}

/// Its plan.
pub(crate) fn planned(job: &Job, people: People) -> Plan {
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    plan(job, &options, &AtomicBool::new(false), &mut |_| {}).expect("all tubes are asked for")
}
