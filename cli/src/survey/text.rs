//! What a survey tells, for people: what is wrong or missing first, then the points, every reading, and what to measure next.

use std::path::Path;

use tubewright::plan::Note;
use tubewright::round::{MmStep, People, Units};
use tubewright::survey::{Checked, Record, Survey, What};
use tubewright::units::Length;
use tubewright_paper::page::{rule, table, title, wrapped};
use tubewright_paper::words::job_name;

/// What stands where nothing is known.
const NONE: &str = "-";

/// The whole report.
pub(super) fn text(path: &Path, record: &Record, told: &Survey, notes: &[Note], people: &People) -> String {
    let mut out = String::new();
    rule(&mut out);
    wrapped(&mut out, "", &verdict(told));
    wrapped(&mut out, "", &about(path, record, told));
    rule(&mut out);
    for note in notes {
        wrapped(&mut out, "Note      ", &note.text);
    }
    for suggestion in told.suggestions(record, people) {
        wrapped(&mut out, "Next      ", &suggestion);
    }
    out.push('\n');
    points(&mut out, record, told, people);
    readings(&mut out, record, told, people);
    out
}

fn verdict(told: &Survey) -> String {
    let mut parts = Vec::new();
    if told.sure().is_some() {
        parts.push("A READING WAS MISREAD, and is left out");
    } else if !told.misread.is_empty() {
        parts.push("READINGS CONTRADICT EACH OTHER");
    } else if !told.agrees() {
        parts.push("THE READINGS AGREE LESS WELL THAN STATED");
    }
    if !told.undetermined.is_empty() {
        parts.push("SOME POINTS ARE NOT TOLD");
    }
    if parts.is_empty() { "All points are told, and the readings agree".to_owned() } else { parts.join("; ") }
}

fn about(path: &Path, record: &Record, told: &Survey) -> String {
    let mut about = vec![format!("survey {}", job_name(path))];
    about.extend(record.date.as_ref().map(|date| format!("date {date}")));
    about.push(format!("{} points", record.points.len()));
    about.push(format!("{} readings", told.readings.len()));
    about.push(format!("{} redundant", told.freedom));
    about.join(", ")
}

/// Tenths of a millimetre: what is worked out is finer than what was taped.
fn fine(people: &People) -> People {
    match people.units {
        Units::Mm(_) => People { units: Units::Mm(MmStep::Tenth) },
        Units::Inch(_) => *people,
    }
}

fn points(out: &mut String, record: &Record, told: &Survey, people: &People) {
    title(out, &format!("Points in the frame of {}, {}", record.points[record.frame.origin], people.unit()));
    let fine = fine(people);
    let length = |mm: Option<f64>| mm.map_or_else(|| NONE.to_owned(), |mm| fine.length(Length::mm(mm)));
    let sd = |mm: Option<f64>| mm.map_or_else(|| NONE.to_owned(), |mm| figure(people, Length::mm(mm)));
    let heads = ["point", "x", "y", "z", "sd x", "sd y", "sd z"].map(str::to_owned);
    let rows = told.points.iter().zip(&record.points).map(|(found, name)| {
        let ([x, y, z], [sx, sy, sz]) = (found.at, found.sd);
        [short(name), length(x), length(y), length(z), sd(sx), sd(sy), sd(sz)]
    });
    let rows: Vec<[String; 7]> = std::iter::once(heads).chain(rows).collect();
    table(out, &rows);
    wrapped(out, "          ", "sd: one standard deviation; what the frame has at 0 has none. A dash is not told.");
    out.push('\n');
}

/// A figure without its unit, which stands in the title.
fn figure(people: &People, length: Length) -> String {
    people.figure(length).split(' ').next().unwrap_or(NONE).to_owned()
}

/// A name that leaves room for the figures beside it.
fn short(name: &str) -> String {
    const LONGEST: usize = 18;
    if name.chars().count() <= LONGEST {
        return name.to_owned();
    }
    name.chars().take(LONGEST - 2).chain("..".chars()).collect()
}

fn readings(out: &mut String, record: &Record, told: &Survey, people: &People) {
    title(out, &format!("Readings, {}", people.unit()));
    let sure = told.sure().map(|sure| sure.reading);
    let flag = |place: usize| match told.misread.iter().find(|misread| misread.reading == place) {
        Some(misread) if misread.sure => "MISREAD",
        Some(_) if sure.is_none() => "LOOK AT IT",
        _ => "",
    };
    let heads = ["reading", "off by", "checked", "w", ""].map(str::to_owned);
    let rows = told.without.iter().enumerate().map(|(place, reading)| {
        let Checked { redundancy, standardised, residual, .. } = *reading;
        [
            words(record, reading),
            figure(people, residual),
            format!("{:.0} %", redundancy * 100.0),
            standardised.map_or_else(|| NONE.to_owned(), |w| format!("{w:.1}")),
            flag(place).to_owned(),
        ]
    });
    let rows: Vec<[String; 5]> = std::iter::once(heads).chain(rows).collect();
    table(out, &rows);
    let misread = if sure.is_some() { " The misread one's is that among all readings." } else { "" };
    let words = format!(
        "off by: points less reading. checked: how much of a mistake shows in it. w: off by, in its own standard deviations; 1 good reading in 1,000 \
         is beyond 3.29.{misread}"
    );
    wrapped(out, "          ", &words);
}

/// A reading in few words.
fn words(record: &Record, reading: &Checked) -> String {
    let name = |point: usize| short(&record.points[point]);
    let from = name(reading.from);
    let to = reading.to.map_or_else(String::new, name);
    match reading.what {
        What::Distance => format!("{from} - {to}"),
        What::Drop => format!("drop {from} - {to}"),
        What::Plumb => format!("plumb {from} - {to}"),
        What::Height => format!("height {from}"),
        What::Line => format!("line {from}"),
        What::Plane => format!("plane {from}"),
        What::Symmetric => format!("pair {from} - {to}"),
    }
}
