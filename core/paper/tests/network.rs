//! The picture of a survey: every point and every tape in it, what was misread in colour, no words on others, none over the edge.

use std::path::Path;

use tubewright::file::{Disk, load_survey};
use tubewright::round::People;
use tubewright::survey::{Record, Survey, survey};
use tubewright_paper::draw::{Drawing, Ink, Item};
use tubewright_paper::network::network;

fn sample(name: &str) -> (Record, Survey) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples/surveys").join(name);
    let record = load_survey(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let told = survey(&record).unwrap_or_else(|fault| panic!("{fault}"));
    (record, told)
}

fn drawn(record: &Record, told: &Survey) -> Drawing {
    let sheet = network(record, told, &People::mm());
    assert!(sheet.overlap().is_none(), "{:?}", sheet.overlap());
    assert!(sheet.clipped().is_none(), "{:?}", sheet.clipped());
    sheet
}

fn fills(sheet: &Drawing, ink: Ink) -> usize {
    sheet.items.iter().filter(|item| matches!(item, Item::Path { fill: Some(found), .. } if *found == ink)).count()
}

fn strokes(sheet: &Drawing, ink: Ink, width: f64) -> usize {
    let is = |item: &&Item| matches!(item, Item::Path { fill: None, pen: Some(pen), .. } if pen.ink == ink && (pen.width - width).abs() < 1e-9);
    sheet.items.iter().filter(is).count()
}

#[test]
fn every_point_is_a_dot_in_its_ellipse_and_every_tape_a_line() {
    let (record, told) = sample("chassis.yaml");
    let sheet = drawn(&record, &told);
    // The origin is where the frame has it.
    assert_eq!((fills(&sheet, Ink::BLACK), fills(&sheet, Ink::SWEEP)), (8, 7));
    let lines = sheet.items.iter().filter(|item| matches!(item, Item::Path { fill: None, .. })).count();
    assert_eq!(lines, record.tapes.len() + 1);
    for name in &record.points {
        assert!(sheet.labels().iter().any(|(label, _)| label.words == *name), "{name}");
    }
}

#[test]
fn a_misread_tape_is_bold_and_in_colour() {
    let (record, told) = sample("misread.yaml");
    assert_eq!(strokes(&drawn(&record, &told), Ink::WARN, 0.8), 1);
}

#[test]
fn a_point_that_is_not_told_is_named_and_not_drawn() {
    let (record, told) = sample("trailer-bed.yaml");
    let sheet = drawn(&record, &told);
    assert_eq!(fills(&sheet, Ink::BLACK), 4);
    assert!(sheet.labels().iter().any(|(label, _)| label.words.contains("not told, and not drawn: drawbar")));
}
