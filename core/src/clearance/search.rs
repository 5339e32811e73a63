//! The search over a motion: where on the tube, at which die angle, is the gap least.
//!
//! A [`Pair`] is one piece of tube and one thing that it may meet, which moves against it as its [`Course`] says: with the
//! die ([`Relative`]), or along a screw in the hands (`motion::Screw`), where the range of die angles below is a range of
//! the screw's own way. A node of
//! the search is a stretch of the piece over a range of die angles. At the middle angle the stretch, taken as its chord,
//! is at some distance d from the thing, and a plane square to the shortest way keeps the (convex) thing on its far side.
//! For every other angle of the range, `half` to either side, each end of the chord still lies beyond that plane by
//!
//! ```text
//!   height over the plane - half x |speed along the normal| - half^2 / 2 x bound on the change of speed
//! ```
//!
//! and so does all of the chord; the arc itself is a sag off its chord at most. Near the smallest gap the speed along the
//! normal vanishes, so that few ranges are needed. A mesh need not be convex: the boxes of its tree and its triangles are, and a
//! node stands for one of them.
//!
//! What drops out as the die turns (what the follower comes to hold, what is wrapped) is taken as it is at the first angle
//! of the range, so that the bound holds for all of it; what is shown as a witness is really there.
//!
//! The budget counts nodes. What is left open by then is said to be unproven.

use std::collections::BinaryHeap;

use glam::DVec3;

use super::kernel::{Form, Mesh, Near, near_line};
use super::limb::{Cut, Kind, Limb, Setting};
use super::{Bar, CONTACT};
use crate::motion::{Course, Relative};

/// What falls short of a limit by less than this is rounding, mm.
pub(super) const SLACK: f64 = 1e-6;

/// A reported gap is at most so much under the truth, mm.
pub(super) const WITHIN: f64 = 0.01;

/// Nodes that one question may take. The hardest of 20,000 random motions takes 65,000.
const BUDGET: usize = 300_000;

/// Angles closer than this are the same for the first contact: 0.0006 degree.
const SAME_ANGLE: f64 = 1e-5;

/// What a piece of tube may meet.
#[derive(Clone, Copy, Debug)]
pub(super) enum Other<'a> {
    Form(&'a Form),
    /// A surface, branch by branch.
    Mesh(&'a Mesh),
    /// A piece of the other part of the tube.
    Tube {
        limb: &'a Limb,
        piece: usize,
    },
}

/// One piece of tube against one thing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair<'a, C = Relative> {
    pub(super) limb: &'a Limb,
    pub(super) piece: usize,
    pub(super) cut: Cut,
    pub(super) other: Other<'a>,
    pub(super) course: C,
    /// Looked at from here on: a die angle, or the start of a screw's way.
    pub(super) from: f64,
    /// Looked at up to here.
    pub(super) to: f64,
}

/// A stretch of a pair over a range of die angles.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub(super) pair: usize,
    /// Fractions of the piece.
    pub(super) t: [f64; 2],
    /// Fractions of the other piece, where it is tube.
    pub(super) u: [f64; 2],
    /// The branch of a mesh.
    pub(super) branch: usize,
    pub(super) a: [f64; 2],
    /// No value in it is below this.
    pub(super) least: f64,
    /// Which to halve.
    widest: Widest,
    /// What halving can gain.
    error: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Widest {
    Along,
    Other,
    Angle,
}

/// A place where a value was found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) value: f64,
    pub(super) pair: usize,
    pub(super) fraction: f64,
    /// On the other piece, where it is tube.
    pub(super) other: f64,
    pub(super) angle: f64,
}

/// What is searched for: the gap, or the gap less what must be kept there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Value {
    Gap,
    Spare,
}

/// The smallest gap below a limit.
#[derive(Clone, Copy, Debug)]
pub(super) enum Smallest {
    /// Nothing is below the limit.
    Beyond,
    /// No gap is below `certified`; the one at `place` is at most [`WITHIN`] more.
    Found { certified: f64, place: Place },
    /// The budget ran out.
    Unproven { certified: f64, place: Option<Place> },
}

/// A gap that orders are compared by is at most so much under the truth, mm. Where 40 mm are comfortable and no gap at all costs 60 s,
/// that is 0.075 s.
pub(super) const CLOSE: f64 = 0.05;

/// Chords of arcs that are sampled lie this near to them, mm.
const SAMPLED_SAG: f64 = 0.25;

/// What several pairs come to: at most [`CLOSE`] under the truth, or the limit that they all keep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Weighed {
    pub(super) gap: f64,
    /// `None` where the budget ran out. Where it is not `Some(true)` the gap means nothing.
    pub(super) passes: Option<bool>,
}

/// Several pairs that are asked about together.
#[derive(Debug)]
pub(super) struct Search<'a, C = Relative> {
    setting: &'a Setting,
    pub(super) pairs: Vec<Pair<'a, C>>,
}

impl<'a, C: Course> Search<'a, C> {
    pub(super) fn new(setting: &'a Setting) -> Self {
        Self { setting, pairs: Vec::new() }
    }

    fn root(&self, index: usize, value: Value) -> Node {
        let pair = &self.pairs[index];
        let grows = C::BENDS && value == Value::Spare && pair.limb.need_grows(self.setting, pair.piece);
        let a = if pair.course.is_still() && (pair.limb.kind != Kind::Wrap || !C::BENDS) && !grows {
            [pair.from, pair.from]
        } else {
            [pair.from, pair.to]
        };
        Node {
            pair: index,
            t: [0.0, 1.0],
            u: [0.0, 1.0],
            branch: 0,
            a,
            least: f64::NEG_INFINITY,
            widest: Widest::Angle,
            error: f64::INFINITY,
        }
    }

    /// Whether every gap is at least what must be kept there; `None` where the budget runs out.
    pub(super) fn is_kept(&self) -> Option<bool> {
        self.is_kept_noting(|_| {})
    }

    /// The same, and hands on each node that was done with, as it was before it was looked at.
    #[inline]
    pub(super) fn is_kept_noting(&self, done: impl FnMut(Node)) -> Option<bool> {
        self.never_below(Value::Spare, -SLACK, done)
    }

    /// Whether nothing touches; `None` where the budget runs out.
    pub(super) fn is_apart(&self) -> Option<bool> {
        self.never_below(Value::Gap, CONTACT, |_| {})
    }

    #[inline]
    fn never_below(&self, value: Value, limit: f64, mut done: impl FnMut(Node)) -> Option<bool> {
        let mut open = Vec::new();
        let mut left = BUDGET;
        for index in 0..self.pairs.len() {
            open.push(self.root(index, value));
            while let Some(node) = open.pop() {
                let mut best = None;
                let Some(node) = self.look(node, value, limit, &mut best) else {
                    done(node);
                    continue;
                };
                // A gap is too small, or so close to it that less than the slack decides: on the safe side.
                if best.is_some() || node.error < 0.1 * SLACK {
                    return Some(false);
                }
                left -= 1;
                if left == 0 {
                    return None;
                }
                open.extend(halves(&self.pairs[node.pair], &node));
            }
        }
        Some(true)
    }

    /// How far along the way everything is proved to keep its distance ([`Value::Spare`]) or to touch nothing
    /// ([`Value::Gap`]): endless where it does to the end. To `within`, on the safe side.
    ///
    /// Stretches are looked at in the order of their start, so that all before the answer is proved. Whether the budget lasted comes with it: where it
    /// did not, it may be kept for longer.
    pub(super) fn kept_until(&self, value: Value, within: f64) -> (f64, bool) {
        let limit = if value == Value::Spare { -SLACK } else { CONTACT };
        let mut heap: BinaryHeap<Ranked> = BinaryHeap::new();
        for index in 0..self.pairs.len() {
            let node = self.root(index, value);
            heap.push(Ranked { key: node.a[0], node });
        }
        let mut known = f64::INFINITY;
        let mut left = BUDGET;
        while let Some(Ranked { key: first, mut node }) = heap.pop() {
            if first >= known - within {
                return (first.min(known), true);
            }
            node.a[1] = node.a[1].min(known);
            let mut best = None;
            let Some(mut node) = self.look(node, value, limit, &mut best) else { continue };
            left -= 1;
            if left == 0 {
                return (first, false);
            }
            if let Some(place) = best {
                known = known.min(place.angle);
            }
            // As low as this at its middle, so that only the time before is of interest.
            if node.error < 0.1 * SLACK {
                known = known.min(0.5 * (node.a[0] + node.a[1]));
                node.widest = Widest::Angle;
            }
            for half in halves(&self.pairs[node.pair], &node) {
                heap.push(Ranked { key: half.a[0], node: half });
            }
        }
        (known, true)
    }

    /// The smallest gap below a limit. A contact is as good as any other: how deep it goes is not looked for.
    pub(super) fn smallest(&self, limit: f64) -> Smallest {
        self.smallest_over(limit, CONTACT, WITHIN)
    }

    /// The same, but one gap at the floor or under it ends the search: it need not be the smallest.
    fn smallest_over(&self, limit: f64, floor: f64, close: f64) -> Smallest {
        let mut heap: BinaryHeap<Ranked> = BinaryHeap::new();
        let mut best: Option<Place> = None;
        let known = |best: &Option<Place>| best.map_or(limit, |place| place.value);
        for index in 0..self.pairs.len() {
            if let Some(node) = self.look(self.root(index, Value::Gap), Value::Gap, known(&best), &mut best) {
                heap.push(Ranked { key: node.least, node });
            }
        }
        let done = |best: Option<Place>, certified: f64| match best {
            None => Smallest::Beyond,
            Some(place) => Smallest::Found { certified: certified.min(place.value), place },
        };
        let mut left = BUDGET;
        while let Some(Ranked { key: least, node }) = heap.pop() {
            let value = known(&best);
            // Close to touching, a closer look tells which of the two it is.
            let within = if least > CONTACT { close } else { 0.1 * CONTACT };
            if least >= value - within || value <= floor || node.error <= 0.0 {
                return done(best, least);
            }
            left -= 1;
            if left == 0 {
                return Smallest::Unproven { certified: least, place: best };
            }
            for half in halves(&self.pairs[node.pair], &node) {
                if let Some(node) = self.look(half, Value::Gap, known(&best), &mut best) {
                    heap.push(Ranked { key: node.least, node });
                }
            }
        }
        done(best, known(&best))
    }

    /// Whether all pairs pass a bar. The gap is not looked for.
    pub(super) fn hold(&self, bar: Bar, needed: f64) -> Weighed {
        if let Some(every) = self.setting.samples {
            return Weighed { gap: f64::INFINITY, ..self.sampled(every, f64::INFINITY, bar, needed) };
        }
        let passes = match bar {
            _ if self.pairs.is_empty() => Some(true),
            Bar::Keep => self.is_kept(),
            Bar::Touch => self.is_apart(),
        };
        Weighed { gap: f64::INFINITY, passes }
    }

    /// Whether all pairs pass a bar, and the smallest gap below a limit. `needed` is what must be kept where that is the same
    /// everywhere.
    pub(super) fn weigh(&self, limit: f64, bar: Bar, needed: f64) -> Weighed {
        if self.pairs.is_empty() {
            return Weighed { gap: limit, passes: Some(true) };
        }
        if let Some(every) = self.setting.samples {
            return self.sampled(every, limit, bar, needed);
        }
        let even = self.setting.is_even();
        let floor = if bar == Bar::Keep && even { needed - SLACK } else { CONTACT };
        if bar == Bar::Keep && !even {
            let kept = self.is_kept();
            if kept != Some(true) {
                return Weighed { gap: 0.0, passes: kept };
            }
        }
        match self.smallest_over(limit, floor, CLOSE) {
            Smallest::Beyond => Weighed { gap: limit, passes: Some(true) },
            Smallest::Found { place, .. } if place.value <= floor => Weighed { gap: 0.0, passes: Some(false) },
            Smallest::Found { certified, .. } => {
                let sure = bar == Bar::Touch || !even || certified >= floor;
                Weighed { gap: certified, passes: if sure { Some(true) } else { self.is_kept() } }
            }
            // What was not measured closely may still be kept.
            Smallest::Unproven { certified, .. } => Weighed { gap: certified.max(0.0), ..self.hold(bar, needed) },
        }
    }

    /// What looking at single die angles alone would say, which proves nothing, without meshes: to see what a proof costs.
    fn sampled(&self, every: f64, limit: f64, bar: Bar, needed: f64) -> Weighed {
        let setting = self.setting;
        let floor = if bar == Bar::Keep { needed - SLACK } else { CONTACT };
        let mut gap = limit;
        for pair in &self.pairs {
            let piece = &pair.limb.pieces[pair.piece];
            let samples = if pair.course.is_still() { 0.0 } else { libm::ceil((pair.to - pair.from) / every) };
            let mut sample = 0.0;
            while sample <= samples {
                let way = if samples > 0.0 { pair.from + (pair.to - pair.from) * sample / samples } else { pair.from };
                sample += 1.0;
                let pose = pair.course.at(way);
                let first = piece.fraction(pair.limb.cut(setting, pair.cut, pair.course.die_angle(way)));
                let parts = libm::ceil(libm::sqrt(piece.whole_sag() / SAMPLED_SAG)).max(1.0);
                let mut part = 0.0;
                while part < parts && first <= 1.0 {
                    let from = first + (1.0 - first) * part / parts;
                    part += 1.0;
                    let chord = piece.chord(from, first + (1.0 - first) * part / parts);
                    let (from, to) = (C::point(&pose, chord.from), C::point(&pose, chord.to));
                    let near = match pair.other {
                        Other::Form(form) => form.near(from, to - from).gap - setting.radius,
                        Other::Mesh(_) => f64::INFINITY,
                        Other::Tube { limb, piece } => {
                            let other = limb.pieces[piece].chord(0.0, 1.0);
                            near_line(from, to - from, other.from, other.to - other.from).gap - 2.0 * setting.radius
                        }
                    };
                    gap = gap.min(near);
                    if gap <= floor {
                        return Weighed { gap: 0.0, passes: Some(false) };
                    }
                }
            }
        }
        Weighed { gap, passes: Some(true) }
    }

    /// The first die angle at which something touches, given a place where it does.
    ///
    /// Ranges are looked at in the order of their first angle, and one in which nothing can touch drops out, so that nothing
    /// touches before the answer. To 0.0006 degree.
    pub(super) fn first_contact(&self, mut known: Place) -> Place {
        let mut heap: BinaryHeap<Ranked> = BinaryHeap::new();
        for index in 0..self.pairs.len() {
            let root = self.root(index, Value::Gap);
            let mut best = None;
            // At rest first: a contact from the start is one at that angle exactly.
            self.look(Node { a: [root.a[0]; 2], ..root }, Value::Gap, CONTACT, &mut best);
            known = best.filter(|place: &Place| place.angle < known.angle).unwrap_or(known);
            heap.push(Ranked { key: root.a[0], node: root });
        }
        for _ in 0..BUDGET {
            let Some(Ranked { key: first, mut node }) = heap.pop() else { break };
            if first >= known.angle - SAME_ANGLE {
                break;
            }
            node.a[1] = node.a[1].min(known.angle);
            let mut best = None;
            let Some(mut node) = self.look(node, Value::Gap, 2.0 * CONTACT, &mut best) else { continue };
            let touch = best.filter(|place| place.value <= CONTACT);
            if let Some(place) = touch
                && place.angle < known.angle
            {
                known = place;
            }
            if node.error <= 0.01 * CONTACT {
                // Next to touching over less than the slack: it does not come to a touch. Where it does, all the way alike, only the time
                // before is of interest.
                if touch.is_none() || node.a[0] >= known.angle {
                    continue;
                }
                node.widest = Widest::Angle;
            }
            for half in halves(&self.pairs[node.pair], &node) {
                heap.push(Ranked { key: half.a[0], node: half });
            }
        }
        known
    }

    /// The node, cut to what is there, with what the gap is above what must be kept at least; `None` where nothing is there.
    pub(super) fn spare(&self, node: Node) -> Option<Node> {
        self.look(node, Value::Spare, f64::INFINITY, &mut None)
    }

    /// The node with its bound, or `None` where it holds nothing below `limit`. What its middle shows goes into `best`.
    #[inline]
    fn look(&self, mut node: Node, value: Value, limit: f64, best: &mut Option<Place>) -> Option<Node> {
        let setting = self.setting;
        let pair = &self.pairs[node.pair];
        let piece = &pair.limb.pieces[pair.piece];
        let die = [pair.course.die_angle(node.a[0]), pair.course.die_angle(node.a[1])];
        node.t[0] = node.t[0].max(piece.fraction(pair.limb.cut(setting, pair.cut, die[0])));
        if C::BENDS && pair.limb.kind == Kind::Wrap {
            node.t[1] = node.t[1].min(piece.fraction(setting.feed * node.a[1]));
        }
        if node.t[0] > node.t[1] {
            return None;
        }
        let middle = 0.5 * (node.a[0] + node.a[1]);
        let half = 0.5 * (node.a[1] - node.a[0]);
        let chord = piece.chord(node.t[0], node.t[1]);
        let pose = pair.course.at(middle);
        let (from, to) = (C::point(&pose, chord.from), C::point(&pose, chord.to));
        // A box of a mesh stands for what is in it, which may be further.
        let mut boxed = 0.0;
        let (near, other_sag, radius) = match pair.other {
            Other::Form(form) => (form.near(from, to - from), 0.0, setting.radius),
            Other::Mesh(mesh) => {
                boxed = mesh.slack(node.branch);
                (mesh.near_branch(node.branch, from, to - from), 0.0, setting.radius)
            }
            Other::Tube { limb, piece } => {
                let piece = &limb.pieces[piece];
                node.u[0] = node.u[0].max(piece.fraction(limb.cut(setting, Cut::Own, die[0])));
                if node.u[0] > node.u[1] {
                    return None;
                }
                let other = piece.chord(node.u[0], node.u[1]);
                let near = near_line(from, to - from, other.from, other.to - other.from);
                (near, other.sag, 2.0 * setting.radius)
            }
        };

        // How near the chord can come at any angle of the range.
        let speeds = [pair.course.speed(&pose, from), pair.course.speed(&pose, to)];
        let (reached, ends_matter) = if near.gap > 0.0 {
            let normal = near.normal;
            let toward = [half * normal.dot(speeds[0]).abs(), half * normal.dot(speeds[1]).abs()];
            let rises = normal.dot(to - from);
            let more = [from, to].map(|end| 0.5 * half * half * pair.course.dive(&pose, end, half, normal));
            let ends = [
                near.gap - near.at * rises - toward[0] - more[0],
                near.gap + (1.0 - near.at) * rises - toward[1] - more[1],
            ];
            let reached = ends[0].min(ends[1]);
            // What the point of the chord that is nearest could come nearer by: the rest is its ends' doing.
            let own = near.at * toward[1] + (1.0 - near.at) * toward[0] + near.at * more[1] + (1.0 - near.at) * more[0];
            (reached, near.gap - own - reached)
        } else {
            let changes = [pair.course.bend(&pose, from, half), pair.course.bend(&pose, to, half)];
            let most = (speeds[0].length() + half * changes[0]).max(speeds[1].length() + half * changes[1]);
            (near.gap - half * most, 0.0)
        };
        let turning = near.gap - reached;

        let (needed, spread) = if value == Value::Spare { self.needed(&node, pair, &chord) } else { (0.0, [0.0; 3]) };
        node.least = reached - chord.sag - other_sag - radius - needed;
        if node.least >= limit {
            return None;
        }
        // What is left out at the last angle of the range and not at the first.
        let gone = |limb: &Limb, piece: usize, cut: Cut, from: f64, to: f64| {
            let piece = &limb.pieces[piece];
            let left = piece.fraction(limb.cut(setting, cut, die[1]));
            if left > from { (left.min(to) - from) * piece.length() } else { 0.0 }
        };
        let mut turning = turning + gone(pair.limb, pair.piece, pair.cut, node.t[0], node.t[1]);
        if let Other::Tube { limb, piece } = pair.other {
            turning += gone(limb, piece, Cut::Own, node.u[0], node.u[1]);
        }
        let errors = [chord.sag + spread[0], other_sag + spread[1] + 0.5 * boxed, turning + spread[2]];
        node.error = errors[0] + errors[1] + errors[2];
        node.widest = if errors[2] >= errors[0].max(errors[1]) {
            // A chord whose far end moves fast where its near part is close gains more from being halved itself.
            if ends_matter > 0.5 * turning && node.t[1] - node.t[0] > 1e-3 { Widest::Along } else { Widest::Angle }
        } else if errors[0] >= errors[1] {
            Widest::Along
        } else {
            Widest::Other
        };
        let below = best.as_ref().map_or(limit, |place| place.value);
        // The witness can be no better than the chord's distance less the sags.
        if boxed <= 0.0 && near.gap - chord.sag - other_sag - radius - needed < below {
            let place = self.shown(&node, pair, &near, middle, value);
            if let Some(place) = place
                && place.value < below
            {
                *best = Some(place);
            }
        }
        Some(node)
    }

    /// Upper bound on the gap to be kept in a node, and how much of it halving the stretch, the other stretch or the range
    /// of angles can take away.
    ///
    /// The root of a sum of squares of distances is convex along a straight line and in the die angle: it is largest at
    /// a corner, but for the sag of an arc. Of the tube against itself the variances of both places add up.
    fn needed(&self, node: &Node, pair: &Pair<'_, C>, chord: &crate::body::Chord) -> (f64, [f64; 3]) {
        let setting = self.setting;
        if setting.is_even() {
            let both = if matches!(pair.other, Other::Tube { .. }) { 2.0 } else { 1.0 };
            return (setting.need(both * setting.mark), [0.0; 3]);
        }
        let corners = |limb: &Limb, piece: usize, chord: &crate::body::Chord| {
            let at = |point: DVec3, way: f64| limb.variance(setting, piece, point, pair.course.die_angle(way)).sqrt();
            let first = [at(chord.from, node.a[0]), at(chord.to, node.a[0])];
            let last = [at(chord.from, node.a[1]), at(chord.to, node.a[1])];
            let sag = limb.variance_slope(setting, piece) * chord.sag;
            let most = first[0].max(first[1]).max(last[0]).max(last[1]) + sag;
            let along = (first[0] - first[1]).abs().max((last[0] - last[1]).abs()) + sag;
            let turning = (first[0] - last[0]).abs().max((first[1] - last[1]).abs());
            (most, along, turning)
        };
        let (most, along, turning) = corners(pair.limb, pair.piece, chord);
        match pair.other {
            Other::Form(_) | Other::Mesh(_) => (setting.need(most * most), [2.0 * along, 0.0, 2.0 * turning]),
            Other::Tube { limb, piece } => {
                let other = limb.pieces[piece].chord(node.u[0], node.u[1]);
                let (other_most, other_along, other_turning) = corners(limb, piece, &other);
                let needed = setting.need(most * most + other_most * other_most);
                (needed, [2.0 * along, 2.0 * other_along, 2.0 * (turning + other_turning)])
            }
        }
    }

    /// The value at the nearest place of a node, where that place is looked at at the middle angle.
    fn shown(&self, node: &Node, pair: &Pair<'_, C>, near: &Near, middle: f64, value: Value) -> Option<Place> {
        let setting = self.setting;
        let piece = &pair.limb.pieces[pair.piece];
        let mut fraction = node.t[0] + near.at * (node.t[1] - node.t[0]);
        fraction = fraction.max(piece.fraction(pair.limb.cut(setting, pair.cut, pair.course.die_angle(middle))));
        let mut angle = middle;
        if C::BENDS && pair.limb.kind == Kind::Wrap {
            // The circle is there from its own die angle on.
            let own = piece.place(fraction) / setting.feed;
            angle = angle.max(own).min(setting.target);
        }
        if fraction > node.t[1] {
            return None;
        }
        let base = piece.at(fraction);
        let die = pair.course.die_angle(angle);
        let point = C::point(&pair.course.at(angle), base);
        let mut other = 0.0;
        let (mut gap, mut variance) = match pair.other {
            Other::Form(form) => (form.near(point, DVec3::ZERO).gap - setting.radius, 0.0),
            Other::Mesh(mesh) => (mesh.near_branch(node.branch, point, DVec3::ZERO).gap - setting.radius, 0.0),
            Other::Tube { limb, piece } => {
                let tube = &limb.pieces[piece];
                let chord = tube.chord(node.u[0], node.u[1]);
                let core = chord.to - chord.from;
                let size = core.length_squared();
                let share = if size > 0.0 { ((point - chord.from).dot(core) / size).clamp(0.0, 1.0) } else { 0.0 };
                other = node.u[0] + share * (node.u[1] - node.u[0]);
                other = other.max(tube.fraction(limb.cut(setting, Cut::Own, die)));
                if other > node.u[1] {
                    return None;
                }
                let there = tube.at(other);
                let variance = limb.variance(setting, piece, there, die);
                ((point - there).length() - 2.0 * setting.radius, variance)
            }
        };
        if value == Value::Spare {
            variance += pair.limb.variance(setting, pair.piece, base, die);
            gap -= setting.need(variance);
        }
        Some(Place { value: gap, pair: node.pair, fraction, other, angle })
    }

    /// The gap that must be kept at a place.
    pub(super) fn need_at(&self, place: &Place) -> f64 {
        let pair = &self.pairs[place.pair];
        let at = |limb: &Limb, piece: usize, fraction: f64| {
            let die = pair.course.die_angle(place.angle);
            limb.variance(self.setting, piece, limb.pieces[piece].at(fraction), die)
        };
        let own = at(pair.limb, pair.piece, place.fraction);
        let other = match pair.other {
            Other::Form(_) | Other::Mesh(_) => 0.0,
            Other::Tube { limb, piece } => at(limb, piece, place.other),
        };
        self.setting.need(own + other)
    }
}

fn halves<C>(pair: &Pair<'_, C>, node: &Node) -> [Node; 2] {
    let (mut first, mut second) = (*node, *node);
    if node.widest == Widest::Other
        && let Other::Mesh(mesh) = pair.other
        && let Some(halves) = mesh.halves(node.branch)
    {
        (first.branch, second.branch) = (halves[0], halves[1]);
        return [first, second];
    }
    let range = |node: &mut Node, end: usize| {
        let range = match node.widest {
            Widest::Along => &mut node.t,
            Widest::Other => &mut node.u,
            Widest::Angle => &mut node.a,
        };
        range[end] = 0.5 * (range[0] + range[1]);
    };
    range(&mut first, 1);
    range(&mut second, 0);
    [first, second]
}

/// Smallest key first; equal keys in any order that the heap keeps, which is the same on every run.
struct Ranked {
    key: f64,
    node: Node,
}

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
        other.key.total_cmp(&self.key)
    }
}
