//! Laws from test bends: die angle against bend angle as a straight line, and radius with stretch from legs and blank.
//!
//! Sources: a law of a constant and a proportional part from two test bends is common practice, no source. The line through four bends is the ordinary
//! regression of the die angle on the bend angle, worked out independently with its covariance; radius and stretch are the closed forms gain = 2 R tan(a / 2) -
//! R a / (1 + e). Millimetres and degrees.

use std::path::Path;

use tubewright::calibrate::{Calibration, Record, calibrate};
use tubewright::file::{Held, load_test_bends};
use tubewright::forming::Law;
use tubewright::units::{Angle, Length};

const BENDER: &str = "kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies: { d: { od: 44.45, clr: 152.4, max_angle: 195, clamp_length: 70, follower_length: 150 } }
";

fn told(accuracy: &str, bends: &str) -> (Record, Calibration) {
    let record = format!(
        "kind: test-bends\nunits: mm\nbender: b.yaml\ndie: d\nmaterial: steel\ntube: {{ od: 44.45 }}\naccuracy: {{ {accuracy} }}\nbends:\n{bends}"
    );
    let files = Held::default().with("b.yaml", BENDER).with("r.yaml", record);
    let opened = load_test_bends(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let told = calibrate(&opened.record).unwrap_or_else(|fault| panic!("{fault}"));
    (opened.record, told)
}

fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

#[test]
fn two_bends_solve_the_law() {
    let (_, told) = told("angle: 0.2", "  - { reading: 30, angle: 27.6 }\n  - { reading: 95, angle: 90.3 }\n");
    let (constant, proportional) = (told.constant.unwrap().value, told.proportional.unwrap().value);
    near(1.0 + proportional, 1.036682616, 5.1e-10);
    near(constant.to_deg(), 1.387559809, 5.1e-10);
    let law = Law { constant, proportional, ..Law::new(0, Length::mm(100.0), Length::ZERO, None) };
    for (bend, set) in [(20.0, 22.121212), (45.0, 48.038278), (60.0, 63.588517), (90.0, 94.688995), (110.0, 115.422648)]
    {
        near(law.die_angle(Angle::deg(bend)).to_deg(), set, 5.1e-7);
    }
}

/// The regression takes the bend angles for exact and gives the readings one deviation: 0.077406, that of its own residuals.
#[test]
fn four_bends_are_fitted_as_by_regression() {
    const SET: [f64; 4] = [22.1, 47.9, 94.6, 125.8];
    const FOUND: [f64; 4] = [20.0, 45.0, 90.0, 120.0];
    let bends: String =
        SET.iter().zip(FOUND).map(|(set, found)| format!("  - {{ reading: {set}, angle: {found} }}\n")).collect();
    let (_, told) = told("angle: 1e-6, reading: 0.077406", &bends);
    let (constant, proportional) = (told.constant.unwrap(), told.proportional.unwrap());
    near(constant.value.to_deg(), 1.29418484, 5.1e-9);
    near(1.0 + proportional.value, 1.03717549, 5.1e-9);
    for ((set, found), left) in SET.into_iter().zip(FOUND).zip([0.062305, -0.067082, -0.039979, 0.044756]) {
        near(set - found * (1.0 + proportional.value) - constant.value.to_deg(), left, 5.1e-7);
    }
    // s = 0.077406 of two degrees of freedom, printed to six places: so the sum of squares over it is 2 to 3e-5.
    assert_eq!(told.freedom, 2);
    near(told.squares.unwrap(), 2.0, 3e-5);
    let sd = constant.sd.unwrap().to_deg();
    near(sd * sd, 6.20324e-3, 6.20324e-3 * 2e-5);
    near(proportional.sd.unwrap().powi(2), 9.95504e-7, 9.95504e-7 * 2e-5);
    let covariance = told.covariance.unwrap()[0][1].to_degrees();
    near(covariance, -6.84409e-5, 6.84409e-5 * 2e-5);
}

/// Blank 900, legs 500.0 and 467.9 on the centre, 90 degrees: a gain of 67.9, which without stretch is a radius of 158.199951.
#[test]
fn one_square_corner_tells_its_gain() {
    let (_, told) =
        told("length: 0.5, angle: 0.2", "  - { reading: 93, angle: 90, blank: 900, legs: [500.0, 467.9] }\n");
    assert_eq!((told.clr, told.stretch), (None, None));
    let at = told.lengths_at.unwrap();
    let gain = at.gain.unwrap().value.to_mm();
    near(gain, 67.9, 1e-9);
    let half = at.angle.to_rad() / 2.0;
    near(gain / (2.0 * (libm::tan(half) - half)), 158.199951, 5.1e-7);
}

/// Gains of 8.243862330 at 45 degrees and 219.640244871 at 120: radius 157.5, 155.632411 of blank a radian, stretch 0.012; 70.533180365 at 90.
#[test]
fn two_gains_tell_radius_and_stretch_apart() {
    let (_, told) = told(
        "length: 0.5, angle: 0.2",
        "  - { angle: 45, blank: 900, legs: [500, 408.243862330] }\n  - { angle: 120, blank: 900, legs: [500, 619.640244871] }\n",
    );
    let formed = told.formed_radius.unwrap().value.to_mm();
    let stretch = told.stretch.unwrap().value;
    near(formed, 157.5, 5e-8);
    near(stretch, 0.012, 5e-10);
    near(formed / (1.0 + stretch), 155.632411, 5.1e-7);
    near(2.0 * formed - formed / (1.0 + stretch) * core::f64::consts::FRAC_PI_2, 70.533180365, 5e-9);
}

/// 1 mm of gain at 45 degrees on a radius of 152 is 15 % of it.
#[test]
fn small_bends_alone_tell_no_radius() {
    let half = Angle::deg(22.5).to_rad();
    near(1.0 / (2.0 * (libm::tan(half) - half)) / 152.0, 0.15, 0.005);
    let (record, told) = told(
        "length: 0.5, angle: 0.2",
        "  - { reading: 24, angle: 22, blank: 900, legs: [500, 401] }\n  - { reading: 47, angle: 45, blank: 900, legs: [500, 407] }\n",
    );
    assert_eq!((told.clr, told.stretch), (None, None));
    let notes = told.notes(&record, &tubewright::round::People::mm());
    assert!(notes.iter().any(|note| note.code == "small-bend"));
}

/// A law is used up to about 20 degrees beyond what was measured (common practice, no source).
#[test]
fn beyond_what_was_measured_is_extrapolated() {
    let (_, told) = told("angle: 0.2", "  - { reading: 32, angle: 30 }\n  - { reading: 93, angle: 90 }\n");
    let (low, high) = told.good_for().unwrap();
    near(low.to_deg(), 10.0, 1e-9);
    near(high.to_deg(), 110.0, 1e-9);
}
