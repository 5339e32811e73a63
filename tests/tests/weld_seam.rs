//! Where a weld seam goes.
//!
//! Source: common practice, no source: the weld lies on the neutral side, 45 to 90 degrees from the plane of the bend, never on the outside and not on the inside
//! either; with bends in several planes at least 30 to 45 degrees from every outside. The strain at a seam is measured here on the tube itself: a line drawn along its
//! surface without turning, its length in each arc against that of the centreline. Degrees.

use nalgebra::Vector3;
use tubewright::centreline::{Centreline, Row, Rows, Segment};
use tubewright::forming::{Blank, Law, Seam};
use tubewright::units::{Angle, Length};

const OD: f64 = 38.1;
const CLR: f64 = 127.0;

/// A tube with so much rotation before each bend after the first.
fn tube(rotations: &[f64]) -> Centreline {
    let bend =
        |rotation: f64| Row { length: Length::mm(200.0), rotation: Angle::deg(rotation), angle: Angle::deg(40.0) };
    let bends = std::iter::once(0.0).chain(rotations.iter().copied()).map(bend).collect();
    Centreline::from_rows(&Rows { bends, last: Length::mm(200.0) }, &|_| Length::mm(CLR)).expect("a tube that can be")
}

fn seam(tube: &Centreline, at: Angle) -> Seam {
    let law = |_| Law::new(0, Length::mm(CLR), Length::ZERO, None);
    let blank = Blank::new(tube, Length::mm(OD), Length::ZERO, Length::ZERO, &law);
    let bends: Vec<(Angle, f64)> = blank.bends.iter().map(|bend| (bend.psi, OD / 2.0 / CLR)).collect();
    Seam::new(at, &bends).expect("a tube with bends")
}

/// For each bend how far the seam lies from the line along its outside, and by how much its length differs from that of the centreline, as a part of it.
fn drawn(tube: &Centreline, at: Angle) -> Vec<(Angle, f64)> {
    // With end A in the lead the tube lies with the normal of bend 1 down.
    let top = -tube.normal.into_inner();
    let (sin, cos) = libm::sincos(at.to_rad());
    let mut line: Vector3<f64> = top * cos + tube.direction.cross(&top) * sin;
    let mut bends = Vec::new();
    for segment in tube.segments() {
        if let Segment::Arc { outward, normal, radius, angle, direction, .. } = segment {
            let (out, up) = (line.dot(&outward), line.dot(&normal));
            assert!(line.dot(&direction).abs() < 1e-9 && (line.norm() - 1.0).abs() < 1e-9);
            let length = (radius.to_mm() + OD / 2.0 * out) * angle.to_rad();
            bends.push((Angle::rad(libm::atan2(up.abs(), out)), length / (radius.to_mm() * angle.to_rad()) - 1.0));
            let (sin, cos) = libm::sincos(angle.to_rad());
            let spoke = outward.into_inner() * cos + normal.cross(&outward) * sin;
            line = spoke * out + normal.into_inner() * up;
        }
    }
    bends
}

/// How near it comes to an outside or an inside, over all bends.
fn nearest(tube: &Centreline, at: Angle) -> f64 {
    let near = |(off, _): (Angle, f64)| off.to_deg().min(180.0 - off.to_deg());
    drawn(tube, at).into_iter().map(near).fold(f64::INFINITY, f64::min)
}

#[test]
fn a_seam_is_strained_as_much_as_its_line_on_the_bent_tube_grows_or_shrinks() {
    for rotations in [&[][..], &[90.0], &[180.0], &[33.0, -120.0], &[-71.0, 15.0, 162.0, 90.0]] {
        let tube = tube(rotations);
        for at in [0.0, 20.0, 90.0, 135.0, 250.0, -40.0].map(Angle::deg) {
            let most = drawn(&tube, at).into_iter().map(|(_, strain)| strain.abs()).fold(0.0, f64::max);
            let seam = seam(&tube, at);
            assert!((seam.strain - most).abs() < 1e-9, "{rotations:?}: {} is not {most}", seam.strain);
        }
    }
}

#[test]
fn a_flat_part_has_it_90_degrees_from_the_plane_of_its_bends() {
    for rotations in [&[][..], &[0.0, 0.0], &[180.0], &[180.0, 180.0]] {
        let tube = tube(rotations);
        let seam = seam(&tube, Angle::deg(45.0));
        assert_eq!(seam.least_at.len(), 2);
        for at in seam.least_at {
            assert!((nearest(&tube, at) - 90.0).abs() < 1e-6, "{rotations:?}");
        }
    }
}

#[test]
fn with_two_planes_it_is_45_degrees_or_more_from_every_outside_and_with_three_30() {
    for (rotations, wanted) in
        [(&[90.0][..], 45.0), (&[-90.0, 90.0], 45.0), (&[60.0, 60.0], 30.0), (&[120.0, 120.0], 30.0)]
    {
        let tube = tube(rotations);
        for at in seam(&tube, Angle::ZERO).least_at {
            assert!((nearest(&tube, at) - wanted).abs() < 1e-6, "{rotations:?}: {}", nearest(&tube, at));
        }
    }
    for rotation in 1..180 {
        let tube = tube(&[f64::from(rotation)]);
        let least_at = seam(&tube, Angle::ZERO).least_at;
        assert!(least_at.iter().all(|at| nearest(&tube, *at) >= 45.0 - 1e-6), "{rotation}");
    }
}
