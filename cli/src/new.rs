//! `new`: a commented starter job and bender file, to be written over with one's own figures.

use std::fs;
use std::path::Path;

use crate::args::{self, ReadingUnits};
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// Names and texts of the two files. The bender comes first: a job without its bender is of no use.
const MM: [(&str, &str); 2] =
    [("bender.yaml", include_str!("starter/bender-mm.yaml")), ("job.yaml", include_str!("starter/job-mm.yaml"))];
const INCH: [(&str, &str); 2] =
    [("bender.yaml", include_str!("starter/bender-inch.yaml")), ("job.yaml", include_str!("starter/job-inch.yaml"))];

/// Writes the starter files into a folder. If one of them is there already, nothing is written at all.
pub(crate) fn run(args: &args::New) -> Exit {
    match write(args) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn write(args: &args::New) -> Result<(), Exit> {
    let folder = args.folder.as_deref().unwrap_or_else(|| Path::new("."));
    if folder.exists() && !folder.is_dir() {
        say::error(format_args!("{} is not a folder", folder.display()));
        return Err(Exit::Mistake);
    }
    let pair = match args.units {
        ReadingUnits::Mm => MM,
        ReadingUnits::In => INCH,
    };
    let files = &pair[..if args.bender { 1 } else { 2 }];
    for (name, _) in files {
        let path = folder.join(name);
        if path.symlink_metadata().is_ok() {
            say::error(format_args!("{} is there already and was left as it is; nothing was written", path.display()));
            say::help("name another folder: tubewright new FOLDER");
            return Err(Exit::Mistake);
        }
    }
    fs::create_dir_all(folder).map_err(|fault| {
        say::error(format_args!("cannot make the folder {}: {fault}", folder.display()));
        Exit::Outside
    })?;
    let mut written = Vec::new();
    for (name, text) in files {
        let path = folder.join(name);
        let done = Output::to(Some(&path), false, &[]).and_then(|output| output.write(text.as_bytes()));
        if let Err(exit) = done {
            // Half a pair would stop the next try. What was written is known to be ours and untouched.
            for path in written {
                let _ = fs::remove_file(path);
            }
            return Err(exit);
        }
        written.push(path);
    }
    if !args.quiet {
        let names: Vec<String> = written.iter().map(|path| path.display().to_string()).collect();
        say::note(format_args!("wrote {}", names.join(" and ")));
        if let Some(job) = written.get(1) {
            say::note(format_args!("next: tubewright plan {}", job.display()));
        }
    }
    Ok(())
}
