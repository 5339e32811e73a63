//! From millimetres in double precision to the window's units in single precision: the only place where that is done.
//!
//! The window's unit is 100 mm. A bender and its tubes are then some 1 to 60 units across, which suits the range between a
//! camera's near and far planes. In single precision a point 6 m from the origin is off by less than 0.0003 mm, far
//! below what a picture shows; no figure is ever read back from here.

use glam::Vec3;
use nalgebra::{Point3, Vector3};
use tubewright::units::Length;

/// Millimetres in one unit of the window.
pub const MM_PER_UNIT: f64 = 100.0;

/// A point, mm, in the window's units; the axes stay as they are (+z is the die's axis).
///
/// Finite for every point nearer than 1e40 mm; what comes from a checked job is.
#[must_use]
pub fn point(point: &Point3<f64>) -> Vec3 {
    Vec3::new(units(point.x), units(point.y), units(point.z))
}

/// A direction: axes kept, length kept, so that a unit vector stays one (to single precision).
#[must_use]
pub fn direction(direction: &Vector3<f64>) -> Vec3 {
    Vec3::new(single(direction.x), single(direction.y), single(direction.z))
}

/// A length, such as a radius, in the window's units.
#[must_use]
pub fn length(length: Length) -> f32 {
    units(length.to_mm())
}

fn units(mm: f64) -> f32 {
    // Divided before it is rounded to single precision: one rounding, not two.
    single(mm / MM_PER_UNIT)
}

fn single(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hundred_millimetres_are_one_unit() {
        assert_eq!(point(&Point3::new(100.0, -250.0, 0.0)), Vec3::new(1.0, -2.5, 0.0));
        assert!((length(Length::inch(1.0)) - 0.254).abs() <= f32::EPSILON);
    }

    #[test]
    fn axes_are_not_swapped() {
        assert_eq!(point(&Point3::new(0.0, 0.0, 300.0)), Vec3::new(0.0, 0.0, 3.0));
        assert_eq!(direction(&Vector3::x()), Vec3::X);
        assert_eq!(direction(&Vector3::y()), Vec3::Y);
        assert_eq!(direction(&Vector3::z()), Vec3::Z);
    }

    #[test]
    fn directions_are_not_scaled() {
        let slant = Vector3::new(1.0, 2.0, -2.0) / 3.0;
        assert!((direction(&slant).length() - 1.0).abs() <= 2.0 * f32::EPSILON);
    }

    #[test]
    fn six_metres_keep_a_thousandth_of_a_millimetre() {
        for mm in [5999.9371, -5123.4567, 6000.0] {
            let shown = f64::from(point(&Point3::new(mm, 0.0, 0.0)).x) * MM_PER_UNIT;
            assert!((shown - mm).abs() < 3e-4, "{mm} is shown as {shown}");
        }
    }
}
