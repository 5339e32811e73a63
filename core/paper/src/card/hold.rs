//! What has to be held before the clamp is opened.

use nalgebra::{Point3, Rotation3, Unit, Vector3};
use serde::Serialize;
use tubewright::bender::{BendMotion, BendPlane, Step};
use tubewright::body::{Bow, Placed, pieces_at};
use tubewright::job::Stock;
use tubewright::round::People;
use tubewright::units::Angle;

use crate::words::Moment;

/// Acceleration of free fall, m/s2 (standard value, exact by definition).
const GRAVITY: f64 = 9.80665;

/// A moment below this is not felt, N m.
const FELT: f64 = 0.05;

/// The side on which the bent tube wants to fall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Falls {
    /// The die's side.
    DieSide,
    /// The side away from the die.
    AwayFromDie,
    /// Toward the operator: the bend plane is vertical.
    TowardYou,
    /// Away from the operator.
    AwayFromYou,
}

/// The moment about the tube's own line at the die with which the bent tube wants to roll once the clamp is open.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hold {
    /// N m.
    pub moment_nm: f64,
    /// Where to.
    pub falls: Falls,
}

impl Hold {
    /// At the end of a step, the tube still clamped; `None` without a density or a wall, and where nothing is felt.
    pub(super) fn new(step: &Step<'_>, stock: &Stock) -> Option<Self> {
        let kg_per_mm = stock.kg_per_m()? * 1e-3;
        let angle = step.active().die_angle;
        let bender = step.bender;
        let sign = bender.hand.sign();
        let back = match bender.motion {
            BendMotion::DieTurns => 0.0,
            BendMotion::DieStands => -sign * angle.to_rad(),
        };
        // The line of the straight that lies in the follower.
        let turned = Rotation3::from_axis_angle(&Vector3::z_axis(), back);
        let on_line = turned * Point3::new(0.0, -sign * step.active().clr.to_mm(), 0.0);
        let line = turned * Vector3::x();
        let lever: Vector3<f64> = pieces_at(step, angle)
            .iter()
            .map(|piece| (middle(piece) - on_line) * ((piece.blank_to - piece.blank_from).to_mm().abs() * kg_per_mm))
            .sum();
        // kg mm square to the line and level: positive on the side of up x line.
        let moment = lever.dot(&bender.bend_plane.up().cross(&line)) * 1e-3 * GRAVITY;
        let falls = match bender.bend_plane {
            BendPlane::Horizontal if moment * sign > 0.0 => Falls::DieSide,
            BendPlane::Horizontal => Falls::AwayFromDie,
            BendPlane::Vertical { .. } if lever.z > 0.0 => Falls::TowardYou,
            BendPlane::Vertical { .. } => Falls::AwayFromYou,
        };
        (moment.abs() >= FELT).then_some(Self { moment_nm: moment.abs(), falls })
    }

    pub(super) fn words(&self, people: &People) -> Moment {
        let side = match self.falls {
            Falls::DieSide => "on the die's side",
            Falls::AwayFromDie => "on the side away from the die",
            Falls::TowardYou => "toward you",
            Falls::AwayFromYou => "away from you",
        };
        let moment = people.tenth(self.moment_nm);
        Moment::new(
            "HOLD",
            format!("before the clamp is opened: the bent tube wants to drop {side}, with {moment} N m."),
        )
    }
}

/// The middle of a piece's mass: half way along a straight, inside an arc by sin(a / 2) / (a / 2) of its radius.
fn middle(piece: &Placed) -> Point3<f64> {
    match piece.bow {
        Bow::Straight => nalgebra::center(&piece.from, &piece.to),
        Bow::Arc { centre, axis, angle, .. } => centre + spoke(piece.from - centre, axis, angle),
    }
}

fn spoke(first: Vector3<f64>, axis: Unit<Vector3<f64>>, angle: Angle) -> Vector3<f64> {
    let half = angle.to_rad() / 2.0;
    let inward = if half > 0.0 { libm::sin(half) / half } else { 1.0 };
    Rotation3::from_axis_angle(&axis, half) * first * inward
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_a_half_circle_lies_at_two_over_pi_of_its_radius() {
        let found = spoke(Vector3::x() * 100.0, Vector3::z_axis(), Angle::deg(180.0));
        assert!((found - Vector3::y() * (200.0 / core::f64::consts::PI)).norm() < 1e-9, "{found}");
    }
}
