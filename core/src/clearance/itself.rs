//! The tube against itself.
//!
//! During a bend it is the lead part beyond the clamp against the trailing part beyond the follower; of a finished tube it is every part against
//! every other. In both only places between which the tube turns by 90 degrees or more are held against each other: with less they cannot
//! meet. The search is that of [`super::sweep`] with two stretches of tube in each node.

use std::collections::BinaryHeap;

use nalgebra::{Point3, Vector3};

use super::kernel::nearest_of_segments;
use super::laid::{Laid, Part};
use super::sweep::{FIRST, SLACK, TOLERANCE};
use crate::body::Piece;
use crate::centreline::Centreline;
use crate::motion::Relative;
use crate::units::Length;

/// Pairs looked at before giving up.
const BUDGET: usize = 400_000;

const SQUARE: f64 = core::f64::consts::FRAC_PI_2;

/// What was found of the tube against itself; places along the lead and the trailing side, and the die angle.
#[derive(Clone, Copy, Debug)]
pub(super) enum FoundPair {
    Beyond,
    Smallest { certified: f64, value: f64, s: f64, t: f64, a: f64 },
    Unproven { certified: f64, pair: Option<(f64, f64, f64, f64)> },
}

#[derive(Clone, Copy, Debug)]
struct Pair {
    lead: usize,
    trail: usize,
    s: [f64; 2],
    t: [f64; 2],
    a: [f64; 2],
    bound: f64,
    error: f64,
    /// Which to halve: 0 the lead stretch, 1 the trailing one, 2 the angle.
    weakest: usize,
}

struct Ranked(Pair, f64);
impl PartialEq for Ranked {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Ranked {}
impl PartialOrd for Ranked {
    fn partial_cmp(&self, other: &Self) -> Option<core::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> core::cmp::Ordering {
        other.1.total_cmp(&self.1)
    }
}

/// What is searched for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Aim {
    Gap,
    Spare,
}

type Best = Option<(f64, f64, f64, f64)>;

/// The lead part against the trailing part of one step.
#[derive(Clone, Debug)]
pub(super) struct Itself<'a> {
    laid: &'a Laid<'a>,
    relative: Relative,
}

impl<'a> Itself<'a> {
    pub(super) fn new(laid: &'a Laid<'a>) -> Self {
        // The trailing part as the lead part sees it.
        let relative = Relative::new(laid.carriage(Part::Trail), laid.carriage(Part::Lead));
        Self { laid, relative }
    }

    fn roots(&self) -> Vec<Pair> {
        let laid = self.laid;
        let clamp = laid.die.clamp_length.to_mm();
        let mut all = Vec::new();
        for (lead, one) in laid.lead.pieces.iter().enumerate() {
            if one.end < clamp {
                continue;
            }
            for (trail, other) in laid.trail.pieces.iter().enumerate() {
                // Looked at from the die angle on at which the tube turns by a right angle between their far ends.
                let from = (SQUARE - one.turned - other.turned).max(0.0);
                if from <= laid.target && laid.follower_end(from) <= other.end {
                    all.push(Pair {
                        lead,
                        trail,
                        s: [one.start.max(clamp), one.end],
                        t: [other.start, other.end],
                        a: [from, laid.target],
                        bound: f64::NEG_INFINITY,
                        error: f64::INFINITY,
                        weakest: 2,
                    });
                }
            }
        }
        all
    }

    fn look(&self, mut pair: Pair, aim: Aim, limit: f64, best: &mut Best) -> Option<Pair> {
        let laid = self.laid;
        let (one, other) = (&laid.lead.pieces[pair.lead], &laid.trail.pieces[pair.trail]);
        pair.t[0] = pair.t[0].max(laid.follower_end(pair.a[0]));
        if pair.t[0] > pair.t[1] {
            return None;
        }
        let (first, second) = (one.chord(pair.s[0], pair.s[1]), other.chord(pair.t[0], pair.t[1]));
        let middle = 0.5 * (pair.a[0] + pair.a[1]);
        let half_range = 0.5 * (pair.a[1] - pair.a[0]);
        let pose = self.relative.at(middle);
        let (from, to) = (pose.point(second.from), pose.point(second.to));
        let (at, at_other) = nearest_of_segments(first.from, first.to, from, to);
        let distance = (first.from + (first.to - first.from) * at - from - (to - from) * at_other).norm();
        // Turning about z, the side that stays nearer to the axis moves the slower; the push comes on top.
        let out = |p: Vector3<f64>| libm::sqrt(p.x * p.x + p.y * p.y);
        let far = |chord: &crate::body::Chord| out(chord.from).max(out(chord.to)) + chord.off;
        let pushed = self.relative.pushed() * pair.a[1];
        let speed = self.relative.speed(far(&first).min(far(&second) + pushed));
        let turning = speed * half_range;
        let (mut offset, mut spread) = (0.0, [0.0, 0.0, 0.0]);
        if aim == Aim::Spare {
            let (s, t) = (0.5 * (pair.s[0] + pair.s[1]), 0.5 * (pair.t[0] + pair.t[1]));
            offset = self.need(s, t, middle);
            if !laid.need_is_constant() {
                let slope = laid.need_slope(Part::Lead).max(laid.need_slope(Part::Trail));
                spread = [
                    slope * 0.5 * (pair.s[1] - pair.s[0]) * one.stretched(),
                    slope * 0.5 * (pair.t[1] - pair.t[0]) * other.stretched(),
                    slope * laid.kinematics.feed * half_range,
                ];
            }
        }
        let errors = [first.off + spread[0], second.off + spread[1], turning + spread[2]];
        pair.error = errors.iter().sum();
        pair.bound = distance - 2.0 * laid.half - offset - pair.error;
        if pair.bound >= limit {
            return None;
        }
        pair.weakest = (0..3).fold(0, |most, index| if errors[index] > errors[most] { index } else { most });
        let s = pair.s[0] + (pair.s[1] - pair.s[0]) * at;
        let t = (pair.t[0] + (pair.t[1] - pair.t[0]) * at_other).max(laid.follower_end(middle));
        if t <= pair.t[1] {
            let gap = (one.point(s) - pose.point(other.point(t))).norm() - 2.0 * laid.half;
            let value = if aim == Aim::Spare { gap - self.need(s, t, middle) } else { gap };
            if value < limit && best.is_none_or(|(known, ..)| value < known) {
                *best = Some((value, s, t, middle));
            }
        }
        Some(pair)
    }

    /// The gap that must be kept: two standard deviations of both places together more than `keep`.
    pub(super) fn need(&self, s: f64, t: f64, a: f64) -> f64 {
        let laid = self.laid;
        laid.keep() + 2.0 * (laid.variance(Part::Lead, s, a) + laid.variance(Part::Trail, t, a)).sqrt()
    }

    pub(super) fn smallest(&self, limit: f64) -> FoundPair {
        let mut heap = BinaryHeap::new();
        let mut best: Best = None;
        for pair in self.roots() {
            if let Some(pair) = self.look(pair, Aim::Gap, limit, &mut best) {
                heap.push(Ranked(pair, pair.bound));
            }
        }
        let found = |best: Best, certified: f64| match best {
            None => FoundPair::Beyond,
            Some((value, s, t, a)) => FoundPair::Smallest { certified: certified.min(value), value, s, t, a },
        };
        let mut spent = 0;
        while let Some(Ranked(pair, bound)) = heap.pop() {
            let known = best.map_or(limit, |(value, ..)| value);
            if bound >= known - TOLERANCE || pair.error <= 0.0 || known <= SLACK {
                return found(best, bound.min(known));
            }
            spent += 1;
            if spent > BUDGET {
                return FoundPair::Unproven { certified: bound, pair: best };
            }
            for half in halves(pair) {
                let known = best.map_or(limit, |(value, ..)| value);
                if let Some(pair) = self.look(half, Aim::Gap, known, &mut best) {
                    heap.push(Ranked(pair, pair.bound));
                }
            }
        }
        found(best, best.map_or(limit, |(value, ..)| value))
    }

    pub(super) fn is_kept(&self) -> Option<bool> {
        let mut stack = self.roots();
        let mut best = None;
        let mut spent = 0;
        while let Some(pair) = stack.pop() {
            let Some(pair) = self.look(pair, Aim::Spare, -SLACK, &mut best) else { continue };
            if best.is_some() || pair.error < SLACK {
                return Some(false);
            }
            spent += 1;
            if spent > BUDGET {
                return None;
            }
            stack.extend(halves(pair));
        }
        Some(true)
    }

    /// The first die angle at which the tube touches itself, with the places, given places where it does; as
    /// [`super::sweep::Sweep::first_contact`].
    pub(super) fn first_contact(&self, s: f64, t: f64, known: f64) -> (f64, f64, f64) {
        let mut a = 0.0;
        let roots = self.roots();
        while a < known {
            let mut step = f64::INFINITY;
            for pair in &roots {
                if pair.a[0] > a {
                    step = step.min(pair.a[0] - a);
                    continue;
                }
                let Some((gap, s, t)) = self.at_rest(Pair { a: [a, a], ..*pair }) else { continue };
                if gap <= SLACK {
                    return (s, t, a);
                }
                let chord = self.laid.lead.pieces[pair.lead].chord(pair.s[0], pair.s[1]);
                let out = |p: Vector3<f64>| libm::sqrt(p.x * p.x + p.y * p.y);
                step = step.min(gap / self.relative.speed(out(chord.from).max(out(chord.to)) + chord.off));
            }
            a += step.max(FIRST);
        }
        (s, t, known)
    }

    /// The smallest gap of a pair at one die angle, certified to a tenth of the tolerance, with its places.
    fn at_rest(&self, pair: Pair) -> Option<(f64, f64, f64)> {
        let mut best: Best = None;
        let mut certified = f64::INFINITY;
        let mut stack = vec![pair];
        while let Some(pair) = stack.pop() {
            let known = best.map_or(f64::INFINITY, |(value, ..)| value);
            let Some(pair) = self.look(pair, Aim::Gap, known, &mut best) else { continue };
            let known = best.map_or(f64::INFINITY, |(value, ..)| value);
            if pair.error <= 0.1 * TOLERANCE || pair.bound >= known - 0.1 * TOLERANCE || known <= SLACK {
                certified = certified.min(pair.bound);
            } else {
                stack.extend(halves(pair));
            }
        }
        best.map(|(value, s, t, _)| (certified.min(value), s, t))
    }
}

fn halves(pair: Pair) -> [Pair; 2] {
    let (mut first, mut second) = (pair, pair);
    let range = |pair: &mut Pair, end: usize| {
        let range = match pair.weakest {
            0 => &mut pair.s,
            1 => &mut pair.t,
            _ => &mut pair.a,
        };
        range[end] = 0.5 * (range[0] + range[1]);
    };
    range(&mut first, 1);
    range(&mut second, 0);
    [first, second]
}

/// Two places at which a finished tube meets itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// Nearer to end A, along the centreline from its start.
    pub a: Length,
    /// Nearer to end B.
    pub b: Length,
    /// The point of the centreline at `a`, mm in the job's axes.
    pub point_a: Point3<f64>,
    /// The point of the centreline at `b`.
    pub point_b: Point3<f64>,
}

/// Arcs are cut to stretches that turn by this at most before they are held against each other.
const FINE: f64 = 0.1;

/// The two places at which a finished tube's surface comes deepest into itself, or `None` where it stays clear of itself.
///
/// Only places between which the tube turns by 90 degrees or more count. Arcs are taken in stretches of under 6 degrees, and the turn between two
/// stretches is that between their near ends; what touches by less than 0.01 mm is let pass.
#[must_use]
pub fn self_meeting(centreline: &Centreline, od: Length) -> Option<Meeting> {
    struct Stretch {
        piece: Piece,
        s: [f64; 2],
        /// Turn of the tube from end A to either end of the stretch.
        turned: [f64; 2],
    }
    let mut stretches = Vec::new();
    for piece in finished(centreline) {
        let turn = piece.turn * (piece.end - piece.start);
        let parts = (turn / FINE).ceil().max(1.0);
        let each = (piece.end - piece.start) / parts;
        let before = piece.turned - turn;
        for part in 0..parts as usize {
            let (from, to) = (piece.start + each * part as f64, piece.start + each * (part + 1) as f64);
            let turned = [before + turn * part as f64 / parts, before + turn * (part + 1) as f64 / parts];
            stretches.push(Stretch { piece, s: [from, to], turned });
        }
    }
    let mut deepest: Option<(f64, f64, f64)> = None;
    for (place, one) in stretches.iter().enumerate() {
        let first = one.piece.chord(one.s[0], one.s[1]);
        for other in &stretches[place + 1..] {
            if other.turned[0] - one.turned[1] < SQUARE - 1e-9 {
                continue;
            }
            let second = other.piece.chord(other.s[0], other.s[1]);
            let (at, at_other) = nearest_of_segments(first.from, first.to, second.from, second.to);
            let apart =
                (first.from + (first.to - first.from) * at - second.from - (second.to - second.from) * at_other).norm();
            if apart - first.off - second.off > od.to_mm() {
                continue;
            }
            let s = one.s[0] + (one.s[1] - one.s[0]) * at;
            let t = other.s[0] + (other.s[1] - other.s[0]) * at_other;
            // The places of the chords are those of the arcs up to their rise; what is between is judged by the arcs' own points.
            let depth = od.to_mm() - (one.piece.point(s) - other.piece.point(t)).norm();
            if depth > TOLERANCE && deepest.is_none_or(|(known, ..)| depth > known) {
                deepest = Some((depth, s, t));
            }
        }
    }
    let (_, a, b) = deepest?;
    let pieces = finished(centreline);
    let point = |s: f64| {
        let place = pieces.partition_point(|piece| piece.end < s).min(pieces.len() - 1);
        Point3::from(pieces[place].point(s))
    };
    Some(Meeting { a: Length::mm(a), b: Length::mm(b), point_a: point(a), point_b: point(b) })
}

/// The straights and arcs of a finished centreline in the job's axes, places counted along the finished axis from its start.
pub(super) fn finished(centreline: &Centreline) -> Vec<Piece> {
    use crate::body::Curve;
    let mut pieces = Vec::with_capacity(2 * centreline.rows.bends.len() + 1);
    let mut at = centreline.start.coords;
    let mut travel = centreline.direction.into_inner();
    let mut normal = centreline.normal.into_inner();
    let (mut s, mut turned) = (0.0, 0.0);
    let straight = |at: &mut Vector3<f64>,
                    s: &mut f64,
                    travel: Vector3<f64>,
                    length: f64,
                    turned: f64,
                    pieces: &mut Vec<Piece>| {
        if length > 0.0 {
            let curve = Curve::Straight { from: *at, along: travel };
            pieces.push(Piece { curve, start: *s, end: *s + length, turn: 0.0, turned });
            *at += travel * length;
            *s += length;
        }
    };
    for (row, radius) in centreline.rows.bends.iter().zip(&centreline.radii) {
        straight(&mut at, &mut s, travel, row.length.to_mm(), turned, &mut pieces);
        let (sin, cos) = libm::sincos(row.rotation.to_rad());
        // The normal is square to the travel direction, so turning it about that is a sum of two.
        normal = (normal * cos + travel.cross(&normal) * sin).normalize();
        let inward = normal.cross(&travel);
        let (radius, angle) = (radius.to_mm(), row.angle.to_rad());
        turned += angle;
        let piece = Piece {
            curve: Curve::Arc { centre: at + inward * radius, out: -inward, along: travel, radius },
            start: s,
            end: s + radius * angle,
            turn: 1.0 / radius,
            turned,
        };
        s = piece.end;
        at = piece.point(s);
        let (sin, cos) = libm::sincos(angle);
        travel = (travel * cos + inward * sin).normalize();
        pieces.push(piece);
    }
    straight(&mut at, &mut s, travel, centreline.rows.last.to_mm(), turned, &mut pieces);
    pieces
}
