use core::f64::consts::{PI, TAU};

use nalgebra::{Point3, Vector3};

use super::*;
use crate::centreline::{Row, Rows};

fn line(from: Point3<f64>, to: Point3<f64>) -> Centreline {
    Centreline::from_nodes(&[from, to], &|_| Length::mm(100.0)).expect("two nodes apart")
}

/// A tube along x with its end A at the origin, and one that runs through it at an angle and an offset.
///
/// The other runs in the plane z = -offset: with t = 0 toward it, t = 90 degrees is `x cross toe`.
fn joined(od: f64, other: f64, angle: f64, offset: f64) -> Result<Joint, CopeMistake> {
    let (sin, cos) = libm::sincos(angle.to_radians());
    let way = Vector3::new(cos, sin, 0.0);
    let middle = Point3::new(0.0, 0.0, -offset);
    let through = line(middle - way * 1000.0, middle + way * 1000.0);
    let branch = line(Point3::origin(), Point3::new(2000.0, 0.0, 0.0));
    let branch = Branch { centreline: &branch, end: LeadEnd::A, od: Length::mm(od), wall: Some(Length::mm(od / 16.0)) };
    Joint::new(branch, Through { centreline: &through, od: Length::mm(other) })
}

fn near(wanted: f64, got: f64, within: f64) {
    assert!((wanted - got).abs() <= within, "{wanted} {got}");
}

/// Closed form against a plane of its own: each point of the edge lies on the other tube.
#[test]
fn every_place_of_the_edge_lies_on_the_other_tube() {
    for (od, other, angle, offset) in [(30.0, 38.1, 63.0, 2.0), (38.1, 38.1, 45.0, 0.0), (20.0, 60.3, 30.0, -14.0)] {
        let joint = joined(od, other, angle, offset).expect("it fits");
        assert!(joint.straight);
        let (sin, cos) = libm::sincos(f64::to_radians(angle));
        let way = Vector3::new(cos, sin, 0.0);
        for look in 0..360 {
            let t = Angle::deg(f64::from(look));
            let (st, ct) = libm::sincos(t.to_rad());
            // Around the tube from the toe, which is toward +y, clockwise looking along +x.
            let at = Vector3::new(joint.outside(t).to_mm(), ct * od / 2.0, st * od / 2.0);
            let apart = at - Vector3::new(0.0, 0.0, -offset);
            near(other / 2.0, (apart - way * apart.dot(&way)).norm(), 1e-9);
        }
        near(angle, joint.angle.to_deg(), 1e-9);
        near(offset, joint.offset.to_mm(), 1e-9);
    }
}

#[test]
fn equal_tubes_square_on_have_an_edge_of_r_cos_t() {
    let joint = joined(38.1, 38.1, 90.0, 0.0).expect("it fits");
    for look in 0..72 {
        let t = TAU * f64::from(look) / 72.0;
        // Where the line grazes the other tube, rounding of 1e-15 is seen as its root.
        near(19.05 * libm::cos(t).abs(), joint.outside(Angle::rad(t)).to_mm(), 1e-5);
    }
    near(19.05, joint.depth().to_mm(), 1e-5);
    near(0.0, joint.long.to_mm(), 1e-5);
    near(45.0, joint.planes.mitre[0].to_deg(), 1e-5);
    near(45.0, joint.planes.mitre[1].to_deg(), 1e-5);
    near(0.0, joint.planes.gap.to_mm(), 1e-5);
}

#[test]
fn equal_tubes_at_45_degrees_are_two_planes() {
    let joint = joined(40.0, 40.0, 45.0, 0.0).expect("it fits");
    near(67.5, joint.planes.mitre[0].to_deg(), 1e-4);
    near(22.5, joint.planes.mitre[1].to_deg(), 1e-4);
    near(0.0, joint.planes.gap.to_mm(), 1e-4);
    near(0.0, joint.planes.deepest_at[0].to_deg(), 1e-4);
    near(180.0, joint.planes.deepest_at[1].to_deg().abs(), 1e-4);
    near(20.0 * (1.0 + 2.0_f64.sqrt()), joint.short.to_mm(), 1e-5);
    near(0.0, joint.planes.back.to_mm(), 1e-4);
}

/// A tube of 30 square on one of 38.1: over the height of a line, r cos t, the edge is a hyperbola and the planes are its chords, so that they overlap nowhere.
#[test]
fn two_planes_say_what_they_leave_open() {
    let joint = joined(30.0, 38.1, 90.0, 0.0).expect("it fits");
    let (r, other) = (15.0, 19.05_f64);
    let tip = (other * other - r * r).sqrt();
    let planes = |t: f64| tip + (other - tip) * libm::cos(t).abs();
    let true_edge = |t: f64| (other * other - (r * libm::sin(t)).powi(2)).sqrt();
    let gap = (0..100_000).map(|n| PI * f64::from(n) / 1e5).map(|t| planes(t) - true_edge(t)).fold(0.0, f64::max);
    assert!(gap > 1.0, "{gap}");
    near(0.0, joint.planes.back.to_mm(), 1e-9);
    near(gap, joint.planes.gap.to_mm(), 1e-3);
    near(tip, joint.planes.long.to_mm(), 1e-9);
    near(libm::atan2(other - tip, r).to_degrees(), joint.planes.mitre[0].to_deg(), 1e-9);
}

#[test]
fn two_planes_are_moved_back_until_nothing_overlaps() {
    let mut moved = 0;
    for (od, other, angle, offset) in [(20.0, 60.3, 30.0, -14.0), (25.0, 38.1, 50.0, 6.5), (25.4, 44.4, 90.0, 9.0)] {
        let joint = joined(od, other, angle, offset).expect("it fits");
        let open = |look: i32| {
            let t = Angle::deg(f64::from(look) / 4.0);
            (joint.planes.edge(t) - joint.outside(t)).to_mm()
        };
        let least = (0..1440).map(open).fold(f64::INFINITY, f64::min);
        let widest = (0..1440).map(open).fold(0.0, f64::max);
        assert!(least > -1e-3 && least < 1e-9, "{least}");
        near(widest, joint.planes.gap.to_mm(), 1e-2);
        moved += i32::from(joint.planes.back.to_mm() > 0.1);
    }
    assert!(moved > 0);
}

#[test]
fn the_other_end_is_seen_from_end_a_too() {
    let through = line(Point3::new(2000.0, -900.0, 0.0), Point3::new(2000.0, 900.0, 0.0));
    let branch = line(Point3::origin(), Point3::new(2000.0, 0.0, -4.0));
    let of = |centreline: &Centreline, end| {
        let branch = Branch { centreline, end, od: Length::mm(25.0), wall: None };
        Joint::new(branch, Through { centreline: &through, od: Length::mm(38.1) }).expect("it fits")
    };
    let (b, a) = (of(&branch, LeadEnd::B), of(&branch.reversed(), LeadEnd::A));
    near(b.long.to_mm(), a.long.to_mm(), 1e-9);
    near(b.offset.to_mm(), -a.offset.to_mm(), 1e-9);
    for look in 0..36 {
        let t = Angle::deg(f64::from(10 * look));
        near(b.outside(t).to_mm(), a.outside(-t).to_mm(), 1e-9);
    }
}

/// The other is a ring-like bend of radius 127; in its plane a tube lands on its outside, its inside, and from above.
#[test]
fn a_bend_is_met_on_its_torus() {
    let rows = Rows {
        bends: vec![Row { length: Length::mm(500.0), rotation: Angle::ZERO, angle: Angle::deg(90.0) }],
        last: Length::mm(500.0),
    };
    // End A at the origin along +x, the bend toward +y: centre at (500, 127, 0).
    let through = Centreline::from_rows(&rows, &|_| Length::mm(127.0)).expect("a bend");
    let centre = Point3::new(500.0, 127.0, 0.0);
    let out = Vector3::new(1.0, -1.0, 0.0).normalize();
    let corner = Point3::new(627.0, 0.0, 0.0);
    let to_arc = 127.0 * (2.0_f64.sqrt() - 1.0);
    for (node, into, crown) in [
        (centre + out * 127.0, out, 19.05),
        (centre + out * 127.0, -out, 19.05),
        (corner, out, 19.05 - to_arc),
        (corner, -out, 19.05 + to_arc),
        (centre + out * 127.0, Vector3::z(), 19.05),
    ] {
        let branch = line(node, node + into * 90.0);
        let branch = Branch { centreline: &branch, end: LeadEnd::A, od: Length::mm(25.0), wall: Some(Length::mm(2.0)) };
        if into == -out && node == corner {
            // 45 mm to its middle, and the arc is 52.6 from the corner: no straight left for that.
            assert!(matches!(
                Joint::new(branch, Through { centreline: &through, od: Length::mm(38.1) }),
                Err(CopeMistake::NoStraight { .. })
            ));
            continue;
        }
        let joint = Joint::new(branch, Through { centreline: &through, od: Length::mm(38.1) }).expect("it fits");
        assert!(!joint.straight);
        near(90.0, joint.angle.to_deg(), 1e-6);
        near(0.0, joint.offset.to_mm(), 1e-6);
        near(crown, joint.lines.met(0.0, 0.0).expect("it is met").at, 1e-9);
        let inside = |t| joint.inside(t).expect("a wall");
        let edges: [(f64, &dyn Fn(Angle) -> Length); 2] = [(12.5, &|t| joint.outside(t)), (10.5, &inside)];
        for (radius, edge) in edges {
            for look in 0..72 {
                let t = Angle::deg(5.0 * f64::from(look));
                let at = joint.lines.start(radius, t.to_rad()) + into * edge(t).to_mm();
                let apart = at - centre;
                let flat = libm::hypot(apart.xy().norm() - 127.0, apart.z);
                near(19.05, flat, 1e-9);
            }
        }
    }
}

#[test]
fn what_cannot_be_cut_is_said() {
    let code = |od, other, angle, offset| joined(od, other, angle, offset).expect_err("it does not fit").code();
    assert_eq!(code(40.0, 38.1, 90.0, 0.0), "cope-too-wide");
    assert_eq!(code(25.0, 38.1, 90.0, 8.0), "cope-too-wide");
    assert_eq!(code(25.0, 38.1, 9.0, 0.0), "cope-too-flat");
    assert_eq!(code(25.0, 38.1, 90.0, 21.0), "end-misses");
    assert_eq!(code(25.0, 38.1, 90.0, 60.0), "end-not-near");
    // Equal tubes whose axes are a survey's error apart are one joint.
    near(0.4, joined(38.1, 38.1, 90.0, 0.4).expect("it fits").beside.to_mm(), 1e-3);
    let stub = line(Point3::origin(), Point3::new(60.0, 0.0, 0.0));
    let of = |through: &Centreline, stub: &Centreline| {
        let branch = Branch { centreline: stub, end: LeadEnd::A, od: Length::mm(30.0), wall: None };
        Joint::new(branch, Through { centreline: through, od: Length::mm(38.1) })
    };
    let through = line(Point3::new(0.0, -10.0, 0.0), Point3::new(0.0, 500.0, 0.0));
    let Err(CopeMistake::PastEnd { end: LeadEnd::A, by }) = of(&through, &stub) else {
        panic!("half of it is past the end")
    };
    near(5.0, by.to_mm(), 1e-9);
    let through = line(Point3::new(0.0, -400.0, 0.0), Point3::new(0.0, 500.0, 0.0));
    let short = line(Point3::origin(), Point3::new(38.0, 0.0, 0.0));
    assert_eq!(of(&through, &short).expect_err("19 to its middle").code(), "cope-no-straight");
    assert!(of(&through, &stub).is_ok());
}

#[test]
fn a_curve_lies_within_what_was_asked() {
    let joint = joined(37.9, 38.1, 71.0, 0.05).expect("it fits");
    let edge = |t: Angle| joint.outside(t);
    let points = joint.curve(&edge, Length::mm(1e-3));
    assert!(points.len() < 2000, "{}", points.len());
    let mut worst = 0.0_f64;
    for pair in points.windows(2) {
        assert!(pair[1].0 > pair[0].0);
        for part in 1..16 {
            let part = f64::from(part) / 16.0;
            let on_line = pair[0].1 + (pair[1].1 - pair[0].1) * part;
            worst = worst.max((edge(pair[0].0 + (pair[1].0 - pair[0].0) * part) - on_line).abs().to_mm());
        }
    }
    assert!(worst < 2e-3, "{worst}");
    near(360.0, points.last().expect("points").0.to_deg(), 1e-9);
}
