//! From where a scene is looked at: a stand that holds all of a box in the picture.

use nalgebra::{Point3, Unit, Vector3};

use crate::scene::{Scene, Stand};

/// Height of the picture as an angle, radians: that of the window's camera.
pub const FIELD: f64 = core::f64::consts::FRAC_PI_4;

/// A fixed way of looking at a scene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Side {
    /// From where the scene is looked at first.
    Stand,
    /// From above.
    Top,
    /// From the front.
    Front,
    /// From the side.
    Side,
    /// From where it is looked at now: the direction from it toward the eye.
    Now(Vector3<f64>),
}

/// A stand from which the scene's subject fills the free part of a picture, seen from one side.
///
/// `aspect` is the width of the picture by its height. `left` is the part of its width, from 0 to 0.9, that something covers from the left; the
/// subject then stands in the middle of the rest. The picture's upward direction is the scene's.
#[must_use]
pub fn fitted(scene: &Scene, side: Side, aspect: f64, left: f64) -> Stand {
    let up = scene.up.into_inner();
    let front = front(scene);
    let toward = match side {
        Side::Stand => scene.stand.eye - scene.stand.at,
        // Not quite along the upward direction, which would leave the turn about it open.
        Side::Top => up + front * 1e-3,
        Side::Front => front,
        Side::Side => front.cross(&up),
        Side::Now(toward) => toward,
    };
    fit(scene.subject(), Unit::new_normalize(toward), scene.up, aspect, left)
}

/// The level direction from the scene toward its stand.
fn front(scene: &Scene) -> Vector3<f64> {
    let up = scene.up.into_inner();
    let toward = scene.stand.eye - scene.stand.at;
    let level = toward - up * up.dot(&toward);
    // Along an axis, so that a front view is square to the drawing.
    let axis = [Vector3::x(), -Vector3::x(), Vector3::y(), -Vector3::y(), Vector3::z(), -Vector3::z()]
        .into_iter()
        .filter(|axis| axis.dot(&up).abs() < 0.5)
        .max_by(|one, other| one.dot(&level).total_cmp(&other.dot(&level)));
    axis.unwrap_or_else(Vector3::x)
}

fn fit(
    [low, high]: [Point3<f64>; 2],
    toward: Unit<Vector3<f64>>,
    up: Unit<Vector3<f64>>,
    aspect: f64,
    left: f64,
) -> Stand {
    let right = Unit::new_normalize(up.cross(&toward));
    let above = toward.cross(&right);
    let tall = libm::tan(FIELD / 2.0) * 0.86;
    let wide = tall * aspect * (1.0 - left);
    let at = nalgebra::center(&low, &high);
    let mut far: f64 = 1.0;
    for corner in 0..8 {
        let pick = |bit: u32, low: f64, high: f64| if corner >> bit & 1 == 1 { high } else { low };
        let corner = Point3::new(pick(0, low.x, high.x), pick(1, low.y, high.y), pick(2, low.z, high.z)) - at;
        // A corner that lies nearer than the middle by `ahead` needs the eye as much further off.
        let (ahead, side, rise) = (corner.dot(&toward), corner.dot(&right).abs(), corner.dot(&above).abs());
        far = far.max(ahead + side / wide).max(ahead + rise / tall);
    }
    // The middle of what is free lies right of the picture's middle by half of what is covered.
    let shift = right.into_inner() * (-far * libm::tan(FIELD / 2.0) * aspect * left);
    Stand { eye: at + toward.into_inner() * far + shift, at: at + shift }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where a point lies in the picture: from -1 to 1 across and up.
    fn seen(stand: &Stand, up: Unit<Vector3<f64>>, aspect: f64, point: Point3<f64>) -> (f64, f64) {
        let toward = Unit::new_normalize(stand.eye - stand.at);
        let right = Unit::new_normalize(up.cross(&toward));
        let above = toward.cross(&right);
        let from = point - stand.eye;
        let deep = -from.dot(&toward) * libm::tan(FIELD / 2.0);
        (from.dot(&right) / deep / aspect, from.dot(&above) / deep)
    }

    #[test]
    fn the_whole_box_is_in_the_free_part_of_the_picture() {
        let corners = [Point3::new(-1500.0, -200.0, 0.0), Point3::new(900.0, 400.0, 700.0)];
        for toward in [Vector3::new(-1.0, -1.0, 0.7), Vector3::new(0.3, -1.0, 0.1), Vector3::new(0.01, 0.0, 1.0)] {
            for (aspect, left) in [(1.6, 0.0), (1.6, 0.35), (0.6, 0.0)] {
                let up = Vector3::z_axis();
                let stand = fit(corners, Unit::new_normalize(toward), up, aspect, left);
                let mut most: f64 = 0.0;
                for x in [corners[0].x, corners[1].x] {
                    for y in [corners[0].y, corners[1].y] {
                        for z in [corners[0].z, corners[1].z] {
                            let (across, high) = seen(&stand, up, aspect, Point3::new(x, y, z));
                            assert!(across > -1.0 + 2.0 * left && across < 1.0 && high.abs() < 1.0, "{across} {high}");
                            most = most.max(high.abs()).max((across - left).abs() / (1.0 - left));
                        }
                    }
                }
                assert!(most > 0.6, "the box fills no more than {most}");
            }
        }
    }
}
