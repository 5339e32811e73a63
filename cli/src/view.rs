//! `view`: hands everything on to the program with the window, which is built and installed apart.

use std::ffi::OsStr;
use std::io::ErrorKind;
use std::path::PathBuf;
use std::process::{Command, ExitCode, ExitStatus};

use crate::args;
use crate::exit::Exit;
use crate::say;

/// The name of the program with the window.
const PROGRAM: &str = "tubewright-view";

/// Runs the program with the window and ends as it ends.
pub(crate) fn run(args: &args::View) -> ExitCode {
    let beside = beside();
    let found = beside.iter().map(|path| path.as_os_str()).chain([OsStr::new(PROGRAM)]);
    for program in found {
        match Command::new(program).args(&args.passed_on).status() {
            Ok(status) => return code(status),
            Err(fault) if fault.kind() == ErrorKind::NotFound => {}
            Err(fault) => {
                say::error(format_args!("cannot start {}: {fault}", program.display()));
                return Exit::Outside.into();
            }
        }
    }
    say::error(format_args!(
        "the window is a program of its own, {PROGRAM}, and it is neither beside tubewright nor on the PATH: install it with `cargo install --locked --path viewer` in tubewright's folder"
    ));
    Exit::Outside.into()
}

/// Where it may lie beside this program: by the name that it was started by, and where that leads to.
fn beside() -> Vec<PathBuf> {
    let Ok(own) = std::env::current_exe() else { return Vec::new() };
    let name = format!("{PROGRAM}{}", std::env::consts::EXE_SUFFIX);
    let mut places = vec![own.with_file_name(&name)];
    places.extend(own.canonicalize().ok().map(|own| own.with_file_name(&name)).filter(|place| *place != places[0]));
    places
}

fn code(status: ExitStatus) -> ExitCode {
    match status.code() {
        Some(code) => ExitCode::from(u8::try_from(code).unwrap_or(3)),
        None => {
            say::error(format_args!("{PROGRAM} was ended from outside: {status}"));
            Exit::Outside.into()
        }
    }
}
