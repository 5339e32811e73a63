//! A bent part as it was measured.

use std::collections::BTreeMap;

use nalgebra::Point3;

use crate::centreline::{BendId, Taken};
use crate::forming::LeadEnd;
use crate::job::{Job, Tube};
use crate::units::{Angle, Length, LengthUnit};

/// Standard deviations of what was measured; `None` where not stated.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartAccuracy {
    /// Of a coordinate, a leg, a distance, a touched point's distance and a height.
    pub length: Option<Length>,
    /// Of a bend angle and of a rotation.
    pub angle: Option<Angle>,
}

/// One measurement. Nodes, legs and bends are counted from 0 from end A.
#[derive(Clone, Debug, PartialEq)]
pub enum Measurement {
    /// A corner point or an end of the centreline, mm in the record's axes.
    Node {
        /// Which node.
        node: usize,
        /// Where it was found.
        at: Point3<f64>,
    },
    /// A leg from corner to corner.
    Leg {
        /// Which leg.
        leg: usize,
        /// As taped.
        length: Length,
        /// Where its ends at corners were taken.
        taken: Taken,
    },
    /// A bend angle.
    Bend {
        /// Which bend.
        bend: BendId,
        /// After release.
        angle: Angle,
    },
    /// The rotation before a bend.
    Rotation {
        /// Which bend; never the first.
        bend: BendId,
        /// In (-180, 180].
        angle: Angle,
    },
    /// A straight distance between two nodes.
    Distance {
        /// One node.
        from: usize,
        /// The other.
        to: usize,
        /// As taped.
        length: Length,
        /// Outside is half an OD more at each end.
        taken: Taken,
    },
    /// A point on the surface of a straight, mm in the record's axes.
    Touched {
        /// Which leg.
        leg: usize,
        /// Where it was touched.
        at: Point3<f64>,
    },
    /// The height of a node over the plane of some bends, with the part laid flat on them, end A left, opening toward the person.
    Lying {
        /// The bends that lie flat; never none.
        flat: Vec<BendId>,
        /// Whose height.
        node: usize,
        /// Its centreline over that of the bends.
        up: Length,
    },
}

/// What a part was bent by, where it differs from the plan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AsBent {
    /// The order, as written; it names each bend once.
    pub order: Option<String>,
    /// What the pointer read at the end, by bend.
    pub readings: BTreeMap<usize, Angle>,
    /// Marks on the blank, by bend.
    pub marks: BTreeMap<usize, Length>,
    /// Rolls of the top lines, by bend.
    pub tops: BTreeMap<usize, Angle>,
    /// Length of the blank.
    pub cut: Option<Length>,
}

/// What a part was to become: a job with the place of the tube in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The job.
    pub job: Job,
    /// Place of the tube.
    pub tube: usize,
}

impl Wanted {
    /// The tube.
    ///
    /// # Panics
    /// Where the job has no such tube.
    #[must_use]
    pub fn tube(&self) -> &Tube {
        &self.job.tubes[self.tube]
    }
}

/// A node of the path that is no corner: the tube passes it straight through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passed {
    /// Which node.
    pub node: usize,
    /// On which leg.
    pub leg: usize,
    /// How far along it, as a part of the leg from corner to corner.
    pub share: f64,
}

/// A measured part.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Units of the record's file.
    pub units: LengthUnit,
    /// What it was to become; `None` for a part to be copied.
    pub wanted: Option<Wanted>,
    /// Outside diameter.
    pub od: Length,
    /// Radius of each bend, from end A.
    pub radii: Vec<Length>,
    /// What each node is called, from end A to end B: as in the job or the record, else n0, n1, and so on.
    pub nodes: Vec<String>,
    /// For each bend the place of its corner in `nodes`.
    pub corners: Vec<usize>,
    /// Nodes that are passed straight through.
    pub passed: Vec<Passed>,
    /// How good the measurements are.
    pub accuracy: PartAccuracy,
    /// The measurements, in the order of the file's keys.
    pub measured: Vec<Measurement>,
    /// The end that is laid exactly on its place.
    pub hold: Option<LeadEnd>,
    /// What each node counts when the part is laid on the wanted shape.
    pub weights: Vec<f64>,
    /// How it was bent.
    pub bent: AsBent,
}

impl Part {
    /// How many bends it has.
    #[must_use]
    pub fn bends(&self) -> usize {
        self.radii.len()
    }
}
