//! `calibrate FILE`: springback, effective CLR, stretch and mark offset from a record of test bends.

mod text;

use tubewright::calibrate::{calibrate, document::Document};
use tubewright::file::load_test_bends;

use crate::args::{self, PlanFormat};
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::{Remembering, people};
use crate::say;

/// Reads a record and writes what it tells.
pub(crate) fn run(args: &args::Calibrate) -> Exit {
    match write(args) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn write(args: &args::Calibrate) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[&args.file])?;
    let disk = Remembering::default();
    let opened = load_test_bends(&disk, &args.file).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    output.spare(&disk.read.take())?;
    let record = &opened.record;
    let people = people(args.units, args.fraction, record.units);
    let told = calibrate(record).map_err(|fault| {
        say::error(format_args!("{}: {fault}", args.file.display()));
        say::help("see whether two figures of a bend are swapped, or belong to another bend");
        Exit::Mistake
    })?;
    let notes = told.notes(record, &people);
    let document = match args.format.unwrap_or(PlanFormat::Text) {
        PlanFormat::Text => text::text(&args.file, record, &told, &notes, &people),
        PlanFormat::Json => Document::new(record, &told, &notes).to_json(),
    };
    output.write(document.as_bytes())
}
