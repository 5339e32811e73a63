//! What must hold of any shape: moved, mirrored, run from the other end, turned into rows and back, or given in other units.

use nalgebra::{Matrix3, Point3, Rotation3, Unit, Vector3};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use tubewright::centreline::{Axis, BendId, Centreline, Plane, Row, Rows};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::round::{Fraction, People, Units};
use tubewright::units::{Angle, Length, LengthUnit, length};

/// The same cases in every run; ten times as many in the long one.
fn config() -> ProptestConfig {
    let full = std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|count| count == "full");
    ProptestConfig {
        cases: if full { 20_000 } else { 2_000 },
        max_global_rejects: 100_000,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Bends of 0.05 to 175 degrees and any rotation but the first, half turns among them; straights from nothing to 2 m.
fn rows() -> impl Strategy<Value = (Rows, Vec<f64>)> {
    let straight = prop_oneof![4 => 5.0..2000.0_f64, 1 => 0.0..5.0_f64];
    let rotation =
        prop_oneof![6 => -180.0..180.0_f64, 1 => Just(180.0), 1 => Just(-180.0), 1 => Just(0.0), 1 => Just(90.0)];
    let angle =
        prop_oneof![6 => 0.05..175.0_f64, 2 => 20.0..120.0_f64, 1 => Just(0.05), 1 => Just(175.0), 1 => Just(90.0)];
    let row = (straight.clone(), rotation, angle, 10.0..400.0_f64);
    (prop::collection::vec(row, 1..9), straight).prop_map(|(all, last)| {
        let radii = all.iter().map(|(.., radius)| *radius).collect();
        let mut bends: Vec<Row> = all
            .into_iter()
            .map(|(length, rotation, angle, _)| Row {
                length: Length::mm(length),
                rotation: Angle::deg(rotation).wrapped(),
                angle: Angle::deg(angle),
            })
            .collect();
        bends[0].rotation = Angle::ZERO;
        (Rows { bends, last: Length::mm(last) }, radii)
    })
}

/// A turn about any axis and a way of up to 3 m.
fn motion() -> impl Strategy<Value = (Rotation3<f64>, Vector3<f64>)> {
    let axis = prop::array::uniform3(-1.0..1.0_f64).prop_filter("an axis", |axis| Vector3::from(*axis).norm() > 0.1);
    (axis, -3.2..3.2_f64, prop::array::uniform3(-3000.0..3000.0_f64)).prop_map(|(axis, angle, way)| {
        (Rotation3::from_axis_angle(&Unit::new_normalize(Vector3::from(axis)), angle), Vector3::from(way))
    })
}

fn tube(rows: &Rows, radii: &[f64]) -> Option<Centreline> {
    Centreline::from_rows(rows, &|bend| Length::mm(radii[bend.0])).ok()
}

fn corners(tube: &Centreline) -> Vec<Point3<f64>> {
    tube.nodes.iter().map(|node| node.expect("bends up to 175 degrees have corners")).collect()
}

fn from_corners(corners: &[Point3<f64>], radii: &[f64]) -> Result<Centreline, TestCaseError> {
    Centreline::from_nodes(corners, &|bend| Length::mm(radii[bend.0]))
        .map_err(|mistakes| TestCaseError::fail(format!("{mistakes:?}")))
}

/// Corners in a row that count as one node, or so near to that rounding decides, are no property of a shape.
fn distinct(corners: &[Point3<f64>]) -> bool {
    corners.windows(2).all(|pair| (pair[1] - pair[0]).norm() > 1.0)
}

/// Where rows are the same: lengths to 1e-9 of the tube; angles as well, rotations as far as the bends beside them carry
/// their planes: a direction off by 1e-16 of the tube over the leg turns the plane of a bend by that over its sine.
fn same_rows(found: &Rows, wanted: &Rows, corners: &[Point3<f64>]) -> Result<(), TestCaseError> {
    prop_assert_eq!(found.bends.len(), wanted.bends.len());
    let far = corners.iter().map(|corner| corner.coords.norm()).fold(1.0, f64::max);
    let shortest = corners.windows(2).map(|pair| (pair[1] - pair[0]).norm()).fold(f64::INFINITY, f64::min);
    let direction = 1e-15 * (8.0 + far / shortest);
    let lengths = |rows: &Rows| rows.bends.iter().map(|row| row.length).chain([rows.last]).collect::<Vec<_>>();
    for (found, wanted) in lengths(found).into_iter().zip(lengths(wanted)) {
        prop_assert!((found - wanted).abs().to_mm() <= 1e-9 * far, "straight {:?} {:?}", found, wanted);
    }
    let sine = |bend: &Row| libm::sin(bend.angle.to_rad());
    for (i, (found, here)) in found.bends.iter().zip(&wanted.bends).enumerate() {
        let off = (found.angle - here.angle).abs().to_rad();
        prop_assert!(off <= 8.0 * direction && off <= 1e-9, "angle {:?} {:?}", found, here);
        let flattest = i.checked_sub(1).map_or(1.0, |before| sine(here).min(sine(&wanted.bends[before])));
        let off = (found.rotation - here.rotation).wrapped().abs().to_rad();
        prop_assert!(off <= 8.0 * direction / flattest, "rotation {:?} {:?}", found, here);
        prop_assert!(found.rotation > Angle::deg(-180.0) && found.rotation <= Angle::deg(180.0));
    }
    Ok(())
}

fn blank(tube: &Centreline) -> Blank {
    let law = |bend: BendId| Law {
        stretch: 0.01,
        mark_offset: Length::mm(7.0),
        ..Law::new(0, tube.radii[bend.0], Length::ZERO, None)
    };
    Blank::new(tube, Length::mm(30.0), Length::mm(12.0), Length::mm(5.0), &law)
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn rows_to_nodes_to_rows_is_the_identity((rows, radii) in rows()) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        let corners = corners(&tube);
        prop_assume!(distinct(&corners));
        same_rows(&from_corners(&corners, &radii)?.rows, &rows, &corners)?;
    }

    #[test]
    fn nodes_to_rows_to_nodes_is_the_identity_up_to_a_motion((rows, radii) in rows(), (turn, way) in motion()) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        let path: Vec<Point3<f64>> = corners(&tube).iter().map(|corner| turn * corner + way).collect();
        prop_assume!(distinct(&path));
        let placed = from_corners(&path, &radii)?;
        let Some(home) = self::tube(&placed.rows, &radii) else {
            return Err(TestCaseError::fail("rows of a tube that can be are refused"));
        };
        // Its chirality too: the frame at end A is carried over, a proper turn.
        let frame = |tube: &Centreline| {
            let (direction, normal) = (tube.direction.into_inner(), tube.normal.into_inner());
            Matrix3::from_columns(&[direction, normal.cross(&direction), normal])
        };
        let back = frame(&placed) * frame(&home).transpose();
        let size = path.iter().map(|corner| (corner - placed.start).norm()).fold(1.0, f64::max);
        for (found, wanted) in corners(&home).iter().zip(&path) {
            let off = (placed.start + back * (found - home.start) - wanted).norm();
            prop_assert!(off <= 1e-9 * size, "{found} {wanted} off {off}");
        }
    }

    #[test]
    fn a_rigid_motion_changes_no_row((rows, radii) in rows(), (turn, way) in motion()) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        let path: Vec<Point3<f64>> = corners(&tube).iter().map(|corner| turn * corner + way).collect();
        prop_assume!(distinct(&path));
        let moved = from_corners(&path, &radii)?;
        same_rows(&moved.rows, &rows, &path)?;
        let (before, after) = (blank(&tube), blank(&moved));
        prop_assert!((before.cut_length - after.cut_length).abs().to_mm() < 1e-8);
    }

    #[test]
    fn mirroring_turns_the_signs_of_rotations_only((rows, radii) in rows(), at in -500.0..500.0_f64) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        prop_assume!(distinct(&corners(&tube)));
        for axis in [Axis::X, Axis::Y, Axis::Z] {
            let plane = Plane::square_to(axis, Length::mm(at));
            let path: Vec<Point3<f64>> = corners(&tube).iter().map(|corner| plane.mirror(corner)).collect();
            let mut wanted = rows.clone();
            for row in &mut wanted.bends {
                row.rotation = (-row.rotation).wrapped();
            }
            same_rows(&from_corners(&path, &radii)?.rows, &wanted, &path)?;
            let image = tube.mirrored(&plane);
            same_rows(&image.rows, &wanted, &path)?;
            prop_assert!((image.end().0 - plane.mirror(&tube.end().0)).norm() < 1e-8);
        }
    }

    #[test]
    fn running_from_the_other_end_reverses_rows_and_keeps_signs((rows, radii) in rows()) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        let path: Vec<Point3<f64>> = corners(&tube).into_iter().rev().collect();
        prop_assume!(distinct(&path));
        let backwards: Vec<f64> = radii.iter().rev().copied().collect();
        let bends = rows.bends.len();
        let wanted = Rows {
            bends: (0..bends)
                .rev()
                .map(|i| Row {
                    length: rows.bends.get(i + 1).map_or(rows.last, |row| row.length),
                    rotation: rows.bends.get(i + 1).map_or(Angle::ZERO, |row| row.rotation),
                    angle: rows.bends[i].angle,
                })
                .collect(),
            last: rows.bends[0].length,
        };
        same_rows(&from_corners(&path, &backwards)?.rows, &wanted, &path)?;
        let reversed = tube.reversed();
        same_rows(&reversed.rows, &wanted, &path)?;
        prop_assert!((reversed.end().0 - tube.start).norm() < 1e-8);
    }

    #[test]
    fn both_lead_ends_mark_the_two_ends_of_one_arc((rows, radii) in rows()) {
        let Some(tube) = tube(&rows, &radii) else { return Ok(()) };
        let blank = blank(&tube);
        for bend in &blank.bends {
            let [a, b] = [LeadEnd::A, LeadEnd::B].map(|lead| blank.mark(bend.bend, lead));
            prop_assert!((b - a - bend.blank_arc - bend.mark_offset * 2.0).abs().to_mm() < 1e-8);
            let tails = blank.tail(bend.bend, LeadEnd::A) + blank.tail(bend.bend, LeadEnd::B);
            prop_assert!((tails - blank.cut_length - (b - a)).abs().to_mm() < 1e-8);
            let half = (blank.top(bend.bend, LeadEnd::B) - blank.top(bend.bend, LeadEnd::A)).wrapped();
            prop_assert!((half.to_deg() - 180.0).abs() < 1e-6);
            for lead in [LeadEnd::A, LeadEnd::B] {
                let around = blank.top_arc(bend.bend, lead);
                prop_assert!(around >= Length::ZERO && around.to_mm() < 30.0 * core::f64::consts::PI);
            }
        }
    }

    #[test]
    fn a_tube_in_inches_is_the_tube_in_millimetres(
        legs in prop::collection::vec((8..200_u32, 0..64_u32), 2..6),
        angles in prop::collection::vec(1.0..120.0_f64, 5),
    ) {
        use tubewright::centreline::{Leg, Taken};
        // The same legs as text: inches and sixty-fourths, and the exact decimal in millimetres (25.4 / 64 = 0.396875).
        let read = |text: String, unit| length(&text, unit).map_err(|refusal| TestCaseError::fail(refusal.reason));
        let mut tubes = Vec::new();
        for unit in [LengthUnit::Inch, LengthUnit::Mm] {
            let mut all = Vec::new();
            for (whole, part) in &legs {
                let text = match unit {
                    LengthUnit::Mm => {
                        let millionths = (u64::from(whole * 64 + part)) * 396_875;
                        format!("{}.{:06}", millionths / 1_000_000, millionths % 1_000_000)
                    }
                    _ => format!("{whole} {part}/64"),
                };
                all.push(Leg { length: read(text, unit)?, a: Taken::Outside, b: Taken::Centre });
            }
            let bends: Vec<Angle> = angles[..legs.len() - 1].iter().copied().map(Angle::deg).collect();
            tubes.push(Centreline::from_legs(&all, read("1.5 in".into(), unit)?, &bends, &[], &|_| Length::inch(2.0)));
        }
        prop_assert_eq!(&tubes[0], &tubes[1]);
    }

    #[test]
    fn a_length_is_the_same_in_every_unit(value in 0.0..100_000.0_f64) {
        let millimetres = length(&format!("{value} mm"), LengthUnit::Foot).map_err(|it| TestCaseError::fail(it.reason))?;
        for unit in LengthUnit::ALL {
            let text = format!("{} {}", millimetres.to(unit), unit.name());
            let read = length(&text, LengthUnit::M).map_err(|refusal| TestCaseError::fail(refusal.reason))?;
            prop_assert!((read - millimetres).abs().to_mm() <= 4e-16 * millimetres.to_mm());
        }
        for fraction in [Fraction::Sixteenths, Fraction::ThirtySeconds, Fraction::SixtyFourths] {
            let people = People { units: Units::Inch(fraction) };
            let text = people.length_with_unit(millimetres);
            let read = length(&text, LengthUnit::Mm).map_err(|refusal| TestCaseError::fail(refusal.reason))?;
            prop_assert_eq!(people.length_with_unit(read), text);
        }
    }
}
