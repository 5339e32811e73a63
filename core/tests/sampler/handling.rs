//! The motions besides the bend, from their description alone: where each point of the tube is at a place of the way, and by how much it
//! may come nearer over a rectangle of places.

use nalgebra::{Matrix2, Point3, Vector2, Vector3};
use tubewright::bender::{BendMotion, Carrier, Follower, Shape};
use tubewright::clearance::{Motion, Step, Way};
use tubewright::forming::LeadEnd;

use super::{Along, DEEP, Found, Judge, Obstacle, Patience, point_to_shape, turned};

/// One motion of the tube, or of the bender about it.
pub struct Going<'a> {
    judge: &'a Judge<'a>,
    motion: Motion,
    /// Of a tube that goes straight on: the way that it goes.
    direction: Vector3<f64>,
    /// The way of each part of the motion, first to last.
    pub ways: Vec<(f64, f64)>,
    /// Of a turn: how far ahead of the mark it lies at first, and by how much it is turned.
    slide: f64,
    turn: f64,
    /// Of a recoil: the point of the plane that stays in its place, and the angle that the lead part turns by.
    pole: Point3<f64>,
    back: f64,
    /// Whether what is on the die goes along.
    with_die: bool,
}

impl<'a> Going<'a> {
    fn new(judge: &'a Judge<'a>, motion: Motion, ways: Vec<(f64, f64)>) -> Self {
        let zero = Vector3::zeros();
        let (pole, back) = (Point3::origin(), 0.0);
        Self { judge, motion, direction: zero, ways, slide: 0.0, turn: 0.0, pole, back, with_die: false }
    }

    pub fn recoil(judge: &'a Judge<'a>) -> Self {
        let mut going = Self::new(judge, Motion::Recoil, vec![(0.0, 1.0)]);
        let (from, to) = (judge.point(0.0, judge.target), judge.after(0.0));
        // c = R (from - c) + to - ... solved as two equations: (1 - R) c = to - R from.
        going.back = judge.sign * (judge.bend_angle() - judge.target);
        let (sin, cos) = libm::sincos(going.back);
        let turn = Matrix2::new(cos, -sin, sin, cos);
        let right = Vector2::new(to.x, to.y) - turn * Vector2::new(from.x, from.y);
        let pole = (Matrix2::identity() - turn).lu().solve(&right).expect("the angles differ");
        going.pole = Point3::new(pole.x, pole.y, 0.0);
        going
    }

    /// Its way is the die angle below 0.
    pub fn going_back(judge: &'a Judge<'a>) -> Self {
        Self::new(judge, Motion::Return, vec![(-judge.target, 0.0)])
    }

    /// Out, or in: its way is how far the tube is out, below 0 where it comes in.
    pub fn straight(judge: &'a Judge<'a>, motion: Motion, way: Way, tools: &[&Shape]) -> Self {
        let mut going = Self::new(judge, motion, Vec::new());
        let away = Vector3::new(0.0, -judge.sign, 0.0);
        let direction = match way {
            Way::Up | Way::WithDie => Vector3::z(),
            Way::Sideways => away,
            Way::AlongBack => -Vector3::x(),
            Way::AlongAhead => Vector3::x(),
        };
        let out = motion == Motion::TakeOut;
        let stands = judge.bender().motion == BendMotion::DieStands;
        going.direction =
            if out && stands { turned(direction, Vector3::z(), -judge.sign * judge.target) } else { direction };
        going.with_die = way == Way::WithDie;
        // The far face of the box around the tools, and the end of the tube that gets there last.
        let (low, high) = bounds(tools);
        let far = (0..8)
            .map(|bits| {
                let pick = |bit: usize| if bits & (1 << bit) == 0 { low[bit] } else { high[bit] };
                Vector3::new(pick(0), pick(1), pick(2)).dot(&going.direction)
            })
            .fold(f64::NEG_INFINITY, f64::max);
        let (from, to) = (-judge.trail.length, judge.lead.length);
        let last = (0..=20_000)
            .map(|i| from + (to - from) * f64::from(i) / 20_000.0)
            .map(|s| if out { judge.after(s) } else { judge.point(s, 0.0) })
            .map(|p| p.coords.dot(&going.direction))
            .fold(f64::INFINITY, f64::min);
        let travel = (far - last + judge.od / 2.0).max(0.0);
        going.ways = vec![if out { (0.0, travel) } else { (-travel, 0.0) }];
        going
    }

    /// Of the step that the judge knows, after another one: first along x, its way from 0 to 1, then about the tube's line, from 1 to 2.
    pub fn turn(judge: &'a Judge<'a>, before: &Step<'_>, turn: f64) -> Self {
        let mut going = Self::new(judge, Motion::Turn, vec![(0.0, 1.0), (1.0, 2.0)]);
        let last = &judge.step.blank.bends[before.bend.0];
        // Where on the blank the arc of the bend before ends, on the trailing side.
        let ended = match before.lead {
            LeadEnd::A => last.end.to_mm(),
            LeadEnd::B => last.start.to_mm(),
        };
        // It lies at the tangent point at first: so much behind it afterwards.
        going.slide = -judge.along(ended);
        going.turn = turn;
        going
    }

    /// The die angle that says what is held, and what must be kept.
    fn die(&self) -> f64 {
        if matches!(self.motion, Motion::PutIn | Motion::Turn) { 0.0 } else { self.judge.target }
    }

    /// Where a place of the tube is, in the bender frame.
    pub fn point(&self, s: Along, u: f64) -> Point3<f64> {
        let judge = self.judge;
        match self.motion {
            Motion::Bend => judge.point(s, u),
            Motion::Recoil => self.pole + turned(judge.point(s, judge.target) - self.pole, Vector3::z(), u * self.back),
            Motion::Return => judge.after(s),
            Motion::TakeOut => judge.after(s) + self.direction * u,
            Motion::PutIn => judge.point(s, 0.0) - self.direction * u,
            Motion::Turn => {
                let line = Point3::new(0.0, -judge.sign * judge.clr, 0.0);
                let left = (2.0 - u.max(1.0)) * self.turn;
                let rolled = line + turned(judge.point(s, 0.0) - line, Vector3::x(), -left);
                rolled + Vector3::x() * (self.slide * (1.0 - u.min(1.0)))
            }
        }
    }

    /// The point as an obstacle's body sees it, in its place at die angle 0.
    fn seen(&self, obstacle: &Obstacle<'_>, p: Point3<f64>, u: f64) -> Point3<f64> {
        let Obstacle::Solid { on, .. } = obstacle else { return p };
        match self.motion {
            Motion::Recoil => self.judge.seen_from(*on, p, self.judge.target),
            Motion::Return => self.judge.seen_from(*on, p, -u),
            Motion::Bend | Motion::TakeOut | Motion::PutIn | Motion::Turn => p,
        }
    }

    fn gap(&self, obstacle: &Obstacle<'_>, s: Along, u: f64) -> f64 {
        let p = self.point(s, u);
        let apart = match obstacle {
            Obstacle::Floor => {
                p.coords.dot(&self.judge.bender().bend_plane.up()) + self.judge.bender().centre_height.to_mm()
            }
            Obstacle::Solid { shape, .. } => point_to_shape(shape, self.seen(obstacle, p, u)),
        };
        apart - self.judge.od / 2.0
    }

    /// Whether an obstacle is looked at; `derived` where it is a die, clamp or follower that no shapes are given for.
    pub fn looks_at(&self, obstacle: &Obstacle<'_>, name: &str, derived: bool) -> bool {
        let (on, holds) = match obstacle {
            Obstacle::Floor => (Carrier::Frame, false),
            Obstacle::Solid { on, holds, .. } => (*on, *holds),
        };
        let stands = self.judge.bender().motion == BendMotion::DieStands;
        let travels = self.judge.die.follower == Follower::Travels;
        match self.motion {
            Motion::Bend | Motion::Recoil => true,
            Motion::Return => match on {
                Carrier::Frame => false,
                Carrier::Die => !stands,
                Carrier::Follower => stands || travels,
            },
            Motion::TakeOut | Motion::PutIn | Motion::Turn => {
                let tool = !holds || (name == "die" && !derived);
                tool && !(self.with_die && on == Carrier::Die)
            }
        }
    }

    /// How fast a point moves against a body, for one of the way, where it is at `p`; `room` is how far from it others may be.
    fn speed(&self, p: Point3<f64>, u: f64, room: f64) -> f64 {
        let from_z = |p: Point3<f64>| libm::hypot(p.x, p.y) + room;
        match self.motion {
            Motion::Recoil => self.back.abs() * (libm::hypot(p.x - self.pole.x, p.y - self.pole.y) + room),
            Motion::Return => from_z(p).max(self.judge.feed),
            Motion::Turn if u < 1.0 => self.slide.abs(),
            Motion::Turn => self.turn.abs() * (libm::hypot(p.y + self.judge.sign * self.judge.clr, p.z) + room),
            Motion::Bend | Motion::TakeOut | Motion::PutIn => 1.0,
        }
    }

    /// What must be kept at a place of the tube.
    pub fn need(&self, s: Along) -> f64 {
        let die = self.die();
        self.judge.need(s, die, self.judge.point(s, die))
    }

    /// The places of the tube that move.
    fn places(&self) -> (f64, f64) {
        let behind = if self.motion == Motion::Recoil { 0.0 } else { -self.judge.trail.length };
        (behind, self.judge.lead.length)
    }

    /// The smallest gap to an obstacle on the way up to `end` that is below `limit`, to within a tolerance that comes with the
    /// answer; with `need`, what must be kept is taken off. As [`Judge::smallest`].
    pub fn smallest(
        &self,
        obstacle: &Obstacle<'_>,
        end: f64,
        tolerance: f64,
        limit: f64,
        need: bool,
    ) -> (Option<Found>, f64) {
        let judge = self.judge;
        let die = self.die();
        let holds = matches!(obstacle, Obstacle::Solid { holds: true, .. });
        let mut tolerance = Patience::new(tolerance);
        let mut best: Option<Found> = None;
        let look = |s: f64, u: f64, best: &mut Option<Found>| {
            let value = self.gap(obstacle, s, u) - if need { self.need(s) } else { 0.0 };
            let looked_at = !(holds && judge.held(s, die));
            if looked_at && value < limit && best.is_none_or(|found| value < found.gap) {
                *best = Some(Found { gap: value, s, a: u });
            }
            value
        };
        let (behind, ahead) = self.places();
        let mut open: Vec<(f64, f64, f64, f64)> = Vec::new();
        for &(from, to) in self.ways.iter().filter(|(from, _)| *from <= end) {
            let to = to.min(end);
            // The two sides of the tangent point apart: a place may be held on one and not on the other.
            for (s0, s1) in [(behind, 0.0), (0.0, ahead)] {
                if s1 >= s0 {
                    open.push((s0, s1, from, to));
                    for i in 0..=20 {
                        for j in 0..=8 {
                            let u = from + (to - from) * f64::from(j) / 8.0;
                            look(s0 + (s1 - s0) * f64::from(i) / 20.0, u, &mut best);
                        }
                    }
                }
            }
        }
        let slope = 1.0 + judge.stretch_most();
        let worse = if need { 1.3 } else { 1.0 };
        while let Some((s0, s1, u0, u1)) = open.pop() {
            if !need && best.is_some_and(|found| found.gap < DEEP) {
                break;
            }
            let tolerance = tolerance.after_one_more();
            if holds && judge.held(s0, die) && judge.held(s1, die) {
                continue;
            }
            let (s, u) = (0.5 * (s0 + s1), 0.5 * (u0 + u1));
            let value = look(s, u, &mut best);
            let along = 0.5 * (s1 - s0) * slope;
            let moving = 0.5 * (u1 - u0) * self.speed(self.point(s, u), u, along);
            let along = along * worse;
            if value - along - moving > best.map_or(limit, |found| found.gap) - tolerance {
                continue;
            }
            if along + moving < tolerance {
                for (s, u) in [(s0, u0), (s1, u0), (s0, u1), (s1, u1)] {
                    look(s, u, &mut best);
                }
            } else if along > moving {
                open.push((s0, s, u0, u1));
                open.push((s, s1, u0, u1));
            } else {
                open.push((s0, s1, u0, u));
                open.push((s0, s1, u, u1));
            }
        }
        (best, tolerance.now)
    }

    /// The same for the lead part springing back against the trailing part.
    pub fn smallest_self(&self, end: f64, tolerance: f64, limit: f64) -> (Option<Found>, f64) {
        let judge = self.judge;
        let mut tolerance = Patience::new(tolerance);
        let clamp = judge.die.clamp_length.to_mm();
        let follower = judge.follower_end(judge.target);
        let slope = 1.0 + judge.stretch_most();
        let square = |s: f64, t: f64| judge.lead.turn_to_far_end(s) + judge.trail.turn_to_far_end(t) + judge.target;
        let mut best: Option<Found> = None;
        let mut open = vec![([clamp, follower, 0.0], [judge.lead.length, judge.trail.length, end])];
        while let Some((low, high)) = open.pop() {
            if best.is_some_and(|found| found.gap < DEEP) {
                break;
            }
            let tolerance = tolerance.after_one_more();
            if (0..2).any(|axis| high[axis] < low[axis]) || square(high[0], high[1]) < core::f64::consts::FRAC_PI_2 {
                continue;
            }
            let [s, t, u] = [0, 1, 2].map(|axis| 0.5 * (low[axis] + high[axis]));
            let apart = |s: f64, t: f64, u: f64| (self.point(s, u) - judge.after(-t)).norm() - judge.od;
            let gap = apart(s, t, u);
            for (s, t, u) in [(s, t, u), (high[0], high[1], low[2]), (high[0], high[1], high[2])] {
                let gap = apart(s, t, u);
                let looked_at = square(s, t) >= core::f64::consts::FRAC_PI_2;
                if looked_at && gap < limit && best.is_none_or(|found| gap < found.gap) {
                    best = Some(Found { gap, s, a: u });
                }
            }
            let along = [0.5 * (high[0] - low[0]) * slope, 0.5 * (high[1] - low[1]) * slope];
            let turning = 0.5 * (high[2] - low[2]) * self.speed(self.point(s, u), u, along[0]);
            let sum = along[0] + along[1] + turning;
            if gap - sum > best.map_or(limit, |found| found.gap) - tolerance || sum < tolerance {
                continue;
            }
            let axis = if turning >= along[0] && turning >= along[1] { 2 } else { usize::from(along[1] > along[0]) };
            let (mut first, mut second) = (high, low);
            first[axis] = [s, t, u][axis];
            second[axis] = [s, t, u][axis];
            open.push((low, first));
            open.push((second, high));
        }
        (best, tolerance.now)
    }

    /// The place of the way at which a place of the tube comes nearest to a point, and how near.
    pub fn when(&self, s: Along, at: Point3<f64>) -> (f64, f64) {
        let off = |u: f64| (self.point(s, u) - at).norm();
        let mut best = (f64::INFINITY, 0.0);
        for &(from, to) in &self.ways {
            let step = (to - from) / 2000.0;
            for i in 0..=2000 {
                let u = from + step * f64::from(i);
                if off(u) < best.0 {
                    best = (off(u), u);
                }
            }
            let (mut low, mut high) = ((best.1 - step).max(from), (best.1 + step).min(to));
            for _ in 0..60 {
                let (one, two) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                if off(one) < off(two) {
                    high = two;
                } else {
                    low = one;
                }
            }
            for u in [low, high] {
                if off(u) < best.0 {
                    best = (off(u), u);
                }
            }
        }
        (best.1, best.0)
    }
}

/// The box around some shapes.
fn bounds(shapes: &[&Shape]) -> (Vector3<f64>, Vector3<f64>) {
    let reach = |shape: &Shape, d: Vector3<f64>| -> f64 {
        match shape {
            Shape::Box { min, max } => (0..3).map(|i| (d[i] * min[i]).max(d[i] * max[i])).sum(),
            Shape::Cylinder { from, to, radius } => {
                let axis = (to - from).normalize();
                let across = (d - axis * d.dot(&axis)).norm();
                from.coords.dot(&d).max(to.coords.dot(&d)) + radius.to_mm() * across
            }
            Shape::Capsule { from, to, radius } => from.coords.dot(&d).max(to.coords.dot(&d)) + radius.to_mm(),
            Shape::Mesh(mesh) => mesh.points.iter().map(|p| p.coords.dot(&d)).fold(f64::NEG_INFINITY, f64::max),
        }
    };
    let most = |d: Vector3<f64>| shapes.iter().map(|shape| reach(shape, d)).fold(f64::NEG_INFINITY, f64::max);
    let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
    let high = Vector3::from_iterator(axes.iter().map(|axis| most(*axis)));
    let low = Vector3::from_iterator(axes.iter().map(|axis| -most(-*axis)));
    (low, high)
}

impl Judge<'_> {
    fn bend_angle(&self) -> f64 {
        self.step.blank.bends[self.step.bend.0].angle.to_rad()
    }

    /// The point of the centreline at `s` after the lead part has sprung back, in the bender frame.
    pub fn after(&self, s: Along) -> Point3<f64> {
        let bend = &self.step.blank.bends[self.step.bend.0];
        let drawn = self.feed * self.target;
        let (radius, angle) = (bend.formed_radius.to_mm(), bend.angle.to_rad());
        let arc = bend.blank_arc.to_mm();
        let tangent = Point3::new(0.0, -self.sign * self.clr, 0.0);
        let centre = tangent + Vector3::new(0.0, self.sign * radius, 0.0);
        let on_arc = |by: f64| centre + turned(tangent - centre, Vector3::z(), self.sign * by);
        let ahead = turned(Vector3::x(), Vector3::z(), self.sign * angle);
        let point = if -s > drawn {
            self.trail.place(-s) + Vector3::x() * drawn
        } else if s < 0.0 {
            // So much of the blank lies between it and the tangent point.
            let passed = drawn + s;
            if passed <= arc { on_arc(angle * passed / arc) } else { on_arc(angle) + ahead * (passed - arc) }
        } else {
            let starts = on_arc(angle) + ahead * (drawn - arc);
            starts + turned(self.lead.place(s) - tangent, Vector3::z(), self.sign * angle)
        };
        match self.bender().motion {
            BendMotion::DieTurns => point,
            BendMotion::DieStands => self.about_z(point, -self.sign * self.target),
        }
    }
}
