//! `plan JOB`: the step list, as text or JSON.

use crate::args;
use crate::exit::Exit;
use crate::output::Output;
use crate::progress::Progress;
use crate::say;

/// Plans the tubes of a job and writes the document.
pub(crate) fn run(args: &args::Plan) -> Exit {
    let output = match Output::to(args.output.path.as_deref(), args.output.force, &[&args.job]) {
        Ok(output) => output,
        Err(exit) => return exit,
    };
    let progress = Progress::new(args.quiet);
    progress.at(0, args.tubes.len(), "");
    progress.finish();
    let _ = (&args.format, &args.units, args.fraction.map(args::Fraction::parts), &args.order, args.accept_tight);
    say::note("planning is not part of this build yet");
    match output.write(b"") {
        Ok(()) => Exit::CannotBend,
        Err(exit) => exit,
    }
}
