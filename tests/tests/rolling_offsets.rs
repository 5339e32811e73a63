//! Rolling offsets: an offset up and to the side at once.
//!
//! Sources: rise 30 5/8 and roll 17 5/8 at 45 degrees: common practice, no source (the published true offset is 35.334561692485; its last
//! subtraction is misprinted and not tested). The others: closed forms computed independently to 1e-6. Degrees; any unit of length.

use nalgebra::point;
use tubewright::centreline::Centreline;
use tubewright::units::{Length, LengthUnit, length};

/// Rise, roll, bend angle; true offset, travel, run, roll angle.
const TABLE: [(&str, &str, [f64; 5]); 6] = [
    ("30 5/8", "17 5/8", [45.0, 35.334562, 49.970616, 35.334562, 29.920866]),
    ("12", "16", [45.0, 20.0, 28.284271, 20.0, 53.130102]),
    ("10", "8", [30.0, 12.806248, 25.612497, 22.181073, 38.659808]),
    ("15", "20", [60.0, 25.0, 28.867513, 14.433757, 53.130102]),
    ("300", "400", [22.5, 500.0, 1306.562965, 1207.106781, 53.130102]),
    ("7", "24", [45.0, 25.0, 35.355339, 25.0, 73.739795]),
];

#[test]
fn every_rolling_offset_is_as_printed() {
    for (rise, roll, [degrees, offset, travel, run, roll_degrees]) in TABLE {
        let read = |text| length(text, LengthUnit::Mm).expect("a length").to_mm();
        let (rise, roll) = (read(rise), read(roll));
        let lead = 4.0 * offset;
        let path = [
            point![0.0, 0.0, 0.0],
            point![lead, 0.0, 0.0],
            point![lead + run, rise, roll],
            point![2.0 * lead + run, rise, roll],
        ];
        let tube = Centreline::from_nodes(&path, &|_| Length::mm(offset / 10.0)).expect("a tube that can be");
        let near = |found: f64, wanted: f64, to: f64| assert!((found - wanted).abs() <= to, "{found} is not {wanted}");
        let first = tube.rows.bends[0];
        near(first.angle.to_deg(), degrees, 3e-6);
        near(tube.rows.bends[1].angle.to_deg(), degrees, 3e-6);
        near(tube.rows.bends[1].rotation.to_deg(), 180.0, 1e-9);
        near(tube.legs()[1].expect("corners").to_mm(), travel, 1.1e-6);
        near(travel * libm::sin(first.angle.to_rad()), offset, 3e-6);
        // The plane of the bend leans from the rise toward the roll.
        let leaning = libm::atan2(-tube.normal.y, tube.normal.z).to_degrees();
        near(leaning, roll_degrees, 5.1e-7);
    }
}
