//! The line that is snapped on the floor, from which a layout is marked out.
//!
//! It lies along the longest straight from which all named points lie to one side; where there is none, from end to end if that will do; else along
//! the longest straight, with points on both sides. 0 is at the foot of the first point, so no distance along is negative; offsets are to the left, away
//! from whoever stands with 0 at the left hand.

use kurbo::{Point, Vec2};

use super::shape::{Piece, Shape};

/// What arithmetic may leave of an offset that is none, mm.
const NONE: f64 = 1e-6;

/// Ends nearer to each other than this, mm, give a line no direction that could be snapped.
const SHORTEST: f64 = 100.0;

/// The line of a layout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Baseline {
    /// What it lies along: `leg 2`, `end to end`.
    pub along: String,
    /// Whether all named points lie on it or to its left.
    pub one_side: bool,
}

struct Candidate {
    along: String,
    from: Point,
    direction: Vec2,
    length: f64,
}

/// A shape in the frame of its baseline: x along it, y to its left, mm.
#[must_use]
pub fn laid(shape: &Shape) -> (Shape, Baseline) {
    let mut candidates: Vec<Candidate> = Vec::new();
    for (place, piece) in shape.pieces.iter().enumerate() {
        if let Piece::Straight { from, along, length } = *piece
            && length > NONE
        {
            let leg = shape.legs.get(place / 2).copied().unwrap_or(place / 2 + 1);
            candidates.push(Candidate { along: format!("leg {leg}"), from, direction: along, length });
        }
    }
    // Stable: of straights that are as long as each other, the one nearest end A.
    candidates.sort_by(|one, other| {
        if (one.length - other.length).abs() < NONE {
            std::cmp::Ordering::Equal
        } else {
            other.length.total_cmp(&one.length)
        }
    });
    let across = shape.end(true) - shape.end(false);
    if across.hypot() >= SHORTEST {
        let direction = across / across.hypot();
        candidates.push(Candidate {
            along: "end to end".to_owned(),
            from: shape.end(false),
            direction,
            length: across.hypot(),
        });
    }
    if candidates.is_empty() {
        // Arcs alone, and ends that meet: the way in which end A points.
        let (from, direction) = (shape.end(false), shape.pieces[0].along(0.0));
        candidates.push(Candidate { along: "end A".to_owned(), from, direction, length: 0.0 });
    }
    let sides = |candidate: &Candidate| {
        let left = Vec2::new(-candidate.direction.y, candidate.direction.x);
        let offsets = shape.spots.iter().map(|spot| (spot.at - candidate.from).dot(left));
        offsets.fold((0.0_f64, 0.0_f64), |(low, high), offset| (low.min(offset), high.max(offset)))
    };
    let one_sided = |candidate: &&Candidate| {
        let (low, high) = sides(candidate);
        low > -NONE || high < NONE
    };
    let chosen = candidates.iter().find(one_sided).unwrap_or(&candidates[0]);
    let (low, high) = sides(chosen);
    let direction = if high < NONE && low < -NONE || -low > high + NONE { -chosen.direction } else { chosen.direction };
    let foot = |point: Point| (point - chosen.from).dot(direction);
    let first = shape.spots.iter().map(|spot| foot(spot.at)).fold(f64::INFINITY, f64::min);
    let laid = shape.seen_from(chosen.from + direction * first, direction);
    (laid, Baseline { along: chosen.along.clone(), one_side: one_sided(&chosen) })
}
