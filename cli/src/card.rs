//! `card JOB`: the step card, as text or JSON.

use tubewright_paper::card::Card;
use tubewright_paper::text::text;

use crate::args::{self, PlanFormat};
use crate::exit::Exit;
use crate::plan::{Planned, planned};
use crate::say;

/// Plans the tubes of a job and writes their card.
pub(crate) fn run(args: &args::Card) -> Exit {
    match write(args) {
        Ok(exit) | Err(exit) => exit,
    }
}

fn write(args: &args::Card) -> Result<Exit, Exit> {
    let format = format(&args.planning)?;
    let planned = planned(&args.planning, 1)?;
    let Planned { job, plan, people, .. } = &planned;
    let name = args.planning.job.file_stem().unwrap_or_default().to_string_lossy();
    let name: String = name.chars().filter(|letter| !letter.is_control()).collect();
    let card = Card::new(&name, job, plan, people, args.date.as_deref());
    let document = match format {
        PlanFormat::Text => text(&card),
        PlanFormat::Json => card.to_json(),
    };
    Ok(planned.write(&document))
}

/// The format asked for; else what the name of the output file says, and text on standard output.
fn format(args: &args::Planning) -> Result<PlanFormat, Exit> {
    if let Some(format) = args.format {
        return Ok(format);
    }
    let Some(path) = args.output.path.as_deref() else { return Ok(PlanFormat::Text) };
    let extension = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    match extension.as_str() {
        "txt" => Ok(PlanFormat::Text),
        "json" => Ok(PlanFormat::Json),
        _ => {
            say::error(format_args!("the name {} does not say how to write it", path.display()));
            say::help("let it end in .txt or .json, or say --format text or --format json");
            Err(Exit::Mistake)
        }
    }
}
