//! `card JOB`: the step card, as pages of a PDF, as one page of HTML, as text or JSON.

use std::io::{IsTerminal as _, stdout};
use std::path::Path;

use tubewright::units::LengthUnit;
use tubewright_paper::card::Card;
use tubewright_paper::html::html;
use tubewright_paper::pdf::{Paper, pdf};
use tubewright_paper::sheet::sheets;
use tubewright_paper::text::text;
use tubewright_paper::words::{Words, job_name};

use crate::args::{self, CardFormat, PaperSize};
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
    let format = format(args.format, args.planning.output.path.as_deref(), "card.pdf")?;
    let planned = planned(&args.planning, 1, None)?;
    let Planned { job, plan, people, .. } = &planned;
    let name = job_name(&args.planning.job);
    let card = Card::new(&name, job, plan, people, args.date.as_deref());
    let words: Vec<Words<'_>> = plan.tubes.iter().map(|tube| Words { job, tube, people }).collect();
    let paper = paper(args.paper, job.units);
    let document = match format {
        CardFormat::Pdf => pdf(&format!("Step card of {name}"), &sheets(&card, &words, paper)),
        CardFormat::Html => html(&card, &words, paper).into_bytes(),
        CardFormat::Text => text(&card).into_bytes(),
        CardFormat::Json => card.to_json().into_bytes(),
    };
    Ok(planned.write(document))
}

/// The format asked for; else what the name of the output file says, and text on standard output. Pages are bytes that a terminal cannot show; `example` is a
/// file for them.
pub(crate) fn format(asked: Option<CardFormat>, path: Option<&Path>, example: &str) -> Result<CardFormat, Exit> {
    let format = match (asked, path) {
        (Some(format), _) => format,
        (None, None) => CardFormat::Text,
        (None, Some(path)) => {
            let extension = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
            match extension.as_str() {
                "pdf" => CardFormat::Pdf,
                "html" | "htm" => CardFormat::Html,
                "txt" => CardFormat::Text,
                "json" => CardFormat::Json,
                _ => {
                    say::error(format_args!("the name {} does not say how to write it", path.display()));
                    say::help("let it end in .pdf, .html, .txt or .json, or say --format pdf, html, text or json");
                    return Err(Exit::Mistake);
                }
            }
        }
    };
    if format == CardFormat::Pdf && path.is_none() && stdout().is_terminal() {
        say::error("a PDF cannot be shown on a terminal");
        say::help(format_args!("name a file with --output, such as --output {example}, or say --format text"));
        return Err(Exit::Mistake);
    }
    Ok(format)
}

/// The paper asked for; else what lies in the printer where the job's units are used.
pub(crate) fn paper(asked: Option<PaperSize>, units: LengthUnit) -> Paper {
    match asked {
        Some(PaperSize::A4) => Paper::A4,
        Some(PaperSize::Letter) => Paper::Letter,
        None => Paper::usual(units),
    }
}
