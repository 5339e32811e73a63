//! What is wrong with a shape, in words and figures.

use core::fmt::Write;

use nalgebra::Point3;

use super::{BendId, NodeId, SAME_NODE, SHARPEST_CORNER};
use crate::round::People;
use crate::units::{Angle, Length};

/// What a bend takes of a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tangent {
    /// The bend.
    pub bend: BendId,
    /// Its corner.
    pub node: NodeId,
    /// Its bend angle.
    pub angle: Angle,
    /// Its formed radius.
    pub radius: Length,
    /// From its corner to its tangent point.
    pub setback: Length,
}

/// Where a figure stands that is not finite. Counted from 0, as given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A coordinate of a node.
    Node(NodeId),
    /// A leg's length.
    Leg(usize),
    /// A length, rotation or bend angle of a row; the row after the bends is the last.
    Row(usize),
    /// A bend angle given with legs.
    Bend(usize),
    /// A rotation given with legs; the one before the second bend is 0.
    Rotation(usize),
    /// The tube's outside diameter.
    Od,
}

/// A mistake in a shape. Nodes are those of [`NodeId`], legs run from bend to bend.
///
/// `Display` words it in millimetres with plain node numbers; [`ShapeMistake::words`] in the reader's units and names.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", self.plain())]
pub enum ShapeMistake {
    /// A path needs two nodes at least.
    TooFewNodes {
        /// How many there are.
        count: usize,
    },
    /// A figure is NaN, infinite, or beyond 1e15 mm.
    NotFinite {
        /// Where it stands.
        place: Place,
    },
    /// Two nodes in a row are closer than 0.01 mm.
    NodesCoincide {
        /// The first of the two.
        first: NodeId,
        /// The second.
        second: NodeId,
        /// Their distance.
        apart: Length,
    },
    /// The path turns back on itself: over 175 degrees.
    Reversal {
        /// Where.
        node: NodeId,
        /// The bend angle.
        angle: Angle,
    },
    /// No straight is left between two bends, or between a bend and an end.
    LegTooShort {
        /// Which leg, counted from 0, from bend to bend.
        leg: usize,
        /// Its node toward A.
        from: NodeId,
        /// Its node toward B.
        to: NodeId,
        /// From corner to corner on the centreline.
        length: Length,
        /// What the bend at its end toward A takes; `None` at the tube's end.
        a: Option<Tangent>,
        /// What the bend at its end toward B takes; `None` at the tube's end.
        b: Option<Tangent>,
        /// How much longer the leg would have to be.
        missing: Length,
    },
    /// A row gives a straight below 0.
    StraightBelowZero {
        /// Which row, counted from 0, as given.
        row: usize,
        /// Its length.
        length: Length,
    },
    /// A bend angle below 0, or of 360 degrees and more.
    BendOutOfRange {
        /// Which bend, counted from 0, as given.
        bend: usize,
        /// Its bend angle.
        angle: Angle,
    },
    /// A rotation before the first bend says nothing about the shape.
    RotationBeforeFirstBend {
        /// The rotation.
        rotation: Angle,
    },
    /// There must be one leg more than bends.
    LegsAndBendsDiffer {
        /// Legs given.
        legs: usize,
        /// Bends given.
        bends: usize,
    },
    /// There must be one rotation fewer than bends, or none at all.
    RotationsAndBendsDiffer {
        /// Rotations given.
        rotations: usize,
        /// Bends given.
        bends: usize,
    },
    /// A formed radius that is not a figure above 0.
    RadiusNotPositive {
        /// Of which bend.
        bend: BendId,
        /// At which node.
        node: NodeId,
        /// The radius.
        radius: Length,
    },
    /// The path comes back to its first node.
    ClosedPath {
        /// The last node.
        last: NodeId,
        /// The longest leg runs from this node ..
        from: NodeId,
        /// .. to this one.
        to: NodeId,
        /// Its middle, mm, in the axes of the path: a good place to split the path.
        middle: Point3<f64>,
    },
}

impl ShapeMistake {
    /// A stable name in kebab case.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::TooFewNodes { .. } => "too-few-nodes",
            Self::NotFinite { .. } => "not-finite",
            Self::NodesCoincide { .. } => "nodes-coincide",
            Self::Reversal { .. } => "reversal",
            Self::LegTooShort { .. } => "leg-too-short",
            Self::StraightBelowZero { .. } => "straight-below-zero",
            Self::BendOutOfRange { .. } => "bend-out-of-range",
            Self::RotationBeforeFirstBend { .. } => "rotation-before-first-bend",
            Self::LegsAndBendsDiffer { .. } => "legs-and-bends-differ",
            Self::RotationsAndBendsDiffer { .. } => "rotations-and-bends-differ",
            Self::RadiusNotPositive { .. } => "radius-not-positive",
            Self::ClosedPath { .. } => "closed-path",
        }
    }

    /// The node that it is about, the one toward A where there are several: for rows and legs the node of [`NodeId`] that
    /// belongs to the row or bend. `None` where it is about the tube as a whole.
    #[must_use]
    pub const fn node(&self) -> Option<NodeId> {
        match self {
            Self::NodesCoincide { second: node, .. }
            | Self::Reversal { node, .. }
            | Self::RadiusNotPositive { node, .. }
            | Self::LegTooShort { from: node, .. }
            | Self::ClosedPath { last: node, .. }
            | Self::NotFinite { place: Place::Node(node) } => Some(*node),
            Self::StraightBelowZero { row: place, .. }
            | Self::NotFinite { place: Place::Leg(place) | Place::Row(place) } => Some(NodeId(*place)),
            Self::BendOutOfRange { bend: place, .. } | Self::NotFinite { place: Place::Bend(place) } => {
                Some(NodeId(*place + 1))
            }
            Self::NotFinite { place: Place::Rotation(place) } => Some(NodeId(*place + 2)),
            Self::RotationBeforeFirstBend { .. } => Some(NodeId(0)),
            Self::TooFewNodes { .. }
            | Self::LegsAndBendsDiffer { .. }
            | Self::RotationsAndBendsDiffer { .. }
            | Self::NotFinite { place: Place::Od } => None,
        }
    }

    fn plain(&self) -> String {
        self.words(&People::mm(), &|node| node.to_string())
    }

    /// What is wrong, in the reader's units; `name` gives a node as it is to be called, such as `node 3` or `knee-left`.
    #[must_use]
    pub fn words(&self, people: &People, name: &dyn Fn(NodeId) -> String) -> String {
        match self {
            Self::TooFewNodes { count } => format!("a path needs two nodes, and there are {count}"),
            Self::NotFinite { place } => {
                let place = match place {
                    Place::Node(node) => format!("a coordinate of {}", name(*node)),
                    Place::Leg(leg) => format!("the length of leg {}", leg + 1),
                    Place::Row(row) => format!("a figure of row {}", row + 1),
                    Place::Bend(bend) => format!("the angle of bend {}", bend + 1),
                    Place::Rotation(rotation) => format!("the rotation before bend {}", rotation + 2),
                    Place::Od => "the outside diameter".to_owned(),
                };
                format!("{place} is not a finite figure")
            }
            Self::NodesCoincide { first, second, apart } => {
                let apart = people.figure(*apart);
                let least = people.figure(SAME_NODE);
                format!("{} and {} are {apart} apart: less than {least} is no leg", name(*first), name(*second))
            }
            Self::Reversal { node, angle } => {
                let most = people.angle_with_unit(SHARPEST_CORNER);
                format!("the path turns back at {}: {}, and a corner can be at most {most}", name(*node), close(*angle))
            }
            Self::LegTooShort { leg, from, to, length, a, b, missing } => {
                let mut words = format!("leg {} from {} to {} is too short", leg + 1, name(*from), name(*to));
                let _ = write!(words, " by {}: it is {} long", people.missing(*missing), people.figure(*length));
                for tangent in [a, b].into_iter().flatten() {
                    let _ = write!(
                        words,
                        ", the {} bend at {} with a formed radius of {} takes {}",
                        people.angle_with_unit(tangent.angle),
                        name(tangent.node),
                        people.figure(tangent.radius),
                        people.figure(tangent.setback),
                    );
                }
                words
            }
            Self::StraightBelowZero { row, length } => {
                let missing = people.missing(-*length);
                format!("the straight of row {} is {}: {missing} are missing", row + 1, people.figure(*length))
            }
            Self::BendOutOfRange { bend, angle } => {
                format!("bend {} is {}: a bend angle is at least 0° and below 360°", bend + 1, close(*angle))
            }
            Self::RotationBeforeFirstBend { rotation } => {
                format!("a rotation of {} before the first bend says nothing about the shape", close(*rotation))
            }
            Self::LegsAndBendsDiffer { legs, bends } => {
                format!("{legs} legs and {bends} bends: there must be one leg more than bends")
            }
            Self::RotationsAndBendsDiffer { rotations, bends } => {
                format!("{rotations} rotations and {bends} bends: there must be one rotation fewer than bends, or none")
            }
            Self::RadiusNotPositive { bend, node, radius } => {
                let radius = people.figure(*radius);
                format!("bend {} at {} has a formed radius of {radius}", bend.number(), name(*node))
            }
            Self::ClosedPath { last, .. } => {
                format!("the path comes back to its first node at {}: a tube has two ends", name(*last))
            }
        }
    }

    /// What to change, where that can be said.
    #[must_use]
    pub fn way_out(&self, people: &People, name: &dyn Fn(NodeId) -> String) -> Option<String> {
        Some(match self {
            Self::NodesCoincide { first, second, .. } => format!("leave out {} or {}", name(*first), name(*second)),
            Self::Reversal { .. } => "give a U-bend by `rows`, which need no corner point".to_owned(),
            Self::LegTooShort { a, b, missing, .. } => {
                let which = if a.is_some() && b.is_some() { "bends" } else { "bend" };
                format!("make the leg {} longer, the {which} smaller, or take a smaller clr", people.missing(*missing))
            }
            Self::RotationBeforeFirstBend { .. } => "leave it out, or write 0".to_owned(),
            Self::ClosedPath { from, to, middle, .. } => {
                let [x, y, z] = [middle.x, middle.y, middle.z].map(|mm| people.figure(Length::mm(mm)));
                let (from, to) = (name(*from), name(*to));
                format!("split it in the middle of its longest leg, between {from} and {to} at ({x}, {y}, {z})")
            }
            _ => return None,
        })
    }
}

/// An angle beside a bound: fine enough that it never reads like the bound.
fn close(angle: Angle) -> String {
    let degrees = angle.to_deg();
    let text = format!("{degrees:.3}");
    format!("{}°", text.trim_end_matches('0').trim_end_matches('.'))
}
