//! How a part of the tube moves as an obstacle sees it, and how fast at most.
//!
//! In the frame in which the die turns (everything turned back where the die stands) a body does one of three things
//! ([`Ride`]), and so do the parts of the tube. Seen from the body, a point that lies at p at die angle 0 is then at
//!
//! ```text
//!   X(a) = R(turn a) (p + push a x) - back a x        turn in {-1, 0, 1}, R about z
//!
//!   |X''| <= |turn| (distance of p + push a x from z + 2 push)
//! ```
//!
//! so that over a range of die angles the way that X goes along any direction is known from its speed at the middle, up
//! to half the square of half the range times that bound. Nothing moves along z.

use glam::DVec3;

use super::Course;
use crate::bender::{BendMotion, Carrier, Follower};

/// What a body does during a bend, seen with the die turning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ride {
    /// It stands.
    Stands,
    /// It turns with the die.
    Turns,
    /// It moves along with the trailing part.
    Travels,
}

impl Ride {
    /// A follower that travels does so where the die turns; where the die stands it swings about it.
    pub(crate) const fn of(on: Carrier, motion: BendMotion, follower: Follower) -> Self {
        match (on, motion, follower) {
            (Carrier::Frame, BendMotion::DieTurns, _) => Self::Stands,
            (Carrier::Frame, BendMotion::DieStands, _) | (Carrier::Die, _, _) => Self::Turns,
            (Carrier::Follower, BendMotion::DieTurns, Follower::Travels) => Self::Travels,
            (Carrier::Follower, _, _) => Self::Stands,
        }
    }
}

/// The motion of one body as another sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Relative {
    pub(crate) turn: f64,
    pub(crate) push: f64,
    pub(crate) back: f64,
}

impl Relative {
    /// How a body that rides one way moves as seen from one that rides another way. `sign` is that of the die's turn, `feed`
    /// the blank drawn in for each radian.
    pub(crate) fn new(body: Ride, seen: Ride, sign: f64, feed: f64) -> Self {
        let (turn, push, back) = match (body, seen) {
            (Ride::Stands, Ride::Stands) | (Ride::Turns, Ride::Turns) | (Ride::Travels, Ride::Travels) => {
                (0.0, 0.0, 0.0)
            }
            (Ride::Turns, Ride::Stands) => (sign, 0.0, 0.0),
            (Ride::Turns, Ride::Travels) => (sign, 0.0, feed),
            (Ride::Travels, Ride::Stands) => (0.0, feed, 0.0),
            (Ride::Travels, Ride::Turns) => (-sign, feed, 0.0),
            (Ride::Stands, Ride::Turns) => (-sign, 0.0, 0.0),
            (Ride::Stands, Ride::Travels) => (0.0, -feed, 0.0),
        };
        Self { turn, push, back }
    }

    /// Whether it does not move.
    #[inline]
    pub(crate) fn is_still(&self) -> bool {
        self.turn.abs() < 0.5 && self.push.abs() <= 0.0 && self.back.abs() <= 0.0
    }

    #[inline]
    pub(crate) fn turns(&self) -> bool {
        self.turn.abs() > 0.5
    }

    /// The pose at a die angle, radians.
    #[inline]
    pub(crate) fn at(&self, angle: f64) -> Pose {
        let (sin, cos) = if self.turns() { libm::sincos(self.turn * angle) } else { (0.0, 1.0) };
        Pose { sin, cos, push: self.push * angle, back: self.back * angle }
    }

    /// The speed, mm a radian, of a point that is at `now` at a die angle.
    #[inline]
    pub(crate) fn speed(&self, pose: &Pose, now: DVec3) -> DVec3 {
        let x = now.x + pose.back;
        DVec3::new(self.push * pose.cos - self.turn * now.y - self.back, self.push * pose.sin + self.turn * x, 0.0)
    }

    /// Upper bound on |X''| of a point that is at `now` at the middle of a range of die angles of which `half` is half.
    #[inline]
    pub(crate) fn bend(&self, pose: &Pose, now: DVec3, half: f64) -> f64 {
        if !self.turns() {
            return 0.0;
        }
        let x = now.x + pose.back;
        (x * x + now.y * now.y).sqrt() + self.push.abs() * (2.0 + half)
    }
}

impl Course for Relative {
    const BENDS: bool = true;
    type Pose = Pose;

    #[inline]
    fn at(&self, way: f64) -> Pose {
        Self::at(self, way)
    }

    #[inline]
    fn point(pose: &Pose, p: DVec3) -> DVec3 {
        pose.point(p)
    }

    #[inline]
    fn speed(&self, pose: &Pose, now: DVec3) -> DVec3 {
        Self::speed(self, pose, now)
    }

    #[inline]
    fn bend(&self, pose: &Pose, now: DVec3, half: f64) -> f64 {
        Self::bend(self, pose, now, half)
    }

    /// X'' lies across z, so that the part of the normal along z does not count. Where nothing is pushed before it turns, X'' points from X to
    /// the axis and itself changes by its own size for each radian at most.
    #[inline]
    fn dive(&self, pose: &Pose, now: DVec3, half: f64, normal: DVec3) -> f64 {
        if !self.turns() {
            return 0.0;
        }
        let across = (normal.x * normal.x + normal.y * normal.y).sqrt();
        if self.push.abs() > 0.0 {
            return across * Self::bend(self, pose, now, half);
        }
        let x = now.x + pose.back;
        let most = across * (x * x + now.y * now.y).sqrt();
        (normal.x * x + normal.y * now.y + half * most).clamp(0.0, most)
    }

    #[inline]
    fn is_still(&self) -> bool {
        Self::is_still(self)
    }

    #[inline]
    fn die_angle(&self, way: f64) -> f64 {
        way
    }
}

/// A pose at one die angle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pose {
    sin: f64,
    cos: f64,
    push: f64,
    back: f64,
}

impl Pose {
    /// Where a point goes.
    #[inline]
    pub(crate) fn point(&self, p: DVec3) -> DVec3 {
        let x = p.x + self.push;
        DVec3::new(self.cos * x - self.sin * p.y - self.back, self.sin * x + self.cos * p.y, p.z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speed_and_its_change_hold_for_every_pair_of_rides() {
        let rides = [Ride::Stands, Ride::Turns, Ride::Travels];
        for body in rides {
            for seen in rides {
                for sign in [-1.0, 1.0] {
                    let relative = Relative::new(body, seen, sign, 120.0);
                    let p = DVec3::new(-340.0, 75.0, 20.0);
                    let (a, h) = (0.7, 1e-4);
                    let at = |a: f64| relative.at(a).point(p);
                    let speed = relative.speed(&relative.at(a), at(a));
                    assert!((speed - (at(a + h) - at(a - h)) / (2.0 * h)).length() < 1e-4);
                    let bend = (at(a + h) - 2.0 * at(a) + at(a - h)) / (h * h);
                    assert!(bend.length() <= relative.bend(&relative.at(a), at(a), h) + 1e-2, "{body:?} {seen:?}");
                }
            }
        }
    }

    #[test]
    fn a_dive_is_never_deeper_than_its_bound() {
        let rides = [Ride::Stands, Ride::Turns, Ride::Travels];
        let normals = [DVec3::X, DVec3::NEG_Y, DVec3::Z, DVec3::new(0.36, 0.48, 0.8), DVec3::new(-0.8, 0.0, 0.6)];
        for (body, seen, normal) in rides
            .into_iter()
            .flat_map(|body| rides.map(|seen| (body, seen)))
            .flat_map(|(body, seen)| normals.map(|normal| (body, seen, normal)))
        {
            for (p, half) in [(DVec3::new(-340.0, 75.0, 20.0), 0.3), (DVec3::new(12.0, -500.0, -90.0), 0.05)] {
                let relative = Relative::new(body, seen, 1.0, 120.0);
                let middle = 0.7;
                let pose = relative.at(middle);
                let bound = relative.dive(&pose, pose.point(p), half, normal);
                let h = 1e-4;
                for part in -10..=10 {
                    let a = middle + half * f64::from(part) / 10.0;
                    let at = |a: f64| relative.at(a).point(p);
                    let bend = (at(a + h) - 2.0 * at(a) + at(a - h)) / (h * h);
                    assert!(-normal.dot(bend) <= bound + 1e-2, "{body:?} {seen:?} {normal} {part}");
                }
            }
        }
    }

    #[test]
    fn the_tube_rolls_off_the_die_without_slipping() {
        // Seen from the die, the point of the trailing part at the tangent point stands still when nothing is stretched.
        let relative = Relative::new(Ride::Travels, Ride::Turns, 1.0, 100.0);
        let speed = relative.speed(&relative.at(0.0), DVec3::new(0.0, -100.0, 0.0));
        assert!(speed.length() < 1e-12);
    }

    #[test]
    fn a_follower_travels_only_where_the_die_turns() {
        assert_eq!(Ride::of(Carrier::Follower, BendMotion::DieTurns, Follower::Travels), Ride::Travels);
        assert_eq!(Ride::of(Carrier::Follower, BendMotion::DieStands, Follower::Travels), Ride::Stands);
        assert_eq!(Ride::of(Carrier::Frame, BendMotion::DieStands, Follower::Stands), Ride::Turns);
    }
}
