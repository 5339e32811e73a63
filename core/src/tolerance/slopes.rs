//! How small errors at a bend move what lies beyond it, and its own corner.
//!
//! End A, the first leg and the plane of bend 1 are held. The blank has one length and the other marks stay where they are, so a longer arc takes what it
//! needs from the straight that the mark does not hold. For a bend of angle a, formed radius R and stretch e, with its arc from S to E, the travel t1
//! before it and t2 after it, and its normal n, a point P beyond it moves
//!
//! - by `t1 - t2` for each mm of its mark toward B: the straight before grows and the one after shrinks;
//! - by `n x (P - E) + t2 R e / (1 + e)` for each radian of bend angle with lead A, by `n x (P - S) + t1 R e / (1 + e)` with lead B;
//! - by `t1 x (P - S)` for each radian of rotation; the first bend has none;
//! - by `(E - S) / R - t a / (1 + e)` for each mm of radius at the same angle, with t = t2 for lead A and t1 for lead B.
//!
//! Its own corner lies `R tan(a / 2)` beyond S along t1, and S itself gives way with lead B by what the arc grows.

use nalgebra::{Point3, Vector3};

use crate::forming::LeadEnd;

/// A bend as it stands in the finished tube. Lengths in mm, angles in radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Corner {
    /// Travel from A to B before the bend, a unit vector.
    pub(crate) before: Vector3<f64>,
    /// Travel after it.
    pub(crate) after: Vector3<f64>,
    /// Start of the arc.
    pub(crate) start: Point3<f64>,
    /// End of the arc.
    pub(crate) end: Point3<f64>,
    /// Unit normal of the bend.
    pub(crate) normal: Vector3<f64>,
    /// Formed radius.
    pub(crate) radius: f64,
    /// Bend angle.
    pub(crate) angle: f64,
    /// An arc of finished length s takes s / (1 + stretch) of blank.
    pub(crate) stretch: f64,
    /// The end that leads when it is made.
    pub(crate) lead: LeadEnd,
}

/// How a point moves for one unit more at a bend: mm a mm, or mm a radian.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Slopes {
    /// Of the mark, toward end B.
    pub(crate) mark: Vector3<f64>,
    /// Of the bend angle, at the same radius.
    pub(crate) angle: Vector3<f64>,
    /// Of the rotation before it.
    pub(crate) rotation: Vector3<f64>,
    /// Of the formed radius, at the same angle.
    pub(crate) radius: Vector3<f64>,
}

impl Corner {
    /// How a point beyond it moves. `first`: no bend lies before it, so that its rotation says nothing about the shape.
    pub(crate) fn beyond(&self, point: Point3<f64>, first: bool) -> Slopes {
        let (held, travel) = match self.lead {
            LeadEnd::A => (self.end, self.after),
            LeadEnd::B => (self.start, self.before),
        };
        let blank = 1.0 + self.stretch;
        Slopes {
            mark: self.before - self.after,
            angle: self.normal.cross(&(point - held)) + travel * (self.radius * self.stretch / blank),
            rotation: if first { Vector3::zeros() } else { self.before.cross(&(point - self.start)) },
            radius: (self.end - self.start) / self.radius - travel * (self.angle / blank),
        }
    }

    /// How its own corner point moves. Only for a bend that has one: its angle is well under half a turn.
    pub(crate) fn own(&self) -> Slopes {
        let half = 0.5 * self.angle;
        let (cos, tan) = (libm::cos(half), libm::tan(half));
        // With lead B the end of the arc is held: its start gives way.
        let taken = if self.lead == LeadEnd::A { 0.0 } else { 1.0 / (1.0 + self.stretch) };
        Slopes {
            mark: self.before,
            angle: self.before * self.radius * (0.5 / (cos * cos) - taken),
            rotation: Vector3::zeros(),
            radius: self.before * (tan - self.angle * taken),
        }
    }

    /// The same bend looked at from end B.
    pub(crate) fn reversed(&self) -> Self {
        Self {
            before: -self.after,
            after: -self.before,
            start: self.end,
            end: self.start,
            normal: -self.normal,
            lead: self.lead.other(),
            ..*self
        }
    }
}
