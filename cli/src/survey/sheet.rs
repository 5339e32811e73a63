//! `survey --sheet "NAMES"`: a survey to be filled in at the chassis, printed or on a screen, which lacks only what the tape reads.

use std::fmt::Write as _;

use crate::args;
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// Points that are taped each to each; further ones to the four of the frame and to the two before them.
const EACH_TO_EACH: usize = 7;

/// Points of a sheet: more would be several sheets.
const MOST: usize = 40;

/// Writes the survey.
pub(super) fn run(args: &args::Survey, names: &str) -> Result<(), Exit> {
    let output = Output::to(args.output.path.as_deref(), args.output.force, &[])?;
    let names: Vec<&str> = names.split_whitespace().collect();
    let twice = names.iter().enumerate().find(|(place, name)| names[..*place].contains(name));
    if let Some((_, name)) = twice {
        say::error(format_args!("the name `{}` stands twice", name.escape_debug()));
        say::help("each point has a name of its own");
        return Err(Exit::Mistake);
    }
    let plain = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.');
    let unfit = names.iter().find(|name| !name.chars().all(plain) || !name.starts_with(char::is_alphabetic));
    if let Some(name) = unfit {
        say::error(format_args!("`{}` does not do as a name on the sheet", name.escape_debug()));
        say::help(
            "names stand with blanks between them; on the sheet one starts with a letter and has letters, figures, `-`, `_` and `.` only",
        );
        return Err(Exit::Mistake);
    }
    if names.len() < 4 || names.len() > MOST {
        say::error(format_args!("a sheet takes 4 to {MOST} names; there are {}", names.len()));
        say::help(
            "name the points of the frame first: at zero, on +x, in the plane z = 0, and off that plane: --sheet \"p1 p2 p4 p5 p3\"",
        );
        return Err(Exit::Mistake);
    }
    let unit = match args.units {
        Some(args::ReadingUnits::In) => "in",
        _ => "mm",
    };
    output.write(text(&names, unit).as_bytes())
}

fn text(names: &[&str], unit: &str) -> String {
    let [origin, x, xy, up] = [names[0], names[1], names[2], names[3]];
    let od = if unit == "in" { "1-1/2" } else { "38.1" };
    let mut out = format!(
        "# A survey to be filled in. Tape as many as can be reached, then: tubewright survey on this file.\n\
         # A line that cannot be taped is taken out.\n\
         #\n\
         # 1. Mark every point so that it is the same whoever tapes: the centre of a tube where tubes meet, a punch mark.\n\
         # 2. Pull the tape straight, with the same pull each time; no figure twice without looking anew.\n\
         # 3. Over the far faces of tubes write `measured: outside, od: {od}` behind the length, between the\n\
         #    near ones `inside`.\n\
         # 4. {up} lies above the plane of {origin}, {x} and {xy}, seen with {xy} to the left of the way\n\
         #    from {origin} to {x}: else name another under `up`, or write `flat: true` instead where all of it lies in one plane.\n\
         kind: survey\nunits: {unit}\ndate:\naccuracy:\n  length:            # your own: what two of three readings of the same thing lie within\n\
         frame: {{ origin: {origin}, x: {x}, xy: {xy}, up: {up} }}\ndistances:\n"
    );
    let wide = names.iter().map(|name| name.len()).max().unwrap_or(0) + 1;
    for (to, name) in names.iter().enumerate().skip(1) {
        let near = |from: &usize| to < EACH_TO_EACH || *from < 4 || from + 2 >= to;
        for from in (0..to).filter(near) {
            let (first, second) = (format!("{},", names[from]), format!("{name},"));
            let _ = writeln!(out, "  - {{ from: {first:<wide$} to: {second:<wide$} length:          }}");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use tubewright::file::{Held, load_survey};

    use super::*;

    #[test]
    fn a_sheet_lacks_only_what_is_measured() {
        let names = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];
        let sheet = text(&names, "mm");
        let read = |text: String| load_survey(&Held::default().with("s.yaml", text), Path::new("s.yaml"));
        let mistakes = read(sheet.clone()).unwrap_err();
        assert!(mistakes.list.iter().all(|mistake| mistake.code == "value-missing"), "{mistakes}");
        let filled = sheet
            .replace("length:          }", "length: 1000 }")
            .replace("  length:  ", "  length: 1 ")
            .replace("date:\n", "");
        let record = read(filled).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        assert_eq!(record.points, names);
        // Seven each to each, and six for each of the two others.
        assert_eq!(record.tapes.len(), 21 + 2 * 6);
    }
}
