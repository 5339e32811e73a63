//! `survey FILE`: coordinates of named points from taped distances, which tape was misread, and what is missing.

mod sheet;
mod text;

use std::path::Path;

use tubewright::file::load_survey;
use tubewright::survey::{document::Document, survey};
use tubewright_paper::network::network;

use crate::args::{self, PlanFormat};
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::{Remembering, people};
use crate::plot::plot_output;
use crate::say;

/// Reads a survey and writes what it tells; the exit status says whether something is not told or misread.
pub(crate) fn run(args: &args::Survey) -> Exit {
    let done = match (&args.sheet, &args.file) {
        (Some(names), _) => sheet::run(args, names).map(|()| true),
        (None, Some(file)) => write(args, file),
        (None, None) => Err(Exit::Mistake),
    };
    match done {
        Ok(true) => Exit::Done,
        Ok(false) => Exit::NotAsAsked,
        Err(exit) => exit,
    }
}

fn write(args: &args::Survey, file: &Path) -> Result<bool, Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[file])?;
    let plot = plot_output(args.plot.as_deref(), &args.output, file)?;
    let disk = Remembering::default();
    let record = load_survey(&disk, file).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    let read = disk.read.take();
    output.spare(&read)?;
    let people = people(args.units, args.fraction, record.units);
    let told = survey(&record).map_err(|fault| {
        say::error(format_args!("{}: {fault}", file.display()));
        say::help("the frame takes three points that are joined by tapes and stand well off one line; see whether two tapes are swapped");
        Exit::Mistake
    })?;
    let notes = told.notes(&record, &people);
    let document = match args.format.unwrap_or(PlanFormat::Text) {
        PlanFormat::Text => text::text(file, &record, &told, &notes, &people),
        PlanFormat::Json => Document::new(&record, &told, &notes, &people).to_json(),
    };
    if let Some(plot) = plot {
        plot.spare(&read)?;
        plot.write(network(&record, &told, &people).svg().as_bytes())?;
    }
    output.write(document.as_bytes())?;
    // Whoever reads the report elsewhere learns here that there is something to read.
    if args.output.path.is_some() && !told.is_sound() && !args.quiet {
        for note in &notes {
            say::note(&note.text);
        }
    }
    Ok(told.is_sound())
}
