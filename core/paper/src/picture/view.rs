//! A direction to look from, and the scale.

use kurbo::{Point, Vec2};
use nalgebra::{Point3, Vector3};

use super::broken::Break;

/// A parallel projection onto the sheet: three directions in space, each square to the others, the scale, and where the origin comes to lie.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// What points to the right on the sheet.
    pub(super) right: Vector3<f64>,
    /// What points up on the sheet.
    pub(super) up: Vector3<f64>,
    /// What points to whoever looks: `right x up`.
    pub(super) toward: Vector3<f64>,
    /// Millimetres on the sheet for one of the tube.
    pub(super) scale: f64,
    /// Where the origin lies on the sheet, mm.
    pub(super) at: Vec2,
    /// What is left out of it.
    pub(super) broken: Option<Break>,
}

impl View {
    /// With the origin in the upper left corner and at 1:1.
    pub(super) fn new(right: Vector3<f64>, up: Vector3<f64>) -> Self {
        Self { right, up, toward: right.cross(&up), scale: 1.0, at: Vec2::ZERO, broken: None }
    }

    /// At another scale, with the origin at another place of the sheet.
    pub(super) fn placed(self, scale: f64, at: Vec2) -> Self {
        Self { scale, at, ..self }
    }

    /// With a part left out.
    pub(super) fn broken(self, broken: Break) -> Self {
        Self { broken: Some(broken), ..self }
    }

    /// Where a point comes to lie on the sheet, mm.
    pub(super) fn point(&self, point: Point3<f64>) -> Point {
        let point = self.broken.map_or(point, |broken| broken.closed(point));
        let (x, y) = (point.coords.dot(&self.right), point.coords.dot(&self.up));
        Point::new(self.at.x + self.scale * x, self.at.y - self.scale * y)
    }

    /// A direction on the sheet, not scaled: as long as it is seen.
    pub(super) fn direction(&self, direction: Vector3<f64>) -> Vec2 {
        Vec2::new(direction.dot(&self.right), -direction.dot(&self.up))
    }

    /// How near to whoever looks, mm of the tube: larger is nearer.
    pub(super) fn depth(&self, point: Point3<f64>) -> f64 {
        point.coords.dot(&self.toward)
    }
}
