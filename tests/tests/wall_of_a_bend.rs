//! Wall and strain on the outside and the inside of a bend, by R/D.
//!
//! Source: the closed form with the neutral axis on the centreline and the volume kept, outside t 2R / (2R + D): common practice, no source. The figures
//! were computed from it and checked a second way; parts of the wall, and percent. Digits as printed.

use tubewright::forming::BentWall;
use tubewright::units::Length;

/// R/D; wall outside over wall, thinning in %, wall inside over wall, thickening in %, strain outside in %, order factor 1 + D/2R.
const TABLE: [[f64; 7]; 8] = [
    [1.5, 0.75000, 25.00, 1.50000, 50.00, 33.33, 1.3333],
    [2.0, 0.80000, 20.00, 1.33333, 33.33, 25.00, 1.2500],
    [2.5, 0.83333, 16.67, 1.25000, 25.00, 20.00, 1.2000],
    [3.0, 0.85714, 14.29, 1.20000, 20.00, 16.67, 1.1667],
    [3.5, 0.87500, 12.50, 1.16667, 16.67, 14.29, 1.1429],
    [4.0, 0.88889, 11.11, 1.14286, 14.29, 12.50, 1.1250],
    [5.0, 0.90909, 9.09, 1.11111, 11.11, 10.00, 1.1000],
    [6.0, 0.92308, 7.69, 1.09091, 9.09, 8.33, 1.0833],
];

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}

#[test]
fn the_wall_in_a_bend_is_that_of_the_table() {
    for [ratio, outside, thinner, inside, thicker, strain, order] in TABLE {
        // Of any size: 45 mm, and 1.5 in.
        for od in [Length::mm(45.0), Length::inch(1.5)] {
            let wall = BentWall::new(od * ratio, od);
            near(wall.outside, outside, 5.001e-6);
            near(100.0 * wall.thinning(), thinner, 5.001e-3);
            near(wall.inside, inside, 5.001e-6);
            near(100.0 * (wall.inside - 1.0), thicker, 5.001e-3);
            near(100.0 * wall.strain, strain, 5.001e-3);
            // The wall to order for one that is left: before over after, on the outside.
            near(1.0 / wall.outside, order, 5.001e-5);
        }
    }
}
