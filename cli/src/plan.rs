//! `plan JOB`: the step list, as text or JSON.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use tubewright::file::{Disk, Files, ReadError, load_job};
use tubewright::plan::document::Document;
use tubewright::plan::{self, Options};
use tubewright::round::{Fraction, People, Units};
use tubewright::units::LengthUnit;

use crate::args::{self, PlanFormat, ReadingUnits};
use crate::exit::Exit;
use crate::output::Output;
use crate::progress::Progress;
use crate::{interrupt, say, steps};

/// Plans the tubes of a job and writes the document.
pub(crate) fn run(args: &args::Plan) -> Exit {
    let output = match Output::to(args.output.path.as_deref(), args.output.force, &[&args.job]) {
        Ok(output) => output,
        Err(exit) => return exit,
    };
    let disk = Remembering::default();
    let job = match load_job(&disk, &args.job) {
        Ok(job) => job,
        Err(mistakes) => {
            say::plain(mistakes.render(say::colour()).trim_end());
            return Exit::Mistake;
        }
    };
    if let Err(exit) = output.spare(&disk.read.take()) {
        return exit;
    }
    let people = people(args, job.units);
    let options = Options {
        tubes: args.tubes.clone(),
        order: args.order.clone(),
        accept_tight: args.accept_tight,
        best: usize::from(args.best),
        people,
    };
    let progress = Progress::new(args.quiet);
    let stop = interrupt::watched();
    let planned = plan::plan(&job, &options, stop, &mut |at| progress.at(&at));
    progress.finish();
    let plan = match planned {
        Ok(plan) => plan,
        Err(mistake) => {
            say::error(mistake);
            return Exit::Mistake;
        }
    };
    let document = match args.format {
        PlanFormat::Text => steps::text(&job, &plan, &people),
        PlanFormat::Json => Document::new(&plan).to_json(),
    };
    match output.write(document.as_bytes()) {
        Err(exit) => exit,
        Ok(()) if plan.feasible() => Exit::Done,
        Ok(()) => Exit::CannotBend,
    }
}

/// The disk, and which files were read from it: none of them is ever written.
#[derive(Default)]
struct Remembering {
    read: RefCell<Vec<PathBuf>>,
}

impl Files for Remembering {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.read.borrow_mut().push(path.to_path_buf());
        Disk.read(path)
    }
}

/// The units that people read: those asked for, else inches for a file in inches or feet and millimetres for any other.
fn people(args: &args::Plan, file: LengthUnit) -> People {
    let inches = match args.units {
        Some(ReadingUnits::In) => true,
        Some(ReadingUnits::Mm) => false,
        None => matches!(file, LengthUnit::Inch | LengthUnit::Foot),
    };
    if !inches {
        return People::mm();
    }
    let parts = args.fraction.map_or(16, args::Fraction::parts);
    People { units: Units::Inch(Fraction::from_denominator(u64::from(parts)).unwrap_or(Fraction::Sixteenths)) }
}
