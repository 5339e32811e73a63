//! The outline of a solid as it is seen from a direction.

use std::collections::BTreeMap;

use kurbo::{BezPath, Point};
use nalgebra::{Point3, Vector3};
use tubewright::bender::{Shape, TriangleMesh};

use super::course::Course;
use super::view::View;

/// What is seen of a solid.
#[derive(Clone, Debug)]
pub(super) struct Outline {
    /// Its outline; closed, but for a mesh, whose edges are lines of their own.
    pub(super) path: BezPath,
    /// Depth of what is nearest of it, mm of the tube.
    pub(super) depth: f64,
}

impl Outline {
    pub(super) fn new(view: &View, shape: &Shape) -> Self {
        match shape {
            Shape::Box { min, max } => {
                let corners: Vec<Point3<f64>> = (0..8_u8)
                    .map(|corner| {
                        let pick = |bit: u8, low: f64, high: f64| if corner & bit == 0 { low } else { high };
                        Point3::new(pick(1, min.x, max.x), pick(2, min.y, max.y), pick(4, min.z, max.z))
                    })
                    .collect();
                let seen = corners.iter().map(|corner| view.point(*corner)).collect();
                Self { path: polygon(&hull(seen)), depth: nearest(view, &corners) }
            }
            Shape::Cylinder { from, to, radius } => {
                let axis = (to - from).try_normalize(0.0).unwrap_or_else(Vector3::z);
                let (across, along) = super::course::square_to(axis);
                // A disc reaches toward whoever looks by its radius times the sine of the slope of its axis.
                let rise = radius.to_mm() * axis.cross(&view.toward).norm();
                Self {
                    path: drawn_out(view, [*from, *to], [across, along], radius.to_mm()),
                    depth: nearest(view, &[*from, *to]) + rise,
                }
            }
            Shape::Capsule { from, to, radius } => Self {
                path: drawn_out(view, [*from, *to], [view.right, view.up], radius.to_mm()),
                depth: nearest(view, &[*from, *to]) + radius.to_mm(),
            },
            Shape::Mesh(mesh) => Self { path: rim(view, mesh), depth: nearest(view, &mesh.points) },
        }
    }
}

fn nearest(view: &View, points: &[Point3<f64>]) -> f64 {
    points.iter().map(|point| view.depth(*point)).fold(f64::NEG_INFINITY, f64::max)
}

/// The outline of a flat disc, or of one that always faces the eye, pulled from one place to another: two half ellipses and the two lines that touch
/// both. They touch where the ellipse runs along the way.
fn drawn_out(view: &View, ends: [Point3<f64>; 2], discs: [Vector3<f64>; 2], radius: f64) -> BezPath {
    let [from, to] = ends;
    let way = view.direction(to - from);
    let [across, along] = discs.map(|axis| view.direction(axis));
    let whole = 2.0 * core::f64::consts::PI;
    let mut path = BezPath::new();
    if way.hypot() < 1e-9 {
        let disc = Course::Arc { centre: to, across: discs[0], along: discs[1], radius, angle: whole };
        disc.add(view, &mut path);
    } else {
        let touch = libm::atan2(along.cross(way), across.cross(way));
        // The half that is further along the way belongs to the far end.
        let half = |start: f64, centre: Point3<f64>| {
            let (sin, cos) = libm::sincos(start);
            let (one, other) = (discs[0] * cos + discs[1] * sin, discs[1] * cos - discs[0] * sin);
            Course::Arc { centre, across: one, along: other, radius, angle: core::f64::consts::PI }
        };
        let ahead = |start: f64| {
            let (sin, cos) = libm::sincos(start + core::f64::consts::FRAC_PI_2);
            (across * cos + along * sin).dot(way)
        };
        let opposite = touch + core::f64::consts::PI;
        let (first, second) = if ahead(touch) >= 0.0 { (touch, opposite) } else { (opposite, touch) };
        half(first, to).add(view, &mut path);
        let back = half(second, from);
        path.line_to(view.point(back.at(0.0)));
        back.add(view, &mut path);
    }
    path.close_path();
    path
}

/// The edges of a mesh between a triangle that faces the eye and one that does not.
fn rim(view: &View, mesh: &TriangleMesh) -> BezPath {
    let mut edges: BTreeMap<(u32, u32), i32> = BTreeMap::new();
    for triangle in &mesh.triangles {
        let [a, b, c] = triangle.map(|corner| view.point(mesh.points[corner as usize]));
        // Counted clockwise on the sheet, so that edges of neighbours that face alike cancel.
        if (b - a).cross(c - a) < 0.0 {
            for (one, other) in [(0, 1), (1, 2), (2, 0)] {
                let (one, other) = (triangle[one], triangle[other]);
                let sense = if one < other { 1 } else { -1 };
                *edges.entry((one.min(other), one.max(other))).or_default() += sense;
            }
        }
    }
    let mut path = BezPath::new();
    for ((one, other), count) in edges {
        if count != 0 {
            path.move_to(view.point(mesh.points[one as usize]));
            path.line_to(view.point(mesh.points[other as usize]));
        }
    }
    path
}

fn polygon(corners: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (place, corner) in corners.iter().enumerate() {
        if place == 0 {
            path.move_to(*corner);
        } else {
            path.line_to(*corner);
        }
    }
    path.close_path();
    path
}

/// The convex hull, by going along its lower and its upper side.
fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
    let side = |points: &mut dyn Iterator<Item = &Point>| {
        let mut side: Vec<Point> = Vec::new();
        for point in points {
            while let [.., before, last] = side.as_slice()
                && (*last - *before).cross(*point - *before) <= 1e-12
            {
                side.pop();
            }
            side.push(*point);
        }
        side.pop();
        side
    };
    let mut around = side(&mut points.iter());
    around.extend(side(&mut points.iter().rev()));
    around
}

#[cfg(test)]
mod tests {
    use kurbo::Shape as _;
    use tubewright::units::Length;

    use super::*;

    fn aslant() -> View {
        let right = Vector3::new(2.0, 1.0, 0.0).normalize();
        let up = Vector3::new(-1.0, 2.0, 3.0).normalize();
        View::new(right, up)
    }

    /// Every point of the surface lies within the outline, and some come to within what the samples are apart.
    #[test]
    fn an_outline_holds_all_of_its_solid_and_no_more() {
        let view = aslant();
        let (from, to) = (Point3::new(10.0, -20.0, 5.0), Point3::new(60.0, 30.0, 90.0));
        let axis = (to - from).normalize();
        let (across, along) = super::super::course::square_to(axis);
        for capsule in [false, true] {
            let radius = Length::mm(25.0);
            let shape =
                if capsule { Shape::Capsule { from, to, radius } } else { Shape::Cylinder { from, to, radius } };
            let outline = Outline::new(&view, &shape).path;
            let mut most = 0.0_f64;
            let mut tight = f64::INFINITY;
            for turn in 0..360 {
                let (sin, cos) = libm::sincos(f64::from(turn).to_radians());
                for part in 0..=20 {
                    let on = from + (to - from) * (f64::from(part) / 20.0);
                    let seen = view.point(on + (across * cos + along * sin) * 25.0);
                    let middle = view.point(from + (to - from) * 0.5);
                    let inner = middle + (seen - middle) * (1.0 - 1e-6);
                    assert!(outline.contains(inner), "{capsule} {turn} {part}");
                    let outer = middle + (seen - middle) * 1.001;
                    if !outline.contains(outer) {
                        tight = tight.min((seen - middle).hypot());
                    }
                    most = most.max((seen - middle).hypot());
                }
            }
            assert!(tight < most, "the outline is loose");
        }
    }

    #[test]
    fn a_box_is_seen_as_the_hull_of_its_corners() {
        let shape = Shape::Box { min: Point3::new(0.0, 0.0, 0.0), max: Point3::new(10.0, 20.0, 30.0) };
        let view = View::new(Vector3::x(), Vector3::y());
        let outline = Outline::new(&view, &shape);
        assert!((outline.path.area().abs() - 200.0).abs() < 1e-9);
        assert!((outline.depth - 30.0).abs() < 1e-12);
        assert!(Outline::new(&aslant(), &shape).path.segments().count() == 6);
    }
}
