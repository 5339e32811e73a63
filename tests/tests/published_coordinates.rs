//! A coordinate set published as a problem without an answer: a flat Z in a tilted plane.
//!
//! Source of the points: common practice, no source. Expected figures: closed forms computed independently to 1e-6. No unit was given;
//! millimetres here. With radius 1.

use nalgebra::point;
use tubewright::centreline::{BendId, Centreline};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::Length;

#[test]
fn the_tilted_z_is_flat_and_its_half_turn_is_exact() {
    let path = [
        point![38.5202, -14.0264, 0.0],
        point![45.3142, -14.0264, 0.0],
        point![45.3142, -17.5214, 0.9654],
        point![48.6822, -17.5214, 0.9654],
    ];
    let tube = Centreline::from_nodes(&path, &|_| Length::mm(1.0)).expect("a tube that can be");
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() <= 5.1e-7, "{found} is not {wanted}");
    for (leg, wanted) in tube.legs().into_iter().zip([6.794000, 3.625882, 3.368000]) {
        near(leg.expect("corners").to_mm(), wanted);
    }
    for row in &tube.rows.bends {
        assert!((row.angle.to_deg() - 90.0).abs() < 1e-9);
    }
    // +180 and never -180, though rounding may leave either.
    assert!((tube.rows.bends[1].rotation.to_deg() - 180.0).abs() < 1e-9);
    for (straight, wanted) in tube.straights().zip([5.794, 1.625882, 2.368]) {
        near(straight.to_mm(), wanted);
    }
    let law = |_| Law::new(0, Length::mm(1.0), Length::ZERO, None);
    let blank = Blank::new(&tube, Length::mm(0.5), Length::ZERO, Length::ZERO, &law);
    near(blank.mark(BendId(0), LeadEnd::A).to_mm(), 5.794);
    near(blank.mark(BendId(1), LeadEnd::A).to_mm(), 8.990679);
    near(blank.cut_length.to_mm(), 12.929475);
}
