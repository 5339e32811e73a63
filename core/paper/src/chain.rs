//! A tube as it is after some of its bends, and how small changes at a bend move its end.
//!
//! The frame is the tube's own: the cut end A at the origin, the first leg along +x, bend 1 toward +y, so that its normal is +z. Bends that
//! are not made yet are straight tube. Both ends are the cut ends, with what is left beyond the nodes.
//!
//! The blank has one length and the marks stay where they are, so a bend that is a radians too large, of formed radius R and stretch e, takes R a / (1 + e)
//! more blank from the straight behind its mark. With lead A the start S of the arc stays, the arc grows by R a along the travel t2 after it, and
//! everything beyond turns about its end E:
//!
//! ```text
//! end B moves by a (n x (B - E) + t2 R e / (1 + e)),  with lead B by a (n x (B - S) + t1 R e / (1 + e))
//! ```

use nalgebra::{Point3, Vector3};
use tubewright::centreline::BendId;
use tubewright::forming::LeadEnd;
use tubewright::plan::TubePlan;

/// One bend that is made. Lengths in mm, angles in radians.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bent {
    pub(crate) bend: BendId,
    /// Travel from A to B before it, a unit vector.
    pub(crate) before: Vector3<f64>,
    /// Travel after it.
    pub(crate) after: Vector3<f64>,
    /// Start of the arc.
    pub(crate) start: Point3<f64>,
    /// End of the arc.
    pub(crate) end: Point3<f64>,
    pub(crate) normal: Vector3<f64>,
    pub(crate) radius: f64,
    /// How far the arc turns.
    pub(crate) angle: f64,
    pub(crate) stretch: f64,
    /// The end that leads when it is made.
    pub(crate) lead: LeadEnd,
}

/// The tube after some of its bends.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// The cut end B; the cut end A is the origin.
    pub(crate) end: Point3<f64>,
    /// The bends that are made, from end A.
    pub(crate) bends: Vec<Bent>,
}

impl Chain {
    /// The tube after those bends for which `made` is true.
    pub(crate) fn new(tube: &TubePlan, made: &dyn Fn(BendId) -> bool) -> Self {
        let rows = &tube.centreline.rows;
        let (mut at, mut travel, mut normal) = (Point3::origin(), Vector3::x(), Vector3::z());
        let [beyond_a, beyond_b] = tube.beyond();
        at += travel * beyond_a.to_mm();
        let mut bends = Vec::with_capacity(rows.bends.len());
        for (row, formed) in rows.bends.iter().zip(&tube.blank.bends) {
            at += travel * row.length.to_mm();
            let (sin, cos) = libm::sincos(row.rotation.to_rad());
            normal = (normal * cos + travel.cross(&normal) * sin).normalize();
            if !made(formed.bend) {
                at += travel * formed.blank_arc.to_mm();
                continue;
            }
            let (start, before, radius) = (at, travel, formed.formed_radius.to_mm());
            let outward = travel.cross(&normal);
            let (sin, cos) = libm::sincos(row.angle.to_rad());
            at += (outward * (cos - 1.0) + travel * sin) * radius;
            travel = (travel * cos - outward * sin).normalize();
            bends.push(Bent {
                bend: formed.bend,
                before,
                after: travel,
                start,
                end: at,
                normal,
                radius,
                angle: row.angle.to_rad(),
                stretch: formed.stretch,
                lead: tube.steps.iter().find(|step| step.bend == formed.bend).map_or(LeadEnd::A, |step| step.lead),
            });
        }
        Self { end: at + travel * (rows.last + beyond_b).to_mm(), bends }
    }

    /// From the middle of one cut end to that of the other, mm.
    pub(crate) fn span(&self) -> f64 {
        self.end.coords.norm()
    }

    /// The direction from end A to end B; `None` where they all but meet.
    pub(crate) fn toward_end(&self) -> Option<Vector3<f64>> {
        self.end.coords.try_normalize(1.0)
    }
}

impl Bent {
    /// How one millimetre of its mark toward end B moves a point beyond it.
    pub(crate) fn by_mark(&self) -> Vector3<f64> {
        self.before - self.after
    }

    /// How one radian more of its bend angle moves a point beyond it.
    pub(crate) fn by_angle(&self, point: Point3<f64>) -> Vector3<f64> {
        let grown = self.radius * self.stretch / (1.0 + self.stretch);
        match self.lead {
            LeadEnd::A => self.normal.cross(&(point - self.end)) + self.after * grown,
            LeadEnd::B => self.normal.cross(&(point - self.start)) + self.before * grown,
        }
    }

    /// How one radian of turn about the leg before it moves a point beyond it.
    pub(crate) fn by_turn_before(&self, point: Point3<f64>) -> Vector3<f64> {
        self.before.cross(&(point - self.start))
    }

    /// How one radian of turn about the leg after it moves a point beyond it.
    pub(crate) fn by_turn_after(&self, point: Point3<f64>) -> Vector3<f64> {
        self.after.cross(&(point - self.end))
    }
}
