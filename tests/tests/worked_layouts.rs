//! Worked layouts of the trade. Inches.
//!
//! Sources: common practice, no source, but for the two at the end, which are closed forms computed independently to 1e-6.
//! Printed figures to half their last digit; layouts for a tape to 1/32.

use tubewright::centreline::{BendId, Centreline, Leg, Taken};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::round::People;
use tubewright::units::{Angle, Length};

fn leg(inches: f64) -> Leg {
    Leg { length: Length::inch(inches), a: Taken::Centre, b: Taken::Centre }
}

fn tube(legs: &[Leg], od: f64, degrees: &[f64], radius: f64) -> (Centreline, Blank) {
    let bends: Vec<Angle> = degrees.iter().copied().map(Angle::deg).collect();
    let radius = Length::inch(radius);
    let tube = Centreline::from_legs(legs, Length::inch(od), &bends, &[], &|_| radius).expect("a tube that can be");
    let law = |_| Law::new(0, radius, Length::ZERO, None);
    let blank = Blank::new(&tube, Length::inch(od), Length::ZERO, Length::ZERO, &law);
    (tube, blank)
}

fn near(found: Length, wanted: f64, tolerance: f64) {
    let found = found.to_inch();
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

#[test]
fn a_hoop_25_to_the_outside_starts_its_bend_18_from_the_middle() {
    let half = Leg { b: Taken::Outside, ..leg(25.0) };
    let (_, blank) = tube(&[half, leg(40.0)], 2.0, &[90.0], 6.0);
    near(blank.mark(BendId(0), LeadEnd::A), 18.0, 1e-9);
}

#[test]
fn a_small_rectangle_of_5_by_7_keeps_straights_of_3_3_4_and_5_3_4() {
    let (tube, _) = tube(&[leg(4.0), leg(5.0), leg(7.0), leg(4.0)], 0.25, &[90.0; 3], 0.625);
    near(tube.arcs().next().expect("three bends"), 0.981748, 5e-7);
    near(tube.rows.bends[1].length, 3.75, 1e-9);
    near(tube.rows.bends[2].length, 5.75, 1e-9);
}

#[test]
fn the_constant_of_0_0175_reads_a_quarter_of_a_percent_high() {
    let (tube, _) = tube(&[leg(20.0), leg(20.0)], 1.0, &[70.0], 8.0);
    let arc = tube.arcs().next().expect("one bend");
    near(arc, 9.773844, 5e-7);
    let by_constant = 0.0175 * 70.0 * 8.0;
    assert!((by_constant - 9.80_f64).abs() < 1e-9);
    assert!((by_constant / arc.to_inch() - 1.0027).abs() < 5e-5);
}

#[test]
fn two_square_bends_60_apart_start_51_7_16_apart() {
    let (tube, blank) = tube(&[leg(40.0), leg(60.0), leg(40.0)], 2.0, &[90.0, 90.0], 20.0);
    let people = People::inch();
    let gain = tube.gain().expect("both bends have corners") / 2.0;
    near(gain, 8.5841, 5e-5);
    near(gain, 8.0 + 9.0 / 16.0, 1.0 / 32.0);
    let apart = blank.mark(BendId(1), LeadEnd::A) - blank.mark(BendId(0), LeadEnd::A);
    near(apart, 51.4159, 5e-5);
    assert_eq!(people.length(apart), "51 7/16");
    assert!((apart.to_inch() / 60.0 - 0.85693).abs() < 5e-6);
}

#[test]
fn legs_of_20_on_a_radius_of_6() {
    for (degrees, setback, mark, cut) in [(90.0, 6.0, 14.0, 37.42478), (45.0, 2.485281, 17.514719, 39.741826)] {
        let (tube, blank) = tube(&[leg(20.0), leg(20.0)], 1.5, &[degrees], 6.0);
        near(tube.setback(BendId(0)).expect("it has a corner"), setback, 5.1e-7);
        near(blank.mark(BendId(0), LeadEnd::A), mark, 5.1e-7);
        near(blank.cut_length, cut, 5.1e-6);
    }
}
