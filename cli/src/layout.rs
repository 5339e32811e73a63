//! `layout JOB`: full-size drawings as PDF or DXF, chalk coordinates as text or JSON; with `--ends` templates of ends that land on other tubes.

use tubewright_paper::layout::{Layout, TooLarge, dxf, pages, text};
use tubewright_paper::pdf::pdf;
use tubewright_paper::template::{self, Ends};
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
    /// For a drawing program: DXF of a layout, SVG of templates.
    Drawing,
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
    if args.ends {
        return ends(args, format, &name, &planned);
    }
    let layout = Layout::new(&name, job, plan, people, args.date.as_deref());
    let document = match format {
        Format::Text => text(&layout).into_bytes(),
        Format::Json => layout.to_json().into_bytes(),
        Format::Drawing => dxf(&layout).into_bytes(),
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

/// The templates of ends that land on other tubes.
fn ends(args: &args::Layout, format: Format, name: &str, planned: &Planned) -> Result<Exit, Exit> {
    let Planned { job, plan, people, .. } = planned;
    let ends = Ends::new(name, job, plan, people, args.date.as_deref());
    if ends.ends.is_empty() {
        say::error("there is nothing to draw: no end in what was asked for lands on another tube");
        say::help("say in the job what an end meets: `ends: { a: { meets: hoop, gap: 1.5 } }`");
        return Err(Exit::Mistake);
    }
    let document = match format {
        Format::Text => template::text(&ends, people).into_bytes(),
        Format::Json => ends.to_json().into_bytes(),
        Format::Drawing => template::sheet(&ends, people).map_or_else(Vec::new, |sheet| sheet.svg().into_bytes()),
        Format::Pdf => {
            let paper = paper(args.paper, job.units);
            pdf(&format!("End templates of {name}"), &template::pages(&ends, people, paper))
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
        "dxf" if !args.ends => Ok(Format::Drawing),
        "svg" if args.ends => Ok(Format::Drawing),
        _ => {
            let known = if args.ends { ".pdf, .svg, .txt or .json" } else { ".pdf, .dxf, .txt or .json" };
            say::error(format_args!("the name {} does not say how to write it", path.display()));
            say::help(format_args!("let it end in {known}, or say --format text or --format json"));
            Err(Exit::Mistake)
        }
    }
}
