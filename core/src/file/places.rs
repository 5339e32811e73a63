//! Where in the job's file each figure of a tube stands: for messages about a tube, and for edits in place.

use super::mistake::Place;
use crate::centreline::{BendId, NodeId};

/// Places in a job's file. The job is file 0.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Places {
    /// Nodes that the file gives, in its order; those that the mirror makes have none.
    pub nodes: Vec<NodePlace>,
    /// Tubes, in the order of the job.
    pub tubes: Vec<TubePlaces>,
}

/// A node of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NodePlace {
    /// Its name.
    pub name: String,
    /// Place of its name.
    pub name_at: Place,
    /// Places of x, y and z.
    pub at: [Place; 3],
    /// Its value, or one of its figures, is used by `*name`: an edit in place would change every use.
    pub aliased: bool,
}

/// A tube of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TubePlaces {
    /// Place of its name.
    pub name: Place,
    /// How it is given.
    pub shape: ShapePlaces,
    /// For each bend of the centreline the place of its node.
    pub bend_nodes: Vec<usize>,
}

/// The figures of a tube's shape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ShapePlaces {
    /// The names in `path`.
    Path(Vec<Place>),
    /// The entries of `legs`, `bends` and `rotations`.
    Legs {
        /// Leg by leg, from end A.
        legs: Vec<Place>,
        /// Bend by bend.
        bends: Vec<Place>,
        /// The first is that before the second bend.
        rotations: Vec<Place>,
    },
    /// The rows, the last straight included.
    Rows(Vec<RowPlaces>),
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowPlaces {
    /// The row.
    pub row: Place,
    /// Its straight.
    pub length: Place,
    /// Its rotation, where it is written.
    pub rotation: Option<Place>,
    /// Its bend angle; the last row has none.
    pub bend: Option<Place>,
}

impl TubePlaces {
    /// Place of a node: its name in the path, its bend angle in legs and rows; the tube's name for an end without a
    /// place of its own.
    #[must_use]
    pub fn node(&self, node: NodeId) -> &Place {
        let found = match &self.shape {
            ShapePlaces::Path(names) => names.get(node.0),
            ShapePlaces::Legs { bends, .. } => node.0.checked_sub(1).and_then(|bend| bends.get(bend)),
            ShapePlaces::Rows(rows) => {
                node.0.checked_sub(1).and_then(|bend| rows.get(bend)).and_then(|row| row.bend.as_ref())
            }
        };
        found.unwrap_or(&self.name)
    }

    /// Place of a bend's node.
    #[must_use]
    pub fn bend(&self, bend: BendId) -> &Place {
        self.bend_nodes.get(bend.0).map_or(&self.name, |node| self.node(NodeId(*node)))
    }

    /// Place of the leg that starts at a node: the leg, the row's straight, or the node's name in the path.
    #[must_use]
    pub fn leg_from(&self, node: NodeId) -> &Place {
        let found = match &self.shape {
            ShapePlaces::Path(names) => names.get(node.0),
            ShapePlaces::Legs { legs, .. } => legs.get(node.0),
            ShapePlaces::Rows(rows) => rows.get(node.0).map(|row| &row.length),
        };
        found.unwrap_or(&self.name)
    }
}
