//! `convert FILE`: nodes to rows or rows to nodes, without a bender.

use std::path::Path;

use tubewright::file::{Disk, Files as _, ShapeFile, ShapeFormat, ShapeKind, read_shape, write_nodes, write_rows};
use tubewright::units::LengthUnit;

use crate::args::{self, ReadingUnits, TableFormat};
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// Reads a shape, turns it into the other form and writes it.
pub(crate) fn run(args: &args::Convert) -> Exit {
    match convert(args) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn convert(args: &args::Convert) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[&args.file])?;
    let from = format_of(&args.file).unwrap_or(ShapeFormat::Yaml);
    let into = match (args.format, args.output.path.as_deref()) {
        (Some(TableFormat::Csv), _) => ShapeFormat::Csv,
        (Some(TableFormat::Yaml), _) => ShapeFormat::Yaml,
        (None, None) => from,
        (None, Some(path)) => format_of(path).ok_or_else(|| {
            say::error(format_args!("the name {} does not say how to write it", path.display()));
            say::help("let it end in .csv or .yaml, or say --format csv or --format yaml");
            Exit::Mistake
        })?,
    };
    let shape = read(args, from)?;
    let units = match args.units {
        Some(ReadingUnits::Mm) => LengthUnit::Mm,
        Some(ReadingUnits::In) => LengthUnit::Inch,
        None => shape.units,
    };
    let text = match shape.kind {
        ShapeKind::Nodes => write_rows(&shape, into, units),
        ShapeKind::Rows => write_nodes(&shape, into, units).map_err(|none| {
            say::error(none);
            Exit::Mistake
        })?,
    };
    if !args.quiet {
        note(&shape, into, units);
    }
    output.write(text.as_bytes())
}

/// The shape in the file, or what is wrong with it.
fn read(args: &args::Convert, format: ShapeFormat) -> Result<ShapeFile, Exit> {
    let name = args.file.to_string_lossy();
    let bytes = Disk.read(&args.file).map_err(|fault| {
        say::error(format_args!("cannot read {name}: {fault}"));
        Exit::Mistake
    })?;
    let text = String::from_utf8(bytes).map_err(|fault| {
        let line = fault.as_bytes()[..fault.utf8_error().valid_up_to()].split(|byte| *byte == b'\n').count();
        say::error(format_args!("cannot read {name}: line {line} is not text in UTF-8"));
        say::help("save the file as plain text in UTF-8");
        Exit::Mistake
    })?;
    read_shape(&name, &text, format, args.clr.as_deref()).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })
}

/// What the file that is written does not say.
fn note(shape: &ShapeFile, format: ShapeFormat, units: LengthUnit) {
    if shape.kind == ShapeKind::Nodes {
        for node in &shape.centreline.passed {
            let name = shape.names.get(*node).map_or("", String::as_str);
            say::note(format_args!("node {name} is passed straight through and has no row"));
        }
    }
    if let (ShapeFormat::Csv, Some(clr)) = (format, shape.clr) {
        say::note(format_args!(
            "a table holds no radius: to read it back give its formed radius with --clr \"{} {}\"",
            clr.to(units),
            units.name()
        ));
    }
}

/// The format that a name ends in; `None` where its ending is neither.
fn format_of(path: &Path) -> Option<ShapeFormat> {
    let ending = path.extension()?.to_str()?.to_ascii_lowercase();
    match ending.as_str() {
        "csv" => Some(ShapeFormat::Csv),
        "yaml" | "yml" => Some(ShapeFormat::Yaml),
        _ => None,
    }
}
