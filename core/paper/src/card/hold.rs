//! What has to be held before the clamp is opened.

use nalgebra::{Point3, Rotation3, Unit, Vector3};
use serde::Serialize;
use tubewright::bender::{BendMotion, BendPlane, Step};
use tubewright::body::{Bow, Placed, pieces_at};
use tubewright::job::Stock;
use tubewright::round::{GRAVITY, People};
use tubewright::units::Angle;

use crate::words::Moment;

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

impl Falls {
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::DieSide => "on the die's side",
            Self::AwayFromDie => "on the side away from the die",
            Self::TowardYou => "toward you",
            Self::AwayFromYou => "away from you",
        }
    }
}

/// The moment about the tube's own line at the die with which the bent tube wants to roll once the clamp is open.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hold {
    /// N m.
    pub moment_nm: f64,
    /// Where to.
    pub falls: Falls,
    /// The leg that drops, counted from end A: of the straights that stick out the one that pulls most that way.
    pub leg: usize,
}

impl Hold {
    /// At the end of a step, the tube still clamped; `None` without a density or a wall, and where nothing is felt.
    pub(super) fn new(step: &Step<'_>, stock: &Stock) -> Option<Self> {
        let kg_per_mm = stock.kg_per_m()? * 1e-3;
        let angle = step.active().die_angle;
        let bender = step.bender;
        let sign = bender.hand.sign();
        let (on_line, line) = trail_line(step, angle);
        let pieces = pieces_at(step, angle);
        // kg mm square to the line and level: positive on the side of up x line.
        let square = bender.bend_plane.up().cross(&line);
        let pull = |piece: &Placed| (middle(piece) - on_line).dot(&square) * mass(piece, kg_per_mm);
        let lever: f64 = pieces.iter().map(pull).sum();
        let moment = lever * 1e-3 * GRAVITY;
        let falls = match bender.bend_plane {
            BendPlane::Horizontal if moment * sign > 0.0 => Falls::DieSide,
            BendPlane::Horizontal => Falls::AwayFromDie,
            // Up is square to z, so that up x line lies along z.
            BendPlane::Vertical { .. } if moment * square.z > 0.0 => Falls::TowardYou,
            BendPlane::Vertical { .. } => Falls::AwayFromYou,
        };
        let drops = pieces
            .iter()
            .enumerate()
            .filter(|(_, piece)| matches!(piece.bow, Bow::Straight))
            .map(|(place, piece)| (place, pull(piece) * lever.signum()))
            .max_by(|(_, one), (_, other)| one.total_cmp(other))?;
        (moment.abs() >= FELT).then(|| Self { moment_nm: moment.abs(), falls, leg: leg(step, &pieces, drops.0) })
    }

    pub(super) fn words(&self, people: &People) -> Moment {
        let Self { leg, falls, moment_nm } = self;
        let (side, pull) = (falls.words(), people.pull(*moment_nm));
        Moment::new("HOLD", format!("leg {leg} before the clamp is opened: it drops {side}, as {pull}."))
    }
}

/// The number of the leg, from end A, that a straight is; of one that runs through bends that are not made yet the outermost.
fn leg(step: &Step<'_>, pieces: &[Placed], place: usize) -> usize {
    let bends = &step.blank.bends;
    let before = |blank: tubewright::units::Length| bends.iter().take_while(|bend| bend.end <= blank).count();
    if place + 1 == pieces.len() { bends.len() + 1 } else { before(pieces[place].blank_from) + 1 }
}

/// A point on the line of the straight that lies in the follower, and its direction toward the die's lead side.
pub(super) fn trail_line(step: &Step<'_>, angle: Angle) -> (Point3<f64>, Vector3<f64>) {
    let sign = step.bender.hand.sign();
    let back = match step.bender.motion {
        BendMotion::DieTurns => 0.0,
        BendMotion::DieStands => -sign * angle.to_rad(),
    };
    let turned = Rotation3::from_axis_angle(&Vector3::z_axis(), back);
    (turned * Point3::new(0.0, -sign * step.active().clr.to_mm(), 0.0), turned * Vector3::x())
}

/// Mass of a piece, kg.
pub(super) fn mass(piece: &Placed, kg_per_mm: f64) -> f64 {
    (piece.blank_to - piece.blank_from).to_mm().abs() * kg_per_mm
}

/// The middle of a piece's mass: half way along a straight, inside an arc by sin(a / 2) / (a / 2) of its radius.
pub(super) fn middle(piece: &Placed) -> Point3<f64> {
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
