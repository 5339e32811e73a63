//! `export JOB`: the finished tubes for other programs, as STEP, glTF, STL or DXF.

use std::io::{IsTerminal as _, stdout};

use tubewright::units::{Length, LengthUnit, length};
use tubewright_paper::export::{Chord, Parts, dxf, glb, gltf, step, stl};
use tubewright_paper::words::{Words, job_name};

use crate::args::{self, ExportFormat};
use crate::exit::Exit;
use crate::plan::{Planned, planned};
use crate::say;

/// More triangles than this make a file of half a gigabyte.
const TRIANGLES: usize = 10_000_000;

/// Plans the tubes of a job and writes their finished shape.
pub(crate) fn run(args: &args::Export) -> Exit {
    match write(args) {
        Ok(exit) | Err(exit) => exit,
    }
}

fn write(args: &args::Export) -> Result<Exit, Exit> {
    let format = format(args)?;
    let planned = planned(&args.planning, 1, None)?;
    let Planned { job, plan, people, .. } = &planned;
    let parts = Parts::new(&job_name(&args.planning.job), job, plan, people);
    let mesh = |write: &dyn Fn(&Parts, Chord) -> Vec<u8>| -> Result<Vec<u8>, Exit> {
        let chord = chord(args.chord.as_deref(), job.units)?;
        let count = parts.triangles(chord);
        if count > TRIANGLES {
            say::error(format_args!("it would take {count} triangles, more than {TRIANGLES}"));
            say::help("say a larger --chord, or export fewer tubes at once with --tube");
            return Err(Exit::Mistake);
        }
        Ok(write(&parts, chord))
    };
    let document = match format {
        ExportFormat::Step => step(&parts).into_bytes(),
        ExportFormat::Dxf => dxf(&parts).into_bytes(),
        ExportFormat::Gltf => mesh(&|parts, chord| gltf(parts, chord).into_bytes())?,
        ExportFormat::Glb => mesh(&glb)?,
        ExportFormat::Stl => mesh(&stl)?,
    };
    if !args.planning.quiet {
        notes(&planned, format);
    }
    Ok(planned.write(document))
}

/// What whoever takes the file for a part has to know; some formats have no place for it.
fn notes(planned: &Planned, format: ExportFormat) {
    let Planned { job, plan, people, .. } = planned;
    for tube in &plan.tubes {
        if tube.stock.wall.is_none() && format != ExportFormat::Dxf {
            say::note(format_args!(
                "tube `{}` has no `wall`: what is written is its outside, as if it were a bar",
                tube.name
            ));
        }
        // Of these formats only STL has no place for it.
        if format == ExportFormat::Stl && !tube.ends.is_empty() {
            let ends: Vec<String> =
                tube.ends.iter().map(|end| format!("end {} to `{}`", end.end.letter(), end.cut.meets)).collect();
            say::note(format_args!(
                "tube `{}`: its copes are not in the file ({}); these ends are square at their long point",
                tube.name,
                ends.join(", ")
            ));
        }
        if !tube.feasible {
            say::note(format_args!(
                "tube `{}`: {}; what is written is its shape only, and `tubewright plan` says why",
                tube.name,
                Words { job, tube, people }.verdict()
            ));
        }
    }
}

/// The format asked for; else what the name of the output file says. Some are bytes that a terminal cannot show.
fn format(args: &args::Export) -> Result<ExportFormat, Exit> {
    let path = args.planning.output.path.as_deref();
    let format = match (args.format, path) {
        (Some(format), _) => format,
        (None, None) => {
            say::error("nothing says how to write it");
            say::help(
                "name a file with --output, such as --output tubes.step, or say --format step, gltf, glb, stl or dxf",
            );
            return Err(Exit::Mistake);
        }
        (None, Some(path)) => {
            let extension = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
            match extension.as_str() {
                "step" | "stp" => ExportFormat::Step,
                "gltf" => ExportFormat::Gltf,
                "glb" => ExportFormat::Glb,
                "stl" => ExportFormat::Stl,
                "dxf" => ExportFormat::Dxf,
                _ => {
                    say::error(format_args!("the name {} does not say how to write it", path.display()));
                    say::help(
                        "let it end in .step, .stp, .gltf, .glb, .stl or .dxf, or say --format step, gltf, glb, stl or dxf",
                    );
                    return Err(Exit::Mistake);
                }
            }
        }
    };
    if matches!(format, ExportFormat::Glb | ExportFormat::Stl) && path.is_none() && stdout().is_terminal() {
        say::error("this format cannot be shown on a terminal");
        say::help("name a file with --output, such as --output tubes.stl");
        return Err(Exit::Mistake);
    }
    if matches!(format, ExportFormat::Step | ExportFormat::Dxf) && args.chord.is_some() {
        say::error("--chord is for meshes: STEP and DXF are exact");
        say::help("leave it out, or write glTF or STL");
        return Err(Exit::Mistake);
    }
    Ok(format)
}

/// The chord error asked for; a bare number is in the units of the job.
fn chord(asked: Option<&str>, units: LengthUnit) -> Result<Chord, Exit> {
    let Some(asked) = asked else { return Ok(Chord::default()) };
    let error = length(asked, units).map_err(|refusal| {
        say::error(format_args!("--chord {asked}: {refusal}"));
        say::help("write a length, such as --chord \"0.1 mm\"");
        Exit::Mistake
    })?;
    Chord::try_new(error).ok_or_else(|| {
        let [finest, coarsest] = [Chord::FINEST, Chord::COARSEST].map(Length::to_mm);
        say::error(format_args!("--chord {asked}: {} mm is not from {finest} to {coarsest} mm", error.to_mm()));
        say::help("a bare number is in the units of the job; name the unit, such as --chord \"0.1 mm\"");
        Exit::Mistake
    })
}
