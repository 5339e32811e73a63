//! The path of the tube's axis: nodes, rows (length, rotation, bend angle), and the two ways between them.

use nalgebra::{Point3, Unit, Vector3};

use crate::units::{Angle, Length};

/// A bend of a tube. Counted from 0 inside, from 1 in anything that a person reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BendId(pub usize);

impl BendId {
    /// The number that a person reads.
    #[must_use]
    pub const fn number(self) -> usize {
        self.0 + 1
    }
}

/// One bend as a row: the straight before it, the turn about the tube's axis before it, its bend angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// The straight between the tangent points (or the end) before this bend.
    pub length: Length,
    /// Rotation before this bend, right-hand about the direction from end A to end B, in (-180, 180]; 0 for the first.
    pub rotation: Angle,
    /// Bend angle: 0 is straight on.
    pub angle: Angle,
}

/// A whole tube as rows: one a bend, then the last straight.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// One row a bend, from end A.
    pub bends: Vec<Row>,
    /// The straight after the last bend.
    pub last: Length,
}

/// The finished centreline of a tube, placed in the axes of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Centreline {
    /// Rows, with the straights between tangent points.
    pub rows: Rows,
    /// Formed radius of each bend.
    pub radii: Vec<Length>,
    /// Corner points from end A to end B, as given or rebuilt, in mm in the job's axes. `None` at a bend of more than 175
    /// degrees given by rows, which has no corner point.
    pub nodes: Vec<Option<Point3<f64>>>,
    /// For each bend the place of its corner in `nodes`.
    pub bend_nodes: Vec<usize>,
    /// Places in `nodes` that the tube passes straight through (bend angle under 0.05 degree).
    pub passed: Vec<usize>,
    /// End A, mm, in the job's axes.
    pub start: Point3<f64>,
    /// Direction of the first leg.
    pub direction: Unit<Vector3<f64>>,
    /// Unit normal of the first bend, square to `direction`; any such direction for a straight tube.
    pub normal: Unit<Vector3<f64>>,
}
