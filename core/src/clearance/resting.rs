//! Solids that stand in the way of a straight tube lying in the bender at rest.

use glam::DVec3;
use parry3d_f64::math::Pose;
use parry3d_f64::query;
use parry3d_f64::shape::{Capsule, Cuboid, Cylinder, Shape as General, TriMesh};

use super::CONTACT;
use super::kernel::{Form, dvec};
use crate::bender::{Bender, Die, Shape};
use crate::body::tangent_point;
use crate::units::Length;

/// Places in the bender's list of the solids of its own that touch the straight tube at die angle 0, between
/// `clamp_length` ahead of and `follower_length` behind the tangent point.
///
/// The tube is cut off square at both places: what stands just beyond is in nobody's way here. Touching within 1e-6 mm
/// counts.
#[must_use]
pub fn resting_contacts(bender: &Bender, die: &Die, od: Length) -> Vec<usize> {
    let radius = 0.5 * od.to_mm();
    let tangent = tangent_point(bender.hand, die.clr.to_mm());
    let from = tangent - die.follower_length.to_mm() * DVec3::X;
    let along = (die.clamp_length + die.follower_length).to_mm() * DVec3::X;
    let touches = |shape: &Shape| {
        let form = Form::new(shape);
        let gap = |start: DVec3, along: DVec3| form.near(start, along).gap - radius;
        // The tube with rounded ends that is shorter or longer than the one cut square settles all but its ends.
        if gap(from, along) > CONTACT {
            return form.holds(from);
        }
        let short = along.x - 2.0 * radius;
        if short >= 0.0 && gap(from + radius * DVec3::X, short * DVec3::X) <= CONTACT {
            return true;
        }
        square_ends_touch(shape, from + 0.5 * along, 0.5 * along.x, radius)
    };
    (0..bender.solids.len()).filter(|&solid| touches(&bender.solids[solid].shape)).collect()
}

/// By parry's general distance, which is good to about a ten-thousandth of a millimetre: only the ends are left to it.
fn square_ends_touch(shape: &Shape, middle: DVec3, half: f64, radius: f64) -> bool {
    let tube = Cylinder::new(half.max(0.0), radius);
    let lying = |direction: DVec3, middle: DVec3| {
        Pose::from_parts(middle, parry3d_f64::math::Rotation::from_rotation_arc(DVec3::Y, direction))
    };
    let pose = lying(DVec3::X, middle);
    let touch = |at: &Pose, other: &dyn General| {
        query::distance(&pose, &tube, at, other).is_ok_and(|found| found.distance <= 1e-4)
    };
    match shape {
        Shape::Box { min, max } => {
            let (min, max) = (dvec(min).min(dvec(max)), dvec(min).max(dvec(max)));
            touch(&Pose::from_translation(0.5 * (min + max)), &Cuboid::new(0.5 * (max - min)))
        }
        Shape::Cylinder { from, to, radius } => {
            let (from, to) = (dvec(from), dvec(to));
            let other = Cylinder::new(0.5 * (to - from).length(), radius.to_mm());
            touch(&lying((to - from).normalize_or(DVec3::Y), 0.5 * (from + to)), &other)
        }
        Shape::Capsule { from, to, radius } => {
            touch(&Pose::IDENTITY, &Capsule::new(dvec(from), dvec(to), radius.to_mm()))
        }
        Shape::Mesh(mesh) => TriMesh::new(mesh.points.iter().map(dvec).collect(), mesh.triangles.clone())
            .is_ok_and(|other| touch(&Pose::IDENTITY, &other)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{bender, die, solid};
    use super::*;
    use crate::bender::{Hand, Solid};
    use nalgebra::Point3;

    fn block(min: [f64; 3], max: [f64; 3]) -> Solid {
        solid("block", Shape::Box { min: Point3::from(min), max: Point3::from(max) })
    }

    // The die of the tests: CLR 100, clamp 60 ahead, follower 120 behind; the tube lies at y = -100 and is 40 across.
    #[test]
    fn only_what_touches_between_clamp_and_follower_is_named() {
        let mut bender = bender();
        bender.solids = vec![
            block([-50.0, -90.0, -5.0], [-40.0, -80.5, 5.0]),
            block([-50.0, -79.9, -5.0], [-40.0, -70.0, 5.0]),
            // Begins 1 mm past the clamp, where a rounded end would still touch.
            block([61.0, -110.0, -5.0], [70.0, -90.0, 5.0]),
            block([-130.0, -110.0, -5.0], [-121.0, -90.0, 5.0]),
            block([59.0, -119.0, -5.0], [70.0, -110.0, 5.0]),
        ];
        assert_eq!(resting_contacts(&bender, &die(), Length::mm(40.0)), [0, 4]);
        assert_eq!(resting_contacts(&bender, &die(), Length::mm(40.4)), [0, 1, 4]);
        bender.hand = Hand::Clockwise;
        assert!(resting_contacts(&bender, &die(), Length::mm(40.0)).is_empty());
    }
}
