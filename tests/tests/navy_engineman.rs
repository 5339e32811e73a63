//! The pipe-length problem of the Navy's manual: two legs and a square bend.
//!
//! Source: US Navy NAVEDTRA 14119, Engineman, chapter 16. Inches: legs of 48 and 72 on the centreline, one bend of 90 degrees on a
//! radius of 18; straights 30 and 54, arc 28.26 with the manual's constant of 1.57, whole length 112.26. Tolerance 0.02 for what the
//! constant rounds; the exact arc is 28.2743.

use tubewright::centreline::{BendId, Centreline, Leg, Taken};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

#[test]
fn the_pipe_is_as_long_as_the_manual_says() {
    let leg = |inches| Leg { length: Length::inch(inches), a: Taken::Centre, b: Taken::Centre };
    let radius = Length::inch(18.0);
    let pipe = Centreline::from_legs(&[leg(48.0), leg(72.0)], Length::inch(2.0), &[Angle::deg(90.0)], &[], &|_| radius)
        .expect("the legs are long enough");
    assert!((pipe.rows.bends[0].length.to_inch() - 30.0).abs() < 1e-9);
    assert!((pipe.rows.last.to_inch() - 54.0).abs() < 1e-9);
    let arc = pipe.arcs().next().expect("one bend").to_inch();
    assert!((arc - 28.26).abs() < 0.02 && (arc - 28.2743).abs() < 5e-5, "{arc}");
    let law = |_| Law::new(0, radius, Length::ZERO, None);
    let blank = Blank::new(&pipe, Length::inch(2.0), Length::ZERO, Length::ZERO, &law);
    let cut = blank.cut_length.to_inch();
    assert!((cut - 112.26).abs() < 0.02 && (cut - 112.2743).abs() < 5e-5, "{cut}");
    assert!((blank.mark(BendId(0), LeadEnd::A).to_inch() - 30.0).abs() < 1e-9);
}
