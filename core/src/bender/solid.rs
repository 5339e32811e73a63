//! Solids: what the tube must not touch.

use nalgebra::Point3;

use crate::units::Length;

/// What a solid is fixed to, and so how it moves during a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carrier {
    /// It stands.
    Frame,
    /// It moves with the die.
    Die,
    /// It moves with the follower.
    Follower,
}

/// A closed surface of triangles.
#[derive(Clone, Debug, PartialEq)]
pub struct TriangleMesh {
    /// Corner points, mm, in the bender frame.
    pub points: Vec<Point3<f64>>,
    /// Three places in `points` each.
    pub triangles: Vec<[u32; 3]>,
}

/// A closed body, mm, in the bender frame at die angle 0.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// All points between two corners.
    Box {
        /// Least corner.
        min: Point3<f64>,
        /// Greatest corner.
        max: Point3<f64>,
    },
    /// A cylinder with flat ends.
    Cylinder {
        /// Middle of one end.
        from: Point3<f64>,
        /// Middle of the other.
        to: Point3<f64>,
        /// Radius.
        radius: Length,
    },
    /// All points within a radius of a line from end to end.
    Capsule {
        /// One end.
        from: Point3<f64>,
        /// The other.
        to: Point3<f64>,
        /// Radius.
        radius: Length,
    },
    /// A closed surface.
    Mesh(TriangleMesh),
}

/// A named obstacle.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    /// Name, as the file calls it.
    pub name: String,
    /// What it is fixed to.
    pub on: Carrier,
    /// Its body.
    pub shape: Shape,
}

impl Solid {
    /// Whether it stands for the place of the operator: its name says so.
    #[must_use]
    pub fn is_operator(&self) -> bool {
        self.name.to_lowercase().contains("operator")
    }
}
