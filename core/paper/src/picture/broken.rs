//! The break in a tube that is much longer than the bender.
//!
//! ```text
//!   end B                       mark
//!   ====//====================== |====+     left out, and drawn as one place: a slice of space square to x,
//!       ^                        die        the direction of the tube at the tangent point
//! ```
//!
//! In the slice there are only straights along x, at every die angle of the bend, so that nothing is told by it but a length, which stands beside it. What lies on one
//! side of it is drawn true, and so is what lies on the other; only along x are the two nearer to each other than they are. What swings with the die is never
//! broken, since the room that it sweeps would be wrong.

use kurbo::Rect;
use nalgebra::{Point3, Vector3};
use tubewright::bender::{Carrier, Shape};
use tubewright::body::{Role, pieces_at};
use tubewright::units::Angle;

use super::bent::{Bent, corners};
use super::course::Course;
use super::view::View;

/// What stays of the tube on either side of a break, as a multiple of the OD: enough to be seen as a tube.
pub(super) const KEPT: f64 = 3.0;

/// Die angles that are looked at; between two of them what moves is taken to be everywhere that it can come.
const ANGLES: u32 = 48;

/// A part of space that is left out: all with an x in between, mm of the bender frame, is drawn at one place. The origin is not in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Break {
    pub(super) from: f64,
    pub(super) to: f64,
}

impl Break {
    /// Where a point is drawn: the side with the origin stays, the other moves up to it.
    pub(super) fn closed(&self, point: Point3<f64>) -> Point3<f64> {
        let near = if self.to <= 0.0 { self.to } else { self.from };
        point - Vector3::x() * (point.x.clamp(self.from, self.to) - near)
    }

    /// The longest part along a step's tube that tells nothing; `None` where there is none.
    ///
    /// `seen` is what the view along the die's axis shows of what stands about the tube, at 1:1: a solid beside that is not minded. `points` stay on either
    /// side of the break, and no two neighbours of them are parted by it.
    pub(super) fn find(bent: &Bent<'_>, view: &View, seen: Rect, points: &[[Point3<f64>; 2]]) -> Option<Self> {
        // Where the tube does not lie level, a part that is left out would change the height of the rest.
        if bent.up().x.abs() > 1e-9 {
            return None;
        }
        let od = bent.step.blank.od.to_mm();
        let mut taken = in_the_way(bent, view, seen);
        taken.extend(points.iter().map(|[one, other]| (one.x.min(other.x), one.x.max(other.x))));
        taken.push((bent.tangent().x.min(bent.index().x), bent.tangent().x.max(bent.index().x)));
        taken.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut longest: Option<Self> = None;
        let mut reached: Option<f64> = None;
        for (from, to) in taken {
            if let Some(reached) = reached {
                let one = Self { from: reached + KEPT * od, to: from - KEPT * od };
                let longer = longest.is_none_or(|longest| longest.to - longest.from < one.to - one.from);
                // Beside the tube there is nothing to break.
                if one.to > one.from && longer && one.parts(bent).next().is_some() {
                    longest = Some(one);
                }
            }
            reached = Some(reached.map_or(to, |reached| reached.max(to)));
        }
        longest
    }

    /// The straights of the tube that it goes through as the tube is laid in.
    pub(super) fn parts(&self, bent: &Bent<'_>) -> impl Iterator<Item = Course> {
        let middle = 0.5 * (self.from + self.to);
        let through = move |course: &Course| (course.at(0.0).x - middle) * (course.at(1.0).x - middle) < 0.0;
        pieces_at(&bent.step, Angle::ZERO).iter().map(Course::of).filter(through).collect::<Vec<_>>().into_iter()
    }
}

/// From where to where along x something is that a break must not hide: the tube but for what is straight along x and stays so, and what stands about it.
fn in_the_way(bent: &Bent<'_>, view: &View, seen: Rect) -> Vec<(f64, f64)> {
    let mut taken = Vec::new();
    let (angle, clr) = (bent.plan.die_angle.to_rad(), bent.step.active().clr.to_mm());
    let stride = angle / f64::from(ANGLES);
    for part in 0..=ANGLES {
        for placed in pieces_at(&bent.step, bent.plan.die_angle * (f64::from(part) / f64::from(ANGLES))) {
            let course = Course::of(&placed);
            let points: Vec<Point3<f64>> = (0..=16).map(|part| course.at(f64::from(part) / 16.0)).collect();
            let straight = matches!(course, Course::Straight { .. });
            // An arc reaches no further than this past the nearest of its points, and up to half the way to the next angle no point goes further than `more`.
            let bulge = if straight { 0.0 } else { course.length() / 32.0 };
            let radius = points.iter().map(|point| point.coords.xy().norm()).fold(0.0, f64::max) + bulge;
            let more = (radius + clr) * stride / 2.0 + bulge;
            let along = (course.at(1.0) - course.at(0.0)).cross(&Vector3::x()).norm() < 1e-6;
            if straight && along && placed.role != Role::Wrapped && !bent.moves(placed.role) {
                // What lies behind the die is drawn in along itself.
                taken.extend([course.at(0.0), course.at(1.0)].map(|end| (end.x - clr * stride, end.x + clr * stride)));
            } else {
                let (low, high) = range(points.iter().map(|point| point.x));
                taken.push((low - more, high + more));
            }
        }
    }
    let bender = bent.step.bender;
    let tools = bender.tools(bent.step.die());
    let tools = tools.iter().flat_map(|tool| tool.shapes.iter().map(|shape| (shape, tool.on)));
    for (shape, on) in bender.solids.iter().map(|solid| (&solid.shape, solid.on)).chain(tools) {
        let corners = corners(shape);
        let reach = corners.iter().map(|corner| corner.coords.xy().norm()).fold(0.0, f64::max) + clr * angle;
        let (low, high) = range(corners.iter().map(|corner| corner.x));
        let flat = super::tube::bounds(corners.iter().map(|corner| view.point(*corner)));
        match (on, shape) {
            // It may come round, or along.
            (Carrier::Die | Carrier::Follower, _) => taken.push((-reach, reach)),
            _ if !flat.is_some_and(|flat| flat.y0 < seen.y1 && seen.y0 < flat.y1) => {}
            // It is the same all along x.
            (Carrier::Frame, Shape::Box { .. }) => taken.extend([(low, low), (high, high)]),
            (Carrier::Frame, _) => taken.push((low, high)),
        }
    }
    taken
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}
