//! A straight or an arc of a centreline in space, and how it is seen.
//!
//! A circle seen from anywhere is an ellipse, and a cubic curve that stands for an arc is turned and squeezed with it: so an arc is cut into parts of
//! at most 30 degrees, whose cubics lie within 4e-7 of the radius of the true arc (a quarter circle within 2.7e-4, and the error goes with the sixth
//! power of the angle), and the cubics' points are projected. On a sheet that is less than [`DRAWN`](crate::draw::DRAWN).

use kurbo::BezPath;
use nalgebra::{Point3, Vector3};
use tubewright::body::{Bow, Placed};

use super::view::View;
use crate::chain::Bent;

/// Largest part of an arc that one cubic stands for: 30 degrees.
const PART: f64 = core::f64::consts::PI / 6.0;

/// A straight or an arc. Lengths in mm, angles in radians.
#[derive(Clone, Copy, Debug)]
pub(super) enum Course {
    /// From one point to another.
    Straight { from: Point3<f64>, to: Point3<f64> },
    /// At `centre + radius (cos a across + sin a along)` for `a` from 0 to `angle`; `across` and `along` are unit vectors square to each other.
    Arc { centre: Point3<f64>, across: Vector3<f64>, along: Vector3<f64>, radius: f64, angle: f64 },
}

impl Course {
    /// A piece of a tube in the bender, from its end toward A.
    pub(super) fn of(placed: &Placed) -> Self {
        match placed.bow {
            Bow::Straight => Self::Straight { from: placed.from, to: placed.to },
            Bow::Arc { centre, axis, radius, angle } => {
                let across = (placed.from - centre) / radius.to_mm();
                let along = axis.cross(&across);
                Self::Arc { centre, across, along, radius: radius.to_mm(), angle: angle.to_rad() }
            }
        }
    }

    /// The arc of a bend that is made, from its end toward A.
    pub(super) fn of_bend(bent: &Bent) -> Self {
        let (across, along) = (bent.before.cross(&bent.normal), bent.before);
        Self::Arc { centre: bent.start - across * bent.radius, across, along, radius: bent.radius, angle: bent.angle }
    }

    /// A full circle about an axis.
    pub(super) fn circle(centre: Point3<f64>, axis: Vector3<f64>, radius: f64) -> Self {
        let (across, along) = square_to(axis);
        Self::Arc { centre, across, along, radius, angle: 2.0 * core::f64::consts::PI }
    }

    /// Its length, mm.
    pub(super) fn length(&self) -> f64 {
        match self {
            Self::Straight { from, to } => (to - from).norm(),
            Self::Arc { radius, angle, .. } => radius * angle,
        }
    }

    /// The point at a part of the way, from 0 to 1.
    pub(super) fn at(&self, part: f64) -> Point3<f64> {
        match *self {
            Self::Straight { from, to } => from + (to - from) * part,
            Self::Arc { centre, across, along, radius, angle } => {
                let (sin, cos) = libm::sincos(angle * part);
                centre + (across * cos + along * sin) * radius
            }
        }
    }

    /// The direction there, a unit vector; along x where it has no length.
    pub(super) fn direction(&self, part: f64) -> Vector3<f64> {
        match *self {
            Self::Straight { from, to } => (to - from).try_normalize(0.0).unwrap_or_else(Vector3::x),
            Self::Arc { across, along, angle, .. } => {
                let (sin, cos) = libm::sincos(angle * part);
                along * cos - across * sin
            }
        }
    }

    /// What lies between two parts of the way.
    pub(super) fn between(&self, from: f64, to: f64) -> Self {
        match *self {
            Self::Straight { .. } => Self::Straight { from: self.at(from), to: self.at(to) },
            Self::Arc { centre, across, along, radius, angle } => {
                let (sin, cos) = libm::sincos(angle * from);
                let (across, along) = (across * cos + along * sin, along * cos - across * sin);
                Self::Arc { centre, across, along, radius, angle: angle * (to - from) }
            }
        }
    }

    /// The other way round.
    pub(super) fn reversed(&self) -> Self {
        match *self {
            Self::Straight { from, to } => Self::Straight { from: to, to: from },
            Self::Arc { centre, radius, angle, .. } => {
                let (end, direction) = (self.at(1.0), self.direction(1.0));
                Self::Arc { centre, across: (end - centre) / radius, along: -direction, radius, angle }
            }
        }
    }

    /// Adds it to a path: a new one begins at its start, another goes on from there.
    pub(super) fn add(&self, view: &View, path: &mut BezPath) {
        if path.elements().is_empty() {
            path.move_to(view.point(self.at(0.0)));
        }
        match *self {
            Self::Straight { to, .. } => path.line_to(view.point(to)),
            Self::Arc { radius, angle, .. } => {
                let parts = (angle / PART).ceil().max(1.0);
                let handle = 4.0 / 3.0 * libm::tan(angle / parts / 4.0) * radius;
                for part in 0..parts as usize {
                    let (from, to) = (part as f64 / parts, (part as f64 + 1.0) / parts);
                    let one = self.at(from) + self.direction(from) * handle;
                    let other = self.at(to) - self.direction(to) * handle;
                    path.curve_to(view.point(one), view.point(other), view.point(self.at(to)));
                }
            }
        }
    }
}

/// Two unit vectors that are square to a direction and to each other.
pub(super) fn square_to(axis: Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
    let least = if axis.x.abs() <= axis.y.abs().min(axis.z.abs()) {
        Vector3::x()
    } else if axis.y.abs() <= axis.z.abs() {
        Vector3::y()
    } else {
        Vector3::z()
    };
    let across = axis.cross(&least).normalize();
    (across, axis.cross(&across).normalize())
}

#[cfg(test)]
mod tests {
    use kurbo::ParamCurve as _;

    use super::*;

    #[test]
    fn an_arc_seen_aslant_is_an_ellipse() {
        let arc = Course::circle(Point3::new(10.0, 20.0, 30.0), Vector3::new(1.0, 2.0, 2.0) / 3.0, 100.0);
        let view = View::new(Vector3::x(), Vector3::y());
        let mut path = BezPath::new();
        arc.add(&view, &mut path);
        let segments: Vec<_> = path.segments().collect();
        assert_eq!(segments.len(), 12);
        for (place, segment) in segments.iter().enumerate() {
            for step in 0..=10 {
                let part = f64::from(step) / 10.0;
                let seen = segment.eval(part);
                // The nearest of many true points.
                let off = (0..=2000)
                    .map(|fine| {
                        let part = (place as f64 + f64::from(fine) / 2000.0) / 12.0;
                        (view.point(arc.at(part)) - seen).hypot()
                    })
                    .fold(f64::INFINITY, f64::min);
                assert!(off < 0.02, "{place} {part}: {off}");
            }
            assert!((segment.eval(1.0) - view.point(arc.at((place as f64 + 1.0) / 12.0))).hypot() < 1e-9);
        }
    }

    #[test]
    fn a_part_of_an_arc_and_its_reverse_lie_on_it() {
        let (across, along) = (Vector3::y(), Vector3::z());
        let arc = Course::Arc { centre: Point3::origin(), across, along, radius: 50.0, angle: 3.4 };
        let part = arc.between(0.25, 0.75);
        assert!((part.at(0.5) - arc.at(0.5)).norm() < 1e-12);
        let back = arc.reversed();
        assert!((back.at(0.2) - arc.at(0.8)).norm() < 1e-12);
        assert!((back.direction(0.2) + arc.direction(0.8)).norm() < 1e-12);
    }
}
