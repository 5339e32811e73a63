//! The tube in the bender at one step: before the bend, after it, and what it sweeps between.

use kurbo::BezPath;
use nalgebra::{Point3, Rotation3, Vector3};
use tubewright::bender::{BendMotion, BendPlane, Shape, Solid, Step};
use tubewright::body::{Placed, Role, pieces_at};
use tubewright::motion;
use tubewright::plan::PlanStep;
use tubewright::units::{Angle, Length};

use super::course::Course;
use super::tube::Tube;
use super::view::View;
use crate::words::Words;

/// Turn of the die between two places that a swept strip is drawn through where it is no part of a ring: 3 degrees.
const STRIDE: f64 = core::f64::consts::PI / 60.0;

/// Longest part of an arc of the tube that one strip stands for: 10 degrees.
const CHORD: f64 = core::f64::consts::PI / 18.0;

/// One step of a tube.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bent<'a> {
    pub(super) step: Step<'a>,
    pub(super) plan: &'a PlanStep,
    pub(super) wall: Option<Length>,
}

impl<'a> Bent<'a> {
    /// # Panics
    /// Where the tube has no step of this number, counted from 1.
    pub(super) fn new(words: &Words<'a>, number: usize, made: &'a [bool]) -> Self {
        let plan = &words.tube.steps[number - 1];
        let step = Step { bender: &words.job.bender, blank: &words.tube.blank, bend: plan.bend, lead: plan.lead, made };
        Self { step, plan, wall: words.tube.stock.wall }
    }

    /// The tube at a die angle.
    pub(super) fn tube(&self, angle: Angle) -> Tube {
        let courses = pieces_at(&self.step, angle).iter().map(Course::of).collect();
        Tube { courses, od: self.step.blank.od.to_mm(), wall: self.wall.map(Length::to_mm) }
    }

    /// From where to where along the tube after the bend it has swung.
    pub(super) fn swung(&self) -> (f64, f64) {
        let mut range: Option<(f64, f64)> = None;
        let mut before = 0.0;
        for placed in &pieces_at(&self.step, self.plan.die_angle) {
            let after = before + Course::of(placed).length();
            if self.moves(placed.role) || placed.role == Role::Wrapped {
                range = Some((range.map_or(before, |(from, _)| from), after));
            }
            before = after;
        }
        range.unwrap_or((0.0, 0.0))
    }

    /// Whether what has this role swings while the bend is made.
    pub(super) fn moves(&self, role: Role) -> bool {
        match self.step.bender.motion {
            BendMotion::DieTurns => role == Role::Lead,
            BendMotion::DieStands => role == Role::Trail,
        }
    }

    /// Up in the bender frame.
    pub(super) fn up(&self) -> Vector3<f64> {
        self.step.bender.bend_plane.up().into_inner()
    }

    /// Whether the die's axis stands upright.
    pub(super) fn lies(&self) -> bool {
        self.step.bender.bend_plane == BendPlane::Horizontal
    }

    /// The tangent point.
    pub(super) fn tangent(&self) -> Point3<f64> {
        Point3::new(0.0, -self.step.bender.hand.sign() * self.step.active().clr.to_mm(), 0.0)
    }

    /// Where the mark lies at the die's index, and the direction of the tube there.
    pub(super) fn index(&self) -> Point3<f64> {
        self.tangent() + Vector3::x() * self.step.active().mark_offset.to_mm()
    }

    /// The operator's place, where the bender's file has a solid of such a name.
    pub(super) fn operator(&self) -> Option<&'a Solid> {
        self.step.bender.solids.iter().find(|solid| solid.is_operator())
    }

    /// The arcs of the bends that are made, in the bender before the bend.
    pub(super) fn made_arcs(&self) -> Vec<(usize, Course)> {
        let arc = |placed: &Placed| Some((placed.bend?.number(), Course::of(placed)));
        pieces_at(&self.step, Angle::ZERO).iter().filter_map(arc).collect()
    }

    /// The way of one place of the tube that swings, halfway out, for the arrow: between a tenth and nine tenths of the turn.
    pub(super) fn way(&self) -> Vec<Point3<f64>> {
        let active = self.step.active();
        let tangent = active.tangent(self.step.lead);
        let toward_a =
            (self.step.lead == tubewright::forming::LeadEnd::A) == (self.step.bender.motion == BendMotion::DieTurns);
        let end = if toward_a { Length::ZERO } else { self.step.blank.cut_length };
        let place = tangent + (end - tangent) * 0.62;
        (0..=24)
            .map(|part| motion::place(&self.step, place, self.plan.die_angle * (0.12 + 0.76 * f64::from(part) / 24.0)))
            .collect()
    }

    /// What the part that swings sweeps, as it is seen along the die's axis: areas that lie on each other.
    ///
    /// A part of a straight on one side of its point nearest to the axis sweeps a strip between two arcs about the axis; an arc of the tube is
    /// taken for short straights. Where the die stands, the tube rolls on it: its strips are drawn through places 3 degrees apart.
    pub(super) fn swept(&self, view: &View) -> Vec<BezPath> {
        let angle = self.plan.die_angle.to_rad();
        let active = self.step.active();
        let sign = self.step.bender.hand.sign();
        let turns = self.step.bender.motion == BendMotion::DieTurns;
        let mut strips = Vec::new();
        for placed in pieces_at(&self.step, Angle::ZERO) {
            if placed.role == Role::Wrapped {
                continue;
            }
            for (from, to) in chords(&placed) {
                let path = match (self.moves(placed.role), turns) {
                    (true, true) => ring_strip(view, from, to, sign * angle),
                    (true, false) => {
                        let feed = active.clr.to_mm() / (1.0 + active.stretch);
                        let at = |point: Point3<f64>, turn: f64| {
                            let back = Rotation3::from_axis_angle(&Vector3::z_axis(), -sign * turn);
                            // What has come to the tangent point lies on the die and goes no further.
                            let there = point + Vector3::x() * (feed * turn);
                            let in_line = (point - self.tangent()).yz().norm() < 1e-6;
                            back * if in_line { Point3::new(there.x.min(0.0), there.y, there.z) } else { there }
                        };
                        rolled_strip(view, from, to, angle, &at)
                    }
                    (false, true) if (to - from).cross(&Vector3::x()).norm() > 1e-6 => {
                        let drawn = active.clr.to_mm() * angle / (1.0 + active.stretch);
                        let at = |point: Point3<f64>, turn: f64| point + Vector3::x() * (drawn * turn / angle);
                        rolled_strip(view, from, to, angle, &at)
                    }
                    _ => continue,
                };
                strips.push(path);
            }
        }
        strips
    }
}

/// All points that tell how far solids reach.
pub(super) fn corners(shape: &Shape) -> Vec<Point3<f64>> {
    let boxed = |low: Vector3<f64>, high: Vector3<f64>| {
        (0..8_u8)
            .map(|corner| {
                let pick = |bit: u8, low: f64, high: f64| if corner & bit == 0 { low } else { high };
                Point3::new(pick(1, low.x, high.x), pick(2, low.y, high.y), pick(4, low.z, high.z))
            })
            .collect()
    };
    match shape {
        Shape::Box { min, max } => boxed(min.coords, max.coords),
        Shape::Capsule { from, to, radius } => {
            let room = Vector3::repeat(radius.to_mm());
            boxed(from.coords.inf(&to.coords) - room, from.coords.sup(&to.coords) + room)
        }
        Shape::Cylinder { from, to, radius } => {
            let axis = (to - from).try_normalize(0.0).unwrap_or_else(Vector3::z);
            let room = axis.map(|part| (1.0 - part * part).max(0.0).sqrt() * radius.to_mm());
            boxed(from.coords.inf(&to.coords) - room, from.coords.sup(&to.coords) + room)
        }
        Shape::Mesh(mesh) => mesh.points.clone(),
    }
}

/// A piece as straights, each on one side of its point nearest to the die's axis.
fn chords(placed: &Placed) -> Vec<(Point3<f64>, Point3<f64>)> {
    let course = Course::of(placed);
    let parts = match course {
        Course::Straight { .. } => 1,
        Course::Arc { angle, .. } => (angle / CHORD).ceil().max(1.0) as usize,
    };
    let mut chords = Vec::new();
    for part in 0..parts {
        let at = |part: usize| course.at(part as f64 / parts as f64);
        let (from, to) = (at(part), at(part + 1));
        let along = (to - from).xy();
        let foot = -from.coords.xy().dot(&along) / along.norm_squared();
        if foot > 1e-9 && foot < 1.0 - 1e-9 {
            let middle = from + (to - from) * foot;
            chords.extend([(from, middle), (middle, to)]);
        } else {
            chords.push((from, to));
        }
    }
    chords
}

fn ring_strip(view: &View, from: Point3<f64>, to: Point3<f64>, turn: f64) -> BezPath {
    let about = |point: Point3<f64>| {
        let radius = point.coords.xy().norm();
        let axis = Vector3::z() * turn.signum();
        let across = if radius > 1e-9 { Vector3::new(point.x / radius, point.y / radius, 0.0) } else { Vector3::x() };
        let centre = Point3::new(0.0, 0.0, point.z);
        Course::Arc { centre, across, along: axis.cross(&across), radius, angle: turn.abs() }
    };
    let (out, back) = (about(to), about(from));
    let mut path = BezPath::new();
    Course::Straight { from, to }.add(view, &mut path);
    out.add(view, &mut path);
    path.line_to(view.point(back.at(1.0)));
    back.reversed().add(view, &mut path);
    path.close_path();
    path
}

fn rolled_strip(
    view: &View,
    from: Point3<f64>,
    to: Point3<f64>,
    angle: f64,
    at: &dyn Fn(Point3<f64>, f64) -> Point3<f64>,
) -> BezPath {
    let parts = (angle / STRIDE).ceil().max(1.0) as usize;
    let turn = |part: usize| angle * part as f64 / parts as f64;
    let mut path = BezPath::new();
    path.move_to(view.point(from));
    for part in 0..=parts {
        path.line_to(view.point(at(to, turn(part))));
    }
    for part in (0..=parts).rev() {
        path.line_to(view.point(at(from, turn(part))));
    }
    path.close_path();
    path
}
