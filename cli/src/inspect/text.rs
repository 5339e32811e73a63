//! A measured part for people: the verdict, what is off by bend, where each corner lies, what to do on the next piece.

use std::path::Path;

use tubewright::centreline::Centreline;
use tubewright::inspect::{Inspection, Part, Wanted};
use tubewright::plan::Note;
use tubewright::round::People;
use tubewright::units::{Angle, Length};
use tubewright_paper::page::{rule, table, title, wrapped};
use tubewright_paper::words::job_name;

/// What stands where nothing is known.
const UNKNOWN: &str = "?";

/// What stands where there is nothing to be known.
const NONE: &str = "-";

/// The whole report.
pub(super) fn text(path: &Path, part: &Part, told: &Inspection, people: &People) -> String {
    let mut out = String::new();
    rule(&mut out);
    wrapped(&mut out, "", &verdict(part, told));
    wrapped(&mut out, "", &about(path, part, told, people));
    rule(&mut out);
    for (_, slip) in told.slip_words(part, people) {
        wrapped(&mut out, "LOOK AT   ", &slip);
    }
    let (lines, notes): (Vec<Note>, Vec<Note>) =
        told.notes(part, people).into_iter().partition(|note| note.code == "test-bends");
    for note in &notes {
        wrapped(&mut out, "Note      ", &note.text);
    }
    out.push('\n');
    match &part.wanted {
        Some(wanted) => {
            rows(&mut out, wanted, told, people);
            this_piece(&mut out, wanted, told, people);
            nodes(&mut out, part, told, people);
            next(&mut out, wanted, told, people);
        }
        None => copy(&mut out, part, told, people),
    }
    for note in &lines {
        let mut parts = note.text.lines();
        title(&mut out, "For the calibration");
        wrapped(&mut out, "          ", parts.next().unwrap_or_default());
        parts.for_each(|line| out.push_str(&format!("            {line}\n")));
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

fn verdict(part: &Part, told: &Inspection) -> String {
    let Some(wanted) = &part.wanted else { return "A part to be copied".to_owned() };
    let name = &wanted.tube().name;
    let says = match (told.wrong_hand, told.within_tolerance) {
        (true, _) => "WRONG HAND, this is the mirror part",
        (_, Some(true)) => "WITHIN TOLERANCE",
        (_, Some(false)) => "OUT OF TOLERANCE",
        (_, None) if wanted.tube().tolerance.is_none() => "measured, no tolerance to judge it by",
        (_, None) => "CANNOT TELL, not enough was measured",
    };
    format!("{name}: {says}")
}

fn about(path: &Path, part: &Part, told: &Inspection, people: &People) -> String {
    let mut about = vec![format!("record {}", job_name(path))];
    if let Some(wanted) = &part.wanted {
        if let Some(tolerance) = wanted.tube().tolerance {
            about.push(format!("tolerance of a corner {}", people.figure(tolerance)));
        }
        let worst = (0..told.off.len())
            .filter_map(|place| Some((place, told.off[place]?.norm())))
            .max_by(|one, other| one.1.total_cmp(&other.1));
        if let Some((place, by)) = worst {
            about.push(format!("worst corner {} off by {}", part.nodes[place], people.figure(Length::mm(by))));
        }
    } else {
        about.push(format!("OD {}", people.figure(part.od)));
        about.extend(part.radii.first().map(|clr| format!("CLR {}", people.figure(*clr))));
    }
    about.join(", ")
}

/// Each bend with the leg before it: what came out, and what that is off.
fn rows(out: &mut String, wanted: &Wanted, told: &Inspection, people: &People) {
    let line: &Centreline = &wanted.tube().centreline;
    let wants = &line.rows.bends;
    let legs = line.legs();
    let unit = people.unit();
    title(out, "Each leg and bend: what came out, and how far that is off");
    let heads =
        ["bend", &format!("leg before, {unit}"), "off", "rotation", "off", "bend angle", "off"].map(str::to_owned);
    let length = |leg: usize| -> [String; 2] {
        let found = told.legs[leg].map_or_else(|| UNKNOWN.to_owned(), |found| people.column(found.value));
        let off = told.leg_deviations[leg].map(|off| people.signed_column(off));
        let none = if legs[leg].is_none() { NONE } else { UNKNOWN };
        [if legs[leg].is_none() { NONE.to_owned() } else { found }, off.unwrap_or_else(|| none.to_owned())]
    };
    let angle = |found: Option<Angle>, off: Option<Angle>| -> [String; 2] {
        let found = found.map_or_else(|| UNKNOWN.to_owned(), |found| people.angle(found));
        [found, off.map_or_else(|| UNKNOWN.to_owned(), |off| people.signed_angle(off))]
    };
    let mut all = vec![heads];
    for (bend, row) in told.rows.iter().enumerate() {
        let off = told.deviations[bend];
        let [leg, leg_off] = length(bend);
        let [turn, turn_off] = if bend == 0 {
            [NONE.to_owned(), NONE.to_owned()]
        } else {
            angle(row.rotation.map(|found| found.value), off.rotation)
        };
        let [bent, bent_off] = angle(row.angle.map(|found| found.value), off.angle);
        all.push([(bend + 1).to_string(), leg, leg_off, turn, turn_off, bent, bent_off]);
    }
    let [leg, leg_off] = length(wants.len());
    let none = || NONE.to_owned();
    all.push(["end".to_owned(), leg, leg_off, none(), none(), none(), none()]);
    table(out, &all);
    wrapped(
        out,
        "          ",
        "Legs from corner to corner of the centreline. Angles in degrees: more bend is +, a rotation is + clockwise looking from end A.",
    );
    out.push('\n');
}

/// Which bend is off, in words, and whether this piece can be mended.
fn this_piece(out: &mut String, wanted: &Wanted, told: &Inspection, people: &People) {
    let mut says = Vec::new();
    if told.wrong_hand {
        says.push(
            "The mirror part: good only where its mirror image is wanted. No further bend makes the right one of it."
                .to_owned(),
        );
    }
    let step = wanted.job.bender.pointer.step;
    for next in told.next.iter().filter(|_| !told.wrong_hand) {
        let off = told.worth.get(next.bend.0).copied().unwrap_or_default();
        let number = next.bend.number();
        match off.angle {
            Some(off) if off < Angle::ZERO => says.push(format!(
                "Bend {number} is {} degrees short. It can be pushed again: end {} in the clamp, on its ring and its top line, then on to {} on the dial. See \
                 first that clamp and follower still find room beside the other bends.",
                people.angle(off.abs()),
                next.lead.letter(),
                next.dial_target.map_or_else(|| UNKNOWN.to_owned(), |target| people.dial(target, step)),
            )),
            Some(off) if off > Angle::ZERO => {
                says.push(format!("Bend {number} is {} degrees over: too far is not bent back.", people.angle(off)));
            }
            _ => {}
        }
        if let Some(off) = off.rotation.filter(|off| *off != Angle::ZERO) {
            let way = if off > Angle::ZERO { "clockwise" } else { "anticlockwise" };
            says.push(format!(
                "Bend {number} is turned {} degrees too far {way}, looking from end A: that stays in this piece.",
                people.angle(off.abs())
            ));
        }
    }
    if says.is_empty() {
        return;
    }
    title(out, "This piece");
    says.iter().for_each(|says| wrapped(out, "          ", says));
    out.push('\n');
}

/// How far each corner is off, in the axes of the job.
fn nodes(out: &mut String, part: &Part, told: &Inspection, people: &People) {
    if told.rms.is_none() {
        return;
    }
    title(out, "Each corner, with the whole part laid on its place as well as it goes");
    let unit = people.unit();
    let mut all = vec![["corner", &format!("off, {unit}"), "in x", "in y", "in z"].map(str::to_owned)];
    for (name, off) in part.nodes.iter().zip(&told.off) {
        let cells = off.map_or_else(
            || [UNKNOWN; 4].map(str::to_owned),
            |off| {
                let axis = |by: f64| people.signed_column(Length::mm(by));
                [people.column(Length::mm(off.norm())), axis(off.x), axis(off.y), axis(off.z)]
            },
        );
        let [whole, x, y, z] = cells;
        all.push([name.clone(), whole, x, y, z]);
    }
    table(out, &all);
    wrapped(
        out,
        "          ",
        "In the job's axes. One bad bend shows at several corners: the table above says which bend it is.",
    );
    out.push('\n');
}

/// Marks, top lines and readings of the next piece, in the order of making.
fn next(out: &mut String, wanted: &Wanted, told: &Inspection, people: &People) {
    if told.next.is_empty() {
        return;
    }
    title(out, "The next piece, by the same order");
    if told.worth_changing == Some(false) {
        wrapped(out, "          ", "Change nothing: bend it as this one.");
    }
    let unit = people.unit();
    let step = wanted.job.bender.pointer.step;
    let heads = ["step", &format!("mark, {unit}"), &format!("was, {unit}"), "top line", "was", "stop at", "was"]
        .map(str::to_owned);
    let mut all = vec![heads];
    let mut steps: Vec<_> = told.next.iter().collect();
    steps.sort_by_key(|next| next.step);
    let or_unknown = |known: Option<String>| known.unwrap_or_else(|| UNKNOWN.to_owned());
    for next in &steps {
        all.push([
            format!("{}{}", next.bend.number(), next.lead.letter()),
            or_unknown(next.mark.map(|mark| people.length(mark))),
            people.length(next.used.0),
            or_unknown(next.top.map(|top| people.angle(top))),
            people.angle(next.used.1),
            or_unknown(next.dial_target.map(|target| people.dial(target, step))),
            people.dial(next.used.2, step),
        ]);
    }
    table(out, &all);
    if steps.iter().any(|next| next.mark.is_none() || next.top.is_none() || next.dial_target.is_none()) {
        wrapped(
            out,
            "          ",
            "?: hangs on something that was not measured. Leave it as it was, or measure that first.",
        );
    }
    if let Some(cut) = told.next_cut {
        wrapped(out, "          ", &format!("Cut {}.", people.length_with_unit(cut)));
    }
    wrapped(
        out,
        "          ",
        "Marks from end A on the straight blank; top lines in degrees clockwise from the reference line; readings rounded down, too far is not bent back. \
         When the next piece is measured too, its record gives these figures as `marks`, `tops` and `readings`.",
    );
    out.push('\n');
}

/// A part to be copied: its rows and nodes, ready for a job.
fn copy(out: &mut String, part: &Part, told: &Inspection, people: &People) {
    let fine = |length: Length| people.column(length);
    title(out, "Legs and bends as measured");
    let unit = people.unit();
    let mut all = vec![
        ["bend", &format!("leg before, {unit}"), &format!("straight, {unit}"), "rotation", "bend angle"]
            .map(str::to_owned),
    ];
    let or_unknown = |known: Option<String>| known.unwrap_or_else(|| UNKNOWN.to_owned());
    let leg = |leg: usize| or_unknown(told.legs[leg].map(|leg| fine(leg.value)));
    for (bend, row) in told.rows.iter().enumerate() {
        let rotation = match bend {
            0 => NONE.to_owned(),
            _ => or_unknown(row.rotation.map(|rotation| people.angle(rotation.value))),
        };
        all.push([
            (bend + 1).to_string(),
            leg(bend),
            or_unknown(row.length.map(|length| fine(length.value))),
            rotation,
            or_unknown(row.angle.map(|angle| people.angle(angle.value))),
        ]);
    }
    let last = told.rows.len();
    let none = || NONE.to_owned();
    all.push(["end".to_owned(), leg(last), or_unknown(told.last.map(|last| fine(last.value))), none(), none()]);
    table(out, &all);
    wrapped(out, "          ", "Angles in degrees; rotations clockwise looking from end A.");
    out.push('\n');
    let rows: Option<Vec<String>> = told
        .rows
        .iter()
        .enumerate()
        .map(|(bend, row)| {
            let rotation = match bend {
                0 => String::new(),
                _ => format!(", rotation: {}", people.fine_angle(row.rotation?.value)),
            };
            let (length, angle) = (fine(row.length?.value), people.fine_angle(row.angle?.value));
            Some(format!("      - {{ length: {length}{rotation}, bend: {angle} }}\n"))
        })
        .collect();
    if let Some((rows, last)) = rows.zip(told.last) {
        title(out, "For a job file");
        wrapped(out, "          ", &format!("Under `tubes`, in a file whose `units` are {unit}:"));
        out.push_str("  copy:\n    rows:\n");
        rows.iter().for_each(|row| out.push_str(row));
        out.push_str(&format!("      - {{ length: {} }}\n\n", fine(last.value)));
    }
    let known: Vec<_> = part.nodes.iter().zip(&told.nodes).filter_map(|(name, at)| Some((name, (*at)?))).collect();
    if !known.is_empty() {
        title(out, "Corners");
        let mut all = vec![["corner", &format!("x, {unit}"), "y", "z"].map(str::to_owned)];
        for (name, at) in known {
            let [x, y, z] = [at.x, at.y, at.z].map(|by| fine(Length::mm(by)));
            all.push([name.clone(), x, y, z]);
        }
        table(out, &all);
        out.push('\n');
    }
}
