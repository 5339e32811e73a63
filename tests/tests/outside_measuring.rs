//! Legs taped on the outside of a bend, and what is taken off for it.
//!
//! Source: closed forms, computed independently to 1e-5: a leg taped outside reads OD / 2 x tan(a / 2) longer at each bend, inside as much
//! shorter; taped outside to outside, two legs exceed the blank by 2 (R + OD / 2) tan(a / 2) - R a. Inches, the last four rows millimetres.

use tubewright::centreline::{Centreline, Leg, Taken};
use tubewright::units::{Angle, Length};

/// OD, radius, bend angle; shift of a leg, gain on the centreline, deduction outside to outside.
const TABLE: [[f64; 6]; 12] = [
    [1.75, 6.0, 30.0, 0.23446, 0.07380, 0.54271],
    [1.75, 6.0, 45.0, 0.36244, 0.25817, 0.98305],
    [1.75, 6.0, 60.0, 0.50518, 0.64502, 1.65538],
    [1.75, 6.0, 90.0, 0.87500, 2.57522, 4.32522],
    [1.5, 4.5, 30.0, 0.20096, 0.05535, 0.45727],
    [1.5, 4.5, 45.0, 0.31066, 0.19363, 0.81495],
    [1.5, 4.5, 60.0, 0.43301, 0.48376, 1.34979],
    [1.5, 4.5, 90.0, 0.75000, 1.93142, 3.43142],
    [45.0, 135.0, 30.0, 6.02886, 1.66045, 13.71816],
    [45.0, 135.0, 45.0, 9.31981, 5.80891, 24.44852],
    [45.0, 135.0, 60.0, 12.99038, 14.51290, 40.49367],
    [45.0, 135.0, 90.0, 22.50000, 57.94250, 102.94250],
];

#[test]
fn the_deduction_is_as_computed_for_every_row() {
    for [od, radius, degrees, shift, gain, deduction] in TABLE {
        let taped = Length::mm(8.0 * radius);
        let tube = |taken| {
            let leg = Leg { length: taped, a: taken, b: taken };
            Centreline::from_legs(&[leg, leg], Length::mm(od), &[Angle::deg(degrees)], &[], &|_| Length::mm(radius))
                .expect("long legs")
        };
        let leg = |taken| tube(taken).legs()[0].expect("a corner").to_mm();
        let near =
            |found: f64, wanted: f64| assert!((found - wanted).abs() <= 1e-5, "{od} {degrees}: {found} {wanted}");
        near(taped.to_mm() - leg(Taken::Outside), shift);
        near(leg(Taken::Inside) - taped.to_mm(), shift);
        near(leg(Taken::Centre), taped.to_mm());
        near(tube(Taken::Centre).gain().expect("a corner").to_mm(), gain);
        near(2.0 * taped.to_mm() - tube(Taken::Outside).developed().to_mm(), deduction);
    }
}
