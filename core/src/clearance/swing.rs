//! The room that the tube takes over a bend.

use super::Swing;
use super::kernel::Kernel;
use super::laid::{Laid, Part};
use super::sweep::{Body, Found, Sweep, TOLERANCE};
use crate::body::{Curve, Piece};
use crate::motion::Carriage;
use crate::units::Length;

/// Largest distance of the tube's surface from the die's axis, and its largest and smallest height, to 0.01 mm on the outer side.
pub(super) fn swing(laid: &Laid<'_>) -> Swing {
    let up = laid.step.bender.bend_plane.up().into_inner();
    // Above any tube: the height is what is left of it below a ceiling this high.
    let ceiling = 1e7;
    let still = Carriage { turn: 0.0, push: 0.0 };
    let least = |kernel: &Kernel| {
        let body = Body { kernel, extent: None, carriage: still, holds: false };
        match Sweep::new(laid, &[body]).smallest(f64::INFINITY, TOLERANCE, false) {
            Found::Smallest { certified, .. } | Found::Unproven { certified, .. } => certified,
            Found::Beyond => f64::INFINITY,
        }
    };
    let high = ceiling - least(&Kernel::HalfSpace { normal: -up, height: ceiling });
    let low = least(&Kernel::HalfSpace { normal: up, height: ceiling }) - ceiling;
    let floor = laid.step.bender.centre_height.to_mm();
    Swing { reach: Length::mm(reach(laid) + laid.half), high: Length::mm(high + floor), low: Length::mm(low + floor) }
}

/// Largest distance of the axis from z over the bend.
///
/// Turning about z changes none. A place of the trailing part is pushed straight along x until it comes to the tangent point, and its distance from z is then
/// convex in the die angle: largest at the start, at the end, or at the tangent point.
fn reach(laid: &Laid<'_>) -> f64 {
    let pushed = laid.kinematics.feed * laid.target;
    let mut most = laid.step.blank.bends[laid.step.bend.0].clr.to_mm();
    for piece in laid.pieces(Part::Lead).iter().chain(laid.pieces(Part::Trail)) {
        most = most.max(furthest(piece, piece.start, 0.0));
    }
    for piece in laid.pieces(Part::Trail) {
        if piece.end > pushed {
            most = most.max(furthest(piece, piece.start.max(pushed), pushed));
        }
    }
    most
}

/// Largest distance from z of a piece from place `from` on, pushed along x.
fn furthest(piece: &Piece, from: f64, push: f64) -> f64 {
    let out = |s: f64| {
        let p = piece.point(s);
        libm::hypot(p.x + push, p.y)
    };
    let ends = out(from).max(out(piece.end));
    let Curve::Arc { .. } = piece.curve else { return ends };
    // Halve the arc until no part of it can be further by more than the tolerance.
    let mut most = ends;
    let mut open = vec![(from, piece.end)];
    while let Some((s0, s1)) = open.pop() {
        let chord = piece.chord(s0, s1);
        let far = |p: nalgebra::Vector3<f64>| libm::hypot(p.x + push, p.y);
        let bound = far(chord.from).max(far(chord.to)) + chord.off;
        let middle = 0.5 * (s0 + s1);
        most = most.max(out(middle));
        if bound > most + 0.5 * TOLERANCE && chord.off > 1e-9 {
            open.push((s0, middle));
            open.push((middle, s1));
        }
    }
    most
}
