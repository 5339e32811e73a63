//! A naive judge of clearances, written from the description of the motion alone.
//!
//! It knows one thing of the tube: where the point of the blank at place u is when the die has turned by a. Distances are those of single
//! points to solids. The smallest gap over a whole motion is found by halving rectangles of (u, a): the point at the middle of a rectangle cannot
//! come nearer anywhere in it than by half its width along the tube plus half its angle times the largest speed. No pieces, no chords, no
//! kernels for segments: nothing is shared with the library but the types of its input.

#![allow(dead_code, reason = "each test that has this module uses a part of it")]

pub mod handling;

use nalgebra::{Point3, Rotation3, Unit, Vector3};
use tubewright::bender::{BendMotion, Bender, Carrier, Die, Follower, Shape};
use tubewright::clearance::Step;
use tubewright::forming::LeadEnd;

/// A contact this deep, mm, is one: how deep it goes is not asked.
const DEEP: f64 = -1.0;

/// An end of the tube that is held is held to its last point, whatever rounding does to it, mm.
const ROUNDING: f64 = 1e-9;

/// A tolerance that doubles each time that so many rectangles have been looked at.
struct Patience {
    now: f64,
    spent: u32,
}

impl Patience {
    const RECTANGLES: u32 = 500_000;

    fn new(tolerance: f64) -> Self {
        Self { now: tolerance, spent: 0 }
    }

    fn after_one_more(&mut self) -> f64 {
        self.spent += 1;
        if self.spent == Self::RECTANGLES {
            self.spent = 0;
            self.now *= 2.0;
        }
        self.now
    }
}

/// What the tube is held against.
pub enum Obstacle<'a> {
    Solid { shape: &'a Shape, on: Carrier, holds: bool },
    Floor,
}

/// The rigid path of one side of the tube at die angle 0, outward from the tangent point.
struct Side {
    /// Straights and arcs, from the die outward.
    runs: Vec<Run>,
    /// Blank between the tangent point and the end of the tube.
    length: f64,
    /// Distance along the blank to the next made bend, or the end.
    unbent: f64,
    /// Made bends: distance along the blank to the tangent point nearer to the die, and bend angle.
    bends: Vec<(f64, f64)>,
}

struct Run {
    from: f64,
    at: Point3<f64>,
    direction: Vector3<f64>,
    /// For an arc: axis about which the outward direction turns, radius, and turn for each mm of blank.
    arc: Option<(Vector3<f64>, f64, f64)>,
}

fn turned(vector: Vector3<f64>, about: Vector3<f64>, by: f64) -> Vector3<f64> {
    Rotation3::from_axis_angle(&Unit::new_normalize(about), by) * vector
}

impl Run {
    fn place(&self, s: f64) -> Point3<f64> {
        let along = s - self.from;
        match self.arc {
            None => self.at + self.direction * along,
            Some((axis, radius, turn)) => {
                // The centre lies to the left of the outward direction, seen along the axis of the turn.
                let centre = self.at + axis.cross(&self.direction) * radius;
                centre - axis.cross(&turned(self.direction, axis, turn * along)) * radius
            }
        }
    }
}

impl Side {
    /// `outward`: +1 toward end B, -1 toward end A.
    fn new(step: &Step<'_>, origin: Point3<f64>, outward: f64, direction: Vector3<f64>, normal: Vector3<f64>) -> Self {
        let blank = step.blank;
        let here = step.bend.0;
        let bends = &blank.bends;
        let tangent = match step.lead {
            LeadEnd::A => bends[here].start.to_mm(),
            LeadEnd::B => bends[here].end.to_mm(),
        };
        let length = if outward > 0.0 { blank.cut_length.to_mm() - tangent } else { tangent };
        let mut side = Self { runs: Vec::new(), length, unbent: length, bends: Vec::new() };
        let (mut at, mut direction, mut normal, mut s) = (origin, direction, normal, 0.0);
        let mut place = here;
        loop {
            // Normals are those of travel from A to B; going toward A the tube's travel is against the outward direction.
            let rotation;
            if outward > 0.0 {
                place += 1;
                if place >= bends.len() {
                    break;
                }
                rotation = bends[place].rotation.to_rad();
            } else {
                if place == 0 {
                    break;
                }
                rotation = -bends[place].rotation.to_rad();
                place -= 1;
            }
            let travel = direction * outward;
            normal = turned(normal, travel, rotation);
            if !step.made[place] {
                continue;
            }
            let bend = &bends[place];
            let near = if outward > 0.0 { bend.start.to_mm() - tangent } else { tangent - bend.end.to_mm() };
            let blank_arc = bend.blank_arc.to_mm();
            if side.bends.is_empty() {
                side.unbent = near;
            }
            side.runs.push(Run { from: s, at, direction, arc: None });
            at += direction * (near - s);
            side.bends.push((near, bend.angle.to_rad()));
            // Following travel the direction turns about the normal by the bend angle; followed backwards the outward direction, which is
            // minus travel, turns about minus the normal.
            let axis = normal * outward;
            let run = Run {
                from: near,
                at,
                direction,
                arc: Some((axis, bend.formed_radius.to_mm(), bend.angle.to_rad() / blank_arc)),
            };
            at = run.place(near + blank_arc);
            side.runs.push(run);
            direction = turned(direction, axis, bend.angle.to_rad());
            s = near + blank_arc;
        }
        side.runs.push(Run { from: s, at, direction, arc: None });
        side
    }

    /// Sum of the made bends from the tangent point to the far end of the straight or arc that holds this place.
    fn turn_to_far_end(&self, s: f64) -> f64 {
        self.bends.iter().filter(|(near, _)| *near <= s).map(|(_, angle)| angle).sum()
    }

    fn place(&self, s: f64) -> Point3<f64> {
        let index = self.runs.partition_point(|run| run.from <= s).max(1) - 1;
        self.runs[index].place(s)
    }
}

/// One straight or arc of a part of the tube.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// From and to which distance along the blank from the tangent point.
    pub along: [f64; 2],
    /// Second derivative of the centreline by that distance, 1/mm; 0 for a straight.
    pub bow: f64,
    /// Sum of the made bends from the tangent point to its far end.
    pub turned: f64,
}

/// One step, ready to be sampled.
pub struct Judge<'a> {
    step: Step<'a>,
    die: &'a Die,
    sign: f64,
    clr: f64,
    /// Blank that passes the tangent point for each radian.
    feed: f64,
    od: f64,
    /// Largest die angle, radians.
    pub target: f64,
    lead: Side,
    trail: Side,
}

/// Where on the tube: `s` along the blank from the mark's tangent point, positive toward the lead end.
type Along = f64;

/// The smallest value found, and where.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    pub gap: f64,
    pub s: f64,
    /// Shown when a check fails.
    #[expect(dead_code, reason = "only its Debug form is read")]
    pub a: f64,
}

impl<'a> Judge<'a> {
    pub fn new(step: Step<'a>) -> Self {
        let bender = step.bender;
        let bend = &step.blank.bends[step.bend.0];
        let die = &bender.dies[bend.die];
        let sign = bender.hand.sign();
        let clr = bend.clr.to_mm();
        let tangent = Point3::new(0.0, -sign * clr, 0.0);
        // Lead A: travel from A to B runs along -x and the normal is -z (anticlockwise); lead B: +x and +z.
        let (to_lead, normal) = match step.lead {
            LeadEnd::A => (-1.0, Vector3::z() * -sign),
            LeadEnd::B => (1.0, Vector3::z() * sign),
        };
        let lead = Side::new(&step, tangent, to_lead, Vector3::x(), normal);
        let trail = Side::new(&step, tangent, -to_lead, -Vector3::x(), normal);
        Self {
            step,
            die,
            sign,
            clr,
            feed: clr / (1.0 + bend.stretch),
            od: step.blank.od.to_mm(),
            target: bend.die_angle.to_rad(),
            lead,
            trail,
        }
    }

    fn bender(&self) -> &'a Bender {
        self.step.bender
    }

    /// The straights and arcs ahead of or behind the tangent point, as at die angle 0.
    pub fn stretches(&self, ahead: bool) -> Vec<Stretch> {
        let side = if ahead { &self.lead } else { &self.trail };
        let ends = side.runs.iter().skip(1).map(|run| run.from).chain([side.length]);
        let stretch = |(run, to): (&Run, f64)| Stretch {
            along: [run.from, to],
            bow: run.arc.map_or(0.0, |(_, radius, turn)| radius * turn * turn),
            turned: side.turn_to_far_end(run.from),
        };
        side.runs.iter().zip(ends).map(stretch).collect()
    }

    /// Place on the blank, from end A.
    pub fn blank(&self, s: Along) -> f64 {
        let bend = &self.step.blank.bends[self.step.bend.0];
        match self.step.lead {
            LeadEnd::A => bend.start.to_mm() - s,
            LeadEnd::B => bend.end.to_mm() + s,
        }
    }

    /// The other way round.
    pub fn along(&self, blank: f64) -> Along {
        let bend = &self.step.blank.bends[self.step.bend.0];
        match self.step.lead {
            LeadEnd::A => bend.start.to_mm() - blank,
            LeadEnd::B => blank - bend.end.to_mm(),
        }
    }

    fn about_z(&self, p: Point3<f64>, angle: f64) -> Point3<f64> {
        let (sin, cos) = libm::sincos(angle);
        Point3::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y, p.z)
    }

    /// The point of the centreline at `s` when the die has turned by `a`, in the bender frame.
    pub fn point(&self, s: Along, a: f64) -> Point3<f64> {
        let feed = self.feed * a;
        let die_turns = if s >= 0.0 {
            self.about_z(self.lead.place(s), self.sign * a)
        } else if -s <= feed {
            // Wrapped: what passed the tangent point at die angle b has turned on by a - b.
            let b = -s / self.feed;
            self.about_z(Point3::new(0.0, -self.sign * self.clr, 0.0), self.sign * (a - b))
        } else {
            self.trail.place(-s) + Vector3::x() * feed
        };
        match self.bender().motion {
            BendMotion::DieTurns => die_turns,
            BendMotion::DieStands => self.about_z(die_turns, -self.sign * a),
        }
    }

    /// A point of the bender frame as a solid on this carrier sees it: in the solid's place at die angle 0.
    fn seen_from(&self, on: Carrier, p: Point3<f64>, a: f64) -> Point3<f64> {
        let stands = self.bender().motion == BendMotion::DieStands;
        match on {
            Carrier::Frame => p,
            Carrier::Die => {
                if stands {
                    p
                } else {
                    self.about_z(p, -self.sign * a)
                }
            }
            Carrier::Follower => {
                // It travels with the tube only where the die turns; where the die stands it swings about it.
                match self.die.follower {
                    _ if stands => self.about_z(p, self.sign * a),
                    Follower::Stands => p,
                    Follower::Travels => p - Vector3::x() * (self.feed * a),
                }
            }
        }
    }

    /// Whether this place is left out for what holds the tube.
    fn held(&self, s: Along, a: f64) -> bool {
        let od = self.die.od.to_mm();
        if s >= 0.0 {
            s <= self.lead.unbent.max(self.die.clamp_length.to_mm() + od) + ROUNDING
        } else {
            -s <= self.trail.unbent.max(self.follower_end(a) + od) + ROUNDING
        }
    }

    fn follower_end(&self, a: f64) -> f64 {
        let (feed, length) = (self.feed * a, self.die.follower_length.to_mm());
        match self.die.follower {
            Follower::Stands => feed + length,
            Follower::Travels => feed.max(length),
        }
    }

    fn distance(&self, obstacle: &Obstacle<'_>, p: Point3<f64>, a: f64) -> f64 {
        match obstacle {
            Obstacle::Floor => {
                let up = self.bender().bend_plane.up();
                p.coords.dot(&up) + self.bender().centre_height.to_mm()
            }
            Obstacle::Solid { shape, on, .. } => point_to_shape(shape, self.seen_from(*on, p, a)),
        }
    }

    /// Upper bound on how fast a point of the tube moves against an obstacle, mm a radian; `out` is how far from the z axis
    /// the points looked at come, on the lead side and on the other.
    fn speed(&self, obstacle: &Obstacle<'_>, s0: f64, s1: f64, out: f64) -> f64 {
        let stands = self.bender().motion == BendMotion::DieStands;
        // How fast each turns about z, die angle by die angle, and whether it travels.
        let (lead, trail) = if stands { (0.0, -1.0) } else { (1.0, 0.0) };
        let (turns, travels) = match obstacle {
            Obstacle::Floor => (0.0, 0.0),
            Obstacle::Solid { on, .. } => match on {
                Carrier::Frame => (0.0, 0.0),
                Carrier::Die => (lead, 0.0),
                Carrier::Follower if !stands && self.die.follower == Follower::Travels => (0.0, self.feed),
                Carrier::Follower => (trail, 0.0),
            },
        };
        let (by_lead, by_trail) = (f64::abs(lead - turns), f64::abs(trail - turns));
        let ahead = if s1 >= 0.0 { by_lead * out } else { 0.0 };
        // What is wrapped turns at the one rate or the other, at the CLR.
        let behind = if s0 <= 0.0 { (by_trail * out + self.feed).max(by_lead.max(by_trail) * self.clr) } else { 0.0 };
        ahead.max(behind) + travels
    }

    fn stretch_most(&self) -> f64 {
        self.step.blank.bends.iter().map(|bend| bend.stretch).fold(0.0, f64::max)
    }

    /// The smallest gap to an obstacle over die angles from 0 to `to` that is below `limit`, to within `tolerance`; `None` where the tube stays
    /// further away or nothing is looked at. With `need`, what must be kept is taken off each gap.
    ///
    /// The value is that of a place that was looked at, so the true smallest gap is not above it and at most `tolerance` below.
    ///
    /// Where a gap stays nearly the same over much of a motion the tolerance is let grow; the one that was kept to comes with the answer.
    pub fn smallest(
        &self,
        obstacle: &Obstacle<'_>,
        to: f64,
        tolerance: f64,
        limit: f64,
        need: bool,
    ) -> (Option<Found>, f64) {
        let mut tolerance = Patience::new(tolerance);
        let holds = matches!(obstacle, Obstacle::Solid { holds: true, .. });
        let slope_s = 1.0 + self.stretch_most();
        let mut best: Option<Found> = None;
        let look = |s: f64, a: f64, best: &mut Option<Found>| {
            let p = self.point(s, a);
            let mut value = self.distance(obstacle, p, a) - self.od / 2.0;
            if need {
                value -= self.need(s, a, p);
            }
            if !(holds && self.held(s, a)) && value < limit && best.is_none_or(|found| value < found.gap) {
                *best = Some(Found { gap: value, s, a });
            }
            value
        };
        // Rectangles: (from s, to s, from a, to a).
        let mut open = vec![(-self.trail.length, self.lead.length, 0.0, to)];
        // A first look everywhere, so that the best is small from the start.
        for i in 0..=40 {
            for j in 0..=8 {
                let s = -self.trail.length + (self.trail.length + self.lead.length) * f64::from(i) / 40.0;
                look(s, to * f64::from(j) / 8.0, &mut best);
            }
        }
        while let Some((s0, s1, a0, a1)) = open.pop() {
            if !need && best.is_some_and(|found| found.gap < DEEP) {
                break;
            }
            let tolerance = tolerance.after_one_more();
            if holds && self.all_held(s0, s1, a0) {
                continue;
            }
            let (s, a) = (0.5 * (s0 + s1), 0.5 * (a0 + a1));
            let value = look(s, a, &mut best);
            let along = 0.5 * (s1 - s0) * slope_s;
            let p = self.point(s, a);
            // Pushed along x, a place of the trailing part may be further from z at another die angle of the rectangle.
            let out = libm::hypot(p.x, p.y) + along + 0.5 * (a1 - a0) * self.feed;
            let worse = if need { 1.3 } else { 1.0 };
            let along = along * worse;
            let turning = 0.5 * (a1 - a0) * self.speed(obstacle, s0, s1, out) * worse;
            // A bend that is drawn onto the die is not bent any more at once: nothing bounds that leap.
            let leaps = s0 < -self.trail.unbent && -s1 <= self.feed * a1 && -s0 >= self.feed * a0;
            if !leaps && value - along - turning > best.map_or(limit, |found| found.gap) - tolerance {
                continue;
            }
            if along + turning < tolerance {
                // Where what holds the tube ends, the middle may be in its grip and the rest not.
                for (s, a) in [(s0, a0), (s1, a0), (s0, a1), (s1, a1)] {
                    look(s, a, &mut best);
                }
                continue;
            }
            if along > turning {
                open.push((s0, s, a0, a1));
                open.push((s, s1, a0, a1));
            } else {
                open.push((s0, s1, a0, a));
                open.push((s0, s1, a, a1));
            }
        }
        (best, tolerance.now)
    }

    /// Whether a whole rectangle is left out: what is held only grows with the die angle.
    fn all_held(&self, s0: f64, s1: f64, a0: f64) -> bool {
        s0 < 0.0 && s1 > 0.0 && self.held(s0, a0) && self.held(s1, a0)
            || s0 >= 0.0 && self.held(s1, a0)
            || s1 <= 0.0 && self.held(s0, a0)
    }

    /// The gap that must be kept at a place.
    pub fn need(&self, s: Along, a: f64, p: Point3<f64>) -> f64 {
        let keep = self.bender().clearance.keep.to_mm();
        let Some(accuracy) = self.bender().accuracy else { return keep };
        let each = accuracy.bend.to_rad().powi(2) + accuracy.rotation.to_rad().powi(2);
        let mut sum = accuracy.mark.to_mm().powi(2);
        let feed = self.feed * a;
        // The bend being made: the end of its arc on the point's side. On the arc itself nothing lies between.
        if s >= 0.0 || -s > feed {
            let end = self.point(if s >= 0.0 { 0.0 } else { -feed }, a);
            sum += each * (p - end).norm_squared();
        }
        let side = if s >= 0.0 { &self.lead } else { &self.trail };
        for (near, _) in &side.bends {
            if s.abs() > *near {
                let tangent = self.point(near.copysign(s), a);
                sum += each * (p - tangent).norm_squared();
            }
        }
        keep + 2.0 * sum.sqrt()
    }

    /// The smallest gap of the tube to itself below `limit`, to within `tolerance`; `None` where it stays further or nothing is looked at.
    pub fn smallest_self(&self, to: f64, tolerance: f64, limit: f64) -> (Option<Found>, f64) {
        let mut tolerance = Patience::new(tolerance);
        let clamp = self.die.clamp_length.to_mm();
        let slope = 1.0 + self.stretch_most();
        let turned = |s: f64, t: f64, a: f64| self.lead.turn_to_far_end(s) + self.trail.turn_to_far_end(t) + a;
        let looked_at = |s: f64, t: f64, a: f64| {
            s >= clamp && t >= self.follower_end(a) && turned(s, t, a) >= core::f64::consts::FRAC_PI_2
        };
        let mut best: Option<Found> = None;
        let mut open = vec![([clamp, self.follower_end(0.0), 0.0], [self.lead.length, self.trail.length, to])];
        while let Some((low, high)) = open.pop() {
            if best.is_some_and(|found| found.gap < DEEP) {
                break;
            }
            let tolerance = tolerance.after_one_more();
            let nothing = (0..3).any(|axis| high[axis] < low[axis])
                || high[1] < self.follower_end(low[2])
                || turned(high[0], high[1], high[2]) < core::f64::consts::FRAC_PI_2;
            if nothing {
                continue;
            }
            let [s, t, a] = [0, 1, 2].map(|axis| 0.5 * (low[axis] + high[axis]));
            let apart = |s: f64, t: f64, a: f64| (self.point(s, a) - self.point(-t, a)).norm() - self.od;
            let gap = apart(s, t, a);
            // The middle, and where what is looked at begins or ends, the corner that is looked at longest.
            for (s, t, a, gap) in
                [(s, t, a, gap), (high[0], high[1], low[2], f64::NAN), (high[0], high[1], high[2], f64::NAN)]
            {
                if looked_at(s, t, a) {
                    let gap = if gap.is_nan() { apart(s, t, a) } else { gap };
                    if gap < limit && best.is_none_or(|found| gap < found.gap) {
                        best = Some(Found { gap, s, a });
                    }
                }
            }
            let along = [0.5 * (high[0] - low[0]) * slope, 0.5 * (high[1] - low[1]) * slope];
            let turning = 0.5 * (high[2] - low[2]) * (high[0].min(high[1]) * slope + 2.0 * self.clr + 2.0 * self.feed);
            let sum = along[0] + along[1] + turning;
            if gap - sum > best.map_or(limit, |found| found.gap) - tolerance || sum < tolerance {
                continue;
            }
            let axis = if turning >= along[0] && turning >= along[1] { 2 } else { usize::from(along[1] > along[0]) };
            let (mut first, mut second) = (high, low);
            first[axis] = [s, t, a][axis];
            second[axis] = [s, t, a][axis];
            open.push((low, first));
            open.push((second, high));
        }
        (best, tolerance.now)
    }
}

/// Distance from a point to a closed body, 0 inside.
pub fn point_to_shape(shape: &Shape, p: Point3<f64>) -> f64 {
    match shape {
        Shape::Box { min, max } => {
            let out = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
            Vector3::new(out(p.x, min.x, max.x), out(p.y, min.y, max.y), out(p.z, min.z, max.z)).norm()
        }
        Shape::Cylinder { from, to, radius } => {
            let axis = to - from;
            let length = axis.norm();
            let along = (p - from).dot(&axis) / length;
            let aside = ((p - from) - axis / length * along).norm();
            let out_along = (-along).max(along - length).max(0.0);
            let out_aside = (aside - radius.to_mm()).max(0.0);
            (out_along * out_along + out_aside * out_aside).sqrt()
        }
        Shape::Capsule { from, to, radius } => {
            let axis = to - from;
            let part = ((p - from).dot(&axis) / axis.norm_squared()).clamp(0.0, 1.0);
            ((p - (from + axis * part)).norm() - radius.to_mm()).max(0.0)
        }
        Shape::Mesh(mesh) => {
            let corner = |index: u32| mesh.points[index as usize];
            let faces = || mesh.triangles.iter().map(|t| [corner(t[0]), corner(t[1]), corner(t[2])]);
            // Inside: the solid angles of all faces add up to a whole sphere.
            let around: f64 = faces().map(|face| solid_angle(face, p)).sum();
            if around.abs() > 2.0 * core::f64::consts::PI {
                return 0.0;
            }
            faces().map(|face| point_to_triangle(face, p)).fold(f64::INFINITY, f64::min)
        }
    }
}

/// Solid angle of a triangle (Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125, from memory).
fn solid_angle([a, b, c]: [Point3<f64>; 3], p: Point3<f64>) -> f64 {
    let (a, b, c) = (a - p, b - p, c - p);
    let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
    let over = a.dot(&b.cross(&c));
    let under = la * lb * lc + a.dot(&b) * lc + a.dot(&c) * lb + b.dot(&c) * la;
    2.0 * libm::atan2(over, under)
}

fn point_to_segment(a: Point3<f64>, b: Point3<f64>, p: Point3<f64>) -> f64 {
    let axis = b - a;
    let part = ((p - a).dot(&axis) / axis.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    (p - (a + axis * part)).norm()
}

fn point_to_triangle([a, b, c]: [Point3<f64>; 3], p: Point3<f64>) -> f64 {
    let edges = point_to_segment(a, b, p).min(point_to_segment(b, c, p)).min(point_to_segment(c, a, p));
    let normal = (b - a).cross(&(c - a));
    let over = |from: Point3<f64>, to: Point3<f64>| (to - from).cross(&(p - from)).dot(&normal) >= 0.0;
    if over(a, b) && over(b, c) && over(c, a) { edges.min(((p - a).dot(&normal) / normal.norm()).abs()) } else { edges }
}
