//! Three test bends out of one offcut: which angles, and how to cut and mark the pieces.

use crate::bender::{Bender, Die};
use crate::round::dial;
use crate::units::{Angle, Length, LengthUnit};

/// Die angles that lie well apart, the largest far enough for legs to tell the radius.
const DIE_ANGLES: [f64; 3] = [30.0, 75.0, 120.0];

/// How far the last one stays below the end of the die's groove.
const SHORT_OF_END: Angle = Angle::deg(5.0);

/// Straight tube, in ODs, that an angle gauge lies on and a tape runs along beside what clamp and follower need (common practice, no source).
const TO_MEASURE: f64 = 2.0;

/// One piece of the offcut with its bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suggestion {
    /// The reading to bend to.
    pub reading: Angle,
    /// Length of the piece.
    pub blank: Length,
    /// Its mark, from end A, which leads.
    pub mark: Length,
}

/// Three pieces with one bend each, for this die; lengths are whole steps of 10 mm, or of half an inch.
///
/// The angles that come out do not matter, as long as they lie apart: what is measured is how much came back. Ends A lead. Nothing is known of the mark
/// offset, so clamp and follower get what they need and two ODs more.
///
/// ```
/// use tubewright::calibrate::suggest;
/// # use tubewright::file::{Held, load_bender};
/// # let bender = "{ kind: bender, units: mm, motion: die-turns, hand: clockwise, bend_plane: horizontal, centre_height: 800,
/// #   dies: { d: { od: 40, clr: 120, max_angle: 195, clamp_length: 70, follower_length: 150 } } }";
/// # let files = Held::default().with("b.yaml", bender);
/// # let bender = load_bender(&files, std::path::Path::new("b.yaml")).expect("a sound bender");
/// let three = suggest(&bender, 0, tubewright::units::LengthUnit::Mm);
/// // The clamp's 70 and twice the OD of 40, up to 10: 150. The arc of 120 degrees on 120 is 251.3, the follower's 150, 80 more: 640.
/// assert_eq!((three[2].mark.to_mm(), three[2].blank.to_mm()), (150.0, 640.0));
/// ```
///
/// # Panics
/// Where the bender has no such die.
#[must_use]
pub fn suggest(bender: &Bender, die: usize, unit: LengthUnit) -> [Suggestion; 3] {
    let die = &bender.dies[die];
    let last = Angle::deg(DIE_ANGLES[2]).min((die.max_angle - SHORT_OF_END).max(die.max_angle / 2.0));
    DIE_ANGLES.map(|angle| {
        let turned = last * (angle / DIE_ANGLES[2]);
        let mark = up(die.grip_min.max(die.clamp_length) + die.od * TO_MEASURE, unit);
        let blank = up(mark + behind(die, turned), unit);
        let reading = dial(bender.pointer.reading(turned), bender.pointer.step);
        Suggestion { reading, blank, mark }
    })
}

/// Tube behind the start of the bend.
fn behind(die: &Die, turned: Angle) -> Length {
    die.clr * turned.to_rad() + die.tail_min.max(die.follower_length) + die.od * TO_MEASURE
}

/// Up to a whole step.
fn up(length: Length, unit: LengthUnit) -> Length {
    let step = if unit.is_imperial() { Length::inch(0.5) } else { Length::mm(10.0) };
    step * libm::ceil(length / step - 1e-9)
}
