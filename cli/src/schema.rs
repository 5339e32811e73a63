//! `schema KIND`: the JSON Schema of a kind of file or of an output, for editors and other programs.

use tubewright::file::{kinds, schema};
use tubewright_paper::{card, layout, template};

use crate::args;
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// The kinds of output whose schemas are not the library's.
const PAPER: [(&str, &str); 3] =
    [("card", card::JSON_SCHEMA), ("layout", layout::JSON_SCHEMA), ("ends", template::JSON_SCHEMA)];

/// Writes the schema of one kind.
pub(crate) fn run(args: &args::Schema) -> Exit {
    match write(args) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn write(args: &args::Schema) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[])?;
    let paper = PAPER.into_iter().find(|(kind, _)| *kind == args.kind).map(|(_, schema)| schema);
    let Some(text) = schema(&args.kind).or(paper) else {
        let kinds: Vec<&str> = kinds().chain(PAPER.into_iter().map(|(kind, _)| kind)).collect();
        say::error(format_args!("there is no kind `{}`", args.kind.escape_debug()));
        say::help(format_args!("the kinds are: {}", kinds.join(", ")));
        return Err(Exit::Mistake);
    };
    output.write(text.as_bytes())
}
