//! Rules of thumb at a floor bender, one by one.
//!
//! Source: common practice, no source. Inches and degrees.

use nalgebra::{Point3, point};
use tubewright::bender::{Pointer, PointerSet};
use tubewright::centreline::{BendId, Centreline, Leg, Taken};
use tubewright::forming::Law;
use tubewright::round::People;
use tubewright::units::{Angle, Length, LengthUnit, length};

fn radius() -> Length {
    length("6 5/8", LengthUnit::Inch).expect("a length")
}

fn corner() -> Centreline {
    let leg = Leg { length: Length::inch(30.0), a: Taken::Centre, b: Taken::Centre };
    Centreline::from_legs(&[leg, leg], Length::inch(1.5), &[Angle::deg(45.0)], &[], &|_| radius()).expect("long legs")
}

#[test]
fn a_bend_of_45_on_6_5_8_starts_2_3_4_back_from_the_corner() {
    let back = corner().setback(BendId(0)).expect("a corner");
    assert!((back.to_inch() - 2.744).abs() < 5.1e-4);
    assert_eq!(People::inch().length_with_unit(back), "2 3/4 in");
}

#[test]
fn the_dial_runs_from_1_5_below_zero_to_47() {
    let pointer = Pointer { set_to: Angle::deg(-1.5), when: PointerSet::SlackOut, step: Angle::deg(0.5) };
    let law = Law { constant: Angle::deg(2.0), ..Law::new(0, radius(), Length::ZERO, None) };
    let people = People::inch();
    assert_eq!(people.dial(pointer.set_to, pointer.step), "-1.5");
    assert_eq!(people.dial(pointer.reading(law.die_angle(Angle::deg(45.0))), pointer.step), "47");
}

#[test]
fn a_drawing_that_says_135_for_a_corner_means_a_bend_of_45() {
    // Legs that enclose 135 degrees at their corner.
    let path: [Point3<f64>; 3] = [point![0.0, 0.0, 0.0], point![1000.0, 0.0, 0.0], point![2000.0, 1000.0, 0.0]];
    let (back, on) = (path[0] - path[1], path[2] - path[1]);
    assert!((back.angle(&on).to_degrees() - 135.0).abs() < 1e-9);
    let tube = Centreline::from_nodes(&path, &|_| radius()).expect("long legs");
    assert!((tube.rows.bends[0].angle.to_deg() - 45.0).abs() < 1e-9);
}

#[test]
fn legs_corner_to_corner_overstate_the_blank_by_0_285() {
    let tube = corner();
    assert!((tube.arcs().next().expect("one bend").to_inch() - 5.203).abs() < 5.1e-4);
    let legs: Length = tube.legs().into_iter().map(|leg| leg.expect("a corner")).sum();
    assert!(((legs - tube.developed()).to_inch() - 0.285).abs() < 5.1e-4);
    assert!((tube.gain().expect("a corner").to_inch() - 0.285).abs() < 5.1e-4);
}
