//! A shop in a folder of its own: copies of the samples, which may be written to.

#![allow(dead_code, unreachable_pub, reason = "each test uses some of it")]
#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use tempfile::TempDir;
use tubewright::file::{Disk, load_job};
use tubewright::plan::document::Document;
use tubewright::plan::{Options, plan};
use tubewright_viewer::work::{Asked, Work};

/// A job with the benders that the samples have.
pub struct Shop {
    folder: TempDir,
    job: PathBuf,
}

impl Shop {
    /// With a sample, by its name.
    pub fn new(sample: &str) -> Self {
        let samples = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples"));
        let folder = tempfile::Builder::new().prefix("tubewright").tempdir().unwrap();
        std::fs::create_dir(folder.path().join("jobs")).unwrap();
        for part in ["benders", "rules", "surveys"] {
            std::fs::create_dir(folder.path().join(part)).unwrap();
            for entry in std::fs::read_dir(samples.join(part)).unwrap() {
                let path = entry.unwrap().path();
                std::fs::copy(&path, folder.path().join(part).join(path.file_name().unwrap())).unwrap();
            }
        }
        let name = format!("{sample}.yaml");
        let job = folder.path().join("jobs").join(&name);
        std::fs::copy(samples.join("jobs").join(&name), &job).unwrap();
        Self { folder, job }
    }

    /// With a job of its own text.
    pub fn with(text: &str) -> Self {
        let shop = Self::new("hoop");
        std::fs::write(&shop.job, text).unwrap();
        shop
    }

    pub fn job(&self) -> &Path {
        &self.job
    }

    pub fn bender(&self, name: &str) -> PathBuf {
        self.folder.path().join("benders").join(name)
    }

    pub fn text(&self) -> String {
        std::fs::read_to_string(&self.job).unwrap()
    }

    /// The names in the folder of the job.
    pub fn names(&self) -> Vec<String> {
        let folder = std::fs::read_dir(self.job.parent().unwrap()).unwrap();
        let mut names: Vec<_> = folder.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// Opened, with its plan.
    pub fn work(&self) -> Work {
        let mut work = Work::open(self.job(), Asked::default()).unwrap();
        work.wait();
        work
    }

    /// The plan of what stands in the file, as `plan --format json` has it; with an order as `--tube NAME --order ..`.
    pub fn plan_of_the_file(&self, order: Option<(&str, &str)>) -> String {
        let job = load_job(&Disk, self.job()).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        let people =
            if job.units.is_imperial() { tubewright::round::People::inch() } else { tubewright::round::People::mm() };
        let options = Options {
            tubes: order.iter().map(|(tube, _)| (*tube).to_owned()).collect(),
            order: order.map(|(_, order)| order.to_owned()),
            accept_tight: false,
            best: 1,
            people,
        };
        Document::new(&plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).unwrap()).to_json()
    }
}

/// The names of all sample jobs, in order.
pub fn samples() -> Vec<String> {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/jobs"));
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let yaml = paths.filter(|path| path.extension().is_some_and(|extension| extension == "yaml"));
    let mut names: Vec<String> = yaml.map(|path| path.file_stem().unwrap().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// The plan that a work shows, as a document.
pub fn shown(work: &Work) -> String {
    Document::new(work.plan().unwrap()).to_json()
}
