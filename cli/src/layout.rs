//! `layout JOB`: full-size drawings as PDF or DXF, chalk coordinates as text or JSON.

use tubewright_paper::layout::{Layout, TooLarge, dxf, pages, text};
use tubewright_paper::pdf::pdf;
use tubewright_paper::words::job_name;

use crate::args::{self, PlanFormat};
use crate::card::paper;
use crate::exit::Exit;
use crate::plan::{Planned, planned};
use crate::say;

/// How it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Format {
    Text,
    Json,
    Pdf,
    Dxf,
}

/// Plans the tubes of a job and writes their layout.
pub(crate) fn run(args: &args::Layout) -> Exit {
    match write(args) {
        Ok(exit) | Err(exit) => exit,
    }
}

fn write(args: &args::Layout) -> Result<Exit, Exit> {
    let format = format(args)?;
    let planned = planned(&args.planning, 1, None)?;
    let Planned { job, plan, people, .. } = &planned;
    let name = job_name(&args.planning.job);
    let layout = Layout::new(&name, job, plan, people, args.date.as_deref());
    let document = match format {
        Format::Text => text(&layout).into_bytes(),
        Format::Json => layout.to_json().into_bytes(),
        Format::Dxf => dxf(&layout).into_bytes(),
        Format::Pdf => {
            let paper = paper(args.paper, job.units);
            let pages = pages(&layout, people, paper).map_err(|large| too_large(&large))?;
            if pages.is_empty() {
                say::error("there is nothing to draw: no bend in what was asked for");
                say::help("a straight tube is cut to its length; its figures are in the text and in the DXF file");
                return Err(Exit::Mistake);
            }
            pdf(&format!("Layout of {name}"), &pages)
        }
    };
    Ok(planned.write(document))
}

fn too_large(large: &TooLarge) -> Exit {
    let TooLarge { tube, plane, most } = large;
    say::error(format_args!("tube `{tube}`, {plane}: more than {most} pages at full size"));
    say::help(
        "write a DXF file for a large printer, or mark it out by chalk coordinates: --output FILE.dxf or FILE.txt",
    );
    Exit::Mistake
}

/// The format asked for; else what the name of the output file says, and text on standard output.
fn format(args: &args::Layout) -> Result<Format, Exit> {
    match args.format {
        Some(PlanFormat::Text) => return Ok(Format::Text),
        Some(PlanFormat::Json) => return Ok(Format::Json),
        None => {}
    }
    let Some(path) = args.planning.output.path.as_deref() else { return Ok(Format::Text) };
    let extension = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    match extension.as_str() {
        "txt" => Ok(Format::Text),
        "json" => Ok(Format::Json),
        "pdf" => Ok(Format::Pdf),
        "dxf" => Ok(Format::Dxf),
        _ => {
            say::error(format_args!("the name {} does not say how to write it", path.display()));
            say::help("let it end in .pdf, .dxf, .txt or .json, or say --format text or --format json");
            Err(Exit::Mistake)
        }
    }
}
