//! `new`: a commented starter job and bender file, to be written over with one's own figures; or a bender from sizes taken with a tape.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tubewright::file::{Disk, Held, load_bender_sizes, write_bender};
use tubewright::units::LengthUnit;
use tubewright_paper::pdf::pdf;
use tubewright_paper::sizes::{made, sheet};

use crate::args::{self, ReadingUnits};
use crate::card::paper;
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// Names and texts of the two files. The bender comes first: a job without its bender is of no use.
const MM: [(&str, &str); 2] =
    [("bender.yaml", include_str!("starter/bender-mm.yaml")), ("job.yaml", include_str!("starter/job-mm.yaml"))];
const INCH: [(&str, &str); 2] =
    [("bender.yaml", include_str!("starter/bender-inch.yaml")), ("job.yaml", include_str!("starter/job-inch.yaml"))];

/// The sheet to be filled in, in mm; it holds no figure.
const SHEET: &str = include_str!("starter/bender-sizes.yaml");

/// What the sketches on the printed sheet show.
const EXAMPLE: &str = include_str!("../../samples/sizes/floor-bender.yaml");

/// A file to be written: its path and its bytes.
type Whole = (PathBuf, Vec<u8>);

/// Writes the files that are asked for; all of them or none.
pub(crate) fn run(args: &args::New) -> Exit {
    let done = match &args.from {
        Some(sizes) => from_sizes(args, sizes),
        None => starters(args),
    };
    done.err().unwrap_or(Exit::Done)
}

/// Writes starter files into a folder. If one of them is there already, nothing is written at all.
fn starters(args: &args::New) -> Result<(), Exit> {
    let folder = args.folder.as_deref().unwrap_or_else(|| Path::new("."));
    let files: Vec<Whole> = contents(args).into_iter().map(|(name, bytes)| (folder.join(name), bytes)).collect();
    for (path, _) in &files {
        if path.symlink_metadata().is_ok() {
            say::error(format_args!("{} is there already and was left as it is; nothing was written", path.display()));
            say::help("name another folder: tubewright new FOLDER");
            return Err(Exit::Mistake);
        }
    }
    make_folder(folder)?;
    let outputs = files.iter().map(|(path, _)| Output::to(Some(path), false, &[])).collect::<Result<Vec<_>, Exit>>()?;
    write_all(&files, &outputs)?;
    if !args.quiet {
        say_written(&files);
        if args.sheet {
            say::note("next: print the PDF, go to the bender with a tape, and write the figures into the YAML");
        } else if let Some((job, _)) = files.get(1) {
            say::note(format_args!("next: tubewright plan {}", job.display()));
        }
    }
    Ok(())
}

/// Makes a folder that is not there.
fn make_folder(folder: &Path) -> Result<(), Exit> {
    if folder.exists() && !folder.is_dir() {
        say::error(format_args!("{} is not a folder", folder.display()));
        return Err(Exit::Mistake);
    }
    fs::create_dir_all(folder).map_err(|fault| {
        say::error(format_args!("cannot make the folder {}: {fault}", folder.display()));
        Exit::Outside
    })
}

/// Names and bytes of the starter files.
fn contents(args: &args::New) -> Vec<(&'static str, Vec<u8>)> {
    if args.sheet {
        let (text, unit) = match args.units {
            ReadingUnits::Mm => (SHEET.to_owned(), LengthUnit::Mm),
            ReadingUnits::In => (SHEET.replacen("units: mm", "units: in", 1), LengthUnit::Inch),
        };
        let files = Held::default().with("example.yaml", EXAMPLE);
        let example = load_bender_sizes(&files, Path::new("example.yaml")).expect("the example is a sound sample");
        let pages = sheet(&example, paper(args.paper, unit));
        return vec![("bender-sizes.yaml", text.into_bytes()), ("bender-sizes.pdf", pdf("Sizes of a bender", &pages))];
    }
    let pair = match args.units {
        ReadingUnits::Mm => MM,
        ReadingUnits::In => INCH,
    };
    let count = if args.bender { 1 } else { 2 };
    pair.into_iter().take(count).map(|(name, text)| (name, text.into())).collect()
}

/// Makes a bender file from sizes, with a drawing beside it.
fn from_sizes(args: &args::New, path: &Path) -> Result<(), Exit> {
    let folder = args.folder.as_deref().unwrap_or_else(|| Path::new(""));
    let bender = args.output.clone().unwrap_or_else(|| folder.join("bender.yaml"));
    let drawing = bender.with_extension("pdf");
    if drawing == bender {
        say::error(format_args!("{} is where the drawing goes", bender.display()));
        say::help("let the name of the bender file end in .yaml");
        return Err(Exit::Mistake);
    }
    let sizes = load_bender_sizes(&Disk, path).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    if args.folder.is_some() {
        make_folder(folder)?;
    }
    let outputs = [&drawing, &bender].into_iter().map(|file| Output::to(Some(file), args.force, &[path]));
    let outputs = outputs.collect::<Result<Vec<_>, Exit>>()?;
    let source = path.file_name().unwrap_or_default().to_string_lossy();
    let pages = made(&sizes, &source, paper(args.paper, sizes.units));
    let title = sizes.name.clone().unwrap_or_else(|| "A bender".to_owned());
    let files = [(drawing.clone(), pdf(&title, &pages)), (bender.clone(), write_bender(&sizes, &source).into_bytes())];
    write_all(&files, &outputs)?;
    if !args.quiet {
        say_written(&files);
        say::note(format_args!("next: look at {}: is that your bender? Only then plan with it", drawing.display()));
    }
    Ok(())
}

/// Writes files; where one cannot be written, those before it are put back as they were.
fn write_all(files: &[Whole], outputs: &[Output]) -> Result<(), Exit> {
    let mut before: Vec<(&PathBuf, &Output, io::Result<Vec<u8>>)> = Vec::new();
    for ((path, bytes), output) in files.iter().zip(outputs) {
        // A device or a pipe holds nothing that could be put back.
        let stood = match output {
            Output::File { .. } => fs::read(path),
            Output::Standard | Output::Stream(_) => Err(io::ErrorKind::Unsupported.into()),
        };
        if let Err(exit) = output.write(bytes) {
            // Half a pair would stop the next try, or stand beside the other half of an older one. The one that was not written is as it was.
            for (path, output, stood) in before {
                match stood {
                    Ok(stood) => drop(output.write(&stood)),
                    Err(fault) if fault.kind() == io::ErrorKind::NotFound => drop(fs::remove_file(path)),
                    Err(_) => {}
                }
            }
            return Err(exit);
        }
        before.push((path, output, stood));
    }
    Ok(())
}

fn say_written(files: &[Whole]) {
    let names: Vec<String> = files.iter().map(|(path, _)| path.display().to_string()).collect();
    say::note(format_args!("wrote {}", names.join(" and ")));
}
