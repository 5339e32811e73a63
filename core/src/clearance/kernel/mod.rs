//! Distances from a straight line to a solid, in closed form or by a search that cannot miss.
//!
//! A tube is the set of points within half its OD of its centreline, so the gap of a straight piece of tube is the
//! distance of a line from the solid less half the OD. For a convex solid the distance of a point that slides along the
//! line is a convex function, so its slope has one zero: Newton's method between two bounds finds it to rounding
//! ([`slide`]). The vector from the solid to the nearest point of the line is square to a plane that the solid does not
//! cross; [`Near::normal`] hands it on, since such a plane bounds the gap over a whole motion.
//!
//! A mesh need not be convex: its triangles are, and a tree of boxes finds the nearest of them.

mod mesh;
mod triangle;

use glam::DVec3;

pub(crate) use self::mesh::Mesh;
use crate::bender::Shape;

/// How near a line comes to a solid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Near {
    /// Distance, mm; 0 where they touch or cross. For a mesh: distance from its surface.
    pub(crate) gap: f64,
    /// Where on the line: 0 at its start, 1 at its end.
    pub(crate) at: f64,
    /// Unit vector from the solid to the line's nearest point; zero where they touch.
    pub(crate) normal: DVec3,
}

/// A box whose sides lie along the axes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bounds {
    pub(crate) min: DVec3,
    pub(crate) max: DVec3,
}

impl Bounds {
    /// Of no point at all.
    pub(crate) const EMPTY: Self = Self { min: DVec3::INFINITY, max: DVec3::NEG_INFINITY };

    /// Of two points.
    #[inline]
    pub(crate) fn of(a: DVec3, b: DVec3) -> Self {
        Self { min: a.min(b), max: a.max(b) }
    }

    /// With more room on every side.
    #[inline]
    pub(crate) fn grown(self, by: f64) -> Self {
        Self { min: self.min - DVec3::splat(by), max: self.max + DVec3::splat(by) }
    }

    /// Of both.
    #[inline]
    pub(crate) fn with(self, other: Self) -> Self {
        Self { min: self.min.min(other.min), max: self.max.max(other.max) }
    }

    /// Square of the distance between two boxes, 0 where they meet.
    #[inline]
    pub(crate) fn apart_squared(&self, other: &Self) -> f64 {
        let gap = (self.min - other.max).max(other.min - self.max).max(DVec3::ZERO);
        gap.length_squared()
    }
}

/// A solid, ready to be asked how near a line is. Lengths in mm, in the frame in which it was given.
#[derive(Debug)]
pub(crate) enum Form {
    /// All points between two corners.
    Box {
        min: DVec3,
        max: DVec3,
    },
    /// A cylinder with flat ends: middle, unit axis, half its length, radius.
    Cylinder {
        middle: DVec3,
        axis: DVec3,
        half: f64,
        radius: f64,
    },
    /// All points within a radius of a line.
    Capsule {
        from: DVec3,
        along: DVec3,
        radius: f64,
    },
    /// All points with `up . x` at most `level`.
    Below {
        up: DVec3,
        level: f64,
    },
    Mesh(Box<Mesh>),
}

pub(crate) fn dvec(point: &nalgebra::Point3<f64>) -> DVec3 {
    DVec3::new(point.x, point.y, point.z)
}

impl Form {
    /// A solid of the bender's file.
    pub(crate) fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Box { min, max } => Self::Box { min: dvec(min).min(dvec(max)), max: dvec(min).max(dvec(max)) },
            Shape::Cylinder { from, to, radius } => {
                let (from, to) = (dvec(from), dvec(to));
                Self::Cylinder {
                    middle: 0.5 * (from + to),
                    axis: (to - from).normalize_or(DVec3::Z),
                    half: 0.5 * (to - from).length(),
                    radius: radius.to_mm(),
                }
            }
            Shape::Capsule { from, to, radius } => {
                Self::Capsule { from: dvec(from), along: dvec(to) - dvec(from), radius: radius.to_mm() }
            }
            Shape::Mesh(mesh) => Self::Mesh(Box::new(Mesh::new(mesh))),
        }
    }

    /// A box around it; endless for what is below a plane.
    pub(crate) fn bounds(&self) -> Bounds {
        match self {
            Self::Box { min, max } => Bounds { min: *min, max: *max },
            Self::Cylinder { middle, axis, half, radius } => {
                // Of a disc of radius R square to a unit axis a, the extent along x is R sqrt(1 - a_x^2).
                let rim = (DVec3::ONE - *axis * *axis).max(DVec3::ZERO).map(f64::sqrt);
                let reach = *half * axis.abs() + *radius * rim;
                Bounds { min: *middle - reach, max: *middle + reach }
            }
            Self::Capsule { from, along, radius } => Bounds::of(*from, *from + *along).grown(*radius),
            Self::Below { .. } => Bounds { min: DVec3::NEG_INFINITY, max: DVec3::INFINITY },
            Self::Mesh(mesh) => mesh.bounds(),
        }
    }

    /// How near the line from `start` to `start + along` comes.
    ///
    /// The gap is exact to about 1e-9 mm for lengths of metres. A line of no length is a point. For a mesh it is the
    /// distance from the surface, infinite where it has no triangle.
    pub(crate) fn near(&self, start: DVec3, along: DVec3) -> Near {
        match *self {
            Self::Box { min, max } => slide(start, along, |point| {
                let excess = point - point.max(min).min(max);
                let slope = along.x * along.x * outside(excess.x)
                    + along.y * along.y * outside(excess.y)
                    + along.z * along.z * outside(excess.z);
                (excess, slope)
            }),
            Self::Cylinder { middle, axis, half, radius } => near_cylinder(start, along, middle, axis, half, radius),
            Self::Capsule { from, along: core, radius } => near_line(start, along, from, core).swollen(radius),
            Self::Below { up, level } => {
                let (first, rise) = (up.dot(start) - level, up.dot(along));
                let (height, at) = if rise < 0.0 { (first + rise, 1.0) } else { (first, 0.0) };
                Near { gap: height.max(0.0), at, normal: if height > 0.0 { up } else { DVec3::ZERO } }
            }
            Self::Mesh(ref mesh) => mesh.near(start, along),
        }
    }

    /// Whether a point lies in it: what the surface of a mesh alone cannot say.
    pub(crate) fn holds(&self, point: DVec3) -> bool {
        match self {
            Self::Mesh(mesh) => mesh.holds(point),
            convex => convex.near(point, DVec3::ZERO).gap <= 0.0,
        }
    }
}

#[inline]
fn outside(excess: f64) -> f64 {
    if excess.abs() > 0.0 { 1.0 } else { 0.0 }
}

impl Near {
    /// The same with the solid grown by a radius.
    #[inline]
    pub(crate) fn swollen(self, radius: f64) -> Self {
        let gap = self.gap - radius;
        if gap > 0.0 { Self { gap, ..self } } else { Self { gap: 0.0, normal: DVec3::ZERO, ..self } }
    }
}

/// Nearest point of a line to a convex solid.
///
/// `excess` gives, for a point, the vector to it from the solid's nearest point, and the slope, along the line, of the
/// product of that vector with `along` (half the second derivative of the squared distance). The product never falls
/// along the line, so its zero is the nearest point: Newton's steps, halving where one leaves the bracket.
#[inline]
pub(crate) fn slide(start: DVec3, along: DVec3, excess: impl Fn(DVec3) -> (DVec3, f64)) -> Near {
    let (first, slope) = excess(start);
    let low = along.dot(first);
    if low >= 0.0 {
        return found(first, 0.0);
    }
    let (last, _) = excess(start + along);
    let high = along.dot(last);
    if high <= 0.0 {
        return found(last, 1.0);
    }
    let (mut from, mut to) = (0.0, 1.0);
    let mut at = if slope > 0.0 && -low < slope { -low / slope } else { -low / (high - low) };
    let mut best = found(first, 0.0);
    // Newton ends in a few steps where the solid's faces are flat; 60 halvings reach the last bit in any case.
    for _ in 0..60 {
        let (away, slope) = excess(start + at * along);
        let push = along.dot(away);
        let gap = away.length();
        best = Near { gap, at, normal: away };
        // The distance is convex: it cannot fall below this value by more than its slope times the bracket.
        let left = if push > 0.0 { at - from } else { to - at };
        if gap <= 0.0 || push.abs() * left <= 1e-11 * gap {
            break;
        }
        if push < 0.0 {
            from = at;
        } else {
            to = at;
        }
        let step = at - push / slope;
        at = if slope > 0.0 && step > from && step < to { step } else { 0.5 * (from + to) };
    }
    found(best.normal, best.at)
}

#[inline]
fn found(away: DVec3, at: f64) -> Near {
    let gap = away.length();
    Near { gap, at, normal: if gap > 0.0 { away / gap } else { DVec3::ZERO } }
}

/// Nearest point of one line to another; the normal points from the other to the one.
#[inline]
pub(crate) fn near_line(start: DVec3, along: DVec3, other: DVec3, core: DVec3) -> Near {
    let size = core.length_squared();
    let length = along.length_squared();
    let per = if size > 0.0 { 1.0 / size } else { 0.0 };
    let shared = along.dot(core);
    slide(start, along, |point| {
        let from = point - other;
        let place = from.dot(core) * per;
        let inside = place > 0.0 && place < 1.0;
        let excess = from - place.clamp(0.0, 1.0) * core;
        (excess, if inside { length - shared * shared * per } else { length })
    })
}

fn near_cylinder(start: DVec3, along: DVec3, middle: DVec3, axis: DVec3, half: f64, radius: f64) -> Near {
    let rise = along.dot(axis);
    let across = along - rise * axis;
    let across_squared = across.length_squared();
    slide(start, along, |point| {
        let from = point - middle;
        let height = from.dot(axis);
        let outward = from - height * axis;
        let distance = outward.length();
        let over = height - height.clamp(-half, half);
        let mut excess = over * axis;
        let mut slope = rise * rise * outside(over);
        if distance > radius {
            let share = radius / distance;
            excess += (1.0 - share) * outward;
            let along_it = across.dot(outward);
            slope += (1.0 - share) * across_squared + share * along_it * along_it / (distance * distance);
        }
        (excess, slope)
    })
}

#[cfg(test)]
mod tests;
