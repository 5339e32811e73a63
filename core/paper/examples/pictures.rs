//! Every picture of a job as SVG: `pictures JOB FOLDER [WIDTH] [in]`, widths in mm.
#![expect(clippy::print_stdout, reason = "an example")]

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use tubewright::file::{Disk, load_job};
use tubewright::plan::{Options, plan};
use tubewright::round::People;
use tubewright_paper::picture;
use tubewright_paper::words::Words;

fn main() -> std::io::Result<()> {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let [job, folder, rest @ ..] = given.as_slice() else {
        println!("pictures JOB FOLDER [WIDTH] [in]");
        return Ok(());
    };
    let width = rest.first().and_then(|width| width.parse().ok()).unwrap_or(186.0);
    let people = if rest.iter().any(|word| word == "in") { People::inch() } else { People::mm() };
    let job = match load_job(&Disk, Path::new(job)) {
        Ok(job) => job,
        Err(mistakes) => {
            println!("{}", mistakes.render(false));
            return Ok(());
        }
    };
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).map_err(std::io::Error::other)?;
    let folder = PathBuf::from(folder);
    std::fs::create_dir_all(&folder)?;
    for tube in &plan.tubes {
        let words = Words { job: &job, tube, people: &people };
        let write = |name: String, drawing: &tubewright_paper::draw::Drawing| {
            let file = folder.join(format!("{}-{name}.svg", tube.name));
            std::fs::write(file, drawing.svg())
        };
        write("blank".to_owned(), &picture::blank(&words, width))?;
        write("finished".to_owned(), &picture::finished(&words, width))?;
        for number in 1..=tube.steps.len() {
            write(format!("step-{number}"), &picture::step(&words, number, width))?;
        }
    }
    Ok(())
}
