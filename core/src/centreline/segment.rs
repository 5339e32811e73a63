//! The finished centreline as straights and arcs, for drawing and for judging.

use nalgebra::{Point3, Unit, Vector3};

use super::{BendId, Centreline, Rows};
use crate::units::{Angle, Length};

/// A piece of the finished centreline. Points are in mm, in the axes of the centreline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// A straight between tangent points or ends; its length may be 0.
    Straight {
        /// Its end toward A.
        from: Point3<f64>,
        /// Its end toward B.
        to: Point3<f64>,
        /// Direction from A to B, also where the length is 0.
        direction: Unit<Vector3<f64>>,
    },
    /// The arc of a bend.
    Arc {
        /// Which bend.
        bend: BendId,
        /// Its centre.
        centre: Point3<f64>,
        /// From the centre to its start.
        outward: Unit<Vector3<f64>>,
        /// Direction of travel at its start.
        direction: Unit<Vector3<f64>>,
        /// Normal of the bend: the arc turns right-handed about it.
        normal: Unit<Vector3<f64>>,
        /// Formed radius.
        radius: Length,
        /// Bend angle.
        angle: Angle,
    },
}

impl Segment {
    /// Its length.
    #[must_use]
    pub fn length(&self) -> Length {
        match self {
            Self::Straight { from, to, .. } => Length::mm((to - from).norm()),
            Self::Arc { radius, angle, .. } => *radius * angle.to_rad(),
        }
    }

    /// Point and direction of travel so far along it; before 0 and beyond its length the piece goes on as it is.
    #[must_use]
    pub fn at(&self, along: Length) -> (Point3<f64>, Unit<Vector3<f64>>) {
        match self {
            Self::Straight { from, direction, .. } => (from + direction.into_inner() * along.to_mm(), *direction),
            Self::Arc { centre, outward, direction, radius, .. } => {
                let (sin, cos) = libm::sincos(along / *radius);
                let spoke = outward.into_inner() * cos + direction.into_inner() * sin;
                let travel = direction.into_inner() * cos - outward.into_inner() * sin;
                (centre + spoke * radius.to_mm(), Unit::new_normalize(travel))
            }
        }
    }

    /// Its end toward A.
    #[must_use]
    pub fn start(&self) -> Point3<f64> {
        self.at(Length::ZERO).0
    }

    /// Its end toward B.
    #[must_use]
    pub fn end(&self) -> Point3<f64> {
        match self {
            Self::Straight { to, .. } => *to,
            Self::Arc { .. } => self.at(self.length()).0,
        }
    }
}

/// A place on the centreline: point, direction of travel, normal of the last bend (of the first before any).
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) at: Point3<f64>,
    pub(super) direction: Unit<Vector3<f64>>,
    pub(super) normal: Unit<Vector3<f64>>,
}

impl Frame {
    /// End A at the origin, the first leg along +x, the first bend toward +y.
    pub(super) fn home() -> Self {
        Self { at: Point3::origin(), direction: Vector3::x_axis(), normal: Vector3::z_axis() }
    }

    /// Straight on.
    fn along(&mut self, straight: Length) -> Segment {
        let from = self.at;
        self.at += self.direction.into_inner() * straight.to_mm();
        Segment::Straight { from, to: self.at, direction: self.direction }
    }

    /// Turned about the direction of travel, right-handed.
    fn rotate(&mut self, rotation: Angle) {
        let (sin, cos) = libm::sincos(rotation.to_rad());
        let side = self.direction.cross(&self.normal);
        self.set(self.direction.into_inner(), self.normal.into_inner() * cos + side * sin);
    }

    /// Around an arc.
    fn around(&mut self, bend: BendId, radius: Length, angle: Angle) -> Segment {
        let outward = Unit::new_normalize(self.direction.cross(&self.normal));
        let centre = self.at - outward.into_inner() * radius.to_mm();
        let arc = Segment::Arc { bend, centre, outward, direction: self.direction, normal: self.normal, radius, angle };
        let (end, direction) = arc.at(radius * angle.to_rad());
        self.at = end;
        self.set(direction.into_inner(), self.normal.into_inner());
        arc
    }

    /// Sets both, made square to each other again, so that rounding does not add up along a tube of many bends.
    fn set(&mut self, direction: Vector3<f64>, normal: Vector3<f64>) {
        self.direction = Unit::new_normalize(direction);
        let direction = self.direction.into_inner();
        self.normal = Unit::new_normalize(normal - direction * direction.dot(&normal));
    }
}

/// Straights and arcs in turn, and the frame at end B. The first and the last piece are straights.
pub(super) fn walk(rows: &Rows, radii: &[Length], mut frame: Frame) -> (Vec<Segment>, Frame) {
    let mut segments = Vec::with_capacity(2 * rows.bends.len() + 1);
    for (i, (row, radius)) in rows.bends.iter().zip(radii).enumerate() {
        segments.push(frame.along(row.length));
        frame.rotate(row.rotation);
        segments.push(frame.around(BendId(i), *radius, row.angle));
    }
    segments.push(frame.along(rows.last));
    (segments, frame)
}

impl Centreline {
    /// Frame at end A.
    fn first_frame(&self) -> Frame {
        Frame { at: self.start, direction: self.direction, normal: self.normal }
    }

    /// Straights and arcs in turn from end A to end B, in the job's axes: piece 2 i is straight i, piece 2 i + 1 the arc of
    /// bend i, counted from 0; a straight of no length is there too. Exact but for rounding, about 1e-15 of the
    /// tube's length a bend.
    #[must_use]
    pub fn segments(&self) -> Vec<Segment> {
        walk(&self.rows, &self.radii, self.first_frame()).0
    }

    /// End B, mm, and the direction of the last leg, in the job's axes.
    #[must_use]
    pub fn end(&self) -> (Point3<f64>, Unit<Vector3<f64>>) {
        let last = self.last_frame();
        (last.at, last.direction)
    }

    /// Frame at end B.
    pub(super) fn last_frame(&self) -> Frame {
        walk(&self.rows, &self.radii, self.first_frame()).1
    }
}
