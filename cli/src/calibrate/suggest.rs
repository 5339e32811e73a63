//! `calibrate --suggest BENDER`: a record to be filled in, with three test bends out of one offcut.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use tubewright::calibrate::{Suggestion, suggest};
use tubewright::file::{Disk, Files as _, load_bender, units_of};
use tubewright::round::People;
use tubewright::units::{Length, LengthUnit};

use super::paths::from_folder;
use crate::args;
use crate::exit::Exit;
use crate::output::Output;
use crate::plan::people;
use crate::say;

/// Reads the bender and writes a record that lacks only what is measured.
pub(super) fn run(args: &args::Calibrate, bender_path: &Path) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[bender_path])?;
    let bender = load_bender(&Disk, bender_path).map_err(|mistakes| {
        say::plain(mistakes.render(say::colour()).trim_end());
        Exit::Mistake
    })?;
    let (Some(die), Some(material)) = (&args.die, &args.material) else { return Err(Exit::Mistake) };
    let Some(place) = bender.dies.iter().position(|found| found.name == *die) else {
        let names: Vec<&str> = bender.dies.iter().map(|die| die.name.as_str()).collect();
        say::error(format_args!("the bender has no die `{}`", die.escape_debug()));
        say::help(format_args!("its dies are: {}", names.join(", ")));
        return Err(Exit::Mistake);
    };
    let text = Disk.read(bender_path).ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
    let people = people(args.units, args.fraction, units_of(&text).unwrap_or(LengthUnit::Mm));
    let unit = if people.unit() == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
    let pieces = suggest(&bender, place, unit);
    let folder = args.output.path.as_deref().and_then(Path::parent).map_or_else(PathBuf::new, Path::to_path_buf);
    let bender_name = from_folder(&folder, bender_path);
    let od = bender.dies[place].od;
    let record = Record { bender: &bender_name, die, material, od, unit, people: &people, pieces: &pieces };
    output.write(record.text().as_bytes())
}

struct Record<'a> {
    bender: &'a str,
    die: &'a str,
    material: &'a str,
    od: Length,
    unit: LengthUnit,
    people: &'a People,
    pieces: &'a [Suggestion],
}

impl Record<'_> {
    fn text(&self) -> String {
        let people = self.people;
        let of_unit = |length: Length| people.length(length).replace(' ', "-");
        let lengths: Vec<String> = self.pieces.iter().map(|piece| people.length(piece.blank)).collect();
        let offcut: Length = self.pieces.iter().map(|piece| piece.blank).sum();
        let mut out = format!(
            "# Three test bends out of one offcut of {} and two saw cuts. Fill in what has no value, then:\n\
             # tubewright calibrate on this file; with --write the result goes into the bender's file.\n\
             #\n\
             # 1. Cut three pieces, square, and deburr them: {} {}. Tape them again: `blank` is what the tape says.\n\
             # 2. On each: A on one end, a ring around it at its `mark` from end A.\n\
             # 3. Bend each with end A in the clamp and the ring at the index, the slack taken up as always, until the pointer reads\n\
             #    `reading`, or near it: write what it read. Let off, take it out.\n\
             # 4. `angle`: how far the tube turns, by an angle gauge on its straights; 90 is a square corner. What comes out matters\n\
             #    less than that it is read well.\n\
             # 5. `legs`: from end A to the corner in which the two straights would meet, and from there to end B. Lay the piece on\n\
             #    a board, draw both centrelines, and measure to where they cross (`measured: centre`); or both along the outside\n\
             #    (`measured: outside`).\n",
            people.length_with_unit(offcut),
            lengths.join(", "),
            people.unit(),
        );
        let od =
            if self.unit == LengthUnit::Inch { trimmed(self.od.to_inch(), 4) } else { trimmed(self.od.to_mm(), 3) };
        let _ = write!(
            out,
            "kind: test-bends\nunits: {}\nbender: {}\ndie: {}\nmaterial: {}\n\
             tube:\n  od: {od}           # by caliper\n  wall:              # by caliper\n\
             lot:                 # which delivery of tube; take the line out if nobody knows\n\
             date:\n\
             accuracy:            # your own: what two of three readings of the same thing lie within\n  length:\n  angle:             # degrees\n\
             bends:\n",
            self.unit.name(),
            plain(self.bender),
            plain(self.die),
            plain(self.material),
        );
        for piece in self.pieces {
            let _ = write!(
                out,
                "  - reading: {}\n    angle:\n    blank: {}\n    mark: {}\n    lead: A\n    legs:            # [end A to the corner, the corner to end B]\n    measured: centre\n",
                trimmed(piece.reading.to_deg(), 3),
                of_unit(piece.blank),
                of_unit(piece.mark),
            );
        }
        out
    }
}

/// A name as it stands in a file, in quotes where it could be read as something else.
fn plain(name: &str) -> String {
    let simple = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.' | '/' | ' ');
    let safe = name.chars().all(simple) && name.starts_with(|first: char| first.is_alphabetic() || first == '.');
    if safe && !matches!(name, "true" | "false" | "null") {
        name.to_owned()
    } else {
        serde_json::Value::from(name).to_string()
    }
}

fn trimmed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
