//! What a record tells, for people: what was bent, what is not known, the figures beside those of the bender's file, the bends, and how to use it.

use std::path::Path;

use tubewright::calibrate::{Calibration, Figure, OUTLIER, Record};
use tubewright::plan::Note;
use tubewright::round::People;
use tubewright::units::{Angle, Length};
use tubewright_paper::page::{rule, table, title, wrapped};
use tubewright_paper::words::job_name;

/// Bend angles that are worked out as examples.
const EXAMPLES: [f64; 5] = [30.0, 45.0, 60.0, 90.0, 120.0];

/// A normal figure lies within so many standard deviations 95 times in 100.
const OF_95: f64 = 1.96;

/// What stands where nothing is known.
const NONE: &str = "-";

/// The whole report.
pub(super) fn text(path: &Path, record: &Record, told: &Calibration, notes: &[Note], people: &People) -> String {
    let mut out = String::new();
    rule(&mut out);
    wrapped(&mut out, "", &format!("{} in die {}: what the test bends say", record.material, record.die().name));
    wrapped(&mut out, "", &about(path, record, people));
    rule(&mut out);
    for note in notes {
        wrapped(&mut out, "Note      ", &note.text);
    }
    out.push('\n');
    figures(&mut out, record, told, people);
    bends(&mut out, record, told, people);
    roundness(&mut out, record, people);
    examples(&mut out, record, told, people);
    out
}

fn about(path: &Path, record: &Record, people: &People) -> String {
    let mut about = vec![format!("record {}", job_name(path))];
    about.extend(record.date.as_ref().map(|date| format!("date {date}")));
    about.extend(record.lot.as_ref().map(|lot| format!("lot {lot}")));
    about.push(format!("OD {}", people.figure(record.od)));
    about.push(record.wall.map_or_else(|| "wall not given".to_owned(), |wall| format!("wall {}", people.figure(wall))));
    about.join(", ")
}

/// Each figure with its standard deviation, and what the bender's file says today.
fn figures(out: &mut String, record: &Record, told: &Calibration, people: &People) {
    let known = record.known();
    let springback = known.and_then(|material| material.springback);
    let degrees = |angle: Angle| format!("{} degrees", people.fine_angle(angle));
    let part = |part: f64| people.fraction(part);
    let length = |length: Length| people.figure(length);
    let rows = [
        ["".to_owned(), "found".to_owned(), "standard deviation".to_owned(), "bender's file".to_owned()],
        row("constant part", told.constant, springback.map(|law| law.constant), degrees),
        row("proportional part", told.proportional, springback.map(|law| law.proportional), part),
        row("effective CLR", told.clr, Some(record.die().clr), length),
        row("stretch", told.stretch, known.map(|material| material.stretch), part),
        row("mark offset", told.mark_offset, Some(record.die().mark_offset), length),
    ];
    title(out, "Figures");
    table(out, &rows);
    out.push('\n');
}

fn row<T: Copy>(name: &str, found: Option<Figure<T>>, file: Option<T>, shown: impl Fn(T) -> String) -> [String; 4] {
    let sd = found.and_then(|figure| figure.sd);
    [
        name.to_owned(),
        found.map_or_else(|| "not measured".to_owned(), |figure| shown(figure.value)),
        sd.map_or_else(|| NONE.to_owned(), &shown),
        file.map_or_else(|| NONE.to_owned(), &shown),
    ]
}

/// The bends with what they are off.
fn bends(out: &mut String, record: &Record, told: &Calibration, people: &People) {
    title(out, "Bends, and how many standard deviations each is off");
    let off = |by: Option<f64>| {
        by.map_or_else(
            || NONE.to_owned(),
            |by| format!("{}{by:.1}", if by.abs() > OUTLIER { "LOOK AT IT " } else { "" }),
        )
    };
    let heads = ["bend", "reading", "angle", "angle off", "blank off", "mark off"].map(str::to_owned);
    let rows = record.bends.iter().zip(&told.bends).enumerate().map(|(place, (bend, off_by))| {
        [
            (place + 1).to_string(),
            bend.reading.map_or_else(|| NONE.to_owned(), |reading| people.angle(reading)),
            people.angle(bend.angle),
            off(off_by.angle),
            off(off_by.blank),
            off(off_by.mark),
        ]
    });
    let rows: Vec<[String; 6]> = std::iter::once(heads).chain(rows).collect();
    table(out, &rows);
    out.push('\n');
}

/// Bends that were measured across, by the three measures that rules are written in.
fn roundness(out: &mut String, record: &Record, people: &People) {
    let across: Vec<_> =
        (1..).zip(&record.bends).filter_map(|(number, bend)| Some((number, bend.diameters?))).collect();
    if across.is_empty() {
        return;
    }
    title(out, "How round they stayed, where they are flattest");
    let heads = ["bend", "largest", "smallest", "small / large", "spread / OD", "small / OD"].map(str::to_owned);
    let rows = across.into_iter().map(|(number, of): (usize, _)| {
        [
            number.to_string(),
            people.figure(of.largest),
            people.figure(of.smallest),
            people.ratio_down(of.minor_over_major()),
            people.ratio_up(of.major_minus_minor_over(record.od)),
            people.ratio_down(of.minor_over(record.od)),
        ]
    });
    let rows: Vec<[String; 6]> = std::iter::once(heads).chain(rows).collect();
    table(out, &rows);
    out.push('\n');
}

/// What to turn the die to for some angles within what was measured.
fn examples(out: &mut String, record: &Record, told: &Calibration, people: &People) {
    let (Some(constant), Some(proportional), Some((low, high))) = (told.constant, told.proportional, told.good_for())
    else {
        return;
    };
    let angles: Vec<Angle> =
        EXAMPLES.into_iter().map(Angle::deg).filter(|angle| (low..=high).contains(angle)).collect();
    if angles.is_empty() {
        return;
    }
    title(out, "What it comes to");
    let heads = ["for a bend of", "turn the die by", "stop at reading", "95 of 100 within"].map(str::to_owned);
    let rows = angles.into_iter().map(|angle| {
        let die = angle * (1.0 + proportional.value) + constant.value;
        let within = told.covariance.map(|[[cc, ck], [_, kk]]| {
            let theta = angle.to_rad();
            Angle::rad(OF_95 * (cc + 2.0 * theta * ck + theta * theta * kk).max(0.0).sqrt())
        });
        [
            people.angle(angle),
            people.fine_angle(die),
            people.dial(record.bender.pointer.reading(die), record.bender.pointer.step),
            within.map_or_else(|| NONE.to_owned(), |within| people.fine_angle(within)),
        ]
    });
    let rows: Vec<[String; 4]> = std::iter::once(heads).chain(rows).collect();
    table(out, &rows);
    wrapped(
        out,
        "          ",
        "Degrees. Within: of the law itself, as far as these bends tell it; one tube of a delivery differs from the next besides.",
    );
}
