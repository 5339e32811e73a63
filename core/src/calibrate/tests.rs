//! What a record tells of exact figures, and what it does not tell.

use std::path::Path;

use super::*;
use crate::centreline::Taken;
use crate::file::{Held, load_test_bends};
use crate::forming::LeadEnd;
use crate::plan::Note;
use crate::round::People;

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
pointer: { set_to: -1.5, when: POINTER }
dies:
  d: { od: 40, clr: 125, max_angle: 195, clamp_length: 70, follower_length: 150, materials: { plain: { radius_growth: false } } }
";

/// A shop whose figures are known.
struct Shop {
    constant: f64,
    proportional: f64,
    formed: f64,
    stretch: f64,
    offset: f64,
    set_to: f64,
}

const SHOP: Shop = Shop { constant: 1.3, proportional: 0.025, formed: 130.0, stretch: 0.012, offset: 4.5, set_to: 0.0 };

impl Shop {
    /// A bend of it, without any error.
    fn bend(&self, angle: f64, lead: LeadEnd, measured: Taken) -> TestBend {
        let theta = angle.to_radians();
        let tan = libm::tan(theta / 2.0);
        let (setback, arc) = (self.formed * tan, self.formed * theta / (1.0 + self.stretch));
        let (blank, mark) = (900.0, 400.0);
        let start = match lead {
            LeadEnd::A => mark + self.offset,
            LeadEnd::B => mark - self.offset - arc,
        };
        let heel = 20.0
            * tan
            * match measured {
                Taken::Centre => 0.0,
                Taken::Outside => 1.0,
                Taken::Inside => -1.0,
            };
        TestBend {
            reading: Some(Angle::deg(angle * (1.0 + self.proportional) + self.constant + self.set_to)),
            angle: Angle::deg(angle),
            blank: Some(Length::mm(blank)),
            mark: Some(Length::mm(mark)),
            start: None,
            lead: Some(lead),
            legs: Some([Length::mm(start + setback + heel), Length::mm(blank - start - arc + setback + heel)]),
            measured,
            diameters: None,
        }
    }
}

/// A record of these bends: of the die, with both accuracies given.
fn record(bends: Vec<TestBend>) -> Record {
    with_pointer("slack-out", "steel", bends)
}

fn with_pointer(when: &str, material: &str, bends: Vec<TestBend>) -> Record {
    let text = format!(
        "kind: test-bends\nunits: mm\nbender: b.yaml\ndie: d\nmaterial: {material}\ntube: {{ od: 40 }}\naccuracy: {{ length: 0.5, angle: 0.2 }}\n\
         bends: [{{ angle: 90, reading: 92 }}]\n"
    );
    let files = Held::default().with("r.yaml", text).with("b.yaml", BENDER.replace("POINTER", when));
    let opened = load_test_bends(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    Record { bends, ..opened.record }
}

fn told(record: &Record) -> Calibration {
    calibrate(record).unwrap_or_else(|fault| panic!("{fault}"))
}

fn codes(record: &Record) -> Vec<&'static str> {
    told(record).notes(record, &People::mm()).iter().map(|note| note.code).collect()
}

fn near(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() < 1e-9 * wanted.abs().max(1.0), "{what}: {found} is not {wanted}");
}

fn holds(found: &Calibration, shop: &Shop) {
    near(found.constant.unwrap().value.to_deg(), shop.constant, "constant");
    near(found.proportional.unwrap().value, shop.proportional, "proportional");
    near(found.clr.unwrap().value.to_mm(), shop.formed / (1.0 + shop.proportional), "clr");
    near(found.stretch.unwrap().value, shop.stretch, "stretch");
    near(found.mark_offset.unwrap().value.to_mm(), shop.offset, "mark offset");
}

#[test]
fn exact_bends_give_the_figures_back_however_they_were_measured() {
    for measured in [Taken::Centre, Taken::Outside, Taken::Inside] {
        let bends = [(30.0, LeadEnd::A), (75.0, LeadEnd::B), (110.0, LeadEnd::A)];
        let bends: Vec<_> = bends.into_iter().map(|(angle, lead)| SHOP.bend(angle, lead, measured)).collect();
        holds(&told(&record(bends.clone())), &SHOP);
        // An inexact mark and an inexact reading are unknowns more, and the same figures.
        let mut inexact = record(bends);
        inexact.accuracy.mark = Length::mm(0.7);
        inexact.accuracy.reading = Angle::deg(0.5);
        holds(&told(&inexact), &SHOP);
    }
}

#[test]
fn without_an_accuracy_the_figures_stand_and_nothing_is_claimed_of_them() {
    let bends: Vec<_> = [30.0, 75.0, 110.0].map(|angle| SHOP.bend(angle, LeadEnd::A, Taken::Centre)).to_vec();
    for (angle, length) in [(None, None), (Some(Angle::deg(0.2)), None), (None, Some(Length::mm(0.5)))] {
        let mut record = record(bends.clone());
        record.accuracy.angle = angle;
        record.accuracy.length = length;
        let found = told(&record);
        holds(&found, &SHOP);
        assert_eq!(found.constant.unwrap().sd.is_some(), angle.is_some());
        assert_eq!(found.proportional.unwrap().sd.is_some(), angle.is_some());
        assert_eq!(
            (found.clr.unwrap().sd, found.stretch.unwrap().sd, found.mark_offset.unwrap().sd),
            (None, None, None)
        );
        assert!(found.bends.iter().all(|bend| bend.blank.is_none() && bend.mark.is_none()));
        assert_eq!(codes(&record)[0], "accuracy-unknown");
    }
}

#[test]
fn accuracies_that_nobody_has_leave_the_figures_as_they_are() {
    let bends = [(30.0, LeadEnd::A), (75.0, LeadEnd::B), (110.0, LeadEnd::A), (140.0, LeadEnd::A)];
    let bends: Vec<_> = bends.into_iter().map(|(angle, lead)| SHOP.bend(angle, lead, Taken::Outside)).collect();
    for sd in [1e-300, 1e-12, 1e-6, 40.0] {
        let mut record = record(bends.clone());
        let (length, angle) = (Length::mm(sd), Angle::deg(sd));
        record.accuracy = RecordAccuracy { length: Some(length), angle: Some(angle), mark: length, reading: angle };
        holds(&told(&record), &SHOP);
    }
}

#[test]
fn a_pointer_that_is_set_at_the_first_bite_reads_from_where_it_was_set() {
    let shop = Shop { set_to: -1.5, ..SHOP };
    let bends: Vec<_> = [30.0, 75.0, 110.0].map(|angle| shop.bend(angle, LeadEnd::A, Taken::Centre)).to_vec();
    holds(&told(&with_pointer("first-bite", "steel", bends)), &shop);
}

#[test]
fn a_material_without_radius_growth_has_the_clr_for_its_formed_radius() {
    let bends: Vec<_> = [30.0, 110.0].map(|angle| SHOP.bend(angle, LeadEnd::A, Taken::Centre)).to_vec();
    let found = told(&with_pointer("slack-out", "plain", bends));
    near(found.clr.unwrap().value.to_mm(), SHOP.formed, "clr");
}

#[test]
fn where_the_bend_starts_tells_the_mark_offset_by_itself() {
    let start = |lead| {
        let bend = SHOP.bend(90.0, lead, Taken::Centre);
        TestBend { start: Some(bend.legs.unwrap()[0] - Length::mm(130.0)), legs: None, blank: None, ..bend }
    };
    let found = told(&record(vec![start(LeadEnd::A)]));
    near(found.mark_offset.unwrap().value.to_mm(), 4.5, "mark offset");
    near(found.mark_offset.unwrap().sd.unwrap().to_mm(), 0.5, "its deviation is that of the tape");
    assert_eq!((found.clr, found.stretch), (None, None));
    // With lead B the arc lies between: its length has to be known.
    assert_eq!(told(&record(vec![start(LeadEnd::B)])).mark_offset, None);
    let found = told(&record(vec![start(LeadEnd::A), start(LeadEnd::B)]));
    near(found.mark_offset.unwrap().value.to_mm(), 4.5, "mark offset");
}

#[test]
fn one_bend_tells_so_much_at_its_angle_and_no_slope() {
    let record = record(vec![SHOP.bend(90.0, LeadEnd::A, Taken::Centre)]);
    let found = told(&record);
    assert_eq!((found.constant, found.proportional, found.clr), (None, None, None));
    assert_eq!((found.stretch, found.mark_offset), (None, None));
    let at = found.springback_at.unwrap();
    near(at.springback.value.to_deg(), 1.3 + 0.025 * 90.0, "springback");
    near(at.springback.sd.unwrap().to_deg(), 0.2, "its deviation is that of the gauge");
    let at = found.lengths_at.unwrap();
    near(at.mark_to_corner.unwrap().value.to_mm(), 134.5, "mark to corner");
    near(at.gain.unwrap().value.to_mm(), 260.0 - 65.0 * core::f64::consts::PI / 1.012, "gain");
    assert_eq!(codes(&record), ["one-angle", "lengths-at-one-angle"]);
    let notes = found.notes(&record, &People::mm());
    let [Note { text, .. }, _] = &notes[..] else { panic!() };
    assert!(text.contains("3.55 degrees") && text.contains("good from 75 to 105 degrees"), "{text}");
    assert!(found.bends[0].largest() <= 0.0);
    assert!(!found.is_well_founded());
}

#[test]
fn legs_of_small_bends_tell_no_radius() {
    let bends = |angles: [f64; 2]| angles.map(|angle| SHOP.bend(angle, LeadEnd::A, Taken::Centre)).to_vec();
    let small = record(bends([25.0, 59.0]));
    let found = told(&small);
    assert!(found.constant.is_some() && found.clr.is_none() && found.stretch.is_none());
    assert!(codes(&small).contains(&"small-bend"));
    let large = record(bends([25.0, 61.0]));
    assert!(told(&large).clr.is_some() && !codes(&large).contains(&"small-bend"));
}

#[test]
fn an_angle_alone_helps_the_springback_only() {
    let with_legs = SHOP.bend(90.0, LeadEnd::A, Taken::Centre);
    let alone =
        TestBend { blank: None, mark: None, lead: None, legs: None, ..SHOP.bend(30.0, LeadEnd::A, Taken::Centre) };
    let found = told(&record(vec![with_legs, alone]));
    near(found.constant.unwrap().value.to_deg(), 1.3, "constant");
    assert_eq!((found.clr, found.stretch, found.mark_offset), (None, None, None));
    assert!(found.lengths_at.is_some() && found.springback_at.is_none());
}

#[test]
fn legs_without_marks_tell_radius_and_stretch_and_no_offset() {
    let bare = |angle| TestBend { mark: None, lead: None, ..SHOP.bend(angle, LeadEnd::A, Taken::Centre) };
    let found = told(&record(vec![bare(45.0), bare(120.0)]));
    near(found.stretch.unwrap().value, 0.012, "stretch");
    near(found.clr.unwrap().value.to_mm(), 130.0 / 1.025, "clr");
    assert_eq!(found.mark_offset, None);
    // Without a reading anywhere the radius is that of the arc.
    let unread = |angle| TestBend { reading: None, ..bare(angle) };
    let unread = record(vec![unread(45.0), unread(120.0)]);
    let found = told(&unread);
    assert_eq!((found.clr, found.constant), (None, None));
    near(found.formed_radius.unwrap().value.to_mm(), 130.0, "formed radius");
    assert_eq!(codes(&unread), ["not-measured", "not-measured", "formed-radius"]);
}

#[test]
fn a_wrong_figure_is_named_and_the_sort_of_it() {
    let bends = || {
        [20.0, 45.0, 70.0, 95.0, 120.0, 90.0, 60.0].map(|angle| SHOP.bend(angle, LeadEnd::A, Taken::Centre)).to_vec()
    };
    let off = |change: &dyn Fn(&mut TestBend)| {
        let mut bends = bends();
        change(&mut bends[3]);
        let record = record(bends);
        let found = told(&record);
        assert_eq!(found.furthest_off(), Some(3), "{:?}", found.bends);
        assert!(codes(&record).contains(&"outlier"));
        found.bends[3]
    };
    let angle = off(&|bend| bend.angle += Angle::deg(3.0));
    assert!(angle.angle.unwrap() > 3.0);
    let blank = off(&|bend| bend.blank = Some(Length::mm(910.0)));
    assert!(blank.blank.unwrap() > 3.0 && blank.mark.unwrap().abs() < 3.0, "{blank:?}");
    let mark = off(&|bend| bend.mark = Some(Length::mm(390.0)));
    assert!(mark.mark.unwrap().abs() > 3.0 && mark.blank.unwrap().abs() < 3.0, "{mark:?}");
    let sound = record(bends());
    assert!(told(&sound).bends.iter().all(|bend| bend.largest() < 1e-3));
}

#[test]
fn angles_too_near_each_other_count_as_one() {
    let bends = |angles: [f64; 2]| angles.map(|angle| SHOP.bend(angle, LeadEnd::A, Taken::Centre)).to_vec();
    assert!(told(&record(bends([88.0, 92.5]))).constant.is_none());
    let found = told(&record(bends([70.0, 99.0])));
    assert!(found.constant.is_some() && !found.is_well_founded());
    let found = told(&record(bends([70.0, 100.0])));
    assert!(found.is_well_founded());
    let (low, high) = found.good_for().unwrap();
    near(low.to_deg(), 50.0, "from");
    near(high.to_deg(), 120.0, "to");
}
