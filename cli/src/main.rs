//! The command `tubewright`: from node coordinates to a checked step list.
//!
//! One file per command. Each reads its arguments, asks the library and writes one document, through [`output`], and
//! messages for people, through [`say`]. What the program ends with is an [`exit::Exit`], never a panic.

mod args;
mod calibrate;
mod card;
mod convert;
mod exit;
mod export;
mod inspect;
mod interrupt;
mod layout;
mod new;
mod output;
mod plan;
mod plot;
mod progress;
mod say;
mod schema;
mod steps;
mod stock;
mod survey;
mod view;

use std::io::Write as _;
use std::process::ExitCode;

use clap::Parser as _;

use crate::args::{Arguments, Command};
use crate::exit::Exit;

fn main() -> ExitCode {
    let exit = match Arguments::try_parse() {
        Ok(arguments) => match &arguments.command {
            Command::New(args) => new::run(args),
            Command::Convert(args) => convert::run(args),
            Command::Plan(args) => plan::run(args),
            Command::Card(args) => card::run(args),
            Command::Layout(args) => layout::run(args),
            Command::Stock(args) => stock::run(args),
            Command::Export(args) => export::run(args),
            Command::Calibrate(args) => calibrate::run(args),
            Command::Inspect(args) => inspect::run(args),
            Command::Survey(args) => survey::run(args),
            Command::Schema(args) => schema::run(args),
            // It ends as the program that it hands on to ends.
            Command::View(args) => return view::run(args),
        },
        Err(error) => answer(&error),
    };
    exit.into()
}

/// Prints what the parser of the command line has to say: help and version on standard output, mistakes on standard
/// error.
fn answer(error: &clap::Error) -> Exit {
    let printed = error.print().and_then(|()| std::io::stdout().flush());
    if error.use_stderr() {
        return Exit::Mistake;
    }
    match printed {
        Ok(()) => Exit::Done,
        Err(fault) => output::fault("standard output", &fault),
    }
}
