//! A checker of certificates that shares no code with the search, and knows the shapes and the motion alone.
//!
//! For every body it sees first that the leaves leave nothing out, then that each leaf's bound holds. For that a leaf is cut into cells.
//! At the middle of a cell, and at its corners, the nearest point q of the body and the unit vector n away from it give a plane that a convex body
//! does not cross: no point X of the cell is nearer than n . (X - q). That is a function of the place and the die angle whose second derivatives are
//! known to be small, so that over a cell it is least at a corner, but for
//!
//! ```text
//!   (half the die angles)^2 / 2 x most acceleration across z + (half the length)^2 / 2 x most curvature
//! ```
//!
//! A cell for which that does not reach the bound is halved; a leaf may take CELLS cells in all. What must be kept is convex in both along a
//! straight: it is most at a corner. A mesh is its triangles.

use nalgebra::{Point3, Rotation3, Vector3};
use tubewright::bender::{BendMotion, Carrier, Follower, Shape};
use tubewright::clearance::{Certificate, Leaf, Part, Step};

use crate::sampler::{Judge, Stretch, point_to_shape};

/// Cells that one leaf may take.
const CELLS: usize = 50_000;
/// What a bound may be off by, mm.
const ROUNDING: f64 = 1e-6;
/// What a place along the blank, mm, or a die angle, radians, may be off by where two leaves meet.
const SEAM: f64 = 1e-9;

/// A convex body, or the half space below the floor.
#[derive(Clone)]
enum Convex {
    Solid(Shape),
    Triangle([Point3<f64>; 3]),
    Below(Vector3<f64>, f64),
}

/// A body of an obstacle as it lies at die angle 0, and how it moves in the frame in which the die turns.
struct Body {
    shape: Option<Shape>,
    parts: Vec<Convex>,
    /// It turns with the die.
    turns: bool,
    /// It goes along with the trailing part.
    travels: bool,
    /// It looks the same however it is turned about the die's axis.
    round: bool,
}

pub struct Checker<'a> {
    step: Step<'a>,
    judge: Judge<'a>,
    sign: f64,
    feed: f64,
    target: f64,
    radius: f64,
    lead: Vec<Stretch>,
    trail: Vec<Stretch>,
}

/// A cell: from and to, of the place, the place on the trailing part where that matters, and the die angle.
type Cell = [[f64; 2]; 3];

impl<'a> Checker<'a> {
    pub fn new(step: &Step<'a>) -> Self {
        let (bend, judge) = (step.active(), Judge::new(*step));
        Self {
            step: *step,
            sign: step.bender.hand.sign(),
            feed: bend.clr.to_mm() / (1.0 + bend.stretch),
            target: judge.target,
            radius: 0.5 * step.blank.od.to_mm(),
            lead: judge.stretches(true),
            trail: judge.stretches(false),
            judge,
        }
    }

    /// Whether a certificate proves its step clear, or why not.
    pub fn check(&self, certificate: &Certificate) -> Result<(), String> {
        let obstacles = self.obstacles();
        let names: Vec<&str> = certificate.proofs.iter().map(|proof| proof.obstacle.as_str()).collect();
        let wanted: Vec<&str> = obstacles.iter().map(|(name, ..)| name.as_str()).chain(["tube"]).collect();
        if names != wanted {
            return Err(format!("obstacles are {names:?}, not {wanted:?}"));
        }
        for (proof, (name, holds, bodies)) in certificate.proofs.iter().zip(&obstacles) {
            for (number, body) in bodies.iter().enumerate() {
                if !holds && self.begins_inside(body) {
                    return Err(format!("{name}: an end begins inside"));
                }
                for part in 0..body.parts.len() {
                    let about = |leaf: &&Leaf| {
                        leaf.body == number && leaf.triangles.as_ref().is_none_or(|these| these.contains(&part))
                    };
                    let leaves: Vec<&Leaf> = proof.leaves.iter().filter(about).collect();
                    self.covers(&leaves, *holds, body).map_err(|why| format!("{name}, {number}, {part}: {why}"))?;
                }
            }
            for leaf in &proof.leaves {
                let body = bodies.get(leaf.body).ok_or("no such body")?;
                let all: Vec<usize> = (0..body.parts.len()).collect();
                for part in leaf.triangles.as_ref().unwrap_or(&all) {
                    let against = body.parts.get(*part).ok_or("no such triangle")?;
                    self.holds(leaf, Some((body, against))).map_err(|why| format!("{name}: {why}, {leaf:?}"))?;
                }
            }
        }
        let own: Vec<&Leaf> = certificate.proofs.iter().rev().take(1).flat_map(|proof| &proof.leaves).collect();
        self.covers_itself(&own)?;
        own.iter().try_for_each(|leaf| self.holds(leaf, None).map_err(|why| format!("tube: {why}, {leaf:?}")))
    }

    /// Name, whether it holds the tube, bodies; in the order of a report.
    fn obstacles(&self) -> Vec<(String, bool, Vec<Body>)> {
        let (bender, die) = (self.step.bender, self.step.die());
        let stands = bender.motion == BendMotion::DieStands;
        let body = |shape: &Shape, on: Carrier| {
            let parts = match shape {
                Shape::Mesh(mesh) => {
                    let corner = |place: u32| mesh.points[place as usize];
                    mesh.triangles.iter().map(|triangle| Convex::Triangle(triangle.map(corner))).collect()
                }
                solid => vec![Convex::Solid(solid.clone())],
            };
            let on_axis = |p: &Point3<f64>| p.x.abs() + p.y.abs() <= 0.0;
            Body {
                shape: Some(shape.clone()),
                parts,
                turns: on == Carrier::Die || stands && on == Carrier::Frame,
                travels: on == Carrier::Follower && !stands && die.follower == Follower::Travels,
                round: matches!(shape, Shape::Cylinder { from, to, .. } if on_axis(from) && on_axis(to)),
            }
        };
        let mut all: Vec<_> =
            bender.solids.iter().map(|s| (s.name.clone(), false, vec![body(&s.shape, s.on)])).collect();
        let up = bender.bend_plane.up().into_inner();
        let floor = Convex::Below(up, -bender.centre_height.to_mm());
        let round = up.z >= 1.0;
        all.push((
            "floor".into(),
            false,
            vec![Body { shape: None, parts: vec![floor], turns: stands, travels: false, round }],
        ));
        let (clr, od) = (die.clr.to_mm(), die.od.to_mm());
        let beside = |from: f64, to: f64| {
            let sides = [-self.sign * clr, -self.sign * (clr + 1.25 * od)];
            let corner = |x: f64, y: f64, z: f64| Point3::new(x, y, 0.75 * od * z);
            Shape::Box { min: corner(from, sides[0].min(sides[1]), -1.0), max: corner(to, sides[0].max(sides[1]), 1.0) }
        };
        let end = |z: f64| Point3::new(0.0, 0.0, 0.75 * od * z);
        let disc = Shape::Cylinder { from: end(-1.0), to: end(1.0), radius: die.clr };
        for (name, given, derived, on) in [
            ("die", &die.shapes.die, disc, Carrier::Die),
            ("clamp", &die.shapes.clamp, beside(0.0, die.clamp_length.to_mm()), Carrier::Die),
            ("follower", &die.shapes.follower, beside(-die.follower_length.to_mm(), 0.0), Carrier::Follower),
        ] {
            let shapes = if given.is_empty() { vec![derived] } else { given.clone() };
            all.push((name.into(), true, shapes.iter().map(|shape| body(shape, on)).collect()));
        }
        all
    }

    fn length(stretches: &[Stretch]) -> f64 {
        stretches.last().map_or(0.0, |last| last.along[1])
    }

    /// The follower's far end, by distance behind the tangent point.
    fn follower_end(&self, angle: f64) -> f64 {
        let (drawn, length) = (self.feed * angle, self.step.die().follower_length.to_mm());
        if self.step.die().follower == Follower::Travels { drawn.max(length) } else { drawn + length }
    }

    /// The bounds are about a mesh's surface: what begins outside comes inside through it only.
    fn begins_inside(&self, body: &Body) -> bool {
        let ends = [Self::length(&self.lead), -Self::length(&self.trail)].map(|s| self.judge.point(s, 0.0));
        body.shape.as_ref().is_some_and(|shape| ends.iter().any(|end| point_to_shape(shape, *end) <= 0.0))
    }

    /// Whether the leaves hold all that is looked at of each part against one body.
    fn covers(&self, leaves: &[&Leaf], holds: bool, body: &Body) -> Result<(), String> {
        let (lead, trail) = (Self::length(&self.lead), Self::length(&self.trail));
        let od = self.step.die().od.to_mm();
        let unbent = |all: &[Stretch]| all.first().map_or(0.0, |first| first.along[1]);
        let of = |part: Part| -> Vec<&Leaf> { leaves.iter().copied().filter(|leaf| leaf.part == part).collect() };
        let clamp = unbent(&self.lead).max(self.step.die().clamp_length.to_mm() + od);
        let ahead = |_: f64| if holds { clamp } else { 0.0 };
        covered(&of(Part::Lead), self.target, &ahead, &|_| lead).map_err(|why| format!("ahead, {why}"))?;
        // What of the first straight behind lies where it lay at rest, against what stands, is said by the leaves at rest.
        let stands = !body.turns && !body.travels;
        let at_rest: Vec<Leaf> = of(Part::Trail)
            .into_iter()
            .filter(|leaf| leaf.die_angle[1].to_rad() <= 0.0)
            .map(|leaf| Leaf { die_angle: [leaf.die_angle[0], tubewright::units::Angle::rad(1.0)], ..leaf.clone() })
            .collect();
        let at_rest: Vec<&Leaf> = at_rest.iter().collect();
        let slides = stands && covered(&at_rest, 1.0, &|_| 0.0, &|_| unbent(&self.trail)).is_ok();
        let behind = |angle: f64| match (holds, slides) {
            (true, _) => unbent(&self.trail).max(self.follower_end(angle) + od),
            (false, true) => unbent(&self.trail).max(self.feed * angle),
            (false, false) => self.feed * angle,
        };
        covered(&of(Part::Trail), self.target, &behind, &|_| trail).map_err(|why| format!("behind, {why}"))?;
        // A wrapped place lies where the lead part began at the die angle before, which is a place that has just been seen to
        // be looked at; on the die, where the trailing part began, if that was straight up to there or to the end of the tube.
        let straight = unbent(&self.trail) >= trail.min(self.feed * self.target) - SEAM;
        if holds || stands || straight && !body.travels {
            return Ok(());
        }
        let (from, to) = (|angle: f64| (self.feed * angle - trail).max(0.0), |angle: f64| self.feed * angle);
        covered(&of(Part::Wrapped), self.target, &from, &to).map_err(|why| format!("wrapped, {why}"))
    }

    /// Whether the leaves hold all pairs of places of both parts that can meet.
    fn covers_itself(&self, leaves: &[&Leaf]) -> Result<(), String> {
        let clamp = self.step.die().clamp_length.to_mm();
        for ahead in &self.lead {
            for behind in &self.trail {
                let first = (core::f64::consts::FRAC_PI_2 - ahead.turned - behind.turned).max(0.0);
                for [a0, a1] in slabs(leaves.iter().map(|leaf| leaf.die_angle.map(|a| a.to_rad())), first, self.target)
                {
                    let here = |leaf: &&&Leaf| spans(leaf.die_angle.map(|a| a.to_rad()), [a0, a1]);
                    let here: Vec<&Leaf> = leaves.iter().filter(here).copied().collect();
                    let other = |leaf: &Leaf| leaf.other.map_or([0.0; 2], |range| range.map(|place| place.to_mm()));
                    let from = behind.along[0].max(self.follower_end(a0));
                    for [d0, d1] in slabs(here.iter().map(|leaf| other(leaf)), from, behind.along[1]) {
                        let these = here.iter().filter(|leaf| spans(other(leaf), [d0, d1]));
                        let ranges = these.map(|leaf| leaf.along.map(|place| place.to_mm())).collect();
                        let (from, to) = (ahead.along[0].max(clamp), ahead.along[1]);
                        row_covered(ranges, from, to).map_err(|why| {
                            format!("tube: places {d0} to {d1} behind, die angles {a0} to {a1}: {why}")
                        })?;
                    }
                }
            }
        }
        Ok(())
    }

    /// Whether a leaf's bound holds, against a convex body or, without one, against the trailing part.
    fn holds(&self, leaf: &Leaf, against: Option<(&Body, &Convex)>) -> Result<(), String> {
        let bound = leaf.at_least.to_mm() - ROUNDING;
        if bound < -2.0 * ROUNDING {
            return Err("less is proved than must be kept".into());
        }
        let other = leaf.other.map_or([0.0; 2], |range| range.map(|place| place.to_mm()));
        let stretches = |part: Part| match part {
            Part::Lead => self.lead.clone(),
            Part::Trail => self.trail.clone(),
            Part::Wrapped => {
                let bow = self.step.active().clr.to_mm() / (self.feed * self.feed);
                vec![Stretch { along: [0.0, self.feed * self.target], bow, turned: 0.0 }]
            }
        };
        let mut open: Vec<(Cell, [f64; 2])> = Vec::new();
        let along = leaf.along.map(|place| place.to_mm());
        let angles = leaf.die_angle.map(|angle| angle.to_rad());
        let others = if against.is_none() {
            self.trail.clone()
        } else {
            vec![Stretch { along: [0.0; 2], bow: 0.0, turned: 0.0 }]
        };
        let mine = stretches(leaf.part);
        let beyond = |range: [f64; 2], all: &[Stretch]| range[0] < -SEAM || range[1] > Self::length(all) + SEAM;
        if beyond(along, &mine) || beyond(other, &others) || angles[0] < -SEAM || angles[1] > self.target + SEAM {
            return Err("there is no such place".into());
        }
        for one in &mine {
            for two in &others {
                let (s, d) = (both(along, one.along), both(other, two.along));
                if let (Some(s), Some(d)) = (s, d) {
                    open.push(([s, d, angles], [one.bow, two.bow]));
                }
            }
        }
        for _ in 0..CELLS {
            let Some((cell, bows)) = open.pop() else { return Ok(()) };
            let (middle, least, extent) = self.cell(leaf.part, &cell, bows, against);
            if middle < bound {
                return Err(format!("only {middle} in the middle of {cell:?}"));
            }
            if least >= bound {
                continue;
            }
            let widest = (0..3).fold(0, |best, axis| if extent[axis] > extent[best] { axis } else { best });
            let half = 0.5 * (cell[widest][0] + cell[widest][1]);
            for end in 0..2 {
                let mut part = cell;
                part[widest][end] = half;
                open.push((part, bows));
            }
        }
        Err(format!("not shown in {CELLS} cells"))
    }

    /// The value at the middle of a cell, a lower bound for all of it, and how far points move along each of its sides.
    fn cell(&self, part: Part, cell: &Cell, bows: [f64; 2], against: Option<(&Body, &Convex)>) -> (f64, f64, [f64; 3]) {
        let (turns, travels) = against.map_or((false, false), |(body, _)| match (body.round && !body.travels, part) {
            (true, Part::Lead) => (true, false),
            (true, _) => (false, false),
            _ => (body.turns, body.travels),
        });
        let point = |[s, d, a]: [f64; 3]| {
            let here = self.seen(self.placed(part, s, a), turns, travels, a);
            if against.is_none() { here - self.placed(Part::Trail, d, a).coords } else { here }
        };
        let [s, d, a] = cell.map(|side| 0.5 * (side[0] + side[1]));
        let half = cell.map(|side| 0.5 * (side[1] - side[0]));
        let away = |place: [f64; 3]| {
            let at = point(place);
            let foot = against.map_or(Point3::origin(), |(_, convex)| nearest(convex, at));
            (foot, (at - foot).norm(), (at - foot).try_normalize(0.0).unwrap_or_else(Vector3::zeros))
        };
        let apart = if against.is_none() { 2.0 * self.radius } else { self.radius };
        let need = |[s, d, a]: [f64; 3]| {
            let other = if against.is_none() { self.variance(Part::Trail, d, a) } else { 0.0 };
            self.step.bender.clearance.keep.to_mm() + 2.0 * (self.variance(part, s, a) + other).sqrt()
        };
        let corners: Vec<[f64; 3]> = (0..8).map(|bits| [0, 1, 2].map(|axis| cell[axis][(bits >> axis) & 1])).collect();
        let most = corners.iter().map(|c| need(*c)).fold(0.0, f64::max);
        // Bent off their chords by so much.
        let sags = [0, 1].map(|side| 0.5 * half[side] * half[side] * bows[side]);
        // Turning about z, a point is drawn toward z by its distance from it; a push that is turned adds twice its speed and its way.
        let rest = self.placed(part, s, 0.0);
        let out = libm::hypot(rest.x, rest.y) + 1.1 * half[0];
        let (own_turn, own_push) = (part == Part::Lead, part == Part::Trail);
        let spin = if own_turn == turns { 0.0 } else { out };
        let pushed = if own_push == travels || !turns { 0.0 } else { self.feed * (2.0 + cell[2][1]) };
        let turning = 0.5 * half[2] * half[2] * (spin + pushed);
        // Any plane will do: that of the middle, and where the body ends below the cell, those of the corners.
        let beyond = |place: &[f64; 3]| {
            let (foot, _, normal) = away(*place);
            let over = corners.iter().map(|c| normal.dot(&(point(*c) - foot))).fold(f64::INFINITY, f64::min);
            over - turning * libm::hypot(normal.x, normal.y)
        };
        let over = corners.iter().chain([&[s, d, a]]).map(beyond).fold(f64::NEG_INFINITY, f64::max);
        let slope = 2.0 * self.each().sqrt() * (1.0 + self.step.blank.bends.len() as f64).sqrt();
        let least = over - (1.0 + slope) * (sags[0] + sags[1]) - apart - most;
        let way = |axis: usize| {
            let end = |to: usize| {
                let mut place = [s, d, a];
                place[axis] = cell[axis][to];
                point(place)
            };
            (end(1) - end(0)).norm()
        };
        (away([s, d, a]).1 - apart - need([s, d, a]), least, [way(0), way(1), way(2)])
    }

    fn about_z(&self, p: Point3<f64>, angle: f64) -> Point3<f64> {
        Rotation3::from_axis_angle(&Vector3::z_axis(), self.sign * angle) * p
    }

    /// A place of a part in the frame in which the die turns.
    fn placed(&self, part: Part, place: f64, angle: f64) -> Point3<f64> {
        match part {
            Part::Lead => self.about_z(self.judge.point(place, 0.0), angle),
            Part::Trail => self.judge.point(-place, 0.0) + Vector3::x() * (self.feed * angle),
            Part::Wrapped => self.about_z(self.judge.point(0.0, 0.0), place / self.feed),
        }
    }

    /// The same as a body sees it that turns or travels.
    fn seen(&self, p: Point3<f64>, turns: bool, travels: bool, angle: f64) -> Point3<f64> {
        let p = if turns { self.about_z(p, -angle) } else { p };
        if travels { p - Vector3::x() * (self.feed * angle) } else { p }
    }

    /// Variance that each bend adds for each mm2 of distance.
    fn each(&self) -> f64 {
        self.step.bender.accuracy.map_or(0.0, |sd| sd.bend.to_rad().powi(2) + sd.rotation.to_rad().powi(2))
    }

    /// What the shop's accuracy moves a place by: its variance, mm2.
    fn variance(&self, part: Part, place: f64, angle: f64) -> f64 {
        let Some(accuracy) = self.step.bender.accuracy else { return 0.0 };
        let mark = accuracy.mark.to_mm().powi(2);
        let (stretches, at) = match part {
            Part::Lead => (&self.lead, self.judge.point(place, 0.0)),
            Part::Trail => (&self.trail, self.judge.point(-place, 0.0)),
            Part::Wrapped => return mark,
        };
        let drawn = if part == Part::Trail { self.feed * angle } else { 0.0 };
        let tangent = self.judge.point(0.0, 0.0);
        let way = if part == Part::Lead { 1.0 } else { -1.0 };
        let bends = stretches.iter().filter(|one| one.bow > 0.0 && one.along[0] < place);
        let squares: f64 = bends.map(|one| (at - self.judge.point(way * one.along[0], 0.0)).norm_squared()).sum();
        mark + self.each() * (squares + (at + Vector3::x() * drawn - tangent).norm_squared())
    }
}

/// What two ranges share.
fn both(one: [f64; 2], other: [f64; 2]) -> Option<[f64; 2]> {
    let shared = [one[0].max(other[0]), one[1].min(other[1])];
    (shared[0] <= shared[1]).then_some(shared)
}

fn spans(range: [f64; 2], part: [f64; 2]) -> bool {
    range[0] <= part[0] + SEAM && range[1] >= part[1] - SEAM
}

/// Parts of a range within which no leaf begins or ends.
fn slabs(ranges: impl Iterator<Item = [f64; 2]>, from: f64, to: f64) -> Vec<[f64; 2]> {
    let mut ends: Vec<f64> = ranges.flatten().filter(|end| *end > from && *end < to).chain([from, to]).collect();
    ends.sort_by(f64::total_cmp);
    ends.windows(2).map(|pair| [pair[0], pair[1]]).filter(|[a, b]| from < to && b - a > SEAM).collect()
}

/// Whether leaves hold, at all die angles, all places from `from` (which never falls) to `to` (which never falls either).
fn covered(leaves: &[&Leaf], target: f64, from: &dyn Fn(f64) -> f64, to: &dyn Fn(f64) -> f64) -> Result<(), String> {
    let angles = |leaf: &Leaf| leaf.die_angle.map(|angle| angle.to_rad());
    for slab in slabs(leaves.iter().map(|leaf| angles(leaf)), 0.0, target) {
        let these = leaves.iter().filter(|leaf| spans(angles(leaf), slab));
        let ranges = these.map(|leaf| leaf.along.map(|place| place.to_mm())).collect();
        row_covered(ranges, from(slab[0]), to(slab[1])).map_err(|why| format!("die angles {slab:?}: {why}"))?;
    }
    Ok(())
}

fn row_covered(mut ranges: Vec<[f64; 2]>, from: f64, to: f64) -> Result<(), String> {
    ranges.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let reached = ranges.iter().fold(
        from,
        |reached, range| {
            if range[0] <= reached + SEAM { reached.max(range[1]) } else { reached }
        },
    );
    if reached >= to - SEAM { Ok(()) } else { Err(format!("nothing is said of places {reached} to {to}")) }
}

/// The point of a convex body that is nearest; the point itself where that lies in it.
fn nearest(body: &Convex, p: Point3<f64>) -> Point3<f64> {
    let on_line = |a: Point3<f64>, b: Point3<f64>| {
        let core = b - a;
        a + core * ((p - a).dot(&core) / core.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
    };
    let toward = |centre: Point3<f64>, radius: f64| {
        let away = p - centre;
        if away.norm() <= radius { p } else { centre + away * (radius / away.norm()) }
    };
    match body {
        Convex::Below(up, level) => p - up * (p.coords.dot(up) - level).max(0.0),
        Convex::Solid(Shape::Box { min, max }) => {
            Point3::new(p.x.clamp(min.x, max.x), p.y.clamp(min.y, max.y), p.z.clamp(min.z, max.z))
        }
        Convex::Solid(Shape::Capsule { from, to, radius }) => toward(on_line(*from, *to), radius.to_mm()),
        Convex::Solid(Shape::Cylinder { from, to, radius }) => {
            let axis = (to - from).normalize();
            let height = (p - from).dot(&axis);
            let aside = toward(from + axis * height, radius.to_mm());
            aside + axis * (height.clamp(0.0, (to - from).norm()) - height)
        }
        Convex::Solid(Shape::Mesh(_)) => p,
        Convex::Triangle([a, b, c]) => {
            let normal = (b - a).cross(&(c - a));
            let inside = |from: &Point3<f64>, to: &Point3<f64>| (to - from).cross(&(p - from)).dot(&normal) >= 0.0;
            if inside(a, b) && inside(b, c) && inside(c, a) {
                return p - normal * ((p - a).dot(&normal) / normal.norm_squared());
            }
            let edges = [on_line(*a, *b), on_line(*b, *c), on_line(*c, *a)];
            edges.into_iter().min_by(|x, y| (x - p).norm().total_cmp(&(y - p).norm())).unwrap_or(p)
        }
    }
}
