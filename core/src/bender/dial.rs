//! The dial: what the pointer reads at a die angle, and near which readings the drive pin is moved.

use super::{Pin, Pointer, PointerSet};
use crate::units::Angle;

impl Pointer {
    /// What the pointer reads when the die has turned so far since the first bite.
    ///
    /// With the slack taken out before the pointer is set, it runs through the slack up to 0 until the tube begins to bend, and reads
    /// the die angle from there on. Set at the first bite it reads `set_to` more than the die angle.
    #[must_use]
    pub fn reading(&self, die_angle: Angle) -> Angle {
        match self.when {
            PointerSet::SlackOut => die_angle,
            PointerSet::FirstBite => self.set_to + die_angle,
        }
    }
}

/// What arithmetic leaves of a target that equals a reading: 1e-9 degree, far below any dial.
const SLACK: Angle = Angle::deg(1e-9);

/// More moves than anybody makes: what is beyond is left out rather than filling the memory.
const MOST_MOVES: usize = 1000;

impl Pin {
    /// Readings near which the pin is moved on the way to a target: the first, then one every so often, all below the target.
    ///
    /// At most 1000 of them.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most a thousand moves")]
    pub fn moves(&self, target: Angle) -> Vec<Angle> {
        (0..MOST_MOVES)
            .map(|count| self.first + self.every * count as f64)
            .take_while(|reading| *reading < target - SLACK)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(readings: &[Angle]) -> Vec<i64> {
        readings.iter().map(|reading| libm::round(reading.to_deg()) as i64).collect()
    }

    #[test]
    fn the_pin_is_moved_below_the_target_only() {
        let pin = Pin { first: Angle::deg(40.0), every: Angle::deg(45.0) };
        assert_eq!(degrees(&pin.moves(Angle::deg(92.9))), [40, 85]);
        assert_eq!(degrees(&pin.moves(Angle::deg(40.0))), [0; 0]);
        assert_eq!(degrees(&pin.moves(Angle::deg(38.0) * 1.05 + Angle::deg(0.1 + 1e-12))), [0; 0]);
        assert_eq!(degrees(&pin.moves(Angle::deg(180.0))), [40, 85, 130, 175]);
    }

    #[test]
    fn a_pin_that_does_not_advance_does_not_fill_the_memory() {
        let pin = Pin { first: Angle::deg(1.0), every: Angle::ZERO };
        assert_eq!(pin.moves(Angle::deg(10.0)).len(), MOST_MOVES);
    }

    /// A dial preset 1.5 below zero for the slack, 45 degrees and 2 for springback: it is read up to 47 (common practice, no source).
    #[test]
    fn the_reading_counts_from_the_first_bite() {
        let slack = Pointer { set_to: Angle::deg(-1.5), when: PointerSet::SlackOut, step: Angle::deg(0.5) };
        assert!((slack.reading(Angle::deg(47.0)).to_deg() - 47.0).abs() < 1e-12);
        let bite = Pointer { when: PointerSet::FirstBite, ..slack };
        assert!((bite.reading(Angle::deg(47.0)).to_deg() - 45.5).abs() < 1e-12);
    }
}
