//! `plan JOB`: the step list, as text or JSON.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use tubewright::file::{Disk, Files, ReadError, load_job};
use tubewright::job::Job;
use tubewright::plan::document::Document;
use tubewright::plan::{self, Options, Plan};
use tubewright::round::{Fraction, People};
use tubewright::units::LengthUnit;

use crate::args::{self, PlanFormat, ReadingUnits};
use crate::exit::Exit;
use crate::output::Output;
use crate::progress::Progress;
use crate::{interrupt, say, steps};

/// Plans the tubes of a job and writes the step list.
pub(crate) fn run(args: &args::Plan) -> Exit {
    let planned = match planned(&args.planning, usize::from(args.best), args.done.as_deref()) {
        Ok(planned) => planned,
        Err(exit) => return exit,
    };
    let Planned { job, plan, people, .. } = &planned;
    let document = match args.format.unwrap_or(PlanFormat::Text) {
        PlanFormat::Text => steps::text(job, plan, people),
        PlanFormat::Json => Document::new(plan).to_json(),
    };
    planned.write(document)
}

/// A job with its plan, and where the document goes.
pub(crate) struct Planned {
    pub(crate) job: Job,
    pub(crate) plan: Plan,
    pub(crate) people: People,
    output: Output,
}

impl Planned {
    /// Writes the document; the exit status says whether all tubes can be bent.
    pub(crate) fn write(&self, document: impl AsRef<[u8]>) -> Exit {
        match self.output.write(document.as_ref()) {
            Err(exit) => exit,
            Ok(()) if self.plan.feasible() => Exit::Done,
            Ok(()) => Exit::NotAsAsked,
        }
    }
}

/// Reads a job and plans its tubes, or what is left of one with some bends `done`; what is wrong is said.
pub(crate) fn planned(args: &args::Planning, best: usize, done: Option<&str>) -> Result<Planned, Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[&args.job])?;
    let disk = Remembering::default();
    let job = load_job(&disk, &args.job).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    output.spare(&disk.read.take())?;
    let people = people(args.units, args.fraction, job.units);
    let options =
        Options { tubes: args.tubes.clone(), order: args.order.clone(), accept_tight: args.accept_tight, best, people };
    let progress = Progress::new(args.quiet);
    let stop = interrupt::watched();
    let mut told = |at: plan::Progress<'_>| progress.at(&at);
    let planned = match done {
        Some(done) => plan::plan_rest(&job, &options, done, stop, &mut told),
        None => plan::plan(&job, &options, stop, &mut told),
    };
    progress.finish();
    let plan = planned.map_err(|mistake| {
        say::error(mistake);
        Exit::Mistake
    })?;
    Ok(Planned { job, plan, people, output })
}

/// The disk, and which files were read from it: none of them is ever written.
#[derive(Default)]
pub(crate) struct Remembering {
    pub(crate) read: RefCell<Vec<PathBuf>>,
}

impl Files for Remembering {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.read.borrow_mut().push(path.to_path_buf());
        Disk.read(path)
    }
}

/// The units that people read: those asked for, else inches for a file in inches or feet and millimetres for any other.
pub(crate) fn people(units: Option<ReadingUnits>, fraction: Option<args::Fraction>, file: LengthUnit) -> People {
    let people = match units {
        Some(ReadingUnits::In) => People::inch(),
        Some(ReadingUnits::Mm) => People::mm(),
        None => People::usual(file),
    };
    let parts = fraction.and_then(|fraction| Fraction::from_denominator(u64::from(fraction.parts())));
    parts.map_or(people, |parts| people.with_fraction(parts))
}
