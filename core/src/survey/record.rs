//! A survey as it was written down: who was measured from where, and how well.

use nalgebra::Point3;

use crate::centreline::{Plane, Taken};
use crate::units::{Length, LengthUnit};

/// The axes that the coordinates are told in, by points of the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame {
    /// At zero.
    pub origin: usize,
    /// On +x.
    pub x: usize,
    /// In the plane z = 0, at y > 0.
    pub xy: usize,
    /// The point at z > 0, which fixes the hand; `None` for a flat network, all of it in the plane z = 0.
    pub up: Option<usize>,
}

/// A taped distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tape {
    /// From this point.
    pub from: usize,
    /// To this point.
    pub to: usize,
    /// What the tape read.
    pub read: Length,
    /// Where each end was taken: the centre of its tube, the far face, or the near face.
    pub taken: [Taken; 2],
    /// OD of the tube at each end; 0 where none was taken over.
    pub od: [Length; 2],
    /// One standard deviation.
    pub sd: Length,
}

impl Tape {
    /// What the tape would have read from centre to centre: half an OD less for each far face, half an OD more for each near one.
    ///
    /// Holds for a tape that is held square to the tubes.
    #[must_use]
    pub fn centres(&self) -> Length {
        let off = |taken: Taken, od: Length| match taken {
            Taken::Centre => Length::ZERO,
            Taken::Outside => od / 2.0,
            Taken::Inside => -od / 2.0,
        };
        self.read - off(self.taken[0], self.od[0]) - off(self.taken[1], self.od[1])
    }
}

/// A plumb line from one point down to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drop {
    /// The point that the line hangs from.
    pub from: usize,
    /// The point under it.
    pub to: usize,
    /// From the one to the other.
    pub length: Length,
    /// One standard deviation of that length.
    pub sd: Length,
    /// One standard deviation of the lower point beside the line, in each direction.
    pub plumb: Length,
}

/// Height of a point over a level line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Height {
    /// The point.
    pub point: usize,
    /// The level line, from 0.
    pub line: usize,
    /// How far the point lies above it.
    pub height: Length,
    /// One standard deviation.
    pub sd: Length,
}

/// Points on one straight line, or in one plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Flush {
    /// The points. The line goes from the first to the last, the plane through the first three.
    pub points: Vec<usize>,
    /// One standard deviation of each of the others beside it.
    pub sd: Length,
}

/// Pairs that are each other's image.
#[derive(Clone, Debug, PartialEq)]
pub struct Symmetry {
    /// The plane between them; `None` where only the pairs tell it.
    pub plane: Option<Plane>,
    /// The pairs.
    pub pairs: Vec<[usize; 2]>,
    /// One standard deviation of how far one is off the other's image, in each direction.
    pub sd: Length,
}

/// A survey.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Units of the file: what people read unless they ask otherwise.
    pub units: LengthUnit,
    /// Day, as written.
    pub date: Option<String>,
    /// Names of the points: those of the frame, then the others as they are first named.
    pub points: Vec<String>,
    /// The axes.
    pub frame: Frame,
    /// One standard deviation of a taped distance that has none of its own.
    pub tape_sd: Length,
    /// Taped distances.
    pub tapes: Vec<Tape>,
    /// Plumb drops.
    pub drops: Vec<Drop>,
    /// How many level lines there are.
    pub level_lines: usize,
    /// Heights over them.
    pub heights: Vec<Height>,
    /// Points on a line.
    pub lines: Vec<Flush>,
    /// Points in a plane.
    pub planes: Vec<Flush>,
    /// Symmetric pairs.
    pub symmetries: Vec<Symmetry>,
    /// Where a point lies, by eye: which of two places is meant.
    pub about: Vec<(usize, Point3<f64>)>,
}

impl Record {
    /// Whether all of it lies in one plane.
    #[must_use]
    pub fn is_flat(&self) -> bool {
        self.frame.up.is_none()
    }
}
