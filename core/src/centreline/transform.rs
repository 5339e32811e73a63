//! The same tube seen otherwise: from its other end, in a mirror.

use nalgebra::{Point3, Unit, Vector3};

use super::{Centreline, Row, Rows};
use crate::units::{Angle, Length};

/// An axis of the job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// x.
    X,
    /// y.
    Y,
    /// z.
    Z,
}

/// A plane to mirror in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Any point of it, mm.
    pub point: Point3<f64>,
    /// Its normal, either way.
    pub normal: Unit<Vector3<f64>>,
}

impl Plane {
    /// The plane square to an axis where that coordinate has a value: `y = 12`.
    #[must_use]
    pub fn square_to(axis: Axis, at: Length) -> Self {
        let normal = match axis {
            Axis::X => Vector3::x_axis(),
            Axis::Y => Vector3::y_axis(),
            Axis::Z => Vector3::z_axis(),
        };
        Self { point: Point3::from(normal.into_inner() * at.to_mm()), normal }
    }

    /// A point's image.
    #[must_use]
    pub fn mirror(&self, point: &Point3<f64>) -> Point3<f64> {
        point - self.normal.into_inner() * (2.0 * self.normal.dot(&(point - self.point)))
    }

    /// A direction's image.
    #[must_use]
    pub fn mirror_direction(&self, direction: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        Unit::new_normalize(direction.into_inner() - self.normal.into_inner() * (2.0 * self.normal.dot(direction)))
    }
}

impl Centreline {
    /// The same tube with its ends exchanged: rows, nodes and radii in reverse order; rotations keep their signs.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let end = self.last_frame();
        let bends = &self.rows.bends;
        let straights: Vec<Length> = self.straights().collect();
        let last = self.nodes.len().saturating_sub(1);
        // The rotation between two bends stands before the other of the two.
        let row = |i: usize| Row {
            length: straights[i + 1],
            rotation: bends.get(i + 1).map_or(Angle::ZERO, |after| after.rotation),
            angle: bends[i].angle,
        };
        Self {
            rows: Rows { bends: (0..bends.len()).rev().map(row).collect(), last: straights[0] },
            radii: self.radii.iter().rev().copied().collect(),
            nodes: self.nodes.iter().rev().copied().collect(),
            bend_nodes: self.bend_nodes.iter().rev().map(|node| last - node).collect(),
            passed: self.passed.iter().rev().map(|node| last - node).collect(),
            start: self.nodes.last().copied().flatten().unwrap_or(end.at),
            direction: -end.direction,
            normal: if bends.is_empty() { self.normal } else { -end.normal },
        }
    }

    /// The same tube with its ends cut back along their straights by so much, or longer where that is below 0; its nodes stay as they are.
    #[must_use]
    pub fn cut_back(&self, [by_a, by_b]: [Length; 2]) -> Self {
        let mut cut = self.clone();
        cut.start += self.direction.into_inner() * by_a.to_mm();
        match cut.rows.bends.first_mut() {
            Some(first) => first.length -= by_a,
            None => cut.rows.last -= by_a,
        }
        cut.rows.last -= by_b;
        cut
    }

    /// The tube's mirror image, with the same end A: all rotations change their signs (180 degrees stays 180), nothing
    /// else in the rows does.
    #[must_use]
    pub fn mirrored(&self, plane: &Plane) -> Self {
        let row = |row: &Row| Row { rotation: (-row.rotation).wrapped() + Angle::ZERO, ..*row };
        let normal = plane.mirror_direction(&self.normal);
        Self {
            rows: Rows { bends: self.rows.bends.iter().map(row).collect(), last: self.rows.last },
            radii: self.radii.clone(),
            nodes: self.nodes.iter().map(|node| node.as_ref().map(|node| plane.mirror(node))).collect(),
            bend_nodes: self.bend_nodes.clone(),
            passed: self.passed.clone(),
            start: plane.mirror(&self.start),
            direction: plane.mirror_direction(&self.direction),
            // A cross product of mirrored directions is the mirrored cross product turned about.
            normal: if self.rows.bends.is_empty() { normal } else { -normal },
        }
    }
}
