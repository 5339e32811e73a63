//! What may be said on the command line.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "tubewright",
    version,
    about = "From the corner points of a bent tube to a checked step list for the bender",
    after_help = "Exit status: 0 done; 1 not as asked: a tube that cannot be bent or cut, a part out of tolerance, a survey that is misread or incomplete; \
                  2 the input or the command line is wrong; 3 something outside is missing or full.",
    max_term_width = 100,
    disable_help_subcommand = true
)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a commented starter job and bender file
    New(New),

    /// Turn corner points into rows of length, rotation and bend angle, or rows into corner points
    Convert(Convert),

    /// Plan the bends of a job: cut length, marks, and the steps in order, each checked against the bender
    Plan(Plan),

    /// Write the step card, as pages (PDF), for a phone (HTML), as text or JSON: what to cut, where to mark, each bend in the order of the hands, and what to check
    Card(Card),

    /// Draw the tubes at full size: pages to be put together (PDF), a drawing (DXF), or chalk coordinates (text, JSON)
    Layout(Layout),

    /// Cut all tubes from the bars and offcuts of the job's `stock`, with as little to buy as can be: the cut list (text, JSON), or a label for each piece (PDF, HTML)
    Stock(Stock),

    /// Write the finished tubes for other programs: exact solids (STEP), meshes (glTF, STL), or their centrelines in space (DXF)
    Export(Export),

    /// See each bend in 3D before it is made, and change the tube while looking; or write pictures (--picture, --animation). All arguments go on to tubewright-view, which is installed apart
    #[command(disable_help_flag = true)]
    View(View),

    /// Find springback, effective CLR, stretch and mark offset from a record of test bends
    Calibrate(Calibrate),

    /// Hold a bent part against the plan, and find what to do otherwise on the next piece; or measure a part to be copied
    Inspect(Inspect),

    /// Find where points are, and which tape was misread, from distances between them
    Survey(Survey),

    /// Print the JSON Schema of a kind of file or of an output, for editors and other programs
    Schema(Schema),
}

/// Arguments of `new`.
#[derive(Debug, Args)]
#[command(after_help = "\
A bender made from a tape, without a box to be written by hand:
  tubewright new --bender --sheet                        # a sheet to print and to fill in
  tubewright new --bender --from bender-sizes.yaml       # bender.yaml, and bender.pdf to say yes or no to")]
pub(crate) struct New {
    /// Folder for the files; made if it is not there. Without it: this one
    #[arg(value_name = "DIR")]
    pub(crate) folder: Option<PathBuf>,

    /// Write only the bender file
    #[arg(long)]
    pub(crate) bender: bool,

    /// With --bender: write a sheet to be filled in with a tape, bender-sizes.yaml, and bender-sizes.pdf to print
    #[arg(long, requires = "bender", conflicts_with = "from")]
    pub(crate) sheet: bool,

    /// With --bender: make the bender file from these sizes, and a drawing of it (PDF) with the same name, for a yes or no
    #[arg(long, value_name = "SIZES", requires = "bender", conflicts_with = "units")]
    pub(crate) from: Option<PathBuf>,

    /// With --from: write the bender file here
    #[arg(long, value_name = "FILE", requires = "from", conflicts_with = "folder")]
    pub(crate) output: Option<PathBuf>,

    /// With --from: replace files that are there already
    #[arg(long, requires = "from")]
    pub(crate) force: bool,

    /// Paper of the sheet or of the drawing; without it letter for inches or feet, else A4
    #[arg(long, value_enum, value_name = "PAPER", requires = "bender")]
    pub(crate) paper: Option<PaperSize>,

    /// Units that the files are written in
    #[arg(long, value_enum, value_name = "UNITS", default_value_t = ReadingUnits::Mm)]
    pub(crate) units: ReadingUnits,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `convert`.
#[derive(Debug, Args)]
#[command(after_help = "\
A YAML file says `kind: nodes` or `kind: rows`, its `units` and the formed radius `clr`:
  kind: nodes                              kind: rows
  units: mm                                units: in
  clr: 127                                 clr: 5
  nodes:                                   rows:
    foot: [0, 0, 0]                          - { length: 10, bend: 45 }
    knee: [0, 0, 640]                        - { length: 6-1/2, rotation: 90, bend: 30 }
    top: [500, 0, 700]                       - { length: 12 }

A table (CSV) names its units in its first line, and its radius comes with --clr:
  node,x_mm,y_mm,z_mm                      length_in,rotation_deg,bend_deg")]
pub(crate) struct Convert {
    /// The file with nodes or rows: .csv is a table, all else is read as YAML
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,

    /// Formed radius of the bends; a bare number is in the units of the file
    #[arg(long, value_name = "LENGTH")]
    pub(crate) clr: Option<String>,

    /// How to write; without it as the output file's name says, or as the file was
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<TableFormat>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units to write in; without it those of the file
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// No notes on standard error
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// What a job is planned by, whatever is made of the plan.
#[derive(Debug, Args)]
pub(crate) struct Planning {
    /// The job file (YAML)
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,

    /// Only this tube of the job; may be given several times
    #[arg(long = "tube", value_name = "NAME")]
    pub(crate) tubes: Vec<String>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the job file
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// Bend in this order instead of looking for one: bend number and the end that leads, such as "2A 1A 3B"
    #[arg(long, value_name = "ORDER")]
    pub(crate) order: Option<String>,

    /// Let steps count that come nearer than the gap to keep, as long as nothing touches
    #[arg(long)]
    pub(crate) accept_tight: bool,

    /// No progress on standard error
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    pub(crate) planning: Planning,

    /// Text for people, or JSON for machines (always in mm and degrees)
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<PlanFormat>,

    /// List this many orders: the best, and the next best as alternatives
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=100), conflicts_with = "order")]
    pub(crate) best: u16,

    /// Go on with a tube that is half bent: the bends that are made, with what was got, such as "1A angle=88 slip=2 roll=1, 2A" (angle after release; slip
    /// toward end B; roll clockwise looking from end A; what is not said came out as planned)
    #[arg(long, value_name = "DONE", conflicts_with = "best")]
    pub(crate) done: Option<String>,
}

/// Arguments of `card`.
#[derive(Debug, Args)]
pub(crate) struct Card {
    #[command(flatten)]
    pub(crate) planning: Planning,

    /// Pages to print, one page for a phone or a browser, text, or JSON for machines; without it as the output file's name says, or text
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<CardFormat>,

    /// Paper of the pages; without it letter for a job in inches or feet, else A4
    #[arg(long, value_enum, value_name = "PAPER")]
    pub(crate) paper: Option<PaperSize>,

    /// The date on the card; without it that of the job, or a line to write it on
    #[arg(long, value_name = "DATE", value_parser = printable)]
    pub(crate) date: Option<String>,
}

/// Arguments of `layout`.
#[derive(Debug, Args)]
pub(crate) struct Layout {
    #[command(flatten)]
    pub(crate) planning: Planning,

    /// Templates of ends that land on other tubes, in place of the tubes: .pdf, .svg, .txt or .json
    #[arg(long)]
    pub(crate) ends: bool,

    /// Text for people, or JSON for machines; without it as the output file's name says: .pdf, .dxf, .txt or .json
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<PlanFormat>,

    /// Paper of the pages; without it letter for a job in inches or feet, else A4
    #[arg(long, value_enum, value_name = "PAPER")]
    pub(crate) paper: Option<PaperSize>,

    /// The date on the layout; without it that of the job, or a line to write it on
    #[arg(long, value_name = "DATE", value_parser = printable)]
    pub(crate) date: Option<String>,
}

/// Arguments of `stock`.
#[derive(Debug, Args)]
#[command(after_help = "\
The stock stands in the job:
  stock:
    kerf: 3                                 # width of a cut
    end_waste: 10                           # at each end of a bar, not used
    bars: [6000, { length: 7500, count: 2 }]    # without a count: bought, as many as are needed
    offcuts: [1850, 920]                    # free: used where that saves a bar or leaves a longer rest

A bar or an offcut may say its `od`, `wall` and `material`, where a job has tubes of several sizes.")]
pub(crate) struct Stock {
    /// The job file (YAML)
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,

    /// Only this tube of the job; may be given several times
    #[arg(long = "tube", value_name = "NAME")]
    pub(crate) tubes: Vec<String>,

    /// Cut no pieces for test bends where no springback was measured
    #[arg(long)]
    pub(crate) no_test_bends: bool,

    /// The cut list as text or JSON (always in mm), or labels to print as pages or for a browser; without it as the output file's name says, or text
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<CardFormat>,

    /// Paper of the labels; without it letter for a job in inches or feet, else A4
    #[arg(long, value_enum, value_name = "PAPER")]
    pub(crate) paper: Option<PaperSize>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the job file
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub(crate) struct Export {
    #[command(flatten)]
    pub(crate) planning: Planning,

    /// How to write; without it as the output file's name says: .step or .stp, .gltf, .glb, .stl, .dxf
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<ExportFormat>,

    /// How far the flats of a mesh may lie off the true surface, from 0.01 mm to 10 mm; a bare number is in the units of the job [default: 0.1 mm]
    #[arg(long, value_name = "LENGTH")]
    pub(crate) chord: Option<String>,
}

/// Arguments of `calibrate`.
#[derive(Debug, Args)]
#[command(after_help = "\
A record of test bends (YAML), each measured after it was let off:
  kind: test-bends
  units: mm
  bender: floor-bender.yaml
  die: five-inch
  material: mild-steel
  tube: { od: 38.1, wall: 2.4 }
  accuracy: { length: 0.5, angle: 0.2 }       # one standard deviation
  bends:
    - { reading: 93.5, angle: 90.2, blank: 900, mark: 400, lead: A, legs: [498.6, 470.1] }
    - { reading: 32.0, angle: 29.4 }          # an angle alone helps the springback

Two bends of which one is small and one 90 degrees or more tell all figures; more bends show mistakes.")]
pub(crate) struct Calibrate {
    /// The record of test bends (YAML)
    #[arg(value_name = "FILE", required_unless_present = "suggest")]
    pub(crate) file: Option<PathBuf>,

    /// Put the result into the bender's file, under die and material; the rest of it stays as it is written
    #[arg(long)]
    pub(crate) write: bool,

    /// Draw the bends and the law as a picture (SVG)
    #[arg(long, value_name = "FILE.svg")]
    pub(crate) plot: Option<PathBuf>,

    /// Instead of a record, write one to be filled in: three test bends out of one offcut, for a die and a material of this bender
    #[arg(long, value_name = "BENDER", requires_all = ["die", "material"], conflicts_with_all = ["file", "write", "plot", "format"])]
    pub(crate) suggest: Option<PathBuf>,

    /// The die, with --suggest
    #[arg(long, value_name = "NAME", requires = "suggest", value_parser = printable)]
    pub(crate) die: Option<String>,

    /// The material, with --suggest
    #[arg(long, value_name = "NAME", requires = "suggest", value_parser = printable)]
    pub(crate) material: Option<String>,

    /// Text for people, or JSON for machines (always in mm and degrees)
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<PlanFormat>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the record
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `inspect`.
#[derive(Debug, Args)]
#[command(after_help = "\
A bent part (YAML) has any of these; what is taped or touched is enough, and what the record cannot tell is said:
  kind: measured-part
  units: mm
  job: buggy.yaml                             # a part to be copied has od and clr instead of job and tube
  tube: hoop
  accuracy: { length: 1, angle: 0.3 }         # one standard deviation
  nodes: { sill-left: [0, 0, 0], knee-left: [50.2, 0, 771] }
  legs: [774.1, 902.0, 772.8]
  measured: outside
  bends: [86.5, 87.2]
  rotations: [0.4]                            # before the second bend, and so on
  distances: [{ from: sill-left, to: sill-right, length: 1004, measured: outside }]
  touched: [{ leg: 1, at: [12, 19.4, 260] }]  # on the tube's surface
  lying: { flat: 1, up: { sill-right: 214 } } # flat on bend 1, end A left, opening toward you
  order: \"2A 1A\"                              # as it was bent, where it differs from the plan's;
  readings: { 1: 93.5 }                       # so too marks, tops and cut

Legs, bends and rotations are all from end A on, or some by number: { 2: 902.0 }.")]
pub(crate) struct Inspect {
    /// The record of the part (YAML)
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,

    /// Text for people, or JSON for machines (always in mm and degrees)
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<PlanFormat>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the job, or of the record
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `survey`.
#[derive(Debug, Args)]
#[command(after_help = "\
A survey (YAML): points by names of your own, and taped distances between them:
  kind: survey
  units: mm
  accuracy: { length: 1 }                                # one standard deviation of a tape
  frame: { origin: p1, x: p2, xy: p4, up: p5 }           # p1 at 0, p2 on +x, p4 at y > 0, p5 at z > 0
  distances:
    - { from: p1, to: p2, length: 1200 }
    - { from: p2, to: p8, length: 1582, measured: outside, od: 38.1 }   # over the far faces
And, where they were taken:
  drops: [{ from: p5, to: p1, length: 600 }]             # a plumb line; accuracy { plumb: 2 }
  levels: [{ heights: { p1: 120, p4: 118 } }]            # over one level line; { height: 1 }
  lines: [{ points: [p1, p9, p2] }]                      # on a string; { flush: 1 }
  planes: [{ points: [p1, p2, p4, p3] }]                 # in the plane of the first three
  symmetric: [{ pairs: [[p1, p2], [p4, p3]] }]           # images; { symmetric: 2 }
  about: { p7: [1200, 800, 600] }                        # by eye: which of two places is meant
A flat network says `flat: true` instead of `up`.

Exit status: 0 all told; 1 something is not told or misread; 2 a mistake in the file.")]
pub(crate) struct Survey {
    /// The survey (YAML)
    #[arg(value_name = "FILE", required_unless_present = "sheet")]
    pub(crate) file: Option<PathBuf>,

    /// Instead of a survey, write one to be filled in at the chassis, for points of these names, with blanks between them: those of the frame first
    #[arg(long, value_name = "NAMES", conflicts_with_all = ["file", "plot", "format"])]
    pub(crate) sheet: Option<String>,

    /// Text for people, or JSON for machines (always in mm)
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) format: Option<PlanFormat>,

    /// Draw the network with its weak places as a picture (SVG)
    #[arg(long, value_name = "FILE.svg")]
    pub(crate) plot: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) output: OutputArgs,

    /// Units of lengths in the text; without it those of the survey
    #[arg(long, value_enum, value_name = "UNITS")]
    pub(crate) units: Option<ReadingUnits>,

    /// Print inches as fractions down to 1/16, 1/32 or 1/64
    #[arg(long, value_enum, value_name = "PARTS")]
    pub(crate) fraction: Option<Fraction>,

    /// No messages but errors
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// Arguments of `view`.
#[derive(Debug, Args)]
pub(crate) struct View {
    /// The job file and all else that tubewright-view takes, see `tubewright view --help`
    #[arg(value_name = "JOB", trailing_var_arg = true, allow_hyphen_values = true)]
    pub(crate) passed_on: Vec<OsString>,
}

/// A line of plain text.
fn printable(text: &str) -> Result<String, &'static str> {
    if text.trim().is_empty() {
        return Err("it is empty");
    }
    if text.chars().any(char::is_control) {
        return Err("it holds a line break or a control character");
    }
    Ok(text.to_owned())
}

/// Arguments of `schema`.
#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// Kind of file (job, bender, bender-sizes, rules, test-bends, measured-part, survey, nodes, rows) or of output (plan, calibration, inspection, stock, survey-result, card, layout, ends)
    #[arg(value_name = "KIND")]
    pub(crate) kind: String,

    #[command(flatten)]
    pub(crate) output: OutputArgs,
}

/// Where the document goes.
#[derive(Debug, Args)]
pub(crate) struct OutputArgs {
    /// Write to this file instead of standard output
    #[arg(long = "output", short = 'o', value_name = "FILE")]
    pub(crate) path: Option<PathBuf>,

    /// Replace the output file if it is there already
    #[arg(long)]
    pub(crate) force: bool,
}

/// For whom a plan is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PlanFormat {
    // For people.
    Text,
    // For machines.
    Json,
}

/// How a card is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum CardFormat {
    // Pages.
    Pdf,
    // One page for a browser, with all that it needs in it.
    Html,
    // 80 columns.
    Text,
    // For machines.
    Json,
}

/// How finished tubes are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ExportFormat {
    // Exact solids and their assembly.
    Step,
    // Meshes, as JSON.
    Gltf,
    // Meshes, in binary form.
    Glb,
    // Meshes, in one.
    Stl,
    // Centrelines in space.
    Dxf,
}

/// A sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperSize {
    // 210 mm by 297 mm.
    A4,
    // 8 1/2 in by 11 in.
    Letter,
}

/// How a shape without a job is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum TableFormat {
    // A table with commas.
    Csv,
    // Keys and values.
    Yaml,
}

/// The units that people read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReadingUnits {
    // Millimetres.
    Mm,
    // Inches.
    In,
}

/// The finest fraction of an inch that is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Fraction {
    // 1/16 in.
    #[value(name = "16")]
    Sixteenth,
    // 1/32 in.
    #[value(name = "32")]
    ThirtySecond,
    // 1/64 in.
    #[value(name = "64")]
    SixtyFourth,
}

impl Fraction {
    /// Parts to the inch: 16, 32 or 64.
    pub(crate) const fn parts(self) -> u32 {
        match self {
            Self::Sixteenth => 16,
            Self::ThirtySecond => 32,
            Self::SixtyFourth => 64,
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
    }
}
