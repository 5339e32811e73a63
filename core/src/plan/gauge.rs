//! A leg that shows the roll of the tube on a level.
//!
//! With the tube laid in for a step at die angle 0, every leg that is bent out of the tube's line has a slope to level. One degree of
//! roll about the tube's line changes that slope by more or less: a leg square to the line shows the roll whole, one that runs close to
//! the line hardly at all. The leg that shows it best is named, if it shows at least [`SHOWN`] of it.
//!
//! The directions are found by walking outward from the tangent point through the bends that are made: before bend j the travel
//! direction is turned back by its bend angle about its normal, and normals differ by the rotations between them.

use nalgebra::{Rotation3, Unit, Vector3};

use crate::bender::{BendPlane, Bender};
use crate::clearance::Step;
use crate::forming::LeadEnd;
use crate::units::Angle;

/// Least part of a degree of roll that a leg must show to be named: below it a level says too little (common practice, no source).
const SHOWN: f64 = 0.3;

/// To which side of the tube's line a leg points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The die's side.
    Die,
    /// Away from the die.
    Away,
}

/// A leg that sticks out, and its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// The leg, counted from end A, from 1.
    pub leg: usize,
    /// Slope to level: positive where the leg rises as one follows the tube away from the die.
    pub rise: Angle,
    /// The side to which it points: 0 and 180 degrees of roll read alike on a level.
    pub side: Side,
    /// How many degrees the slope changes for one degree of roll.
    pub shown: f64,
}

/// The leg whose slope shows the roll best with the tube laid in for this step, or `None` where none shows it.
///
/// Exact up to rounding of the order of 1e-12 degree; of legs that are equally good the first from end A.
pub(super) fn gauge(step: &Step<'_>) -> Option<Gauge> {
    let up = upward(step.bender);
    let sign = step.bender.hand.sign();
    let mut best: Option<(f64, Gauge)> = None;
    for (leg, out) in legs(step) {
        let shown = shown(out, up);
        if shown < SHOWN || best.is_some_and(|(most, _)| shown <= most + 1e-9) {
            continue;
        }
        let side = if out.y * sign > 0.0 { Side::Die } else { Side::Away };
        best = Some((shown, Gauge { leg: leg + 1, rise: slope(out, up), side, shown }));
    }
    best.map(|(_, gauge)| gauge)
}

/// The upward direction in the bender frame, the bender's own tilt taken in.
///
/// It is what slopes are read against, and nothing else: heights and gaps are measured in the bender frame as it is.
#[must_use]
pub fn upward(bender: &Bender) -> Unit<Vector3<f64>> {
    let up = bender.bend_plane.up();
    let Some(level) = bender.level else { return up };
    let along = libm::sin(level.along.to_rad());
    let tilted = match bender.bend_plane {
        BendPlane::Horizontal => {
            let across = libm::sin(level.across.to_rad()) * bender.hand.sign();
            Vector3::new(along, across, (1.0 - along * along - across * across).max(0.0).sqrt())
        }
        BendPlane::Vertical { .. } => Vector3::new(along, (1.0 - along * along).max(0.0).sqrt() * up.y.signum(), 0.0),
    };
    Unit::try_new(tilted, 0.0).unwrap_or(up)
}

fn slope(out: Unit<Vector3<f64>>, up: Unit<Vector3<f64>>) -> Angle {
    Angle::rad(libm::atan2(out.dot(&up), out.cross(&up).norm()))
}

/// How many degrees the slope changes for one degree of roll, the better of the two ways to turn.
fn shown(out: Unit<Vector3<f64>>, up: Unit<Vector3<f64>>) -> f64 {
    let at = slope(out, up);
    let turned = |degrees: f64| {
        let (sin, cos) = libm::sincos(Angle::deg(degrees).to_rad());
        let rolled = Vector3::new(out.x, out.y * cos - out.z * sin, out.y * sin + out.z * cos);
        (slope(Unit::new_unchecked(rolled), up) - at).abs().to_deg()
    };
    turned(1.0).max(turned(-1.0))
}

/// Each leg that is not in line with the tube at the die, from end A, with its direction away from the die.
fn legs(step: &Step<'_>) -> Vec<(usize, Unit<Vector3<f64>>)> {
    let sign = step.bender.hand.sign();
    // Travel from A to B at the tangent point, and the normal of the bend about to be made.
    let (travel, normal) = match step.lead {
        LeadEnd::A => (-Vector3::x(), Vector3::z() * -sign),
        LeadEnd::B => (Vector3::x(), Vector3::z() * sign),
    };
    let bends = &step.blank.bends;
    let here = step.bend.0;
    let mut found = Vec::new();

    // Toward end A: leg j lies before bend j.
    let (mut direction, mut about, mut bent) = (travel, normal, false);
    for place in (0..=here).rev() {
        if place < here {
            about = turned(about, direction, -bends[place + 1].rotation.to_rad());
            if step.made[place] {
                direction = turned(direction, about, -bends[place].angle.to_rad());
                bent = true;
            }
        }
        if bent {
            found.push((place, Unit::new_normalize(-direction)));
        }
    }
    found.reverse();

    // Toward end B: leg j + 1 lies after bend j.
    let (mut direction, mut about, mut bent) = (travel, normal, false);
    for (place, bend) in bends.iter().enumerate().skip(here + 1) {
        about = turned(about, direction, bend.rotation.to_rad());
        if step.made[place] {
            direction = turned(direction, about, bend.angle.to_rad());
            bent = true;
        }
        if bent {
            found.push((place + 1, Unit::new_normalize(direction)));
        }
    }
    found
}

fn turned(vector: Vector3<f64>, about: Vector3<f64>, by: f64) -> Vector3<f64> {
    Rotation3::from_axis_angle(&Unit::new_normalize(about), by) * vector
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bender::{Hand, Level};
    use crate::centreline::BendId;
    use crate::clearance::testing;
    use crate::forming::Blank;

    fn bender(hand: Hand, bend_plane: BendPlane) -> Bender {
        Bender { hand, bend_plane, ..testing::bender() }
    }

    /// A tube of two bends: the first of `theta`, the second turned by `rho` against it.
    fn blank(theta: f64, rho: f64) -> Blank {
        testing::blank(&[(400.0, 0.0, theta), (400.0, rho, 30.0)], 400.0, 100.0, 38.0)
    }

    /// The gauge of bend 2 after bend 1, or of bend 1 after bend 2 with the other end leading.
    fn found(bender: &Bender, theta: f64, rho: f64, lead: LeadEnd) -> Option<Gauge> {
        let blank = blank(theta, rho);
        gauge(&Step { bender, blank: &blank, bend: BendId(1), lead, made: &[true, false] })
    }

    /// Elevation of a leg turned out of the bend plane: asin(sin theta sin rho), and a clear sign: turned clockwise as seen from the trailing
    /// end, the leg on the die's side of an anticlockwise bender rises.
    #[test]
    fn the_slope_is_that_of_a_leg_turned_out_of_the_plane() {
        let bender = bender(Hand::Anticlockwise, BendPlane::Horizontal);
        for (theta, rho, wanted) in [
            (30.0, 15.0, 7.4355),
            (45.0, 45.0, 30.0),
            (90.0, 75.0, 75.0),
            (60.0, 60.0, 48.5904),
            (110.0, 30.0, 28.0243),
            (135.0, 60.0, 37.7612),
            (45.0, -45.0, -30.0),
            (60.0, 120.0, 48.5904),
        ] {
            let gauge = found(&bender, theta, rho, LeadEnd::A).unwrap();
            assert_eq!(gauge.leg, 1);
            assert!((gauge.rise.to_deg() - wanted).abs() < 5e-5, "{theta} {rho}: {gauge:?}");
            assert_eq!(gauge.side, if rho.abs() < 90.0 { Side::Die } else { Side::Away }, "{theta} {rho}");
        }
    }

    #[test]
    fn a_poor_pointer_is_not_named() {
        let bender = bender(Hand::Anticlockwise, BendPlane::Horizontal);
        // The slope changes by sin theta cos rho / cos e a degree: 0.0998 and 0.277 here.
        assert_eq!(found(&bender, 30.0, 80.0, LeadEnd::A), None);
        assert_eq!(found(&bender, 30.0, 60.0, LeadEnd::A), None);
        assert!(found(&bender, 60.0, 75.0, LeadEnd::A).is_some());
        let blank = blank(30.0, 0.0);
        let first = Step { bender: &bender, blank: &blank, bend: BendId(0), lead: LeadEnd::A, made: &[false, false] };
        assert_eq!(gauge(&first), None);
    }

    #[test]
    fn the_other_hand_turns_every_rise_into_a_fall() {
        let clockwise = bender(Hand::Clockwise, BendPlane::Horizontal);
        let gauge = found(&clockwise, 45.0, 45.0, LeadEnd::A).unwrap();
        assert!((gauge.rise.to_deg() + 30.0).abs() < 1e-9);
        assert_eq!(gauge.side, Side::Die);
    }

    /// With lead B the bend that is made trails; its leg runs away from the die behind the follower.
    #[test]
    fn a_trailing_leg_is_read_away_from_the_die() {
        let bender = bender(Hand::Anticlockwise, BendPlane::Horizontal);
        let gauge = found(&bender, 90.0, 90.0, LeadEnd::B).unwrap();
        assert_eq!(gauge.leg, 1);
        assert!((gauge.rise.to_deg().abs() - 90.0).abs() < 1e-6);
    }

    #[test]
    fn a_bender_out_of_level_tilts_the_upward_direction() {
        let mut bender = bender(Hand::Anticlockwise, BendPlane::Horizontal);
        bender.level = Some(Level { along: Angle::deg(2.0), across: Angle::deg(-1.0) });
        // A square leg in the bend plane lies along y, on the die's side: it has the tilt across.
        let gauge = found(&bender, 90.0, 0.0, LeadEnd::A).unwrap();
        assert!((gauge.rise.to_deg() + 1.0).abs() < 1e-9, "{gauge:?}");
    }

    #[test]
    fn in_a_vertical_plane_the_slope_is_against_its_own_up() {
        let up = Unit::new_normalize(Vector3::new(0.0, 1.0, 0.0));
        let bender = bender(Hand::Anticlockwise, BendPlane::Vertical { up });
        // In the bend plane the leg climbs by the bend angle, and a little roll changes that next to nothing.
        assert_eq!(found(&bender, 60.0, 0.0, LeadEnd::A), None);
        let gauge = found(&bender, 60.0, 60.0, LeadEnd::A).unwrap();
        assert!((gauge.rise.to_deg() - 25.658_9).abs() < 5e-5, "{gauge:?}");
    }
}
