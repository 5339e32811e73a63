//! What springback leaves of a bend: a larger radius at a smaller angle, the arc's length kept.
//!
//! Sources: closed forms R' = R p / a, T' = R' tan(a / 2), arc = R' a, computed independently, where p is the die angle without slack; the
//! law of two test bends (30 gives 27.6, 95 gives 90.3) solved by hand. Millimetres but for the last row, which is in inches; degrees.

use tubewright::centreline::{BendId, Centreline, Row, Rows, setback};
use tubewright::forming::Law;
use tubewright::units::{Angle, Length};

/// Radius of the die, die angle, bend angle; formed radius, setback on the die, setback formed, difference, arc.
const TABLE: [[f64; 8]; 3] = [
    [152.4, 93.0, 90.0, 157.480000, 152.400000, 157.480000, 5.080000, 247.369006],
    [114.3, 47.0, 45.0, 119.380000, 47.344610, 49.448815, 2.104205, 93.760833],
    [6.0, 93.5, 90.0, 6.233333, 6.000000, 6.233333, 0.233333, 9.791297],
];

fn law(clr: f64, constant: f64, proportional: f64) -> Law {
    Law { constant: Angle::deg(constant), proportional, ..Law::new(0, Length::mm(clr), Length::ZERO, None) }
}

fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

#[test]
fn the_formed_radius_moves_the_corner_as_computed() {
    for [clr, die_angle, degrees, formed, on_die, grown, by, arc] in TABLE {
        let law = law(clr, 0.0, die_angle / degrees - 1.0);
        let angle = Angle::deg(degrees);
        near(law.die_angle(angle).to_deg(), die_angle, 1e-9);
        near(law.formed_radius().to_mm(), formed, 5.1e-7);
        let setback_on = |radius| setback(radius, angle).expect("a corner").to_mm();
        near(setback_on(law.clr), on_die, 5.1e-7);
        near(setback_on(law.formed_radius()), grown, 5.1e-7);
        near(setback_on(law.formed_radius()) - setback_on(law.clr), by, 5.1e-7);
        let rows = Rows { bends: vec![Row { length: Length::ZERO, rotation: Angle::ZERO, angle }], last: Length::ZERO };
        let tube = Centreline::from_rows(&rows, &|_| law.formed_radius()).expect("one bend");
        near(tube.developed().to_mm(), arc, 5.1e-7);
        near(tube.setback(BendId(0)).expect("a corner").to_mm(), grown, 5.1e-7);
    }
}

#[test]
fn without_growth_the_formed_radius_is_the_dies() {
    near(Law { radius_growth: false, ..law(152.4, 1.0, 0.03) }.formed_radius().to_mm(), 152.4, 0.0);
}

#[test]
fn the_constant_part_is_slack_and_grows_no_radius() {
    near(law(100.0, 5.0, 0.0).formed_radius().to_mm(), 100.0, 0.0);
}

#[test]
fn the_law_of_two_test_bends_sets_every_angle_as_computed() {
    let law = law(100.0, 1.387559809, 0.036682616);
    for (bend, set) in [
        (20.0, 22.121212),
        (45.0, 48.038278),
        (60.0, 63.588517),
        (90.0, 94.688995),
        (110.0, 115.422648),
        (27.6, 30.0),
        (90.3, 95.0),
    ] {
        near(law.die_angle(Angle::deg(bend)).to_deg(), set, 6e-7);
    }
}
