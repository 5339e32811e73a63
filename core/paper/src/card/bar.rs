//! A bar clamped square across the tube: it shows the turn itself, whatever the legs do.
//!
//! Levelled while the step before still lies in the bender, it stands after the turn by the turn's own angle, up to a quarter turn; beyond that the other
//! end of the bar is the one that is looked at, and half a turn reads level again. Only the top line tells which.

use nalgebra::{Rotation3, Vector3};
use serde::Serialize;
use tubewright::bender::{BendPlane, Bender};
use tubewright::forming::LeadEnd;
use tubewright::plan::{PlanStep, upward};
use tubewright::round::People;
use tubewright::units::Angle;

use super::unit;
use crate::words::Moment;

/// A leg that shows less of a degree of roll than this is read together with the bar: a level tells 0.2 degree, a bar 0.3.
const WELL: f64 = 0.6;

/// The end of the bar that is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BarEnd {
    /// On the die's side of the tube.
    DieSide,
    /// Toward the operator: the bend plane is vertical.
    TowardYou,
}

/// What a bar reads that was level in the step before.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bar {
    /// Its slope to level, positive where the end that is looked at stands up.
    #[serde(rename = "rise_deg", serialize_with = "unit::deg")]
    pub rise: Angle,
    /// The end that is looked at.
    pub end: BarEnd,
}

impl Bar {
    /// For a step, after the one before it.
    pub(super) fn new(bender: &Bender, before: &PlanStep, step: &PlanStep) -> Self {
        // Turning the tube clockwise, seen along +x from the trailing end, is right-handed about +x.
        let more = step.top - before.top;
        let turn = if step.lead == LeadEnd::A { more } else { -more };
        let up = upward(bender);
        let (level, end) = match bender.bend_plane {
            BendPlane::Horizontal => (up.cross(&Vector3::x()).normalize() * bender.hand.sign(), BarEnd::DieSide),
            BendPlane::Vertical { .. } => (Vector3::z(), BarEnd::TowardYou),
        };
        // Swapping the ends turns the tube about the die's axis: what was level on a bender that is not now leans the other way.
        let laid = if step.lead == before.lead { level } else { Vector3::new(-level.x, -level.y, level.z) };
        let bar = Rotation3::from_axis_angle(&Vector3::x_axis(), turn.to_rad()) * laid;
        let seen = if bar.dot(&level) < 0.0 { -bar } else { bar };
        Self { rise: Angle::rad(libm::atan2(seen.dot(&up), seen.cross(&up).norm())), end }
    }

    /// Whether the words of a step tell it: where no leg shows the roll well.
    pub(super) fn is_told(&self, step: &PlanStep) -> bool {
        step.gauge.is_none_or(|gauge| gauge.shown < WELL)
    }

    /// Before the clamp is opened in the step before.
    pub(super) fn set(next: usize) -> Moment {
        Moment::new(
            "BAR",
            format!(
                "before the clamp is opened: clamp a bar square across the tube, level. It sets the turn of step {next}."
            ),
        )
    }

    pub(super) fn words(&self, people: &People) -> Moment {
        let end = match self.end {
            BarEnd::DieSide => "its end on the die's side",
            BarEnd::TowardYou => "its end toward you",
        };
        let words = if people.is_none(self.rise) {
            "the bar across the tube reads level.".to_owned()
        } else if people.is_none(Angle::deg(90.0) - self.rise.abs()) {
            "the bar across the tube stands upright.".to_owned()
        } else {
            let way = if self.rise > Angle::ZERO { "UP" } else { "DOWN" };
            format!("the bar across the tube reads {} degrees, {end} {way}.", people.angle(self.rise.abs()))
        };
        Moment::new("BAR", words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_that_is_read_has_an_end_and_a_way() {
        let people = People::mm();
        let bar = |rise, end| Bar { rise: Angle::deg(rise), end }.words(&people).words;
        assert_eq!(
            bar(34.4, BarEnd::DieSide),
            "the bar across the tube reads 34.4 degrees, its end on the die's side UP."
        );
        assert_eq!(bar(-12.0, BarEnd::TowardYou), "the bar across the tube reads 12 degrees, its end toward you DOWN.");
        assert_eq!(bar(-89.99, BarEnd::DieSide), "the bar across the tube stands upright.");
        assert_eq!(bar(0.01, BarEnd::DieSide), "the bar across the tube reads level.");
    }
}
