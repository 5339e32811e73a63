//! From legs, as a tape measures them, to a centreline.
//!
//! A leg taped on the outside of a bend runs to the corner of the tube's outer edge lines, which lies OD / 2 x tan(bend angle / 2)
//! further out than the corner of the centreline; on the inside as much less. At a cut end there is no corner and
//! nothing to shift.

use super::build::{Mistakes, Span, is_figure, is_reversal, lay, merge, radius_at, tangent};
use super::{BendId, Centreline, NodeId, Place, Row, Rows, SAME_NODE, ShapeMistake, Tangent, passes_straight};
use crate::units::{Angle, Length};

/// Where an end of a leg was taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Taken {
    /// At the corner of the centreline.
    #[default]
    Centre,
    /// At the corner of the outside of the bend.
    Outside,
    /// At the corner of the inside of the bend.
    Inside,
}

/// A leg from corner to corner, or from an end, as it was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Its length as measured.
    pub length: Length,
    /// Where its end toward A was taken; of no matter at the tube's end.
    pub a: Taken,
    /// Where its end toward B was taken; of no matter at the tube's end.
    pub b: Taken,
}

impl Taken {
    /// How much longer a leg reads than the centreline's, for an end at a bend of this angle.
    #[must_use]
    pub fn reads_longer(self, od: Length, angle: Angle) -> Length {
        let heel = od / 2.0 * libm::tan(angle.to_rad() / 2.0);
        match self {
            Self::Centre => Length::ZERO,
            Self::Outside => heel,
            Self::Inside => -heel,
        }
    }
}

impl Centreline {
    /// The centreline that legs, bend angles and rotations describe, with end A at the origin, the first leg along +x and the
    /// first bend toward +y.
    ///
    /// There is one leg more than bends; `rotations` has one fewer than bends (the first stands before the second bend) or
    /// none at all for a flat tube. Bends under 0.05 degree are passed straight through: the legs around them become
    /// one. `nodes` has end A, a place for each bend given, and end B. `radius` gives the formed radius of each bend that is
    /// left; `od` matters only for ends taken outside or inside.
    ///
    /// # Errors
    ///
    /// All mistakes, from end A on: numbers of legs, bends and rotations that do not fit, a figure that is not finite, a bend
    /// angle below 0 or over 175 degrees, a leg too short for its bends, a radius not above 0, a tube that closes on
    /// itself or has no length.
    pub fn from_legs(
        legs: &[Leg],
        od: Length,
        bends: &[Angle],
        rotations: &[Angle],
        radius: &dyn Fn(BendId) -> Length,
    ) -> Result<Self, Vec<ShapeMistake>> {
        let mut mistakes = Mistakes::default();
        check(legs, od, bends, rotations, &mut mistakes);
        if mistakes.any() {
            return Err(mistakes.told());
        }

        let longer = |taken: Taken, bend: Option<&Angle>| match bend {
            Some(angle) if !passes_straight(*angle) => taken.reads_longer(od, *angle),
            _ => Length::ZERO,
        };
        let centre = |(i, leg): (usize, &Leg)| {
            let before = i.checked_sub(1).and_then(|before| bends.get(before));
            leg.length - longer(leg.a, before) - longer(leg.b, bends.get(i))
        };
        let lengths: Vec<Length> = legs.iter().enumerate().map(centre).collect();
        let row = |(i, angle): (usize, &Angle)| {
            let rotation = i.checked_sub(1).and_then(|before| rotations.get(before));
            Row { length: lengths[i], rotation: rotation.copied().unwrap_or_default(), angle: *angle }
        };
        let given = Rows { bends: bends.iter().enumerate().map(row).collect(), last: lengths[bends.len()] };
        // Corner to corner so far; a node passed through is found from the corner before it.
        let mut merged = merge(&given);

        let mut radii = Vec::with_capacity(merged.given.len());
        let mut tangents: Vec<Option<Tangent>> = Vec::with_capacity(merged.given.len());
        for (i, row) in merged.given.iter().enumerate() {
            let (bend, node) = (BendId(i), NodeId(row + 1));
            let radius = radius_at(bend, node, radius, &mut mistakes);
            tangents.push(radius.and_then(|radius| tangent(bend, node, radius, merged.rows.bends[i].angle)));
            radii.extend(radius);
        }
        let last = NodeId(legs.len());
        let mut from = NodeId(0);
        for leg in 0..=merged.given.len() {
            let to = merged.given.get(leg).map_or(last, |row| NodeId(row + 1));
            let before = leg.checked_sub(1).and_then(|bend| tangents[bend]);
            let after = tangents.get(leg).copied().flatten();
            let length = merged.rows.bends.get(leg).map_or(merged.rows.last, |row| row.length);
            if tangents.is_empty() && length < SAME_NODE {
                mistakes.add(ShapeMistake::NodesCoincide { first: from, second: to, apart: length });
            }
            let straight = Span { leg, from, to, length }.straight(before, after, &mut mistakes);
            match merged.rows.bends.get_mut(leg) {
                Some(row) => row.length = straight,
                None => merged.rows.last = straight,
            }
            from = to;
        }
        for (_, straight, along) in &mut merged.passed {
            if let Some(tangent) = straight.checked_sub(1).and_then(|bend| tangents[bend]) {
                *along -= tangent.setback;
            }
        }
        if mistakes.any() { Err(mistakes.told()) } else { lay(merged, radii, mistakes) }
    }
}

/// Everything that can be wrong with legs, bends and rotations by themselves.
fn check(legs: &[Leg], od: Length, bends: &[Angle], rotations: &[Angle], mistakes: &mut Mistakes) {
    if legs.len() != bends.len() + 1 {
        mistakes.add(ShapeMistake::LegsAndBendsDiffer { legs: legs.len(), bends: bends.len() });
    }
    if !rotations.is_empty() && rotations.len() + 1 != bends.len() {
        mistakes.add(ShapeMistake::RotationsAndBendsDiffer { rotations: rotations.len(), bends: bends.len() });
    }
    let mut figure = |value: f64, place| {
        if !is_figure(value) {
            mistakes.add(ShapeMistake::NotFinite { place });
        }
    };
    figure(od.to_mm(), Place::Od);
    legs.iter().enumerate().for_each(|(i, leg)| figure(leg.length.to_mm(), Place::Leg(i)));
    bends.iter().enumerate().for_each(|(i, angle)| figure(angle.to_rad(), Place::Bend(i)));
    rotations.iter().enumerate().for_each(|(i, angle)| figure(angle.to_rad(), Place::Rotation(i)));
    for (i, angle) in bends.iter().enumerate().filter(|(_, angle)| is_figure(angle.to_rad())) {
        if *angle < Angle::ZERO {
            mistakes.add(ShapeMistake::BendOutOfRange { bend: i, angle: *angle });
        } else if is_reversal(*angle) {
            mistakes.add(ShapeMistake::Reversal { node: NodeId(i + 1), angle: *angle });
        }
    }
}
