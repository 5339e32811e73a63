//! `inspect FILE`: the bent part against the plan, and what to do otherwise on the next piece.

mod text;

use std::path::Path;

use tubewright::file::load_measured_part;
use tubewright::inspect::{document::Document, inspect};

use crate::args::{self, PlanFormat};
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::{Remembering, people};
use crate::say;

/// Reads a measured part and writes what is known of it.
pub(crate) fn run(args: &args::Inspect) -> Exit {
    write(args, &args.file).unwrap_or_else(|exit| exit)
}

fn write(args: &args::Inspect, file: &Path) -> Result<Exit, Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[file])?;
    let disk = Remembering::default();
    let part = load_measured_part(&disk, file).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    output.spare(&disk.read.take())?;
    let units = part.wanted.as_ref().map_or(part.units, |wanted| wanted.job.units);
    let people = people(args.units, args.fraction, units);
    let told = inspect(&part).map_err(|fault| {
        say::error(format_args!("{}: {fault}", file.display()));
        say::help("see whether figures belong to another tube, or two of them are swapped");
        Exit::Mistake
    })?;
    let document = match args.format.unwrap_or(PlanFormat::Text) {
        PlanFormat::Text => text::text(file, &part, &told, &people),
        PlanFormat::Json => Document::new(&part, &told, &people).to_json(),
    };
    output.write(document.as_bytes())?;
    Ok(if told.within_tolerance == Some(false) { Exit::NotAsAsked } else { Exit::Done })
}
