//! Places of a coped edge around the tube, depths of copes, two plane cuts and mitres.
//!
//! Sources: the table was computed independently from the intersection of two cylinders (every point lies on the other cylinder to 2e-16); equal tubes at 45 degrees are two
//! planes, z = (1 +- sqrt 2) y (common practice, no source); a two-piece turn of equal pipes is cut at half its angle (US Navy, NAVEDTRA 14251, Steelworker volume 2,
//! chapter 3, there by full-size drawing). Inches, but where marked in mm; degrees. Tolerance half the last printed digit.

use nalgebra::{Point3, Vector3};
use tubewright::centreline::Centreline;
use tubewright::cope::{Branch, Joint, Through};
use tubewright::forming::LeadEnd;
use tubewright::units::{Angle, Length};

/// OD of the tube and of the other, angle, offset, then s every 30 degrees from the toe.
const EDGES: [([f64; 4], [f64; 12]); 7] = [
    (
        [1.5, 1.75, 90.0, 0.0],
        [0.87500, 0.79057, 0.58630, 0.45069, 0.58630, 0.79057, 0.87500, 0.79057, 0.58630, 0.45069, 0.58630, 0.79057],
    ),
    (
        [1.5, 1.5, 90.0, 0.0],
        [0.75000, 0.64952, 0.37500, 0.00000, 0.37500, 0.64952, 0.75000, 0.64952, 0.37500, -0.00000, 0.37500, 0.64952],
    ),
    (
        [1.5, 1.5, 45.0, 0.0],
        [1.81066, 1.56808, 0.90533, 0.00000, 0.15533, 0.26904, 0.31066, 0.26904, 0.15533, -0.00000, 0.90533, 1.56808],
    ),
    (
        [1.5, 1.75, 60.0, 0.0],
        [1.44338, 1.28787, 0.89351, 0.52042, 0.46050, 0.53787, 0.57735, 0.53787, 0.46050, 0.52042, 0.89351, 1.28787],
    ),
    (
        [1.0, 1.75, 30.0, 0.0],
        [2.61603, 2.42705, 1.95370, 1.43614, 1.08768, 0.92705, 0.88397, 0.92705, 1.08768, 1.43614, 1.95370, 2.42705],
    ),
    (
        [1.0, 1.75, 90.0, 0.25],
        [0.83853, 0.71807, 0.54692, 0.45069, 0.54692, 0.71807, 0.83853, 0.87500, 0.85565, 0.83853, 0.85565, 0.87500],
    ),
    (
        [1.0, 1.75, 60.0, 0.25],
        [1.25692, 1.07916, 0.77586, 0.52042, 0.48719, 0.57916, 0.67957, 0.76036, 0.84368, 0.96825, 1.13235, 1.26036],
    ),
];

/// Half the last printed digit, and what arithmetic loses.
const PRINTED: f64 = 5.1e-6;

/// The tube lies along an odd direction with its node off the foot of the common perpendicular by `shift` along it; either end may be the one.
fn joined(od: Length, other: Length, angle: f64, offset: Length, end: LeadEnd, shift: f64) -> Joint {
    let into = Vector3::new(0.6, -0.48, 0.64);
    let toe = Vector3::new(0.8, 0.36, -0.48);
    let travel = if end == LeadEnd::A { into } else { -into };
    let side = travel.cross(&toe);
    let foot = Point3::new(130.0, -70.0, 900.0);
    let (sin, cos) = libm::sincos(angle.to_radians());
    // The other's axis passes on the side that t = 90 degrees looks away from.
    let (middle, way) = (foot - side * offset.to_mm(), into * cos + toe * sin);
    let straight = |from, to| Centreline::from_nodes(&[from, to], &|_| Length::ZERO).expect("two nodes");
    // Square on, the toe is toward the other's end B.
    let through = straight(middle - way * 900.0, middle + way * 700.0);
    let node = foot - into * shift;
    let far = node + into * 1500.0;
    let own = if end == LeadEnd::A { straight(node, far) } else { straight(far, node) };
    let branch = Branch { centreline: &own, end, od, wall: None };
    Joint::new(branch, Through { centreline: &through, od: other }).expect("it fits")
}

#[test]
fn an_edge_lies_around_the_tube_as_printed() {
    for ([od, other, angle, offset], wanted) in EDGES {
        for end in [LeadEnd::A, LeadEnd::B] {
            for shift in [0.0, 11.0] {
                let [od, other, offset] = [od, other, offset].map(Length::inch);
                let joint = joined(od, other, angle, offset, end, shift);
                assert!((joint.foot.to_mm() - shift).abs() < 1e-9);
                for (place, wanted) in wanted.into_iter().enumerate() {
                    let t = Angle::deg(30.0 * place as f64);
                    let from_foot = (joint.outside(t) - joint.foot).to_inch();
                    // The tips of equal tubes graze the other: rounding of their axes tells there by its root.
                    assert!(
                        (from_foot - wanted).abs() <= PRINTED,
                        "{od:?} on {other:?}, {angle}, end {}, t {}: {from_foot} is not {wanted}",
                        end.letter(),
                        t.to_deg()
                    );
                }
            }
        }
    }
}

#[test]
fn square_copes_are_as_deep_as_printed() {
    for (r, other, depth) in [(0.75, 0.875, 0.424306), (0.5, 0.875, 0.156930), (0.625, 0.75, 0.335422)] {
        let joint = joined(Length::inch(2.0 * r), Length::inch(2.0 * other), 90.0, Length::ZERO, LeadEnd::A, 0.0);
        assert!((joint.depth().to_inch() - depth).abs() <= 5.1e-7, "{r} in {other}: {}", joint.depth().to_inch());
    }
    for (r, other, depth) in [(15.0, 22.5, 5.729490), (20.0, 25.0, 10.0)] {
        let joint = joined(Length::mm(2.0 * r), Length::mm(2.0 * other), 90.0, Length::ZERO, LeadEnd::A, 0.0);
        assert!((joint.depth().to_mm() - depth).abs() <= 5.1e-7, "{r} in {other}: {}", joint.depth().to_mm());
    }
}

#[test]
fn equal_tubes_at_45_degrees_are_cut_by_planes_of_67_and_a_half_and_22_and_a_half() {
    let joint = joined(Length::inch(1.5), Length::inch(1.5), 45.0, Length::ZERO, LeadEnd::A, 0.0);
    assert!((joint.depth().to_inch() - 1.810660).abs() <= PRINTED);
    let [toe, heel] = joint.planes.mitre.map(Angle::to_deg);
    assert!((toe - 67.5).abs() < 1e-3 && (heel - 22.5).abs() < 1e-3, "{toe} {heel}");
    assert!((libm::tan(joint.planes.mitre[0].to_rad()) - (1.0 + 2.0_f64.sqrt())).abs() < 1e-4);
    assert!(joint.planes.gap.to_mm() < 1e-3 && joint.planes.back.to_mm() < 1e-3);
    for t in 0..360 {
        let t = Angle::deg(f64::from(t));
        let cos = libm::cos(t.to_rad());
        let slope = if cos > 0.0 { 1.0 + 2.0_f64.sqrt() } else { 1.0 - 2.0_f64.sqrt() };
        assert!((joint.planes.edge(t).to_inch() - 0.75 * slope * cos).abs() < 1e-4);
    }
}

/// A two-piece turn is what equal tubes at its angle are on the side of the heel: one plane at half of it from square. Long to short, over the whole tube, it drops by OD tan(half the
/// turn).
#[test]
fn a_mitre_drops_from_long_to_short_as_printed() {
    for (od, turn, drop) in [(1.5, 90.0, 1.5), (1.75, 45.0, 0.724874), (45.0, 60.0, 25.980762)] {
        // The plane of the heel halves the angle between the axes of equal tubes.
        let od = Length::mm(od);
        let joint = joined(od, od, turn, Length::ZERO, LeadEnd::A, 0.0);
        let mitre = joint.planes.mitre[1];
        assert!((mitre.to_deg() - turn / 2.0).abs() < 1e-3, "{} {turn}", mitre.to_deg());
        let found = od.to_mm() * libm::tan(mitre.to_rad());
        assert!((found - drop).abs() < 1e-3, "{found} {drop}");
        assert!((od.to_mm() * libm::tan((turn / 2.0).to_radians()) - drop).abs() <= 5.1e-7);
    }
}
