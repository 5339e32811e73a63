//! A finished tube whose own surface meets itself.
//!
//! Two places of the centreline nearer than one OD touch, if the tube turns by 90 degrees or more on the way from one to
//! the other: with less than that it leads away from itself, and neighbours along the tube are always near. Straights
//! and arcs (cut into pieces of at most 22.5 degrees) stand in a tree of boxes; pairs that are near and may have turned
//! enough are halved until their chords settle the question.

use glam::DVec3;
use nalgebra::Point3;

use super::CONTACT;
use super::kernel::{Bounds, near_line};
use crate::body::{Piece, finished};
use crate::centreline::Centreline;
use crate::units::Length;

/// Two places of a tube whose surfaces touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// The first place, along the finished centreline from end A.
    pub a: Length,
    /// The other, further on.
    pub b: Length,
    /// The point of the centreline at `a`, mm, in the axes of the job.
    pub point_a: Point3<f64>,
    /// The point of the centreline at `b`.
    pub point_b: Point3<f64>,
}

/// The tube turns at least so much between two places that can touch.
const LEAST_TURN: f64 = core::f64::consts::FRAC_PI_2;

/// Pairs looked at before the answer is "cannot be told apart from touching"; a coil of a hundred turns lying just clear
/// of each other takes less.
const BUDGET: usize = 4_000_000;

/// Two places where the finished tube's own surface meets itself, or `None`, which is proved.
///
/// Only pairs of places between which the tube turns by 90 degrees or more count. Surfaces within 1e-6 mm of each other
/// touch. Ends count as half balls. A bend of 90 degrees or more at less than 0.71 OD meets itself by this rule: its inside
/// is all but closed.
#[must_use]
pub fn self_meeting(centreline: &Centreline, od: Length) -> Option<Meeting> {
    let mut parts = Vec::new();
    for piece in finished(centreline) {
        let count = libm::ceil((piece.turn_far - piece.turn_near) / (0.25 * LEAST_TURN)).clamp(1.0, 1000.0);
        let mut from = 0.0;
        while from < count {
            parts.push(Span { piece, from: from / count, to: (from + 1.0) / count });
            from += 1.0;
        }
    }
    let mut search = Search { parts: &parts, tree: Vec::new(), od: od.to_mm(), left: BUDGET };
    search.grow(0, parts.len());
    if parts.is_empty() { None } else { search.within(0) }
}

#[derive(Clone, Copy)]
struct Span {
    piece: Piece,
    from: f64,
    to: f64,
}

impl Span {
    fn turn(&self, at: f64) -> f64 {
        self.piece.turn_near + at * (self.piece.turn_far - self.piece.turn_near)
    }

    fn halves(&self) -> [Self; 2] {
        let middle = 0.5 * (self.from + self.to);
        [Self { to: middle, ..*self }, Self { from: middle, ..*self }]
    }
}

struct Branch {
    bounds: Bounds,
    /// Pieces of this branch; its halves, where it has several, are the next place in the tree and `second`.
    first: usize,
    last: usize,
    second: usize,
}

struct Search<'a> {
    parts: &'a [Span],
    tree: Vec<Branch>,
    od: f64,
    left: usize,
}

impl Search<'_> {
    fn grow(&mut self, first: usize, last: usize) -> Bounds {
        let place = self.tree.len();
        self.tree.push(Branch { bounds: Bounds::EMPTY, first, last, second: 0 });
        let bounds = match last - first {
            0 => Bounds::EMPTY,
            1 => {
                let span = self.parts[first];
                let chord = span.piece.chord(span.from, span.to);
                Bounds::of(chord.from, chord.to).grown(chord.sag)
            }
            count => {
                let middle = first + count / 2;
                let near = self.grow(first, middle);
                self.tree[place].second = self.tree.len();
                near.with(self.grow(middle, last))
            }
        };
        self.tree[place].bounds = bounds;
        bounds
    }

    fn halves(&self, place: usize) -> Option<(usize, usize)> {
        let branch = &self.tree[place];
        (branch.last - branch.first > 1).then_some((place + 1, branch.second))
    }

    /// Among the pieces of one branch. A single piece turns by less than 90 degrees and cannot meet itself.
    fn within(&mut self, place: usize) -> Option<Meeting> {
        let (near, far) = self.halves(place)?;
        self.within(near).or_else(|| self.within(far)).or_else(|| self.between(near, far))
    }

    /// Between a branch and one further along.
    fn between(&mut self, one: usize, other: usize) -> Option<Meeting> {
        let (near, far) = (&self.tree[one], &self.tree[other]);
        let (first, last) = (self.parts[near.first], self.parts[far.last - 1]);
        let limit = self.od + CONTACT;
        if last.turn(last.to) - first.turn(first.from) < LEAST_TURN
            || near.bounds.apart_squared(&far.bounds) > limit * limit
        {
            return None;
        }
        let larger = if near.last - near.first >= far.last - far.first { one } else { other };
        match self.halves(larger) {
            Some((a, b)) if larger == one => self.between(a, other).or_else(|| self.between(b, other)),
            Some((a, b)) => self.between(one, a).or_else(|| self.between(one, b)),
            None => self.pair(first, last),
        }
    }

    fn pair(&mut self, one: Span, other: Span) -> Option<Meeting> {
        let mut waiting = vec![(one, other)];
        while let Some((one, other)) = waiting.pop() {
            if other.turn(other.to) - one.turn(one.from) < LEAST_TURN {
                continue;
            }
            let (a, b) = (one.piece.chord(one.from, one.to), other.piece.chord(other.from, other.to));
            let near = near_line(a.from, a.to - a.from, b.from, b.to - b.from);
            let sag = a.sag + b.sag;
            if near.gap - sag > self.od + CONTACT {
                continue;
            }
            self.left = self.left.saturating_sub(1);
            let certain =
                other.turn(other.from) - one.turn(one.to) >= LEAST_TURN && near.gap + sag <= self.od + CONTACT;
            // Halving ends where the chords are a ten-millionth of a millimetre off: what is still open then is a touch.
            let settled = sag < 1e-7 && turn_width(&one) + turn_width(&other) < 1e-6;
            if certain || settled || self.left == 0 {
                return Some(meeting(&one, &other, &near, a.from, a.to));
            }
            if a.sag + turn_width(&one) >= b.sag + turn_width(&other) {
                let [first, second] = one.halves();
                waiting.push((second, other));
                waiting.push((first, other));
            } else {
                let [first, second] = other.halves();
                waiting.push((one, second));
                waiting.push((one, first));
            }
        }
        None
    }
}

fn turn_width(span: &Span) -> f64 {
    span.turn(span.to) - span.turn(span.from)
}

fn meeting(one: &Span, other: &Span, near: &super::kernel::Near, from: DVec3, to: DVec3) -> Meeting {
    let at = one.from + near.at * (one.to - one.from);
    let place = from + near.at * (to - from);
    // The nearest place on the other: along its chord.
    let chord = other.piece.chord(other.from, other.to);
    let line = chord.to - chord.from;
    let size = line.length_squared();
    let share = if size > 0.0 { ((place - chord.from).dot(line) / size).clamp(0.0, 1.0) } else { 0.0 };
    let there = other.from + share * (other.to - other.from);
    Meeting {
        a: Length::mm(one.piece.place(at)),
        b: Length::mm(other.piece.place(there)),
        point_a: Point3::from(one.piece.at(at)),
        point_b: Point3::from(other.piece.at(there)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::centreline;
    use super::*;

    #[test]
    fn legs_that_converge_meet_where_they_are_long_enough() {
        // Legs 100 apart that close by sin 5 degrees: 74 apart after 300, 40 after 688.
        let pin = |last: f64| centreline(&[(1000.0, 0.0, 185.0)], last, 50.0);
        assert!(self_meeting(&pin(300.0), Length::mm(40.0)).is_none());
        assert!(self_meeting(&pin(640.0), Length::mm(40.0)).is_none());
        let found = self_meeting(&pin(740.0), Length::mm(40.0)).unwrap();
        assert!(found.a < found.b);
        assert!((found.point_a - found.point_b).norm() < 40.1);
    }

    #[test]
    fn a_square_that_comes_back_meets_its_first_leg() {
        let sides = [(400.0, 0.0, 90.0), (300.0, 0.0, 90.0), (300.0, 0.0, 90.0)];
        let closed = centreline(&sides, 500.0, 50.0);
        let found = self_meeting(&closed, Length::mm(40.0)).unwrap();
        // The last leg runs across the first, 400 - 300 along it: from 50 past its start less the two radii.
        assert!(found.a.to_mm() < 200.0 && found.b.to_mm() > 1000.0);
        // The same with the last legs out of its plane passes by.
        let skew = [(400.0, 0.0, 90.0), (300.0, 20.0, 90.0), (300.0, 0.0, 90.0)];
        assert!(self_meeting(&centreline(&skew, 500.0, 50.0), Length::mm(40.0)).is_none());
    }

    #[test]
    fn a_small_jog_with_a_short_straight_between_is_no_false_alarm() {
        let jog = centreline(&[(200.0, 0.0, 60.0), (1.0, 180.0, 60.0)], 200.0, 45.0);
        assert!(self_meeting(&jog, Length::mm(40.0)).is_none());
        let wave = centreline(&[(200.0, 0.0, 89.0), (0.0, 180.0, 89.0), (0.0, 180.0, 89.0)], 200.0, 60.0);
        assert!(self_meeting(&wave, Length::mm(40.0)).is_none());
    }

    #[test]
    fn a_coil_meets_itself_where_its_pitch_is_under_the_od() {
        // Short bends each rolled by a little: 12 of 60 degrees make two turns that climb.
        let coil = |roll: f64| {
            let bends: Vec<_> = (0..12).map(|i| (5.0, if i == 0 { 0.0 } else { roll }, 60.0)).collect();
            centreline(&bends, 20.0, 150.0)
        };
        assert!(self_meeting(&coil(0.5), Length::mm(40.0)).is_some());
        assert!(self_meeting(&coil(8.0), Length::mm(40.0)).is_none());
    }
}
