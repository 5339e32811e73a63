//! How near a finished tube comes to one solid, both at rest.

use std::collections::BinaryHeap;

use glam::DVec3;
use nalgebra::Point3;

use super::kernel::{Form, dvec};
use crate::bender::{Carrier, Shape, Step};
use crate::body::{Piece, finished};
use crate::centreline::Centreline;
use crate::motion::carried;
use crate::units::{Angle, Length};

/// The answer is at most so much under the truth, mm.
const WITHIN: f64 = 0.01;

/// Parts of a piece looked at before what is known by then is the answer.
const BUDGET: usize = 1_000_000;

/// The point of a solid that lies nearest to a point, mm, in the frame of both; the point itself where the solid holds it.
///
/// Exact up to rounding. For a mesh it is the nearest point of its surface, for a point within it as well. The point itself for a mesh
/// without a triangle.
#[must_use]
pub fn nearest_on(shape: &Shape, point: Point3<f64>) -> Point3<f64> {
    let near = Form::new(shape).near(dvec(&point), DVec3::ZERO);
    if near.gap.is_finite() { Point3::from(dvec(&point) - near.gap * near.normal) } else { point }
}

/// The point of a named obstacle that lies nearest to a point at a die angle, both mm in the bender frame: what a gap is drawn to.
///
/// `None` for the tube itself, and for a name that no obstacle has. A solid of the file's own comes before a tool or the floor of the same name.
///
/// # Panics
/// Where the blank has no such bend or the bender no such die.
#[must_use]
pub fn obstacle_point(step: &Step<'_>, name: &str, point: Point3<f64>, die_angle: Angle) -> Option<Point3<f64>> {
    let bender = step.bender;
    let moved = |shape: &Shape, on: Carrier| {
        let carried = carried(step, on, die_angle);
        carried * nearest_on(shape, carried.inverse_transform_point(&point))
    };
    let own = bender.solids.iter().filter(|solid| solid.name == name).map(|solid| moved(&solid.shape, solid.on));
    let tools = bender.tools(step.die());
    let tools = tools.iter().filter(|tool| tool.name == name);
    let held = tools.flat_map(|tool| tool.shapes.iter().map(|shape| moved(shape, tool.on)));
    let floor = || {
        let up = bender.bend_plane.up().into_inner();
        point - up * (point.coords.dot(&up) + bender.centre_height.to_mm())
    };
    own.chain(held)
        .min_by(|one, other| (one - point).norm().total_cmp(&(other - point).norm()))
        .or_else(|| (name == "floor").then(floor))
}

/// The gap between a finished tube and a solid that stands in the axes of the job: the distance of the centreline less half
/// the OD; 0 where they touch or overlap.
///
/// Never above the truth and at most 0.01 mm under it. Ends count as half balls. A tube inside a closed mesh touches it.
/// Infinite for a mesh without a triangle.
#[must_use]
pub fn static_gap(centreline: &Centreline, od: Length, shape: &Shape) -> Length {
    let form = Form::new(shape);
    if form.holds(dvec(&centreline.start)) {
        return Length::ZERO;
    }
    let mut open = BinaryHeap::new();
    let mut upper = f64::INFINITY;
    let mut look = |piece: Piece, from: f64, to: f64, open: &mut BinaryHeap<Open>| {
        let chord = piece.chord(from, to);
        let gap = form.near(chord.from, chord.to - chord.from).gap;
        upper = upper.min(gap + chord.sag);
        open.push(Open { least: gap - chord.sag, piece, from, to });
        upper
    };
    let mut best = f64::INFINITY;
    for piece in finished(centreline) {
        best = look(piece, 0.0, 1.0, &mut open);
    }
    let mut least = f64::INFINITY;
    for _ in 0..BUDGET {
        let Some(next) = open.pop() else { break };
        least = next.least;
        if best - least <= WITHIN {
            break;
        }
        let middle = 0.5 * (next.from + next.to);
        look(next.piece, next.from, middle, &mut open);
        best = look(next.piece, middle, next.to, &mut open);
    }
    Length::mm((least - 0.5 * od.to_mm()).max(0.0))
}

/// A part of a piece that is not settled yet; the one that may be nearest comes first.
struct Open {
    least: f64,
    piece: Piece,
    from: f64,
    to: f64,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Open {}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<core::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> core::cmp::Ordering {
        other.least.total_cmp(&self.least)
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::centreline;
    use super::*;

    #[test]
    fn a_ball_in_the_middle_of_a_bend_is_a_radius_away() {
        let ball = |at: [f64; 3]| Shape::Capsule { from: at.into(), to: at.into(), radius: Length::mm(10.0) };
        let bend = centreline(&[(100.0, 0.0, 90.0)], 100.0, 80.0);
        let gap = |shape: &Shape| static_gap(&bend, Length::mm(40.0), shape).to_mm();
        // The arc's centre lies at (100, 80, 0), 80 from every point of it.
        let found = gap(&ball([100.0, 80.0, 0.0]));
        assert!(found <= 50.0 && found > 49.99, "{found}");
        let found = gap(&ball([50.0, 0.0, -70.0]));
        assert!((found - 40.0).abs() < 0.0101);
        assert!(gap(&ball([50.0, 0.0, -29.0])) <= 0.0);
        let wall = Shape::Box { min: Point3::new(200.0, -500.0, -500.0), max: Point3::new(300.0, 500.0, 500.0) };
        // The last leg runs at x = 180, 20 from the wall: it touches, and 5 further it does not.
        assert!(gap(&wall) <= 0.0);
        let wall = Shape::Box { min: Point3::new(205.0, -500.0, -500.0), max: Point3::new(300.0, 500.0, 500.0) };
        assert!((gap(&wall) - 5.0).abs() < 0.0101);
    }

    #[test]
    fn the_nearest_point_of_a_solid_lies_on_its_surface() {
        let at = |shape: &Shape, point: [f64; 3], wanted: [f64; 3]| {
            let found = nearest_on(shape, point.into());
            assert!((found - Point3::from(wanted)).norm() < 1e-9, "{shape:?}: {found}");
        };
        let block = Shape::Box { min: Point3::new(0.0, 0.0, 0.0), max: Point3::new(10.0, 20.0, 30.0) };
        at(&block, [13.0, 25.0, 7.0], [10.0, 20.0, 7.0]);
        at(&block, [5.0, 5.0, 5.0], [5.0, 5.0, 5.0]);
        let post = Shape::Cylinder { from: Point3::origin(), to: Point3::new(0.0, 0.0, 9.0), radius: Length::mm(5.0) };
        at(&post, [30.0, 40.0, 12.0], [3.0, 4.0, 9.0]);
        let bar = Shape::Capsule { from: Point3::origin(), to: Point3::new(0.0, 0.0, 9.0), radius: Length::mm(5.0) };
        at(&bar, [0.0, 0.0, 20.0], [0.0, 0.0, 14.0]);
    }
}
