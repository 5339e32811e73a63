//! `calibrate FILE`: springback, effective CLR, stretch and mark offset from a record of test bends.

mod paths;
mod suggest;
mod text;

use std::path::Path;

use tubewright::calibrate::{Calibration, WELL_APART, calibrate, document::Document};
use tubewright::file::{Disk, Files as _, NotWritten, OpenRecord, Written, load_test_bends, with_calibration};
use tubewright::round::People;
use tubewright_paper::plot;

use crate::args::{self, PlanFormat};
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::{Remembering, people};
use crate::plot::plot_output;
use crate::say;

/// Reads a record and writes what it tells.
pub(crate) fn run(args: &args::Calibrate) -> Exit {
    let done = match (&args.suggest, &args.file) {
        (Some(bender), _) => suggest::run(args, bender),
        (None, Some(file)) => write(args, file),
        (None, None) => Err(Exit::Mistake),
    };
    match done {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn write(args: &args::Calibrate, file: &Path) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[file])?;
    let plot = plot_output(args.plot.as_deref(), &args.output, file)?;
    let disk = Remembering::default();
    let opened = load_test_bends(&disk, file).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    let read = disk.read.take();
    output.spare(&read)?;
    let record = &opened.record;
    let people = people(args.units, args.fraction, record.units);
    let told = calibrate(record).map_err(|fault| {
        say::error(format_args!("{}: {fault}", file.display()));
        say::help("see whether two figures of a bend are swapped, or belong to another bend");
        Exit::Mistake
    })?;
    let bender = if args.write { Some(Bender::new(&opened, &told, file, &people)?) } else { None };
    let notes = told.notes(record, &people);
    let document = match args.format.unwrap_or(PlanFormat::Text) {
        PlanFormat::Text => text::text(file, record, &told, &notes, &people),
        PlanFormat::Json => Document::new(record, &told, &notes).to_json(),
    };
    if let Some(plot) = plot {
        plot.spare(&read)?;
        plot.write(plot::springback(record, &told, &people).svg().as_bytes())?;
    }
    if let Some(bender) = bender {
        bender.write(&opened, args.quiet)?;
    }
    output.write(document.as_bytes())
}

/// The bender's file that is to be changed.
struct Bender {
    output: Output,
    written: Written,
}

impl Bender {
    /// Works out what the file is to say; nothing is written yet.
    fn new(opened: &OpenRecord, told: &Calibration, record: &Path, people: &People) -> Result<Self, Exit> {
        let path = &opened.bender_path;
        let shown = path.display();
        let record_name = paths::from_folder(path.parent().unwrap_or(Path::new("")), record);
        let written = with_calibration(&Disk, opened, told, &record_name).map_err(|fault| {
            match fault {
                NotWritten::NotFounded => {
                    say::error(format_args!(
                        "{shown} was left as it is: a law that is kept takes test bends at two angles at least {:.0} degrees apart",
                        WELL_APART.to_deg()
                    ));
                    say::help(match told.angles {
                        None => "no bend of the record has a `reading`".to_owned(),
                        Some((low, high)) => format!(
                            "the bends with a reading go from {} to {} degrees: bend another",
                            people.angle(low),
                            people.angle(high)
                        ),
                    });
                }
                NotWritten::NotInPlace(at) => {
                    say::error(format_args!(
                        "{shown} was left as it is: `{at}` cannot be changed without writing the whole file anew"
                    ));
                    say::help("put the figures in by hand; a value that is used by `*name` changes everywhere");
                }
                NotWritten::Mistakes(mistakes) => {
                    say::error(format_args!("{shown} was left as it is: with these figures it would not be read any more"));
                    say::plain(mistakes.render(say::colour()).trim_end());
                }
            }
            Exit::Mistake
        })?;
        let output = Output::to(Some(path), true, &[])?;
        Ok(Self { output, written })
    }

    /// Writes the file, if it is still the one that was read.
    fn write(&self, opened: &OpenRecord, quiet: bool) -> Result<(), Exit> {
        let path = &opened.bender_path;
        let was = opened.files.get(1).map_or("", |source| &*source.text);
        if Disk.read(path).ok().as_deref() != Some(was.as_bytes()) {
            say::error(format_args!(
                "{} was changed by somebody else meanwhile, and was left as it is",
                path.display()
            ));
            say::help("run the command again");
            return Err(Exit::Mistake);
        }
        if self.written.changes.is_empty() {
            if !quiet {
                say::note(format_args!("{} says all of it already", path.display()));
            }
            return Ok(());
        }
        self.output.write(self.written.text.as_bytes())?;
        if !quiet {
            for change in &self.written.changes {
                say::note(format_args!("{}: {change}", path.display()));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_bender_that_was_changed_meanwhile_is_left_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let (bender_path, record) = (folder.path().join("bender.yaml"), folder.path().join("record.yaml"));
        let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/benders/floor-bender.yaml");
        fs::copy(sample, &bender_path).unwrap();
        let bends = "bends: [{ reading: 32, angle: 30 }, { reading: 93.5, angle: 90 }]\n";
        let head = "kind: test-bends\nunits: mm\nbender: bender.yaml\ndie: five-inch\nmaterial: mild-steel\ntube: { od: 38.1 }\n";
        fs::write(&record, format!("{head}{bends}")).unwrap();
        let opened = load_test_bends(&Disk, &record).unwrap();
        let told = calibrate(&opened.record).unwrap();
        let bender = Bender::new(&opened, &told, &record, &People::mm()).unwrap();
        let changed = fs::read_to_string(&bender_path).unwrap() + "# a remark of somebody else\n";
        fs::write(&bender_path, &changed).unwrap();
        assert_eq!(bender.write(&opened, true), Err(Exit::Mistake));
        assert_eq!(fs::read_to_string(&bender_path).unwrap(), changed);
        fs::remove_file(&bender_path).unwrap();
        assert_eq!(bender.write(&opened, true), Err(Exit::Mistake));
        assert!(!bender_path.exists());
    }
}
