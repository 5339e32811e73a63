//! The picture of a fit: every bend with a reading in it, no words on others, none over the edge.

use std::path::Path;

use tubewright::calibrate::{Record, calibrate};
use tubewright::file::{Disk, load_test_bends};
use tubewright::round::People;
use tubewright_paper::draw::{Drawing, Ink, Item};
use tubewright_paper::plot::springback;

fn sample(name: &str) -> Record {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples/records").join(name);
    load_test_bends(&Disk, &path).unwrap_or_else(|mistakes| panic!("{mistakes}")).record
}

fn drawn(record: &Record) -> Drawing {
    let told = calibrate(record).unwrap_or_else(|fault| panic!("{fault}"));
    let sheet = springback(record, &told, &People::mm());
    assert!(sheet.overlap().is_none(), "{:?}", sheet.overlap());
    assert!(sheet.clipped().is_none(), "{:?}", sheet.clipped());
    sheet
}

fn fills(sheet: &Drawing, ink: Ink) -> usize {
    sheet.items.iter().filter(|item| matches!(item, Item::Path { fill: Some(found), .. } if *found == ink)).count()
}

fn strokes(sheet: &Drawing, ink: Ink) -> usize {
    sheet.items.iter().filter(|item| matches!(item, Item::Path { pen: Some(pen), .. } if pen.ink == ink)).count()
}

#[test]
fn every_bend_is_a_dot_and_the_law_has_its_band() {
    let mut record = sample("five-inch-mild-steel.yaml");
    let sheet = drawn(&record);
    assert_eq!((fills(&sheet, Ink::BLACK), fills(&sheet, Ink::TUBE)), (4, 1));
    // A bend that is off is a cross of two lines.
    record.bends[1].reading = record.bends[1].reading.map(|reading| reading * 1.05);
    let sheet = drawn(&record);
    assert!(fills(&sheet, Ink::BLACK) < 4 && strokes(&sheet, Ink::WARN) >= 2);
}

#[test]
fn one_bend_has_no_law() {
    let sheet = drawn(&sample("one-bend.yaml"));
    assert_eq!((fills(&sheet, Ink::BLACK), fills(&sheet, Ink::TUBE)), (1, 0));
}
