//! The room that the tube takes over a bend.
//!
//! Turning about z changes no distance from it. A place of the trailing part is pushed straight along x until it comes to the
//! tangent point: its distance from z is convex in the die angle, so that it is largest at the start, at the end, or at
//! the tangent point. Heights are gaps to a plane below and to one above all of it.

use glam::DVec3;

use super::Swing;
use super::kernel::Form;
use super::limb::{Cut, Limb, Setting};
use super::search::{Other, Pair, Search, Smallest};
use crate::bender::{Carrier, Step};
use crate::body::Piece;
use crate::motion::{Relative, Ride};
use crate::units::Length;

/// The room is at most so much larger than what the tube takes, mm.
const WITHIN: f64 = 0.005;

/// Largest distance of the tube's surface from the die's axis, and its largest and smallest height, to 0.01 mm on the outer side.
pub(super) fn swing(step: &Step<'_>, setting: &Setting, lead: &Limb, trail: &Limb) -> Swing {
    let up = step.bender.bend_plane.up().into_inner();
    let up = DVec3::new(up.x, up.y, up.z);
    let height = step.bender.centre_height.to_mm();
    Swing {
        reach: Length::mm(reach(setting, lead, trail) + setting.radius),
        high: Length::mm(height - lowest(setting, [lead, trail], -up)),
        low: Length::mm(height + lowest(setting, [lead, trail], up)),
    }
}

/// Least height of the tube's surface along `up`, over the origin: its gap to a plane below all of it, less the plane's depth.
fn lowest(setting: &Setting, limbs: [&Limb; 2], up: DVec3) -> f64 {
    let room = |limb: &Limb| limb.bounds.min.abs().max(limb.bounds.max.abs()).length();
    let depth = room(limbs[0]).max(room(limbs[1])) + setting.feed * setting.target + 2.0 * setting.radius;
    let form = Form::Below { up, level: -depth };
    let frame = Ride::of(Carrier::Frame, setting.motion, setting.follower);
    let mut search = Search::new(setting);
    for limb in limbs {
        // Seen along the axis nothing that a bend does changes a height.
        let seen = if up.z.abs() >= 1.0 { limb.ride() } else { frame };
        let course = Relative::new(limb.ride(), seen, setting.sign, setting.feed);
        for piece in 0..limb.pieces.len() {
            let (cut, other) = (Cut::None, Other::Form(&form));
            search.pairs.push(Pair { limb, piece, cut, other, course, from: 0.0, to: setting.target });
        }
    }
    match search.smallest(f64::INFINITY) {
        Smallest::Found { certified, .. } | Smallest::Unproven { certified, .. } => certified - depth,
        Smallest::Beyond => 0.0,
    }
}

/// Largest distance of the axis from z over the bend.
fn reach(setting: &Setting, lead: &Limb, trail: &Limb) -> f64 {
    let drawn = setting.feed * setting.target;
    let ahead = lead.pieces.iter().map(|piece| furthest(piece, 0.0, 0.0));
    let behind = trail.pieces.iter().map(|piece| {
        let left = piece.fraction(drawn);
        let end = if left <= 1.0 { furthest(piece, left, drawn) } else { 0.0 };
        furthest(piece, 0.0, 0.0).max(end)
    });
    ahead.chain(behind).fold(setting.tangent.length(), f64::max)
}

/// Largest distance from z of a piece from a fraction on, pushed along x.
fn furthest(piece: &Piece, from: f64, push: f64) -> f64 {
    let out = |p: DVec3| ((p.x + push) * (p.x + push) + p.y * p.y).sqrt();
    let mut most = 0.0_f64;
    let mut open = vec![(from, 1.0)];
    while let Some((from, to)) = open.pop() {
        let chord = piece.chord(from, to);
        let seen = out(chord.from).max(out(chord.to));
        most = most.max(seen);
        if seen + chord.sag > most + WITHIN {
            let middle = 0.5 * (from + to);
            open.push((from, middle));
            open.push((middle, to));
        }
    }
    most
}
