//! The tube as pieces, laid in the bender for one bend.
//!
//! The tube of a step is two rigid sides and the arc between them. A [`Side`] is laid out at die angle 0, from the tangent point outward: straights, and arcs
//! at the formed radius where bends are made. Places are counted along the blank from the tangent point.
//!
//! ```text
//!        trailing side            tangent point            lead side
//!   ...====arc====-------------------- o --------------------====arc====...
//!          s grows  <-                 0                 ->  s grows
//! ```

use nalgebra::{Rotation3, Unit, Vector3};

use crate::clearance::Step;
use crate::forming::LeadEnd;

/// A straight or an arc, outward from its near end.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Curve {
    /// From a point along a unit direction.
    Straight { from: Vector3<f64>, along: Vector3<f64> },
    /// About a centre: unit vectors from it to the start and along the tube there.
    Arc { centre: Vector3<f64>, out: Vector3<f64>, along: Vector3<f64>, radius: f64 },
}

/// A piece of tube: a straight, or a bend that is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) curve: Curve,
    /// Place of its near end along the blank.
    pub(crate) start: f64,
    /// Place of its far end.
    pub(crate) end: f64,
    /// Arcs: turn for each mm of blank. Straights: 0.
    pub(crate) turn: f64,
    /// Turn of the tube from the tangent point to the far end of this piece.
    pub(crate) turned: f64,
}

/// A part of a piece as a line, with what the tube's axis may be off it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chord {
    pub(crate) from: Vector3<f64>,
    pub(crate) to: Vector3<f64>,
    /// The axis and the line are nowhere further than this from each other.
    pub(crate) off: f64,
}

impl Piece {
    /// The point of the axis at a place along the blank.
    pub(crate) fn point(&self, s: f64) -> Vector3<f64> {
        let along_blank = s - self.start;
        match self.curve {
            Curve::Straight { from, along } => from + along * along_blank,
            Curve::Arc { centre, out, along, radius } => {
                let (sin, cos) = libm::sincos(self.turn * along_blank);
                centre + (out * cos + along * sin) * radius
            }
        }
    }

    /// The part between two places as a line.
    ///
    /// The line of an arc is its chord, moved out by half its rise: then it is off by half the rise at its middle and at its ends.
    pub(crate) fn chord(&self, s0: f64, s1: f64) -> Chord {
        let (from, to) = (self.point(s0), self.point(s1));
        match self.curve {
            Curve::Straight { .. } => Chord { from, to, off: 0.0 },
            Curve::Arc { centre, radius, .. } => {
                let half = 0.5 * self.turn * (s1 - s0);
                let quarter = libm::sin(0.5 * half);
                // radius (1 - cos half), written so that small angles keep their digits.
                let rise = 2.0 * radius * quarter * quarter;
                let middle = self.point(0.5 * (s0 + s1)) - centre;
                let shift = middle * (0.5 * rise / radius);
                Chord { from: from + shift, to: to + shift, off: 0.5 * rise }
            }
        }
    }

    /// Length of the finished axis for each mm of blank.
    pub(crate) fn stretched(&self) -> f64 {
        match self.curve {
            Curve::Straight { .. } => 1.0,
            Curve::Arc { radius, .. } => radius * self.turn,
        }
    }
}

/// A made bend on a side: where it begins, seen from the die.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MadeBend {
    /// Place along the blank of the tangent point nearer to the die.
    pub(crate) near: f64,
    /// That tangent point at die angle 0.
    pub(crate) point: Vector3<f64>,
}

/// One rigid side of the tube at die angle 0.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) bends: Vec<MadeBend>,
    /// Blank from the tangent point to the end of the tube.
    pub(crate) length: f64,
    /// Blank from the tangent point to the next made bend, or to the end.
    pub(crate) unbent: f64,
}

/// Which side of the tangent point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Which {
    Lead,
    Trail,
}

impl Side {
    pub(crate) fn new(step: &Step<'_>, which: Which) -> Self {
        let sign = step.bender.hand.sign();
        let bends = &step.blank.bends;
        let here = step.bend.0;
        let toward_b = (step.lead == LeadEnd::B) == (which == Which::Lead);
        let tangent = match step.lead {
            LeadEnd::A => bends[here].start.to_mm(),
            LeadEnd::B => bends[here].end.to_mm(),
        };
        let length = if toward_b { step.blank.cut_length.to_mm() - tangent } else { tangent };
        // The bend's normal, of travel from A to B: -z with lead A and +z with lead B, the other way for a clockwise hand.
        let mut normal = Vector3::z() * if step.lead == LeadEnd::A { -sign } else { sign };
        let mut out = if which == Which::Lead { Vector3::x() } else { -Vector3::x() };
        let mut at = Vector3::new(0.0, -sign * bends[here].clr.to_mm(), 0.0);
        let travel = if toward_b { 1.0 } else { -1.0 };
        let mut side = Self { pieces: Vec::new(), bends: Vec::new(), length, unbent: length };
        let (mut s, mut turned) = (0.0, 0.0);
        let straight =
            |side: &mut Self, at: &mut Vector3<f64>, s: &mut f64, out: Vector3<f64>, end: f64, turned: f64| {
                if end > *s {
                    let curve = Curve::Straight { from: *at, along: out };
                    side.pieces.push(Piece { curve, start: *s, end, turn: 0.0, turned });
                    *at += out * (end - *s);
                    *s = end;
                }
            };
        let others: &mut dyn Iterator<Item = usize> =
            if toward_b { &mut (here + 1..bends.len()) } else { &mut (0..here).rev() };
        for place in others {
            // Out is travel toward B, and against it toward A; the rotation stands before the bend nearer to B of the two.
            let rotation = if toward_b { bends[place].rotation } else { -bends[place + 1].rotation };
            if rotation.to_rad().abs() > 0.0 {
                normal = rotated(normal, out * travel, rotation.to_rad());
            }
            if !step.made[place] {
                continue;
            }
            let bend = &bends[place];
            let near = if toward_b { bend.start.to_mm() - tangent } else { tangent - bend.end.to_mm() };
            straight(&mut side, &mut at, &mut s, out, near, turned);
            if side.bends.is_empty() {
                side.unbent = near;
            }
            side.bends.push(MadeBend { near, point: at });
            let blank_arc = bend.blank_arc.to_mm();
            let angle = bend.angle.to_rad();
            // Followed outward the tube turns about the normal toward B, and about minus the normal toward A.
            let inward = (normal * travel).cross(&out);
            let radius = bend.formed_radius.to_mm();
            turned += angle;
            let piece = Piece {
                curve: Curve::Arc { centre: at + inward * radius, out: -inward, along: out, radius },
                start: s,
                end: s + blank_arc,
                turn: angle / blank_arc,
                turned,
            };
            s += blank_arc;
            at = piece.point(s);
            let (sin, cos) = libm::sincos(angle);
            out = out * cos + inward * sin;
            side.pieces.push(piece);
        }
        straight(&mut side, &mut at, &mut s, out, length, turned);
        side
    }

    /// The point of the axis at a place along the blank, at die angle 0. Beyond its ends the side goes on straight, or around.
    pub(crate) fn point(&self, s: f64) -> Vector3<f64> {
        let place = self.pieces.partition_point(|piece| piece.end < s).min(self.pieces.len().saturating_sub(1));
        self.pieces.get(place).map_or_else(Vector3::zeros, |piece| piece.point(s))
    }
}

fn rotated(vector: Vector3<f64>, about: Vector3<f64>, by: f64) -> Vector3<f64> {
    Rotation3::from_axis_angle(&Unit::new_normalize(about), by) * vector
}

/// The arc that is being wrapped, whole, as a piece that stands with what is behind the tangent point.
///
/// Place `s` is the point of the circle at `s / feed` radians past the tangent point: it is there from that die angle on. What lies there at die angle `a` is
/// the blank `feed a - s` behind the mark's tangent point.
pub(crate) fn wrapped(step: &Step<'_>, sign: f64, feed: f64, target: f64) -> Piece {
    let clr = step.blank.bends[step.bend.0].clr.to_mm();
    Piece {
        curve: Curve::Arc {
            centre: Vector3::zeros(),
            out: Vector3::new(0.0, -sign, 0.0),
            along: Vector3::x(),
            radius: clr,
        },
        start: 0.0,
        end: feed * target,
        turn: 1.0 / feed,
        turned: target,
    }
}
