use super::*;
use crate::bender::TriangleMesh;
use crate::units::Length;
use nalgebra::Point3;
use parry3d_f64::math::Pose;
use parry3d_f64::query::distance;
use parry3d_f64::shape::{Capsule, Cuboid, Cylinder, Segment, Shape as Other, TriMesh};
use proptest::prelude::*;

fn at(x: f64, y: f64, z: f64) -> DVec3 {
    DVec3::new(x, y, z)
}

const BLOCK: Form = Form::Box { min: DVec3::new(-1.0, -2.0, -3.0), max: DVec3::new(1.0, 2.0, 3.0) };

#[test]
fn a_line_over_a_face_an_edge_and_a_corner_of_a_box() {
    let face = BLOCK.near(at(-9.0, 0.0, 5.0), at(18.0, 0.0, 0.0));
    assert!((face.gap - 2.0).abs() < 1e-12 && (face.normal - DVec3::Z).length() < 1e-12);
    let edge = BLOCK.near(at(4.0, 6.0, -9.0), at(0.0, 0.0, 18.0));
    assert!((edge.gap - 5.0).abs() < 1e-12);
    // From the corner (1, 2, 3) along (1, 1, 1), a line square to that direction.
    let corner = BLOCK.near(at(2.0, 3.0, 4.0) - at(1.0, -1.0, 0.0), 2.0 * at(1.0, -1.0, 0.0));
    assert!((corner.gap - 3.0_f64.sqrt()).abs() < 1e-9 && (corner.at - 0.5).abs() < 1e-6);
    assert!(BLOCK.near(at(-9.0, 0.0, 0.0), at(18.0, 1.0, 0.0)).gap <= 0.0);
}

#[test]
fn a_line_against_a_cylinder_in_every_region() {
    let tilted = DVec3::ONE.normalize();
    for axis in [DVec3::Z, tilted] {
        let form = Form::Cylinder { middle: DVec3::ZERO, axis, half: 10.0, radius: 4.0 };
        let side = axis.any_orthonormal_vector();
        let other = axis.cross(side);
        // Beside the wall, parallel to the axis and square to it.
        assert!((form.near(7.0 * side - 5.0 * axis, 10.0 * axis).gap - 3.0).abs() < 1e-12);
        assert!((form.near(7.0 * side - 50.0 * other, 100.0 * other).gap - 3.0).abs() < 1e-12);
        // Over the lid.
        assert!((form.near(12.0 * axis - 50.0 * other, 100.0 * other).gap - 2.0).abs() < 1e-12);
        // Past the rim: 3 outward and 4 up.
        assert!((form.near(7.0 * side + 14.0 * axis - 50.0 * other, 100.0 * other).gap - 5.0).abs() < 1e-12);
        // Through it.
        assert!(form.near(-50.0 * other, 100.0 * other).gap <= 0.0);
    }
}

#[test]
fn lines_that_cross_lie_side_by_side_or_have_no_length() {
    assert!((near_line(DVec3::ZERO, 10.0 * DVec3::X, at(5.0, -5.0, 2.0), 10.0 * DVec3::Y).gap - 2.0).abs() < 1e-12);
    assert!((near_line(DVec3::ZERO, 10.0 * DVec3::X, at(5.0, 3.0, 0.0), 10.0 * DVec3::X).gap - 3.0).abs() < 1e-12);
    assert!((near_line(DVec3::ZERO, 10.0 * DVec3::X, at(13.0, 4.0, 0.0), 10.0 * DVec3::X).gap - 5.0).abs() < 1e-12);
    assert!((near_line(DVec3::ZERO, DVec3::ZERO, at(3.0, 4.0, 0.0), DVec3::ZERO).gap - 5.0).abs() < 1e-12);
    let over = Form::Capsule { from: DVec3::ZERO, along: 9.0 * DVec3::Z, radius: 2.0 };
    assert!((over.near(at(5.0, 0.0, 4.0), DVec3::ZERO).gap - 3.0).abs() < 1e-12);
}

#[test]
fn the_height_over_a_plane_is_that_of_the_lower_end() {
    let floor = Form::Below { up: DVec3::Y, level: -10.0 };
    let near = floor.near(at(0.0, 5.0, 0.0), at(3.0, -8.0, 0.0));
    assert!((near.gap - 7.0).abs() < 1e-12 && near.at > 0.5);
    assert!(floor.near(at(0.0, -11.0, 0.0), DVec3::X).gap <= 0.0);
}

fn block_mesh(min: DVec3, max: DVec3) -> TriangleMesh {
    let points = (0..8)
        .map(|i| {
            let pick = |bit: usize, low: f64, high: f64| if i & bit == 0 { low } else { high };
            Point3::new(pick(1, min.x, max.x), pick(2, min.y, max.y), pick(4, min.z, max.z))
        })
        .collect();
    let triangles = vec![
        [0, 2, 1],
        [1, 2, 3],
        [4, 5, 6],
        [5, 7, 6],
        [0, 1, 4],
        [1, 5, 4],
        [2, 6, 3],
        [3, 6, 7],
        [0, 4, 2],
        [2, 4, 6],
        [1, 3, 5],
        [3, 7, 5],
    ];
    TriangleMesh { points, triangles }
}

#[test]
fn a_mesh_knows_its_inside() {
    let mesh = Form::new(&Shape::Mesh(block_mesh(DVec3::splat(-2.0), DVec3::splat(2.0))));
    assert!(mesh.holds(at(1.0, -1.5, 0.3)));
    assert!(!mesh.holds(at(2.1, 0.0, 0.0)));
    assert!((mesh.near(at(0.0, 0.0, 0.5), DVec3::ZERO).gap - 1.5).abs() < 1e-12);
    let none = Form::new(&Shape::Mesh(TriangleMesh { points: vec![], triangles: vec![[0, 1, 2]] }));
    assert!(none.near(DVec3::ZERO, DVec3::X).gap > 1e300);
    assert!(!none.holds(DVec3::ZERO));
}

#[test]
fn a_cylinder_of_any_direction_fits_its_bounds() {
    let form = Form::new(&Shape::Cylinder {
        from: Point3::new(0.0, 0.0, 0.0),
        to: Point3::new(3.0, 4.0, 0.0),
        radius: Length::mm(5.0),
    });
    let bounds = form.bounds();
    // The rim's extent along x is 5 x 4/5, along y 5 x 3/5, along z 5.
    assert!((bounds.min - at(-4.0, -3.0, -5.0)).length() < 1e-12);
    assert!((bounds.max - at(7.0, 7.0, 5.0)).length() < 1e-12);
}

fn point() -> impl Strategy<Value = DVec3> {
    let one = prop_oneof![-300.0..300.0f64, Just(0.0), Just(50.0)];
    (one.clone(), one.clone(), one).prop_map(|(x, y, z)| DVec3::new(x, y, z))
}

fn line(start: DVec3, along: DVec3) -> Segment {
    Segment::new(start, start + along)
}

/// parry's general distance: it stops at about 1e-6 of what it looks at, so it judges to a ten-thousandth of a mm.
fn judged(form: &Form, pose: &Pose, other: &dyn Other, start: DVec3, along: DVec3) -> Result<(), TestCaseError> {
    let near = form.near(start, along);
    let theirs = distance(&Pose::IDENTITY, &line(start, along), pose, other)
        .map_err(|e| TestCaseError::fail(e.to_string()))?
        .distance;
    prop_assert!((near.gap - theirs).abs() < 1e-4, "ours {} theirs {}", near.gap, theirs);
    let on_line = start + near.at * along;
    let alone = form.near(on_line, DVec3::ZERO).gap;
    prop_assert!((alone - near.gap).abs() < 1e-9, "the witness is {} away, not {}", alone, near.gap);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { rng_seed: proptest::test_runner::RngSeed::Fixed(11), ..ProptestConfig::with_cases(600) })]

    #[test]
    fn a_box_agrees_with_a_general_solver(start in point(), along in point(), a in point(), b in point()) {
        let (min, max) = (a.min(b), a.max(b));
        let other = Cuboid::new(0.5 * (max - min));
        judged(&Form::Box { min, max }, &Pose::from_translation(0.5 * (min + max)), &other, start, along)?;
    }

    #[test]
    fn a_capsule_agrees_with_a_general_solver(start in point(), along in point(), a in point(), b in point(), radius in 0.1..60.0f64) {
        let other = Capsule::new(a, b, radius);
        judged(&Form::Capsule { from: a, along: b - a, radius }, &Pose::IDENTITY, &other, start, along)?;
    }

    #[test]
    fn a_cylinder_agrees_with_a_general_solver(start in point(), along in point(), a in point(), b in point(), radius in 0.1..60.0f64) {
        prop_assume!((b - a).length() > 1.0);
        let shape = Shape::Cylinder { from: a.into(), to: b.into(), radius: Length::mm(radius) };
        let rotation = parry3d_f64::math::Rotation::from_rotation_arc(DVec3::Y, (b - a).normalize());
        let pose = Pose::from_parts(0.5 * (a + b), rotation);
        let other = Cylinder::new(0.5 * (b - a).length(), radius);
        judged(&Form::new(&shape), &pose, &other, start, along)?;
    }

    #[test]
    fn a_mesh_agrees_with_a_general_solver(start in point(), along in point(), a in point(), b in point()) {
        let (min, max) = (a.min(b), a.max(b));
        prop_assume!((max - min).min_element() > 1.0);
        let mesh = block_mesh(min, max);
        let other = TriMesh::new(mesh.points.iter().map(dvec).collect(), mesh.triangles.clone())
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        judged(&Form::new(&Shape::Mesh(mesh)), &Pose::IDENTITY, &other, start, along)?;
    }

    #[test]
    fn a_plane_through_the_nearest_point_keeps_a_convex_solid_on_one_side(
        start in point(), along in point(), a in point(), b in point(), radius in 0.1..60.0f64, corner in point(),
    ) {
        let forms = [
            Form::Box { min: a.min(b), max: a.max(b) },
            Form::Capsule { from: a, along: b - a, radius },
            Form::new(&Shape::Cylinder { from: a.into(), to: b.into(), radius: Length::mm(radius) }),
        ];
        for form in forms {
            let near = form.near(start, along);
            if near.gap > 0.0 {
                let level = near.normal.dot(start + near.at * along) - near.gap;
                let foot = form.near(corner, DVec3::ZERO);
                let on_it = corner - foot.gap * foot.normal;
                prop_assert!(near.normal.dot(on_it) <= level + 1e-7);
                // The whole line lies beyond a parallel plane at the gap.
                prop_assert!(near.normal.dot(start).min(near.normal.dot(start + along)) >= level + near.gap - 1e-7);
            }
        }
    }
}
