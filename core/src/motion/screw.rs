//! A rigid motion about one axis and along one direction, at an even pace.
//!
//! ```text
//!   X(u) = pole + R(axis, turn u) (B p - pole) + u shift        B puts the tube where it is without the screw
//!
//!   X'  = turn axis x (X - pole - u shift) + shift
//!   X'' = turn^2 x the distance of X - u shift from the axis, toward it: the same all the way
//! ```
//!
//! Turning alone, sliding alone and standing still are cases of it. What moves the tube seen from a body that has moved itself is a
//! screw again.

use glam::{DMat3, DVec3};

use super::Course;

/// A rigid placing: a turn, then a shift.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placing {
    turn: DMat3,
    shift: DVec3,
}

impl Placing {
    /// Nothing moved.
    pub(crate) const REST: Self = Self { turn: DMat3::IDENTITY, shift: DVec3::ZERO };

    pub(crate) fn turned_about_z(angle: f64) -> Self {
        Self { turn: turn_about(DVec3::Z, angle), shift: DVec3::ZERO }
    }

    pub(crate) const fn shifted(shift: DVec3) -> Self {
        Self { turn: DMat3::IDENTITY, shift }
    }

    /// Right-handed about an axis through a point.
    pub(crate) fn turned(pole: DVec3, axis: DVec3, angle: f64) -> Self {
        let turn = turn_about(axis, angle);
        Self { turn, shift: pole - turn * pole }
    }

    pub(crate) fn point(&self, p: DVec3) -> DVec3 {
        self.turn * p + self.shift
    }

    pub(crate) fn direction(&self, d: DVec3) -> DVec3 {
        self.turn * d
    }

    /// This one, then another.
    pub(crate) fn then(&self, next: &Self) -> Self {
        Self { turn: next.turn * self.turn, shift: next.turn * self.shift + next.shift }
    }

    pub(crate) fn undone(&self) -> Self {
        let turn = self.turn.transpose();
        Self { turn, shift: -(turn * self.shift) }
    }
}

/// The matrix of a right-handed turn about a unit axis (Rodrigues).
fn turn_about(axis: DVec3, angle: f64) -> DMat3 {
    let (sin, cos) = libm::sincos(angle);
    let column = |e: DVec3| cos * e + sin * axis.cross(e) + (1.0 - cos) * axis.dot(e) * axis;
    DMat3::from_cols(column(DVec3::X), column(DVec3::Y), column(DVec3::Z))
}

/// A screw, and the die angle that the tube was left at.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Screw {
    /// From where the tube lies at die angle 0 to where it lies without the screw.
    pub(crate) base: Placing,
    pub(crate) pole: DVec3,
    /// Unit.
    pub(crate) axis: DVec3,
    /// Radians for one of the way.
    pub(crate) turn: f64,
    /// Millimetres for one of the way.
    pub(crate) shift: DVec3,
    /// Says which places of the tube are there and what must be kept.
    pub(crate) die: f64,
}

impl Screw {
    /// The tube stays where it was put.
    pub(crate) const fn still(base: Placing, die: f64) -> Self {
        Self { base, pole: DVec3::ZERO, axis: DVec3::Z, turn: 0.0, shift: DVec3::ZERO, die }
    }

    pub(crate) const fn sliding(base: Placing, shift: DVec3, die: f64) -> Self {
        Self { shift, ..Self::still(base, die) }
    }

    pub(crate) const fn turning(base: Placing, pole: DVec3, axis: DVec3, turn: f64, die: f64) -> Self {
        Self { base, pole, axis, turn, shift: DVec3::ZERO, die }
    }

    /// The same seen from a body that has been moved so.
    pub(crate) fn seen_from(&self, body: &Placing) -> Self {
        let back = body.undone();
        Self {
            base: self.base.then(&back),
            pole: back.point(self.pole),
            axis: back.direction(self.axis),
            shift: back.direction(self.shift),
            ..*self
        }
    }

    /// Distance from the axis of a point that is at `now`, as a vector square to both.
    fn arm(&self, pose: &ScrewPose, now: DVec3) -> DVec3 {
        self.axis.cross(now - self.pole - pose.way * self.shift)
    }

    /// A box that holds the line between two points, and all within `room` of it, over a stretch of the way.
    pub(crate) fn swept(&self, line: [DVec3; 2], room: f64, way: [f64; 2]) -> [DVec3; 2] {
        let [from, to] = way;
        let parts = (self.turn.abs() * (to - from) / SWEPT).ceil().clamp(1.0, 64.0);
        let step = (to - from) / parts;
        let (mut min, mut max) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let mut with = |way: f64, half: f64| {
            let pose = self.at(way);
            for p in line {
                let now = Self::point(&pose, p);
                // Both the turn and the shift go on at an even pace, so no point gets further than this.
                let grown = DVec3::splat(room + half * self.turn.abs() * self.arm(&pose, now).length());
                let along = half * self.shift;
                (min, max) = (
                    min.min(now + along - grown).min(now - along - grown),
                    max.max(now + along + grown).max(now - along + grown),
                );
            }
        };
        // Turning carries the line's points along arcs of which the box of each end holds the end's own; the line lies between them.
        for part in 0..parts as u32 {
            with(from + (f64::from(part) + 0.5) * step, 0.5 * step);
        }
        [min, max]
    }
}

/// How far a screw turns, radians, for each box that makes up the room that it takes.
const SWEPT: f64 = 0.1;

/// A pose at one place of a screw's way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ScrewPose {
    placing: Placing,
    way: f64,
}

impl Course for Screw {
    const BENDS: bool = false;
    type Pose = ScrewPose;

    fn at(&self, way: f64) -> ScrewPose {
        let moved = if self.turn.abs() > 0.0 {
            self.base.then(&Placing::turned(self.pole, self.axis, self.turn * way))
        } else {
            self.base
        };
        ScrewPose { placing: Placing { shift: moved.shift + way * self.shift, ..moved }, way }
    }

    #[inline]
    fn point(pose: &ScrewPose, p: DVec3) -> DVec3 {
        pose.placing.point(p)
    }

    #[inline]
    fn speed(&self, pose: &ScrewPose, now: DVec3) -> DVec3 {
        self.turn * self.arm(pose, now) + self.shift
    }

    #[inline]
    fn bend(&self, pose: &ScrewPose, now: DVec3, _: f64) -> f64 {
        if self.turn.abs() > 0.0 { self.turn * self.turn * self.arm(pose, now).length() } else { 0.0 }
    }

    /// X'' lies across the axis.
    #[inline]
    fn dive(&self, pose: &ScrewPose, now: DVec3, half: f64, normal: DVec3) -> f64 {
        let along = normal.dot(self.axis);
        let across = (1.0 - along * along).max(0.0).sqrt();
        across * Course::bend(self, pose, now, half)
    }

    #[inline]
    fn is_still(&self) -> bool {
        self.turn.abs() <= 0.0 && self.shift.length_squared() <= 0.0
    }

    #[inline]
    fn die_angle(&self, _: f64) -> f64 {
        self.die
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn screw() -> Screw {
        Screw {
            base: Placing::turned_about_z(0.4).then(&Placing::shifted(DVec3::new(20.0, -7.0, 3.0))),
            pole: DVec3::new(10.0, 60.0, -5.0),
            axis: DVec3::new(1.0, 2.0, -2.0) / 3.0,
            turn: 0.8,
            shift: DVec3::new(5.0, 0.0, 40.0),
            die: 1.2,
        }
    }

    const P: DVec3 = DVec3::new(-340.0, 75.0, 20.0);

    #[test]
    fn speed_and_its_change_are_what_small_steps_show() {
        let screw = screw();
        let (u, h) = (0.6, 1e-4);
        let at = |u: f64| Screw::point(&screw.at(u), P);
        let pose = screw.at(u);
        assert!((screw.speed(&pose, at(u)) - (at(u + h) - at(u - h)) / (2.0 * h)).length() < 1e-4);
        let bend = (at(u + h) - 2.0 * at(u) + at(u - h)) / (h * h);
        assert!((bend.length() - screw.bend(&pose, at(u), h)).abs() < 1e-2);
    }

    #[test]
    fn a_turn_is_right_handed_and_a_placing_can_be_undone() {
        assert!(
            (Placing::turned_about_z(0.3).point(DVec3::X) - DVec3::new(libm::cos(0.3), libm::sin(0.3), 0.0)).length()
                < 1e-15
        );
        let placing = Placing::turned(DVec3::new(3.0, 4.0, 5.0), DVec3::X, 0.7).then(&Placing::shifted(DVec3::Y));
        assert!((placing.undone().point(placing.point(P)) - P).length() < 1e-12);
        assert!(
            (Placing::turned(DVec3::Y, DVec3::X, core::f64::consts::FRAC_PI_2).point(2.0 * DVec3::Y)
                - DVec3::new(0.0, 1.0, 1.0))
            .length()
                < 1e-12
        );
    }

    #[test]
    fn a_body_that_has_moved_sees_the_same_screw_moved_back() {
        let screw = screw();
        let body = Placing::turned_about_z(-1.1).then(&Placing::shifted(DVec3::new(1.0, 2.0, 3.0)));
        let seen = screw.seen_from(&body);
        for way in [-0.5, 0.0, 0.9] {
            let there = body.undone().point(Screw::point(&screw.at(way), P));
            assert!((Screw::point(&seen.at(way), P) - there).length() < 1e-10);
        }
    }

    #[test]
    fn the_swept_box_holds_every_point() {
        let screw = screw();
        let line = [P, P + DVec3::new(200.0, 30.0, -90.0)];
        let [min, max] = screw.swept(line, 2.0, [-1.0, 2.0]);
        for i in 0..=300 {
            let pose = screw.at(-1.0 + 0.01 * f64::from(i));
            for share in [0.0, 0.3, 1.0] {
                let p = Screw::point(&pose, line[0] + share * (line[1] - line[0]));
                assert!(p.cmpge(min + 1.99).all() && p.cmple(max - 1.99).all());
            }
        }
        // Not much larger than it must be: the box of a point that turns by less than a step's angle.
        let still = Screw { turn: 0.0, ..screw }.swept(line, 0.0, [0.0, 1.0]);
        assert!((still[1].z - still[0].z - 40.0 - 90.0).abs() < 1e-9);
    }
}
