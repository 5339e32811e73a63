//! Where the body goes while a bend is made, and how fast at most.
//!
//! Everything that moves during a bend does so in one way: at die angle `a` it is first pushed along +x and then turned about +z, each in
//! proportion to `a`. So a [`Carriage`] is two numbers.
//!
//! ```text
//!                 die-turns              die-stands (all of it turned about z by -a)
//!   lead part     turn a                 stands
//!   trailing part push w(a)              push w(a), turn -a
//!   die, clamp    turn a                 stands
//!   follower      stands (or push w(a))  turn -a (or push w(a), turn -a)
//!   frame, floor  stands                 stands
//! ```
//!
//! `w(a) = CLR a / (1 + stretch)` is the blank that has passed the tangent point. For a clockwise hand all turns are the other way.

use nalgebra::Vector3;

use crate::bender::{BendMotion, Bender, Carrier, Die, Follower};

/// A rigid motion in proportion to the die angle: a push along +x, then a turn about +z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Carriage {
    /// Turn about +z for each radian of die angle: -1, 0 or 1.
    pub(crate) turn: f64,
    /// Push along +x, mm for each radian of die angle.
    pub(crate) push: f64,
}

/// How everything moves during one bend.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BendKinematics {
    /// +1 where the die turns anticlockwise.
    pub(crate) sign: f64,
    /// Blank that passes the tangent point, mm for each radian.
    pub(crate) feed: f64,
    stands: bool,
    travels: bool,
}

impl BendKinematics {
    pub(crate) fn new(bender: &Bender, die: &Die, feed: f64) -> Self {
        Self {
            sign: bender.hand.sign(),
            feed,
            stands: bender.motion == BendMotion::DieStands,
            travels: die.follower == Follower::Travels,
        }
    }

    /// What turns with the die.
    pub(crate) fn lead(&self) -> Carriage {
        Carriage { turn: if self.stands { 0.0 } else { self.sign }, push: 0.0 }
    }

    /// What stands behind the tangent point, seen with the die: the follower's frame of reference, and the arc that is being wrapped.
    pub(crate) fn behind(&self) -> Carriage {
        Carriage { turn: if self.stands { -self.sign } else { 0.0 }, push: 0.0 }
    }

    /// The trailing part of the tube.
    pub(crate) fn trail(&self) -> Carriage {
        Carriage { push: self.feed, ..self.behind() }
    }

    /// A solid.
    pub(crate) fn solid(&self, on: Carrier) -> Carriage {
        match on {
            Carrier::Frame => Carriage { turn: 0.0, push: 0.0 },
            Carrier::Die => self.lead(),
            Carrier::Follower if self.travels => self.trail(),
            Carrier::Follower => self.behind(),
        }
    }
}

/// The motion of one rigid body as another sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Relative {
    push: f64,
    turn: f64,
    back: f64,
}

impl Relative {
    /// How `body` moves as `seen` sees it.
    pub(crate) fn new(body: Carriage, seen: Carriage) -> Self {
        Self { push: body.push, turn: body.turn - seen.turn, back: seen.push }
    }

    /// In the bender frame.
    pub(crate) fn of(body: Carriage) -> Self {
        Self::new(body, Carriage { turn: 0.0, push: 0.0 })
    }

    /// Whether nothing moves.
    pub(crate) fn is_still(&self) -> bool {
        self.turn.abs() < 0.5 && (self.push - self.back).abs() < 1e-12
    }

    /// The pose at a die angle.
    pub(crate) fn at(&self, a: f64) -> Pose {
        let (sin, cos) = if self.turn.abs() < 0.5 { (0.0, 1.0) } else { libm::sincos(self.turn * a) };
        Pose { push: self.push * a, sin, cos, back: self.back * a }
    }

    /// Upper bound on the speed, mm for each radian of die angle, of a point that is never further than `reach` from the z axis once pushed.
    pub(crate) fn speed(&self, reach: f64) -> f64 {
        if self.turn.abs() < 0.5 {
            (self.push - self.back).abs()
        } else {
            self.turn.abs() * reach + self.push + self.back
        }
    }

    /// The push alone, mm for each radian.
    pub(crate) fn pushed(&self) -> f64 {
        self.push
    }

    /// Whether it turns about z.
    pub(crate) fn turns(&self) -> bool {
        self.turn.abs() >= 0.5
    }

    /// The push of what it is seen from, mm for each radian.
    pub(crate) fn back_sway(&self) -> f64 {
        self.back
    }

    /// Push forth and back in all, mm for each radian.
    pub(crate) fn sway(&self) -> f64 {
        self.push + self.back
    }
}

/// A pose at one die angle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pose {
    push: f64,
    sin: f64,
    cos: f64,
    back: f64,
}

impl Pose {
    /// Where a point goes.
    pub(crate) fn point(&self, p: Vector3<f64>) -> Vector3<f64> {
        let x = p.x + self.push;
        Vector3::new(x * self.cos - p.y * self.sin - self.back, x * self.sin + p.y * self.cos, p.z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pose_pushes_first_and_then_turns() {
        let relative = Relative::of(Carriage { turn: 1.0, push: 10.0 });
        let quarter = core::f64::consts::FRAC_PI_2;
        let found = relative.at(quarter).point(Vector3::new(1.0, 2.0, 3.0));
        let wanted = Vector3::new(-2.0, 1.0 + 10.0 * quarter, 3.0);
        assert!((found - wanted).norm() < 1e-12);
    }

    #[test]
    fn bodies_on_one_carriage_stand_still_to_each_other() {
        let carriage = Carriage { turn: -1.0, push: 127.0 };
        let relative = Relative::new(carriage, carriage);
        assert!(relative.is_still());
        assert!(relative.speed(1000.0).abs() < 1e-12);
    }
}
