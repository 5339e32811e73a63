//! Distances from a line segment to one body.
//!
//! Every body here is convex (a mesh is the exception), so the distance along the segment is convex in its parameter and has one smallest
//! value. Bodies are held in the bender frame at die angle 0.
//!
//! | body | way | accuracy |
//! | --- | --- | --- |
//! | half-space | the lower of two ends | rounding |
//! | box | root of the derivative of the squared distance, linear between six breakpoints | rounding |
//! | capsule | nearest points of two segments (Ericson, Real-Time Collision Detection, 2005, section 5.1.9, from memory) | rounding |
//! | cylinder | bisection on the sign of the derivative of the distance to the flat-ended cylinder | 1e-7 mm |
//! | mesh | parry's nearest points over its tree of boxes; inside the closed surface is 0 | about 1e-6 mm |

use nalgebra::{Matrix3, Vector3};
use parry3d_f64::math::{Pose as ParryPose, Vector as ParryVector};
use parry3d_f64::query::{ClosestPoints, closest_points};
use parry3d_f64::shape::{Segment as ParrySegment, TriMesh};

use crate::bender::{Shape, TriangleMesh};

/// A body as a segment meets it.
#[derive(Clone, Debug)]
pub(crate) enum Kernel {
    /// Everything where `normal . p <= -height`, so that `normal . p + height` is the distance outside.
    HalfSpace { normal: Vector3<f64>, height: f64 },
    /// An axis-aligned box.
    Box { min: Vector3<f64>, max: Vector3<f64> },
    /// A flat-ended cylinder: rows of `frame` are two directions across and the axis.
    Cylinder { middle: Vector3<f64>, frame: Option<Matrix3<f64>>, half: f64, radius: f64 },
    /// All points within `radius` of a segment.
    Capsule { from: Vector3<f64>, to: Vector3<f64>, radius: f64 },
    /// A closed surface.
    Mesh(Box<Mesh>),
}

/// A closed surface of triangles with its tree.
#[derive(Clone, Debug)]
pub(crate) struct Mesh {
    surface: TriMesh,
    triangles: Vec<[Vector3<f64>; 3]>,
}

/// Distance from a segment to a body, and where on the segment it is smallest (0 at its start, 1 at its end).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reach {
    pub(crate) distance: f64,
    pub(crate) at: f64,
}

/// Room that a body takes: its box, and its ring about the z axis.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) min: Vector3<f64>,
    pub(crate) max: Vector3<f64>,
    /// Least and greatest distance from the z axis.
    pub(crate) inner: f64,
    pub(crate) outer: f64,
}

impl Extent {
    /// Room of all points within `radius` of a segment.
    pub(crate) fn of_segment(from: Vector3<f64>, to: Vector3<f64>, radius: f64) -> Self {
        let (flat_from, flat_to) = (flat(from), flat(to));
        let inner =
            (segment_segment(flat_from, flat_to, Vector3::zeros(), Vector3::zeros()).distance - radius).max(0.0);
        let outer = flat_from.norm().max(flat_to.norm()) + radius;
        let grown = Vector3::repeat(radius);
        Self { min: from.inf(&to) - grown, max: from.sup(&to) + grown, inner, outer }
    }

    /// Lower bound on the distance of two bodies that stay where they are, the first of them pushed along +x by up to `push`.
    pub(crate) fn apart(&self, other: &Self, push: f64) -> f64 {
        let gap =
            |low: f64, high: f64, other_low: f64, other_high: f64| (low - other_high).max(other_low - high).max(0.0);
        Vector3::new(
            gap(self.min.x, self.max.x + push, other.min.x, other.max.x),
            gap(self.min.y, self.max.y, other.min.y, other.max.y),
            gap(self.min.z, self.max.z, other.min.z, other.max.z),
        )
        .norm()
    }

    /// Lower bound on their distance however they are turned about z, `sway` being how far either may be pushed besides.
    pub(crate) fn apart_turning(&self, other: &Self, sway: f64) -> f64 {
        let across = (self.inner - other.outer).max(other.inner - self.outer).max(0.0) - sway;
        let along = (self.min.z - other.max.z).max(other.min.z - self.max.z).max(0.0);
        let across = across.max(0.0);
        (across * across + along * along).sqrt()
    }
}

fn flat(p: Vector3<f64>) -> Vector3<f64> {
    Vector3::new(p.x, p.y, 0.0)
}

impl Kernel {
    /// The kernel of a shape.
    pub(crate) fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Box { min, max } => Self::Box { min: min.coords, max: max.coords },
            Shape::Cylinder { from, to, radius } => {
                let axis = to - from;
                let length = axis.norm();
                let middle = 0.5 * (from.coords + to.coords);
                let along = if length > 0.0 { axis / length } else { Vector3::z() };
                let upright = (along.z.abs() - 1.0).abs() < 1e-15;
                let frame = (!upright).then(|| {
                    let least = along.iamin();
                    let across = along.cross(&Vector3::ith(least, 1.0)).normalize();
                    Matrix3::from_rows(&[across.transpose(), along.cross(&across).transpose(), along.transpose()])
                });
                Self::Cylinder { middle, frame, half: 0.5 * length, radius: radius.to_mm() }
            }
            Shape::Capsule { from, to, radius } => {
                Self::Capsule { from: from.coords, to: to.coords, radius: radius.to_mm() }
            }
            Shape::Mesh(mesh) => match Mesh::new(mesh) {
                Some(mesh) => Self::Mesh(Box::new(mesh)),
                // A surface without triangles has no points: nothing is ever near it.
                None => Self::HalfSpace { normal: Vector3::zeros(), height: f64::MAX },
            },
        }
    }

    /// Room that the body takes; `None` for what has no end.
    pub(crate) fn extent(&self) -> Option<Extent> {
        Some(match self {
            Self::HalfSpace { .. } => return None,
            Self::Box { min, max } => {
                let beside = |low: f64, high: f64| low.max(-high).max(0.0);
                let far = Vector3::new(min.x.abs().max(max.x.abs()), min.y.abs().max(max.y.abs()), 0.0);
                let inner = libm::hypot(beside(min.x, max.x), beside(min.y, max.y));
                Extent { min: *min, max: *max, inner, outer: far.norm() }
            }
            Self::Cylinder { middle, frame, half, radius } => {
                let axis = frame.map_or_else(Vector3::z, |frame| frame.row(2).transpose());
                let upright = frame.is_none();
                let (from, to) = (middle - axis * *half, middle + axis * *half);
                let mut extent = Extent::of_segment(from, to, *radius);
                if upright {
                    extent.min.z = from.z.min(to.z);
                    extent.max.z = from.z.max(to.z);
                }
                extent
            }
            Self::Capsule { from, to, radius } => Extent::of_segment(*from, *to, *radius),
            Self::Mesh(mesh) => mesh.extent(),
        })
    }

    /// Distance from the segment between two points, 0 where they meet.
    pub(crate) fn segment(&self, p: Vector3<f64>, q: Vector3<f64>) -> Reach {
        match self {
            Self::HalfSpace { normal, height } => {
                let (from, to) = (normal.dot(&p) + height, normal.dot(&q) + height);
                if to < from {
                    Reach { distance: to.max(0.0), at: 1.0 }
                } else {
                    Reach { distance: from.max(0.0), at: 0.0 }
                }
            }
            Self::Box { min, max } => segment_box(p, q, min, max),
            Self::Cylinder { middle, frame, half, radius } => {
                let (p, q) = (p - middle, q - middle);
                match frame {
                    None => segment_cylinder(p, q, *half, *radius),
                    Some(frame) => segment_cylinder(frame * p, frame * q, *half, *radius),
                }
            }
            Self::Capsule { from, to, radius } => {
                let near = segment_segment(p, q, *from, *to);
                Reach { distance: (near.distance - radius).max(0.0), at: near.at }
            }
            Self::Mesh(mesh) => mesh.segment(p, q),
        }
    }
}

impl Mesh {
    fn new(mesh: &TriangleMesh) -> Option<Self> {
        let points: Vec<ParryVector> = mesh.points.iter().map(|p| ParryVector::new(p.x, p.y, p.z)).collect();
        let surface = TriMesh::new(points, mesh.triangles.clone()).ok()?;
        let corner = |index: u32| mesh.points[index as usize].coords;
        let triangles = mesh.triangles.iter().map(|t| [corner(t[0]), corner(t[1]), corner(t[2])]).collect();
        Some(Self { surface, triangles })
    }

    fn extent(&self) -> Extent {
        // The ring's inner edge is that of the body, not of its corners: where the axis passes through or close by, 0 is on the safe side.
        let corners = self.triangles.iter().flatten();
        let mut extent = Extent {
            min: Vector3::repeat(f64::INFINITY),
            max: Vector3::repeat(f64::NEG_INFINITY),
            inner: 0.0,
            outer: 0.0,
        };
        for corner in corners {
            extent.min = extent.min.inf(corner);
            extent.max = extent.max.sup(corner);
            extent.outer = extent.outer.max(flat(*corner).norm());
        }
        let beside = |low: f64, high: f64| low.max(-high).max(0.0);
        extent.inner = libm::hypot(beside(extent.min.x, extent.max.x), beside(extent.min.y, extent.max.y));
        extent
    }

    fn segment(&self, p: Vector3<f64>, q: Vector3<f64>) -> Reach {
        if self.holds(p) {
            return Reach { distance: 0.0, at: 0.0 };
        }
        let parry = |v: Vector3<f64>| ParryVector::new(v.x, v.y, v.z);
        let still = ParryPose::IDENTITY;
        let found = closest_points(&still, &ParrySegment::new(parry(p), parry(q)), &still, &self.surface, f64::MAX);
        match found {
            Ok(ClosestPoints::WithinMargin(on, other)) => {
                let along = q - p;
                let on = Vector3::new(on.x, on.y, on.z) - p;
                let length = along.norm_squared();
                let at = if length > 0.0 { (on.dot(&along) / length).clamp(0.0, 1.0) } else { 0.0 };
                let other = Vector3::new(other.x, other.y, other.z) - p;
                Reach { distance: (other - along * at).norm(), at }
            }
            // Touching, or what the library cannot say: both are taken for a contact.
            _ => Reach { distance: 0.0, at: self.first_meeting(p, q) },
        }
    }

    /// Where a segment that meets the surface first does: the place is only shown, so a coarse bisection on its distance will do.
    fn first_meeting(&self, p: Vector3<f64>, q: Vector3<f64>) -> f64 {
        let parry = |v: Vector3<f64>| ParryVector::new(v.x, v.y, v.z);
        let still = ParryPose::IDENTITY;
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            let part = ParrySegment::new(parry(p + (q - p) * low), parry(p + (q - p) * middle));
            match closest_points(&still, &part, &still, &self.surface, f64::MAX) {
                Ok(ClosestPoints::WithinMargin(..)) => low = middle,
                _ => high = middle,
            }
        }
        high
    }

    /// Whether a point lies inside: the solid angles of all triangles add up to a whole sphere (Van Oosterom and Strackee, IEEE Transactions on
    /// Biomedical Engineering 30 (1983) 125-126, from memory).
    fn holds(&self, p: Vector3<f64>) -> bool {
        let extent = self.surface.local_aabb();
        let inside_box = p.x >= extent.mins.x
            && p.y >= extent.mins.y
            && p.z >= extent.mins.z
            && p.x <= extent.maxs.x
            && p.y <= extent.maxs.y
            && p.z <= extent.maxs.z;
        if !inside_box {
            return false;
        }
        let around: f64 = self
            .triangles
            .iter()
            .map(|triangle| {
                let [a, b, c] = triangle.map(|corner| corner - p);
                let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
                let under = la * lb * lc + a.dot(&b) * lc + a.dot(&c) * lb + b.dot(&c) * la;
                2.0 * libm::atan2(a.dot(&b.cross(&c)), under)
            })
            .sum();
        around.abs() > 2.0 * core::f64::consts::PI
    }
}

/// Nearest places of two segments; `at` is that on the first.
pub(crate) fn segment_segment(p: Vector3<f64>, q: Vector3<f64>, from: Vector3<f64>, to: Vector3<f64>) -> Reach {
    let (at, other) = nearest_of_segments(p, q, from, to);
    Reach { distance: (p + (q - p) * at - from - (to - from) * other).norm(), at }
}

/// The parameters of nearest places on two segments.
pub(crate) fn nearest_of_segments(
    p: Vector3<f64>,
    q: Vector3<f64>,
    from: Vector3<f64>,
    to: Vector3<f64>,
) -> (f64, f64) {
    let (d, e, r) = (q - p, to - from, p - from);
    let (dd, ee, de) = (d.norm_squared(), e.norm_squared(), d.dot(&e));
    let (dr, er) = (d.dot(&r), e.dot(&r));
    // Shorter than a millionth of a millimetre is a point.
    const POINT: f64 = 1e-12;
    if dd <= POINT && ee <= POINT {
        return (0.0, 0.0);
    }
    if dd <= POINT {
        return (0.0, (er / ee).clamp(0.0, 1.0));
    }
    if ee <= POINT {
        return ((-dr / dd).clamp(0.0, 1.0), 0.0);
    }
    let under = dd * ee - de * de;
    // Nearly parallel lines: any place will do as a start, the clamping below finds the nearest ends.
    let mut s = if under > 1e-14 * dd * ee { ((de * er - dr * ee) / under).clamp(0.0, 1.0) } else { 0.0 };
    let mut t = (de * s + er) / ee;
    if t < 0.0 {
        t = 0.0;
        s = (-dr / dd).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((de - dr) / dd).clamp(0.0, 1.0);
    }
    (s, t)
}

/// Distance from a segment to an axis-aligned box.
///
/// Half the derivative of the squared distance along the segment is the sum over the axes of direction times how far the point is outside; it
/// is continuous, never falls, and is linear between the places where the segment passes a face's plane. Its root is the nearest place.
fn segment_box(p: Vector3<f64>, q: Vector3<f64>, min: &Vector3<f64>, max: &Vector3<f64>) -> Reach {
    let d = q - p;
    let outside = |t: f64| {
        let x = p + d * t;
        Vector3::new(
            (x.x - max.x).max(0.0) - (min.x - x.x).max(0.0),
            (x.y - max.y).max(0.0) - (min.y - x.y).max(0.0),
            (x.z - max.z).max(0.0) - (min.z - x.z).max(0.0),
        )
    };
    let reach = |t: f64| Reach { distance: outside(t).norm(), at: t };
    let slope = |t: f64| outside(t).dot(&d);
    let (mut low, mut high) = (0.0, 1.0);
    let mut slope_low = slope(0.0);
    if slope_low >= 0.0 {
        return reach(0.0);
    }
    let mut slope_high = slope(1.0);
    if slope_high <= 0.0 {
        return reach(1.0);
    }
    for axis in 0..3 {
        if d[axis] != 0.0 {
            for face in [min[axis], max[axis]] {
                let t = (face - p[axis]) / d[axis];
                if t > low && t < high {
                    let value = slope(t);
                    if value < 0.0 {
                        (low, slope_low) = (t, value);
                    } else {
                        (high, slope_high) = (t, value);
                    }
                }
            }
        }
    }
    // Linear between the two; where the segment runs inside, the derivative is 0 along a stretch that ends at `high`.
    let rise = slope_high - slope_low;
    let t = if rise > 0.0 { low - slope_low * (high - low) / rise } else { high };
    reach(t.clamp(low, high))
}

/// Distance from a segment to a flat-ended cylinder about z, centred at the origin.
fn segment_cylinder(p: Vector3<f64>, q: Vector3<f64>, half: f64, radius: f64) -> Reach {
    let d = q - p;
    let length = d.norm();
    let at = |t: f64| {
        let x = p + d * t;
        let across = (x.x * x.x + x.y * x.y).sqrt();
        let (out, over) = (across - radius, x.z.abs() - half);
        (x, across, out, over)
    };
    let reach = |t: f64| {
        let (_, _, out, over) = at(t);
        let (out, over) = (out.max(0.0), over.max(0.0));
        Reach { distance: (out * out + over * over).sqrt(), at: t }
    };
    // Half the derivative of the squared distance.
    let slope = |t: f64| {
        let (x, across, out, over) = at(t);
        let mut slope = 0.0;
        if out > 0.0 {
            slope += out * (x.x * d.x + x.y * d.y) / across;
        }
        if over > 0.0 {
            slope += over * d.z * x.z.signum();
        }
        slope
    };
    if slope(0.0) >= 0.0 {
        return reach(0.0);
    }
    if slope(1.0) <= 0.0 {
        return reach(1.0);
    }
    // The slope never falls: first a good guess from the lateral surface alone, then bisection. A bracket of 1e-7 mm is an error of no more.
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let flat = d.x * d.x + d.y * d.y;
    if flat > 0.0 {
        let lateral = -(p.x * d.x + p.y * d.y) / flat;
        let width = 1e-9_f64.max(1e-8 / length);
        for guess in [lateral - width, lateral + width] {
            if guess > low && guess < high {
                if slope(guess) < 0.0 { low = guess } else { high = guess }
            }
        }
    }
    while (high - low) * length > 1e-7 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if slope(middle) < 0.0 { low = middle } else { high = middle }
    }
    reach(high)
}
