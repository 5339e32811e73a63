//! The smallest gap of one body over a whole bend, by bisection of tube and die angle with a bound that cannot miss.
//!
//! A [`Node`] is a stretch of tube over a range of die angles. Its gap is taken with the stretch as a line at the middle angle. The true gap anywhere
//! in the node is at least that, less what the line is off the arc, less the largest speed times half the range: nothing between two samples can be missed.
//! A node that cannot hold anything smaller than what is known is dropped, any other is halved where its bound is weakest.
//!
//! ```text
//!    gap
//!     |  *          *      the gap at the middle of each node
//!     | /.\   *    /.\
//!     |/ . \ /.\  / . \    and below it the bound, a roof as steep as the largest speed
//!     |  .  v . \/  .
//!     +---------------- die angle
//! ```
//!
//! The bounds allow [`SLACK`] for rounding.

use std::collections::BinaryHeap;

use nalgebra::Vector3;

use super::kernel::{Extent, Kernel};
use super::laid::{Laid, Part};
use crate::body::{Chord, Piece};
use crate::motion::{Carriage, Relative};

/// Gaps are found to this, mm: a tenth of what is promised.
pub(super) const TOLERANCE: f64 = 0.01;

/// What rounding may take from any bound, mm: a million times the rounding of a metre in f64, a hundred thousandth of what is promised. A gap
/// within it of what must be kept is enough, and one within it of 0 is a contact.
pub(super) const SLACK: f64 = 1e-6;

/// Nodes looked at for one obstacle before giving up.
const BUDGET: usize = 400_000;

/// Least step toward a first contact, radians: under a thousandth of a degree.
pub(super) const FIRST: f64 = 1e-5;

/// One body that moves with something.
#[derive(Clone, Copy, Debug)]
pub(super) struct Body<'a> {
    pub(super) kernel: &'a Kernel,
    pub(super) extent: Option<Extent>,
    pub(super) carriage: Carriage,
    /// Whether it holds the tube: then the stretch in its grip is left out.
    pub(super) holds: bool,
}

/// A place on the tube at a die angle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) part: Part,
    pub(super) s: f64,
    pub(super) a: f64,
}

/// What was found.
#[derive(Clone, Copy, Debug)]
pub(super) enum Found {
    /// Nothing comes nearer than the limit.
    Beyond,
    /// The smallest value: certified from below, and a place where it is not above `value`.
    Smallest { certified: f64, value: f64, place: Place },
    /// The budget ran out: what is certified, and the best place known.
    Unproven { certified: f64, place: Option<(f64, Place)> },
}

#[derive(Clone, Copy, Debug)]
struct Node {
    body: usize,
    part: Part,
    piece: usize,
    s: [f64; 2],
    a: [f64; 2],
    /// No gap in it is below this.
    bound: f64,
    /// Whether to halve the stretch rather than the angle.
    along: bool,
    /// What is left to gain by halving.
    error: f64,
}

/// Smallest bound first.
struct Ranked(Node, f64);

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

/// What is asked of a sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Value {
    /// The gap.
    Gap,
    /// The gap less what must be kept.
    Spare,
}

/// The sweep of one obstacle: several bodies under one name.
#[derive(Clone, Debug)]
pub(super) struct Sweep<'a> {
    laid: &'a Laid<'a>,
    bodies: &'a [Body<'a>],
}

impl<'a> Sweep<'a> {
    pub(super) fn new(laid: &'a Laid<'a>, bodies: &'a [Body<'a>]) -> Self {
        Self { laid, bodies }
    }

    /// The smallest gap below a limit; with `floor` nothing smaller than 0 is looked for.
    pub(super) fn smallest(&self, limit: f64, tolerance: f64, floor: bool) -> Found {
        let mut heap: BinaryHeap<Ranked> = BinaryHeap::new();
        let mut best: Option<(f64, Place)> = None;
        self.roots(limit, &mut |node| {
            if let Some(node) = self.look(node, Value::Gap, limit, &mut best) {
                heap.push(Ranked(node, node.bound));
            }
        });
        let mut spent = 0;
        while let Some(Ranked(node, bound)) = heap.pop() {
            let known = best.map_or(limit, |(value, _)| value);
            // How deep a contact goes means nothing here: one is enough.
            if bound >= known - tolerance || node.error <= 0.0 || (floor && known <= SLACK) {
                return Self::found(best, bound.min(known));
            }
            spent += 1;
            if spent > BUDGET {
                return Found::Unproven { certified: bound, place: best };
            }
            for half in halves(node) {
                let known = best.map_or(limit, |(value, _)| value);
                if let Some(node) = self.look(half, Value::Gap, known, &mut best) {
                    heap.push(Ranked(node, node.bound));
                }
            }
        }
        Self::found(best, best.map_or(limit, |(value, _)| value))
    }

    fn found(best: Option<(f64, Place)>, certified: f64) -> Found {
        match best {
            None => Found::Beyond,
            Some((value, place)) => Found::Smallest { certified: certified.min(value), value, place },
        }
    }

    /// Whether every gap is at least what must be kept there; `None` where the budget ran out.
    pub(super) fn is_kept(&self) -> Option<bool> {
        let mut stack = Vec::new();
        let mut best = None;
        let limit = self.most_need();
        self.roots(limit, &mut |node| stack.push(node));
        let mut spent = 0;
        while let Some(node) = stack.pop() {
            let Some(node) = self.look(node, Value::Spare, -SLACK, &mut best) else { continue };
            if best.is_some() || node.error < SLACK {
                // A gap is too small, or so close to it that a millionth of a millimetre decides: on the safe side.
                return Some(false);
            }
            spent += 1;
            if spent > BUDGET {
                return None;
            }
            stack.extend(halves(node));
        }
        Some(true)
    }

    /// The first die angle at which the gap is 0, with the place, given a place where it is.
    ///
    /// Walks up from die angle 0: from a gap no contact can come sooner than that gap takes at the largest speed. Steps are at least [`FIRST`], so that a gap that stays
    /// next to nothing does not hold it up.
    pub(super) fn first_contact(&self, known: Place) -> Place {
        let mut a = 0.0;
        while a < known.a {
            let mut step = f64::INFINITY;
            let mut roots = Vec::new();
            self.roots(f64::INFINITY, &mut |node| roots.push(Node { a: [a, a], ..node }));
            for node in roots {
                let Some((gap, place)) = self.at_rest(node) else { continue };
                if gap <= SLACK {
                    return place;
                }
                let body = &self.bodies[node.body];
                let piece = &self.laid.pieces(node.part)[node.piece];
                let relative = Relative::new(self.laid.carriage(node.part), body.carriage);
                let chord = piece.chord(node.s[0], node.s[1]);
                let grows = if node.part == Part::Wrap { self.laid.kinematics.feed * piece.stretched() } else { 0.0 };
                let speed = speed(body.kernel, &relative, &chord, &[a, known.a]) + grows;
                step = step.min(gap / speed);
            }
            a += step.max(FIRST);
        }
        known
    }

    /// The smallest gap of a node of one die angle, certified to a tenth of the tolerance, and its place.
    fn at_rest(&self, node: Node) -> Option<(f64, Place)> {
        let mut best: Option<(f64, Place)> = None;
        let mut certified = f64::INFINITY;
        let mut stack = vec![node];
        while let Some(node) = stack.pop() {
            let known = best.map_or(f64::INFINITY, |(value, _)| value);
            let Some(node) = self.look(node, Value::Gap, known, &mut best) else { continue };
            let known = best.map_or(f64::INFINITY, |(value, _)| value);
            if node.error <= 0.1 * TOLERANCE || node.bound >= known - 0.1 * TOLERANCE || known <= SLACK {
                certified = certified.min(node.bound);
            } else {
                stack.extend(halves(node));
            }
        }
        best.map(|(value, place)| (certified.min(value), place))
    }

    /// The gap that must be kept where it is most.
    fn most_need(&self) -> f64 {
        let laid = self.laid;
        if laid.need_is_constant() {
            return laid.least_need();
        }
        let reach = |part: Part, length: f64| {
            laid.least_need()
                + laid.need_slope(part) * (1.0 + self.stretch()) * (length + laid.kinematics.feed * laid.target)
        };
        reach(Part::Lead, laid.lead.length).max(reach(Part::Trail, laid.trail.length))
    }

    fn stretch(&self) -> f64 {
        self.laid.step.blank.bends.iter().map(|bend| bend.stretch).fold(0.0, f64::max)
    }

    /// Every piece against every body, over all die angles, less what is nowhere near.
    fn roots(&self, limit: f64, take: &mut dyn FnMut(Node)) {
        for part in [Part::Lead, Part::Trail, Part::Wrap] {
            let laid = self.laid;
            for (place, piece) in laid.pieces(part).iter().enumerate() {
                let mut room = None;
                for (index, body) in self.bodies.iter().enumerate() {
                    let from = laid.from(part, body.holds, 0.0).max(piece.start);
                    if from >= piece.end {
                        continue;
                    }
                    let relative = Relative::new(laid.carriage(part), body.carriage);
                    if let Some(extent) = body.extent {
                        let own = room.get_or_insert_with(|| {
                            let chord = piece.chord(piece.start, piece.end);
                            Extent::of_segment(chord.from, chord.to, chord.off + laid.half)
                        });
                        let apart = if relative.turns() {
                            own.apart_turning(&extent, relative.sway() * laid.target)
                        } else {
                            own.apart(&extent, relative.pushed() * laid.target) - relative.back_sway() * laid.target
                        };
                        if apart - SLACK > limit {
                            continue;
                        }
                    }
                    let still = relative.is_still() && part != Part::Wrap;
                    let a = if still { [0.0, 0.0] } else { [0.0, laid.target] };
                    take(Node {
                        body: index,
                        part,
                        piece: place,
                        s: [from, piece.end],
                        a,
                        bound: f64::NEG_INFINITY,
                        along: false,
                        error: f64::INFINITY,
                    });
                }
            }
        }
    }

    /// The node with its bound, or `None` where it holds nothing below `limit`; what its middle shows goes into `best`.
    fn look(&self, mut node: Node, value: Value, limit: f64, best: &mut Option<(f64, Place)>) -> Option<Node> {
        let laid = self.laid;
        let body = &self.bodies[node.body];
        let piece = &laid.pieces(node.part)[node.piece];
        // What is not looked at any more at the first angle of the range, or not there yet at its last, drops out.
        node.s[0] = node.s[0].max(laid.from(node.part, body.holds, node.a[0]));
        if node.part == Part::Wrap {
            node.s[1] = node.s[1].min(laid.kinematics.feed * node.a[1]);
            node.a[0] = node.a[0].max(node.s[0] / laid.kinematics.feed).min(node.a[1]);
        }
        if node.s[0] > node.s[1] || (node.s[0] >= node.s[1] && node.part != Part::Wrap) {
            return None;
        }
        let relative = Relative::new(laid.carriage(node.part), body.carriage);
        let middle = 0.5 * (node.a[0] + node.a[1]);
        let half_range = 0.5 * (node.a[1] - node.a[0]);
        let chord = piece.chord(node.s[0], node.s[1]);
        let pose = relative.at(middle);
        let near = body.kernel.segment(pose.point(chord.from), pose.point(chord.to));
        let speed = speed(body.kernel, &relative, &chord, &node.a);
        let turning = speed * half_range;
        let (mut offset, mut spread) = (0.0, 0.0);
        if value == Value::Spare {
            let s = 0.5 * (node.s[0] + node.s[1]);
            offset = laid.need(node.part, s, middle);
            if !laid.need_is_constant() {
                let slope = laid.need_slope(node.part);
                spread =
                    slope * (0.5 * (node.s[1] - node.s[0]) * piece.stretched() + laid.kinematics.feed * half_range);
            }
        }
        let along = chord.off + spread;
        node.bound = near.distance - laid.half - offset - turning - along;
        if node.bound >= limit {
            return None;
        }
        node.along = along > turning;
        node.error = turning + along;
        if let Some((value, place)) = self.shown(&node, piece, value, near.at, middle)
            && value < limit
            && best.is_none_or(|(known, _)| value < known)
        {
            *best = Some((value, place));
        }
        Some(node)
    }

    /// The value at the place of a node that came out nearest, where that place is looked at.
    fn shown(&self, node: &Node, piece: &Piece, value: Value, at: f64, middle: f64) -> Option<(f64, Place)> {
        let laid = self.laid;
        let body = &self.bodies[node.body];
        let mut s = node.s[0] + (node.s[1] - node.s[0]) * at;
        let mut a = middle;
        if node.part == Part::Wrap {
            // The circle is there from its own die angle on.
            let own = s / laid.kinematics.feed;
            let relative = Relative::new(laid.carriage(node.part), body.carriage);
            a = if relative.is_still() { own } else { a.max(own) }.min(laid.target);
        } else {
            s = s.max(laid.from(node.part, body.holds, a));
            if s > node.s[1] {
                return None;
            }
        }
        let relative = Relative::new(laid.carriage(node.part), body.carriage);
        let p = relative.at(a).point(piece.point(s));
        let gap = body.kernel.segment(p, p).distance - laid.half;
        let needed = if value == Value::Spare { laid.need(node.part, s, a) } else { 0.0 };
        Some((gap - needed, Place { part: node.part, s, a }))
    }
}

/// Upper bound on how fast the distance can change, mm for each radian of die angle.
fn speed(kernel: &Kernel, relative: &Relative, chord: &Chord, a: &[f64; 2]) -> f64 {
    let out = |p: Vector3<f64>, push: f64| libm::sqrt((p.x + push) * (p.x + push) + p.y * p.y);
    let reach = || {
        let (near, far) = (relative.pushed() * a[0], relative.pushed() * a[1]);
        out(chord.from, near).max(out(chord.from, far)).max(out(chord.to, near)).max(out(chord.to, far)) + chord.off
    };
    match kernel {
        // Only what moves along the normal counts.
        Kernel::HalfSpace { normal, .. } => {
            let tilt = libm::sqrt(normal.x * normal.x + normal.y * normal.y);
            if tilt <= 0.0 { 0.0 } else { tilt * relative.speed(reach()) }
        }
        _ if relative.is_still() => 0.0,
        _ => relative.speed(reach()),
    }
}

/// The two halves of a node.
fn halves(node: Node) -> [Node; 2] {
    let (mut first, mut second) = (node, node);
    let range = |node: &mut Node, end: usize| {
        let range = if node.along { &mut node.s } else { &mut node.a };
        range[end] = 0.5 * (range[0] + range[1]);
    };
    range(&mut first, 1);
    range(&mut second, 0);
    [first, second]
}
