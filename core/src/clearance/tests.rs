use nalgebra::Point3;

use super::testing::{bender, blank, solid};
use super::*;
use crate::bender::{Accuracy, BendMotion, Bender, Carrier, Follower, Shape, TriangleMesh};
use crate::centreline::BendId;
use crate::forming::{Blank, LeadEnd};

fn post(reach: f64, degrees: f64, low: f64, high: f64, radius: f64) -> Shape {
    let (sin, cos) = libm::sincos(degrees.to_radians());
    Shape::Capsule {
        from: Point3::new(reach * cos, reach * sin, low),
        to: Point3::new(reach * cos, reach * sin, high),
        radius: Length::mm(radius),
    }
}

/// One bend of 90 degrees with 500 ahead and 600 behind, CLR 100, tube of 40.
fn hook() -> Blank {
    blank(&[(500.0, 0.0, 90.0)], 600.0, 100.0, 40.0)
}

fn asked(bender: &Bender, blank: &Blank, bend: usize, made: &[bool], obstacle: &str) -> Clearance {
    let step = Step { bender, blank, bend: BendId(bend), lead: LeadEnd::A, made };
    let report = report(&step);
    report.clearances.into_iter().find(|one| one.obstacle == obstacle).unwrap()
}

#[test]
fn a_leg_that_sweeps_over_a_post_comes_as_near_as_the_post_is_low() {
    let mut bender = bender();
    bender.solids = vec![solid("post", post(400.0, 30.0, -300.0, -60.0, 10.0))];
    let found = asked(&bender, &hook(), 0, &[false], "post");
    let nearest = found.nearest.unwrap();
    // 60 from the post's upper ball to the leg's axis, less 10 and 20.
    assert!((nearest.gap.to_mm() - 30.0).abs() < 0.011);
    // The leg lies over the post when 400 sin(30 - a) is -100, at 44.48 degrees; half a degree off hardly shows in the gap.
    let over = 30.0 + libm::asin(0.25).to_degrees();
    assert!((nearest.die_angle.to_deg() - over).abs() < 0.5, "{}", nearest.die_angle.to_deg());
    assert_eq!(found.verdict, Verdict::Clear);
}

#[test]
fn the_first_contact_is_at_the_die_angle_that_geometry_says() {
    let mut bender = bender();
    bender.solids = vec![solid("post", post(400.0, 60.0, -300.0, 300.0, 10.0))];
    let found = asked(&bender, &hook(), 0, &[false], "post");
    assert_eq!(found.verdict, Verdict::Contact);
    let nearest = found.nearest.unwrap();
    assert_eq!(nearest.gap, Length::ZERO);
    // The leg's axis is 30 from the post's when 400 sin(60 - a) is 30 - 100.
    let first = 60.0 + libm::asin(70.0 / 400.0).to_degrees();
    assert!((nearest.die_angle.to_deg() - first).abs() < 0.001, "{} {first}", nearest.die_angle.to_deg());
}

#[test]
fn a_leg_too_short_to_reach_a_post_passes_it_by_the_difference() {
    let mut bender = bender();
    let circle = libm::hypot(500.0, 100.0);
    bender.solids = vec![solid("post", post(circle + 33.0, 50.0, -300.0, 300.0, 10.0))];
    let nearest = asked(&bender, &hook(), 0, &[false], "post").nearest.unwrap();
    assert!((nearest.gap.to_mm() - 3.0).abs() < 0.011);
    assert!(nearest.blank.abs() < Length::mm(0.1), "the lead end itself");
    let place = crate::motion::place(
        &Step { bender: &bender, blank: &hook(), bend: BendId(0), lead: LeadEnd::A, made: &[false] },
        nearest.blank,
        nearest.die_angle,
    );
    assert!((place - nearest.point).norm() < 1e-6);
}

#[test]
fn the_gap_to_keep_grows_with_the_distance_from_the_die() {
    let mut bender = bender();
    let circle = libm::hypot(500.0, 100.0);
    bender.solids = vec![solid("post", post(circle + 50.0, 50.0, -300.0, 300.0, 10.0))];
    bender.accuracy = Some(Accuracy { mark: Length::mm(1.0), bend: Angle::deg(0.5), rotation: Angle::deg(1.0) });
    let found = asked(&bender, &hook(), 0, &[false], "post");
    // 500 mm out: 5 + 2 root(1 + 4.36^2 + 8.73^2) = 24.62, more than the gap of 20.
    let nearest = found.nearest.unwrap();
    assert!((nearest.keep.to_mm() - 24.62).abs() < 0.01, "{}", nearest.keep.to_mm());
    assert!((nearest.gap.to_mm() - 20.0).abs() < 0.011);
    assert_eq!(found.verdict, Verdict::Tight);
    bender.accuracy = None;
    assert_eq!(asked(&bender, &hook(), 0, &[false], "post").verdict, Verdict::Clear);
}

#[test]
fn two_legs_of_a_hairpin_are_as_far_apart_as_the_straight_between_says() {
    let mut bender = bender();
    bender.clearance.comfortable = Length::mm(500.0);
    // A long follower, so that the nearest that is looked at are the legs.
    bender.dies[0].follower_length = Length::mm(300.0);
    let pin = blank(&[(700.0, 0.0, 90.0), (70.0, 0.0, 90.0)], 900.0, 100.0, 40.0);
    let found = asked(&bender, &pin, 1, &[true, false], "tube");
    let nearest = found.nearest.unwrap();
    // Two radii and the straight, less an OD, when both legs are parallel.
    assert!((nearest.gap.to_mm() - 230.0).abs() < 0.011, "{found:?}");
    assert!((nearest.die_angle.to_deg() - 90.0).abs() < 0.1);
}

#[test]
fn what_holds_the_tube_is_not_held_against_what_it_holds() {
    let bender = bender();
    for tool in ["die", "clamp", "follower"] {
        let found = asked(&bender, &hook(), 0, &[false], tool);
        assert_eq!((found.nearest, found.verdict), (None, Verdict::Clear), "{tool}");
    }
}

#[test]
fn a_tube_that_starts_inside_a_closed_mesh_touches_it_at_once() {
    let mut bender = bender();
    let corner = |bits: usize| {
        let pick = |bit: usize, low: f64, high: f64| if bits & bit == 0 { low } else { high };
        Point3::new(pick(1, 300.0, 900.0), pick(2, -400.0, 200.0), pick(4, -300.0, 300.0))
    };
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
    let mesh = TriangleMesh { points: (0..8).map(corner).collect(), triangles };
    bender.solids = vec![solid("box of sheet", Shape::Mesh(mesh))];
    let found = asked(&bender, &hook(), 0, &[false], "box of sheet");
    assert_eq!(found.verdict, Verdict::Contact);
    assert_eq!(found.nearest.unwrap().die_angle, Angle::ZERO);
}

#[test]
fn a_solid_that_travels_keeps_its_distance_from_the_tail() {
    let mut bender = bender();
    bender.dies[0].follower = Follower::Travels;
    let mut block = solid("carriage", post(0.0, 0.0, 0.0, 0.0, 10.0));
    block.on = Carrier::Follower;
    // A ball 130 out beside the tail, 300 behind the tangent point.
    block.shape = Shape::Capsule {
        from: Point3::new(-300.0, -230.0, 0.0),
        to: Point3::new(-300.0, -230.0, 0.0),
        radius: Length::mm(100.0),
    };
    bender.solids = vec![block];
    let found = asked(&bender, &hook(), 0, &[false], "carriage");
    assert!((found.nearest.unwrap().gap.to_mm() - 10.0).abs() < 0.011);
    // Where the die stands it swings with the tail but does not follow it: the gap is the same while the tail lasts.
    bender.motion = BendMotion::DieStands;
    let found = asked(&bender, &hook(), 0, &[false], "carriage");
    assert!((found.nearest.unwrap().gap.to_mm() - 10.0).abs() < 0.011);
}

#[test]
fn a_gap_that_is_just_kept_is_kept() {
    let mut bender = bender();
    // Nothing rounds here: 25 over the floor, less 20.
    bender.centre_height = Length::mm(25.0);
    assert_eq!(asked(&bender, &hook(), 0, &[false], "floor").verdict, Verdict::Clear);
    bender.centre_height = Length::mm(24.999);
    assert_eq!(asked(&bender, &hook(), 0, &[false], "floor").verdict, Verdict::Tight);
    bender.centre_height = Length::mm(20.0);
    let found = asked(&bender, &hook(), 0, &[false], "floor");
    assert_eq!((found.verdict, found.nearest.unwrap().die_angle), (Verdict::Contact, Angle::ZERO));
}

#[test]
fn bug_what_must_be_kept_grows_while_a_part_slides_over_a_level_floor() {
    // The trailing part turns back under the die, so that its end moves away from where its bends were made: its height stays
    // the same all the while, and what must be kept over the floor does not.
    let blank = blank(&[(300.0, 0.0, 90.0), (150.0, 90.0, 170.0)], 900.0, 100.0, 40.0);
    let mut bender = bender();
    bender.accuracy = Some(Accuracy { mark: Length::ZERO, bend: Angle::deg(0.5), rotation: Angle::deg(1.0) });
    let asked_at = |bender: &mut Bender, height: f64| {
        bender.centre_height = Length::mm(height);
        bender.clearance.comfortable = Length::mm(height);
        asked(bender, &blank, 0, &[false, true], "floor")
    };
    let nearest = asked_at(&mut bender, 2000.0).nearest.unwrap();
    let drawn = |angle: f64| nalgebra::Vector3::new(100.0 * angle, 0.0, 0.0);
    let end = nearest.point - drawn(nearest.die_angle.to_rad()) + drawn(core::f64::consts::FRAC_PI_2);
    // Where the arc ends, and where the other bend begins, when the die has turned.
    let made = Point3::new(-150.0, -100.0, 0.0);
    let squares = (end - Point3::new(0.0, -100.0, 0.0)).norm_squared() + (end - made).norm_squared();
    let each = 0.5_f64.to_radians().powi(2) + 1.0_f64.to_radians().powi(2);
    let keep = 5.0 + 2.0 * (each * squares).sqrt();
    assert!(end.x > 500.0 && end.z < -200.0, "{end}");
    for (more, verdict) in [(-0.1, Verdict::Tight), (0.1, Verdict::Clear)] {
        let found = asked_at(&mut bender, 20.0 - end.z + keep + more);
        assert_eq!(found.verdict, verdict, "{more} {found:?}, {keep}");
    }
}
