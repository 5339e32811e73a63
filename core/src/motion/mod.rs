//! Where each point of the blank is: while it is bent, at a die angle, and on its way about the bender before and after
//! ([`Motion`]).
//!
//! With `w(a) = CLR a / (1 + e)` and s counted along the blank from the place that lies at the tangent point T at die angle
//! 0, positive toward the trailing end:
//!
//! - `s < 0`, the lead part: turned about z by a;
//! - `0 <= s <= w(a)`, wrapped: on the die, turned by `a - s (1 + e) / CLR` since it passed T;
//! - `s > w(a)`, the trailing part: moved by w(a) along +x.
//!
//! A clockwise bender turns about -z from a tangent point at +y. Where the die stands, all of it is turned back by a.

mod course;
mod relative;
mod screw;

use glam::DVec3;
use nalgebra::{Isometry3, Point3, Vector3};

pub(crate) use self::course::Course;
pub(crate) use self::relative::{Relative, Ride};
pub(crate) use self::screw::{Placing, Screw};
use crate::bender::{BendMotion, Carrier, Follower, Step};
use crate::body::{Part, Side, tangent_point};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// What is done with the tube in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Motion {
    /// The bend itself.
    Bend,
    /// The lead part turns back from the die angle to the bend angle.
    Recoil,
    /// The die, or the follower that wipes around it, goes back.
    Return,
    /// The tube is taken out after the bend.
    TakeOut,
    /// The tube is laid in before the bend.
    PutIn,
    /// The tube is turned between two bends.
    Turn,
}

impl Motion {
    /// The word for it in the output for machines, and for a person.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Bend => "bend",
            Self::Recoil => "recoil",
            Self::Return => "return",
            Self::TakeOut => "take-out",
            Self::PutIn => "put-in",
            Self::Turn => "turn",
        }
    }
}

/// Where a place of the blank is at a die angle: that point of the centreline in the bender frame, mm.
///
/// `blank` counts from the cut end at A; beyond an end the end itself is meant. A negative die angle is taken for 0.
/// Exact up to rounding.
///
/// # Panics
/// Where the blank has no such bend.
#[must_use]
pub fn place(step: &Step<'_>, blank: Length, die_angle: Angle) -> Point3<f64> {
    let active = step.active();
    let hand = step.bender.hand;
    let clr = active.clr.to_mm();
    let angle = die_angle.to_rad().max(0.0);
    let feed = clr / (1.0 + active.stretch) * angle;
    let behind = match step.lead {
        LeadEnd::A => blank - active.start,
        LeadEnd::B => active.end - blank,
    }
    .to_mm();
    let on = |side, place: f64| -> DVec3 {
        let part = Part::new(step.blank, hand, active, step.lead, side, step.made);
        let piece = part.pieces.iter().find(|piece| place <= piece.far).or(part.pieces.last());
        piece.map_or(tangent_point(hand, clr), |piece| piece.at(piece.fraction(place).min(1.0)))
    };
    let (point, turn) = if behind < 0.0 {
        (on(Side::Lead, -behind), angle)
    } else {
        let behind = behind.min(match step.lead {
            LeadEnd::A => (step.blank.cut_length - active.start).to_mm(),
            LeadEnd::B => active.end.to_mm(),
        });
        if behind < feed {
            (tangent_point(hand, clr), angle * (1.0 - behind / feed))
        } else {
            (on(Side::Trail, behind) + feed * DVec3::X, 0.0)
        }
    };
    let back = if step.bender.motion == BendMotion::DieStands { angle } else { 0.0 };
    let (sin, cos) = libm::sincos(hand.sign() * (turn - back));
    Point3::new(cos * point.x - sin * point.y, sin * point.x + cos * point.y, point.z)
}

/// How what is on a carrier has moved since die angle 0, in the bender frame; a negative die angle is taken for 0.
///
/// # Panics
/// Where the blank has no such bend or the bender no such die.
#[must_use]
pub fn carried(step: &Step<'_>, on: Carrier, die_angle: Angle) -> Isometry3<f64> {
    let angle = die_angle.to_rad().max(0.0);
    let turn = |by: f64| Isometry3::rotation(Vector3::z() * (step.bender.hand.sign() * by));
    match (on, step.bender.motion, step.die().follower) {
        (Carrier::Die, BendMotion::DieTurns, _) => turn(angle),
        (Carrier::Follower, BendMotion::DieStands, _) => turn(-angle),
        (Carrier::Follower, BendMotion::DieTurns, Follower::Travels) => {
            let active = step.active();
            Isometry3::translation(active.clr.to_mm() * angle / (1.0 + active.stretch), 0.0, 0.0)
        }
        (Carrier::Frame, ..) | (Carrier::Die, BendMotion::DieStands, _) | (Carrier::Follower, ..) => {
            Isometry3::identity()
        }
    }
}

#[cfg(test)]
mod tests;
