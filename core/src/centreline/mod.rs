//! The path of the tube's axis: nodes, rows (length, rotation, bend angle), and the two ways between them.
//!
//! ```text
//!     end A              arc starts     corner of bend 1
//!       o--------------------+ - - - - - - - o       t1, t2: unit vectors of legs 1 and 2
//!       |                    |  ` - .        |       bend angle = atan2(|t1 x t2|, t1 . t2)
//!       |                    |        ` .            normal of a bend = t1 x t2
//!       |                    |            `  |       setback = radius x tan(bend angle / 2)
//!       |                    |             `         arc = radius x bend angle
//!       |                    |              `|       leg = setback + straight + setback
//!       |                    |               + arc ends
//!       |<---- straight ---->|<-- setback -->|
//!       |<------------- leg 1 -------------->|
//!                                            o end B
//! ```
//!
//! The rotation before a bend turns the normal of the bend before into its own, right-handed about the leg between them,
//! in (-180, 180]; the first is 0. Mirroring a tube turns the signs of all rotations, running it from the other end
//! turns their order only. A bend is passed straight through when it is under 0.05 degree: it splits no leg and is no
//! bend of the tube. All of this is plane trigonometry and vector algebra of the tangent polygon; angles come from `atan2`,
//! for `acos` loses half the digits near 0 and 180 degrees.
//!
//! [`Centreline::from_nodes`], [`Centreline::from_rows`] and [`Centreline::from_legs`] build one, or say everything that
//! is wrong with it as a list of [`ShapeMistake`].

mod build;
mod legs;
mod mistake;
mod nodes;
mod segment;
mod transform;

use core::fmt;

use nalgebra::{Point3, Unit, Vector3};

pub use self::legs::{Leg, Taken};
pub use self::mistake::{Place, ShapeMistake, Tangent};
pub(crate) use self::nodes::{angle_about, angle_between};
pub use self::segment::Segment;
pub use self::transform::{Axis, Plane};
use crate::units::{Angle, Length};

/// Bends under this angle are passed straight through: their plane is lost in the noise of any measurement.
pub const STRAIGHT_THROUGH: Angle = Angle::deg(0.05);

/// Bends over this angle have no corner point that could be drawn or measured: it runs away as tan(angle / 2).
pub const SHARPEST_CORNER: Angle = Angle::deg(175.0);

/// Nodes closer than this are one node given twice.
pub const SAME_NODE: Length = Length::mm(0.01);

/// What an angle may be off by rounding alone: an angle of exactly 0.05 or 175 degrees stays on its side of the bound after a
/// way through coordinates. 1e-9 degree, as in [`Angle::wrapped`].
const ANGLE_SLACK: Angle = Angle::deg(1e-9);

/// Coordinates and lengths above this are refused as not finite: their squares stay far from overflow.
const TOO_LARGE: f64 = 1e15;

/// A corner point of a path, or one of its ends, by its place in [`Centreline::nodes`]. Counted from 0 inside, from 1 in
/// anything that a person reads.
///
/// A tube from rows or legs has nodes too: 0 is end A, then one a row or bend as given, then end B.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub usize);

impl NodeId {
    /// The number that a person reads.
    #[must_use]
    pub const fn number(self) -> usize {
        self.0 + 1
    }
}

impl fmt::Display for NodeId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "node {}", self.number())
    }
}

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

/// Whether a bend angle is passed straight through.
fn passes_straight(angle: Angle) -> bool {
    angle < STRAIGHT_THROUGH - ANGLE_SLACK
}

/// Whether a bend has a corner point.
fn has_corner(angle: Angle) -> bool {
    angle <= SHARPEST_CORNER + ANGLE_SLACK
}

/// Distance from a corner to either tangent point: radius x tan(bend angle / 2). `None` where the bend is over 175 degrees
/// and has no corner.
///
/// ```
/// use tubewright::{centreline::setback, units::{Angle, Length}};
/// let square = setback(Length::mm(127.0), Angle::deg(90.0)).expect("a square bend has a corner");
/// assert!((square.to_mm() - 127.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn setback(radius: Length, angle: Angle) -> Option<Length> {
    has_corner(angle).then(|| radius * libm::tan(angle.to_rad() / 2.0))
}

impl Centreline {
    /// Setback of a bend; `None` where it has no corner, or where there is no such bend.
    #[must_use]
    pub fn setback(&self, bend: BendId) -> Option<Length> {
        setback(*self.radii.get(bend.0)?, self.rows.bends.get(bend.0)?.angle)
    }

    /// Length of the finished arc of each bend, from end A.
    pub fn arcs(&self) -> impl Iterator<Item = Length> {
        self.rows.bends.iter().zip(&self.radii).map(|(row, radius)| *radius * row.angle.to_rad())
    }

    /// Straights between tangent points or ends, from end A; one more than bends.
    pub fn straights(&self) -> impl Iterator<Item = Length> {
        self.rows.bends.iter().map(|row| row.length).chain([self.rows.last])
    }

    /// Legs from corner to corner, from end A; one more than bends. `None` where a corner is missing.
    #[must_use]
    pub fn legs(&self) -> Vec<Option<Length>> {
        let corner = |bend: Option<usize>| bend.map_or(Some(Length::ZERO), |bend| self.setback(BendId(bend)));
        let bends = self.rows.bends.len();
        let leg = |(i, straight)| {
            let after = (i < bends).then_some(i);
            Some(corner(usize::checked_sub(i, 1))? + straight + corner(after)?)
        };
        self.straights().enumerate().map(leg).collect()
    }

    /// Straights plus finished arcs.
    #[must_use]
    pub fn developed(&self) -> Length {
        self.straights().chain(self.arcs()).sum()
    }

    /// What the legs are longer in sum than the developed centreline; `None` where a corner is missing.
    #[must_use]
    pub fn gain(&self) -> Option<Length> {
        let setbacks = (0..self.radii.len()).map(|bend| self.setback(BendId(bend)));
        Some(setbacks.sum::<Option<Length>>()? * 2.0 - self.arcs().sum())
    }

    /// The node of a bend; `None` where there is no such bend.
    #[must_use]
    pub fn node_of(&self, bend: BendId) -> Option<NodeId> {
        self.bend_nodes.get(bend.0).copied().map(NodeId)
    }
}

#[cfg(test)]
mod tests;
