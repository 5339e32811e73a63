//! A rotation as a distance around the tube, and as the slope of a leg.
//!
//! Sources: arc = pi OD rotation / 360 (common practice, no source), and the slope of the leg before a bend, asin(sin a sin r), with the
//! tube level and the bend plane horizontal at r = 0; both tables computed independently, the second also by vectors. Degrees; inches
//! and millimetres as marked; tolerance half the last printed digit.

#![expect(clippy::approx_constant, reason = "figures as printed")]

use tubewright::centreline::{BendId, Centreline, Row, Rows, Segment};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length, LengthUnit};

const ROTATIONS: [f64; 7] = [1.0, 10.0, 30.0, 45.0, 90.0, 120.0, 180.0];

const ARCS: [(f64, LengthUnit, [f64; 7]); 10] = [
    (1.000, LengthUnit::Inch, [0.00873, 0.08727, 0.26180, 0.39270, 0.78540, 1.04720, 1.57080]),
    (1.250, LengthUnit::Inch, [0.01091, 0.10908, 0.32725, 0.49087, 0.98175, 1.30900, 1.96350]),
    (1.500, LengthUnit::Inch, [0.01309, 0.13090, 0.39270, 0.58905, 1.17810, 1.57080, 2.35619]),
    (1.625, LengthUnit::Inch, [0.01418, 0.14181, 0.42542, 0.63814, 1.27627, 1.70170, 2.55254]),
    (1.750, LengthUnit::Inch, [0.01527, 0.15272, 0.45815, 0.68722, 1.37445, 1.83260, 2.74889]),
    (2.000, LengthUnit::Inch, [0.01745, 0.17453, 0.52360, 0.78540, 1.57080, 2.09440, 3.14159]),
    (25.0, LengthUnit::Mm, [0.21817, 2.18166, 6.54498, 9.81748, 19.63495, 26.17994, 39.26991]),
    (38.0, LengthUnit::Mm, [0.33161, 3.31613, 9.94838, 14.92257, 29.84513, 39.79351, 59.69026]),
    (45.0, LengthUnit::Mm, [0.39270, 3.92699, 11.78097, 17.67146, 35.34292, 47.12389, 70.68583]),
    (50.0, LengthUnit::Mm, [0.43633, 4.36332, 13.08997, 19.63495, 39.26991, 52.35988, 78.53982]),
];

const TURNS: [f64; 6] = [15.0, 30.0, 45.0, 60.0, 75.0, 90.0];

const SLOPES: [(f64, [f64; 6]); 9] = [
    (15.0, [3.8410, 7.4355, 10.5453, 12.9525, 14.4775, 15.0000]),
    (20.0, [5.0785, 9.8466, 13.9954, 17.2294, 19.2910, 20.0000]),
    (30.0, [7.4355, 14.4775, 20.7048, 25.6589, 28.8791, 30.0000]),
    (45.0, [10.5453, 20.7048, 30.0000, 37.7612, 43.0795, 45.0000]),
    (60.0, [12.9525, 25.6589, 37.7612, 48.5904, 56.7741, 60.0000]),
    (75.0, [14.4775, 28.8791, 43.0795, 56.7741, 68.9094, 75.0000]),
    (90.0, [15.0000, 30.0000, 45.0000, 60.0000, 75.0000, 90.0000]),
    (110.0, [14.0761, 28.0243, 41.6411, 54.4687, 65.1858, 70.0000]),
    (135.0, [10.5453, 20.7048, 30.0000, 37.7612, 43.0795, 45.0000]),
];

/// Two bends with a rotation between them.
fn tube(first: f64, rotation: f64) -> Centreline {
    let row =
        |rotation, angle| Row { length: Length::mm(200.0), rotation: Angle::deg(rotation), angle: Angle::deg(angle) };
    let rows = Rows { bends: vec![row(0.0, first), row(rotation, 40.0)], last: Length::mm(200.0) };
    Centreline::from_rows(&rows, &|_| Length::mm(60.0)).expect("a tube that can be")
}

fn blank(rotation: f64, od: Length) -> Blank {
    let law = |_| Law::new(0, Length::mm(60.0), Length::ZERO, None);
    Blank::new(&tube(45.0, rotation), od, Length::ZERO, Length::ZERO, &law)
}

#[test]
fn a_top_line_lies_around_the_tube_as_far_as_printed() {
    for (od, unit, wanted) in ARCS {
        for (rotation, wanted) in ROTATIONS.into_iter().zip(wanted) {
            let around = blank(rotation, Length::of(od, unit)).top_arc(BendId(1), LeadEnd::A).to(unit);
            assert!((around - wanted).abs() <= 5.1e-6, "OD {od}, {rotation} degrees: {around} is not {wanted}");
        }
    }
}

#[test]
fn a_turn_to_the_left_is_what_is_left_of_the_girth() {
    let od = Length::mm(45.0);
    let girth = 141.37167;
    for rotation in [-1.0, -90.0, -120.0] {
        let around = blank(rotation, od).top_arc(BendId(1), LeadEnd::A).to_mm();
        assert!((around - girth * (1.0 + rotation / 360.0)).abs() < 1e-4, "{rotation}: {around}");
    }
    // From the other end the top line of the first bend lies half a girth around.
    assert!((blank(30.0, od).top_arc(BendId(0), LeadEnd::B).to_mm() - girth / 2.0).abs() < 1e-4);
}

#[test]
fn a_thirty_second_of_an_inch_on_an_od_of_1_75_is_two_degrees() {
    let a_degree = blank(1.0, Length::inch(1.75)).top_arc(BendId(1), LeadEnd::A);
    assert!((Length::inch(1.0 / 32.0) / a_degree - 2.05).abs() < 5e-3);
}

#[test]
fn the_leg_before_a_bend_rises_as_printed_when_the_tube_is_turned() {
    for (angle, wanted) in SLOPES {
        for (rotation, wanted) in TURNS.into_iter().zip(wanted) {
            // With the plane of bend 2 level, the first leg's slope is the angle between it and that plane.
            let tube = tube(angle, rotation);
            let Segment::Arc { normal, .. } = tube.segments()[3] else { panic!("the fourth piece is bend 2") };
            let out_of_plane = tube.direction.dot(&normal);
            let slope = libm::asin(out_of_plane.abs()).to_degrees();
            assert!((slope - wanted).abs() <= 5.1e-5, "{angle} turned by {rotation}: {slope} is not {wanted}");
        }
    }
}
