//! The end of a tube that lands on another one: where it is cut so that it fits the other's surface.
//!
//! ```text
//!                      toe (t = 0)
//!    ______________________ .  .                     b   the tube's own direction, from its node into the tube
//!     the tube that         |\   ` .   _____         h   the other's, the way round that makes the angle acute
//!     runs through    h <---+ \      ` .     ` .
//!    ____________________a__|__o___________`_____>b  a   angle between the axes, up to 90 degrees
//!     radius R              |  /  node        . '
//!    ____________________   |/_____________. '       r   radius of the tube's own surface: half its OD
//!                       heel (t = 180)
//! ```
//!
//! A line along the tube's surface lies at the angle t around it, counted from the toe: from the acute side of the joint, clockwise when looking from end A
//! along the tube. The cut lies where that line, coming from the tube's own middle, first meets the other's surface: at s(t), counted from the node into the tube. With a
//! straight tube running through, the axes offset by e and s counted from the foot of their common perpendicular, that is in closed form
//!
//! ```text
//! s(t) = sqrt(R^2 - (e + r sin t)^2) / sin a + r cos t / tan a
//! ```
//!
//! since the point at height y = e + r sin t over the plane of the two directions lies on the other tube where y^2 + w^2 = R^2, and w = s sin a - r cos t cos a is its
//! distance there from the other's axis, square to it. Where a bend of the other tube is near, the line meets a torus: a quartic in s, all of whose real roots are found between
//! those of its derivatives, so that none is missed. Places are good to 1e-6 mm wherever the line does not graze the surface; where it does, the place is on the surface within
//! 1e-6 mm.
//!
//! The least s is the *long point*, the greatest the *short point*. The curve at r = OD / 2 is the outside edge: what a hole saw as wide as the other tube leaves, and what
//! paper around the tube shows. The inside edge has r less the wall.

mod mistake;
mod piece;
mod planes;

use nalgebra::{Point3, Unit, Vector3};

pub use self::mistake::CopeMistake;
use self::piece::{Met, Piece};
pub use self::planes::Planes;
use crate::centreline::{Centreline, SAME_NODE, Segment, angle_between};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// Flatter than this nobody copes a tube: the toe runs out to a feather, and a hundredth of a millimetre across is a tenth along.
pub const FLATTEST: Angle = Angle::deg(10.0);

/// A line of the tube's surface that passes the other tube by no more than this is cut where it comes nearest: equal tubes whose axes miss each other by what a
/// survey is off stay one joint, and a weld fills it. More, and the tube is wider than what it lands on.
pub const BESIDE: Length = Length::mm(0.5);

/// Axes this near to square have their toe toward the other tube's end B: which side is the acute one would else be a matter of rounding.
const SQUARE: f64 = 1e-9;

/// Two neighbouring places of the cut that stay further apart than this, mm, however near their lines are: the cut is torn.
const TORN_MM: f64 = 0.05;

/// A cut is looked at every half degree; what lies between is bounded by halving where it is steep.
const LOOKS: usize = 720;

/// An end of a tube with what it is made of.
#[derive(Clone, Copy, Debug)]
pub struct Branch<'a> {
    /// Its centreline.
    pub centreline: &'a Centreline,
    /// Which end lands on the other tube.
    pub end: LeadEnd,
    /// Its outside diameter.
    pub od: Length,
    /// Its wall, where given.
    pub wall: Option<Length>,
}

/// The tube that runs through.
#[derive(Clone, Copy, Debug)]
pub struct Through<'a> {
    /// Its finished centreline, from node to node.
    pub centreline: &'a Centreline,
    /// Its outside diameter.
    pub od: Length,
}

/// How an end fits the tube that runs through. Lengths along the tube are counted from its node into the tube, without any gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    lines: Lines,
    /// Half the tube's OD.
    radius: f64,
    /// Half its inside diameter, where the wall is given.
    bore: Option<f64>,
    /// Angle between the axes, up to 90 degrees; with a bend of the other tube, to its direction where the axes come nearest.
    pub angle: Angle,
    /// How far the tube's axis passes the other's, along t = 90 degrees.
    pub offset: Length,
    /// From the node to the foot of the common perpendicular.
    pub foot: Length,
    /// Whether only one straight of the other tube is met: then the closed form holds.
    pub straight: bool,
    /// The long point: the least of the outside edge.
    pub long: Length,
    /// Where around the tube, from the toe.
    pub long_at: Angle,
    /// The short point: the greatest of the outside edge.
    pub short: Length,
    /// Where around the tube, from the toe.
    pub short_at: Angle,
    /// The part of the other's centreline that is landed on, from its end A.
    pub along: [Length; 2],
    /// How far the tube reaches beside the other at most, up to [`BESIDE`]; 0 where all of its wall lands on it.
    pub beside: Length,
    /// The same with two plane cuts.
    pub planes: Planes,
}

/// Lines along a tube, and the pieces of the other that they meet.
#[derive(Clone, Debug, PartialEq)]
struct Lines {
    node: Point3<f64>,
    /// From the node into the tube.
    into: Unit<Vector3<f64>>,
    /// The way to t = 0.
    toe: Unit<Vector3<f64>>,
    /// The way to t = 90 degrees.
    side: Unit<Vector3<f64>>,
    pieces: Vec<Piece>,
    /// For each piece whether a line can meet it at all.
    near: Vec<bool>,
    /// Radius of the other tube.
    other: f64,
    /// Where along the tube a line is looked at: from here down ..
    from: f64,
    /// .. to here.
    to: f64,
}

impl Lines {
    /// The start of a line at s = 0.
    fn start(&self, radius: f64, t: f64) -> Point3<f64> {
        let (sin, cos) = libm::sincos(t);
        self.node + (self.toe.into_inner() * cos + self.side.into_inner() * sin) * radius
    }

    /// Where the line first meets the other tube, or passes it by no more than [`BESIDE`]; else how far it stays away.
    fn met(&self, radius: f64, t: f64) -> Result<Met, Option<f64>> {
        let start = self.start(radius, t);
        let looked = |met: &Met| met.at <= self.from && met.at >= self.to;
        let near = || self.pieces.iter().zip(&self.near).filter(|(_, near)| **near).map(|(piece, _)| piece);
        let first = |real: bool| {
            let pieces = near().filter(|piece| !real || self.is_real(piece));
            let met = pieces.flat_map(|piece| piece.meets(start, self.into, self.other)).filter(looked);
            met.max_by(|one, other| one.at.total_cmp(&other.at))
        };
        // What the other tube has not is only looked at where nothing that it has is met: it tells how far its end is missed.
        if let Some(first) = first(true).or_else(|| first(false)) {
            return Ok(first);
        }
        let passed = near().flat_map(|piece| piece.passes(start, self.into, self.other)).filter(looked);
        let nearest = passed.min_by(|one, other| one.beside.total_cmp(&other.beside));
        nearest.filter(|met| met.beside <= BESIDE.to_mm()).ok_or(nearest.map(|met| met.beside))
    }

    /// Whether a piece is of the tube itself: the first and the last go on at its ends.
    fn is_real(&self, piece: &Piece) -> bool {
        let last = self.pieces.len() - 1;
        piece.station() >= 0.0 && !core::ptr::eq(piece, &self.pieces[last])
    }

    /// How far a point lies from the other's centreline.
    fn away(&self, point: Point3<f64>) -> f64 {
        self.pieces
            .iter()
            .filter(|piece| self.is_real(piece))
            .map(|piece| piece.distance(point))
            .fold(f64::INFINITY, f64::min)
    }
}

impl Joint {
    /// How an end of a tube fits the tube that runs through.
    ///
    /// # Errors
    /// The other tube is not at that end, is missed, or meets the tube at too flat an angle; the tube is wider than the other or reaches past its end; the cut
    /// would reach beyond the tube's last straight (beyond the middle of a straight tube), or be torn.
    pub fn new(branch: Branch<'_>, through: Through<'_>) -> Result<Self, CopeMistake> {
        let segments = branch.centreline.segments();
        let (node, travel) = match branch.end {
            LeadEnd::A => (branch.centreline.start, branch.centreline.direction),
            LeadEnd::B => branch.centreline.end(),
        };
        let into = if branch.end == LeadEnd::A { travel } else { -travel };
        let own = if branch.end == LeadEnd::A { segments.first() } else { segments.last() };
        let own = own.map_or(0.0, |straight| straight.length().to_mm());
        // Both ends of a straight tube may be coped: each is looked at from its middle.
        let from = if segments.len() == 1 { own / 2.0 } else { own };
        let (radius, other) = (branch.od.to_mm() / 2.0, through.od.to_mm() / 2.0);
        let past = (radius + 2.0 * other) / libm::sin(FLATTEST.to_rad());
        let (pieces, end) = pieces(&through.centreline.segments(), past);
        // Any way around will do until the joint is known: the axis itself has no side.
        let mut lines = Lines {
            node,
            into,
            toe: travel,
            side: travel,
            near: vec![true; pieces.len()],
            pieces,
            other,
            from,
            to: 0.0,
        };
        let away = lines.away(node);
        let at_corner = through.centreline.nodes.iter().flatten().any(|corner| (corner - node).norm() <= other);
        if away > 2.0 * other && !at_corner {
            return Err(CopeMistake::NotNear { away: Length::mm(away) });
        }
        lines.to = -(away + past);
        let [far, low] = [from, lines.to].map(|at| node + into.into_inner() * at);
        let around = radius + other + BESIDE.to_mm() + 1.0;
        lines.near = lines.pieces.iter().map(|piece| piece.can_meet(far, low, around)).collect();
        if lines.away(node + into.into_inner() * from) <= other {
            return Err(CopeMistake::NoStraight { needed: None, there: Length::mm(from) });
        }
        let axis = lines.met(0.0, 0.0).map_err(|by| CopeMistake::Missed { by: by.map(Length::mm) })?;
        let (at, way) = lines.foot(axis);
        let angle = angle_between(&into, &way);
        let angle = if angle > Angle::deg(90.0) { Angle::deg(180.0) - angle } else { angle };
        if angle < FLATTEST {
            return Err(CopeMistake::TooFlat { angle });
        }
        if axis.at > (away + other) / libm::sin(angle.to_rad()) + 2.0 * other {
            return Err(CopeMistake::Crossed { at: Length::mm(axis.at) });
        }
        let lean = into.dot(&way);
        let acute = if lean < -SQUARE { -way.into_inner() } else { way.into_inner() };
        lines.toe = Unit::new_normalize(acute - into.into_inner() * into.dot(&acute));
        lines.side = Unit::new_normalize(travel.cross(&lines.toe));
        let foot = (at - node).dot(&into);
        let offset = (node + into.into_inner() * foot - at).dot(&lines.side);
        let cut = Cut::new(&lines, radius)?;
        let bore = branch.wall.map(|wall| radius - wall.to_mm()).filter(|bore| *bore > 0.0);
        if let Some(bore) = bore {
            Cut::new(&lines, bore)?;
        }
        let ends = [(LeadEnd::A, -cut.along[0]), (LeadEnd::B, cut.along[1] - end)];
        if let Some((end, by)) = ends.into_iter().find(|(_, by)| *by > SAME_NODE.to_mm()) {
            return Err(CopeMistake::PastEnd { end, by: Length::mm(by) });
        }
        let (long, short) = (cut.least, cut.most);
        if short.1 >= from {
            return Err(CopeMistake::NoStraight { needed: Some(Length::mm(short.1)), there: Length::mm(from) });
        }
        let planes = Planes::new(radius, &|t| lines.met(radius, t).map_or(long.1, |met| met.at));
        Ok(Self {
            straight: cut.straight,
            radius,
            bore,
            angle,
            offset: Length::mm(offset),
            foot: Length::mm(foot),
            long: Length::mm(long.1),
            long_at: Angle::rad(long.0),
            short: Length::mm(short.1),
            short_at: Angle::rad(short.0),
            along: cut.along.map(Length::mm),
            beside: Length::mm(cut.beside),
            planes,
            lines,
        })
    }

    /// The outside edge at an angle around the tube from the toe, clockwise looking from end A along it; from the node into the tube.
    ///
    /// # Panics
    /// Never: every line was seen to meet the other tube when the joint was made.
    #[must_use]
    pub fn outside(&self, t: Angle) -> Length {
        self.edge(self.radius, t)
    }

    /// The inside edge; `None` where no wall is given.
    #[must_use]
    pub fn inside(&self, t: Angle) -> Option<Length> {
        Some(self.edge(self.bore?, t))
    }

    fn edge(&self, radius: f64, t: Angle) -> Length {
        // A line between two that were looked at may pass by a hair more than is allowed: it is cut like the neighbour that is.
        let met = self.lines.met(radius, t.to_rad());
        Length::mm(met.map_or(self.long.to_mm(), |met| met.at))
    }

    /// Depth of the cut: from the long point to the short point.
    #[must_use]
    pub fn depth(&self) -> Length {
        self.short - self.long
    }

    /// The way from the tube's axis to the toe, in the job's axes.
    #[must_use]
    pub fn toe(&self) -> Unit<Vector3<f64>> {
        self.lines.toe
    }

    /// Half the tube's inside diameter, where the wall is given.
    #[must_use]
    pub fn bore(&self) -> Option<Length> {
        self.bore.map(Length::mm)
    }

    /// An edge as points from t = 0 to a whole turn, near enough that straight lines between them lie within so much of it.
    ///
    /// # Panics
    /// Never: the list of points is begun with one.
    #[must_use]
    pub fn curve(&self, edge: &dyn Fn(Angle) -> Length, within: Length) -> Vec<(Angle, Length)> {
        const EACH: usize = 90;
        /// No two points are nearer than 4 degrees by this many halvings: a millionth of a degree.
        const HALVINGS: usize = 22;
        let at = |t: f64| (t, edge(Angle::rad(t)).to_mm());
        let mut points = vec![at(0.0)];
        for part in 0..EACH {
            let next = at(core::f64::consts::TAU * (part + 1) as f64 / EACH as f64);
            let mut open = vec![(next, 0)];
            while let Some((to, deep)) = open.pop() {
                let from = *points.last().expect("it starts with one");
                let middle = at(0.5 * (from.0 + to.0));
                let off = |share: f64| {
                    let (t, s) = at(from.0 + share * (to.0 - from.0));
                    (s - from.1 - (t - from.0) / (to.0 - from.0) * (to.1 - from.1)).abs()
                };
                let near = off(0.5).max(off(0.25)).max(off(0.75)) <= within.to_mm();
                if near || deep == HALVINGS {
                    points.push(to);
                } else {
                    open.push((to, deep + 1));
                    open.push((middle, deep + 1));
                }
            }
        }
        points.into_iter().map(|(t, s)| (Angle::rad(t), Length::mm(s))).collect()
    }
}

impl Lines {
    /// The other's place where the two axes come nearest to each other, and its direction there: downhill from where the axis meets it.
    fn foot(&self, axis: Met) -> (Point3<f64>, Unit<Vector3<f64>>) {
        let off = |station: f64| {
            let (at, way) = self.at(station);
            let apart = at - self.node;
            (apart - self.into.into_inner() * apart.dot(&self.into)).dot(&way)
        };
        let first = off(axis.station);
        let step = -0.25 * self.other * first.signum();
        let (mut near, mut far) = (axis.station, axis.station + step);
        // With parallel axes there is no way down; the angle says so.
        let mut left = 100;
        while off(far) * first > 0.0 && left > 0 {
            (near, far) = (far, far + step);
            left -= 1;
        }
        for _ in 0..80 {
            let middle = 0.5 * (near + far);
            if off(middle) * first > 0.0 { near = middle } else { far = middle }
        }
        self.at(0.5 * (near + far))
    }

    /// Place and direction so far along the other's centreline.
    fn at(&self, station: f64) -> (Point3<f64>, Unit<Vector3<f64>>) {
        let piece = self.pieces.iter().rev().find(|piece| piece.station() <= station).unwrap_or(&self.pieces[0]);
        piece.at(station)
    }
}

/// The edge of a cut, looked at all around.
struct Cut {
    /// Angle and place of its least.
    least: (f64, f64),
    /// Angle and place of its greatest.
    most: (f64, f64),
    along: [f64; 2],
    beside: f64,
    straight: bool,
}

impl Cut {
    fn new(lines: &Lines, radius: f64) -> Result<Self, CopeMistake> {
        let turn = |look: usize| core::f64::consts::TAU * look as f64 / LOOKS as f64;
        let mut all = Vec::with_capacity(LOOKS);
        let mut widest: Option<(f64, Option<f64>)> = None;
        for look in 0..LOOKS {
            // A line is followed from outside of the other tube.
            if lines.away(lines.start(radius, turn(look)) + lines.into.into_inner() * lines.from) <= lines.other {
                return Err(CopeMistake::NoStraight { needed: None, there: Length::mm(lines.from) });
            }
            match lines.met(radius, turn(look)) {
                Ok(met) => all.push(met),
                Err(by) => {
                    let worse =
                        widest.is_none_or(|(_, least)| by.unwrap_or(f64::INFINITY) > least.unwrap_or(f64::INFINITY));
                    if worse {
                        widest = Some((turn(look), by));
                    }
                }
            }
        }
        if let Some((at, by)) = widest {
            return Err(CopeMistake::TooWide { by: by.map(Length::mm), at: Angle::rad(at) });
        }
        for look in 0..LOOKS {
            let (one, next) = (all[look], all[(look + 1) % LOOKS]);
            // Steeper than 45 degrees on the tube's surface: looked at more nearly.
            if (next.at - one.at).abs() > radius * turn(1) && torn(lines, radius, turn(look), turn(look + 1)) {
                return Err(CopeMistake::Torn { at: Angle::rad(turn(look)), by: Length::mm((next.at - one.at).abs()) });
            }
        }
        let place = |sign: f64| {
            let best = (0..LOOKS).min_by(|one, other| (sign * all[*one].at).total_cmp(&(sign * all[*other].at)));
            let best = best.unwrap_or_default();
            let value = |t: f64| lines.met(radius, t).map_or(f64::INFINITY, |met| sign * met.at);
            let (t, least) = least_between(turn(best) - turn(1), turn(best) + turn(1), &value);
            // The look itself stands where it is no worse: a tip that is a corner of the curve is met exactly.
            if sign * all[best].at <= least { (turn(best), all[best].at) } else { (t, sign * least) }
        };
        let stations = all.iter().map(|met| met.station);
        let first = all[0].piece;
        Ok(Self {
            least: place(1.0),
            most: place(-1.0),
            along: [stations.clone().fold(f64::INFINITY, f64::min), stations.fold(f64::NEG_INFINITY, f64::max)],
            beside: all.iter().map(|met| met.beside).fold(0.0, f64::max),
            straight: all.iter().all(|met| met.piece.total_cmp(&first).is_eq() && met.straight),
        })
    }
}

/// Whether a cut stays apart between two lines, however near each other they are.
fn torn(lines: &Lines, radius: f64, from: f64, to: f64) -> bool {
    let at = |t: f64| lines.met(radius, t).map_or(f64::NAN, |met| met.at);
    let (mut from, mut to) = ((from, at(from)), (to, at(to)));
    for _ in 0..30 {
        let middle = 0.5 * (from.0 + to.0);
        let middle = (middle, at(middle));
        // Goes on with the half that keeps the greater part of the step.
        if (middle.1 - from.1).abs() > (to.1 - middle.1).abs() {
            to = middle
        } else {
            from = middle
        }
        if (to.1 - from.1).abs() < TORN_MM {
            return false;
        }
    }
    true
}

/// The least of a function that has one least place between two bounds, by the golden section.
fn least_between(from: f64, to: f64, of: &dyn Fn(f64) -> f64) -> (f64, f64) {
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let (mut from, mut to) = (from, to);
    let (mut one, mut other) = (to - GOLDEN * (to - from), from + GOLDEN * (to - from));
    let (mut of_one, mut of_other) = (of(one), of(other));
    for _ in 0..60 {
        if of_one < of_other {
            (to, other, of_other) = (other, one, of_one);
            one = to - GOLDEN * (to - from);
            of_one = of(one);
        } else {
            (from, one, of_one) = (one, other, of_other);
            other = from + GOLDEN * (to - from);
            of_other = of(other);
        }
    }
    if of_one < of_other { (one, of_one) } else { (other, of_other) }
}

/// A centreline as pieces with their stations, gone on with at both ends; and its length.
fn pieces(segments: &[Segment], past: f64) -> (Vec<Piece>, f64) {
    let mut pieces = Vec::with_capacity(segments.len() + 2);
    let mut station = 0.0;
    for segment in segments {
        let length = segment.length().to_mm();
        if pieces.is_empty() {
            let (at, way) = segment.at(Length::ZERO);
            pieces.push(Piece::straight(at - way.into_inner() * past, way, past, -past));
        }
        match segment {
            Segment::Straight { from, direction, .. } if length > 0.0 => {
                pieces.push(Piece::straight(*from, *direction, length, station));
            }
            Segment::Straight { .. } => {}
            Segment::Arc { centre, outward, direction, normal, radius, angle, .. } => pieces.push(Piece::arc(
                *centre,
                [*outward, *direction, *normal],
                radius.to_mm(),
                angle.to_rad(),
                station,
            )),
        }
        station += length;
    }
    if let Some(last) = segments.last() {
        let (at, way) = last.at(last.length());
        pieces.push(Piece::straight(at, way, past, station));
    }
    (pieces, station)
}

#[cfg(test)]
mod tests;
