//! Writes the wrap strips of a job as a PDF file to standard output, for a judge outside to measure: `wrap_strips JOB a4|letter`.
//! `tests/python/layout_pdf.py` reads it. Status 4 where no tube of the job needs a strip.

use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::AtomicBool;

use tubewright::file::{Disk, load_job};
use tubewright::plan::{Options, plan};
use tubewright::round::People;
use tubewright_paper::pdf::{Paper, pdf};
use tubewright_paper::strip::pages;
use tubewright_paper::words::Words;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [path, paper] = words.as_slice() else { return ExitCode::from(2) };
    let paper = if paper == "letter" { Paper::Letter } else { Paper::A4 };
    let Ok(job) = load_job(&Disk, Path::new(path)) else { return ExitCode::from(2) };
    let people = if job.units.is_imperial() { People::inch() } else { People::mm() };
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let Ok(plan) = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}) else { return ExitCode::from(2) };
    let all: Vec<_> =
        plan.tubes.iter().flat_map(|tube| pages(&Words { job: &job, tube, people: &people }, paper, "a job")).collect();
    if all.is_empty() {
        return ExitCode::from(4);
    }
    match std::io::stdout().lock().write_all(&pdf("Wrap strips", &all)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::from(3),
    }
}
