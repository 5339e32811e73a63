//! What stands still: a straight tube in the bender at rest, and a finished tube beside a body.

use nalgebra::Vector3;

use super::itself::finished;
use super::kernel::Kernel;
use super::sweep::SLACK;
use crate::bender::{Bender, Die, Shape};
use crate::centreline::Centreline;
use crate::units::Length;

/// Places in the bender's list of those solids that touch a straight tube at die angle 0, between the clamp's far end ahead of the tangent point and
/// the follower's behind it.
///
/// The tube there is every point within half its OD of its centreline between the two ends, half balls included.
#[must_use]
pub fn resting_contacts(bender: &Bender, die: &Die, od: Length) -> Vec<usize> {
    let y = -bender.hand.sign() * die.clr.to_mm();
    let ahead = Vector3::new(die.clamp_length.to_mm(), y, 0.0);
    let behind = Vector3::new(-die.follower_length.to_mm(), y, 0.0);
    let touches = |shape: &Shape| Kernel::new(shape).segment(behind, ahead).distance - 0.5 * od.to_mm() <= SLACK;
    bender.solids.iter().enumerate().filter(|(_, solid)| touches(&solid.shape)).map(|(place, _)| place).collect()
}

/// Distance from a finished tube (its centreline less half its OD) to a body in the job's axes, 0 where they touch.
///
/// To 0.01 mm, on the small side.
#[must_use]
pub fn static_gap(centreline: &Centreline, od: Length, shape: &Shape) -> Length {
    const TOLERANCE: f64 = 0.005;
    let kernel = Kernel::new(shape);
    let mut least = f64::INFINITY;
    let mut certified = f64::INFINITY;
    let pieces = finished(centreline);
    let mut open: Vec<_> = pieces.iter().map(|piece| (piece, piece.start, piece.end)).collect();
    while let Some((piece, s0, s1)) = open.pop() {
        let chord = piece.chord(s0, s1);
        let near = kernel.segment(chord.from, chord.to);
        let p = piece.point(s0 + (s1 - s0) * near.at);
        least = least.min(kernel.segment(p, p).distance);
        let bound = (near.distance - chord.off).max(0.0);
        if bound >= least - TOLERANCE {
            certified = certified.min(bound);
        } else {
            let middle = 0.5 * (s0 + s1);
            open.push((piece, s0, middle));
            open.push((piece, middle, s1));
        }
    }
    Length::mm((certified.min(least) - 0.5 * od.to_mm()).max(0.0))
}
