use super::*;
use crate::clearance::testing;
use crate::job::{GivenBy, Stock};

fn tube(rows: &[(f64, f64, f64)], last: f64) -> Tube {
    let rows = testing::centreline(rows, last, 100.0).rows;
    let centreline = Centreline::from_rows(&rows, &|_| Length::mm(100.0)).unwrap();
    Tube {
        name: "test".into(),
        stock: Stock {
            od: Length::mm(40.0),
            wall: None,
            material: None,
            density: None,
            yield_strength: None,
            e_modulus: None,
        },
        dies: vec![0; rows.bends.len()],
        die: Some(0),
        given: GivenBy::Rows,
        node_names: vec![None; centreline.nodes.len()],
        centreline,
        extra_a: Length::ZERO,
        extra_b: Length::ZERO,
        ends: [None, None],
        seam: None,
        one_piece: false,
        tolerance: None,
        pair: None,
    }
}

fn saved(tube: &Tube, order: &str, done: &str) -> Result<Saved, NoShape> {
    let bender = testing::bender();
    let blank = tube.blank(&bender);
    let order = Order::parse(order, blank.bends.len()).unwrap();
    let done = Done::parse(done, &order, &blank, LengthUnit::Mm).unwrap();
    rescue(&bender, tube, &blank, &order, &done)
}

/// A flat U of legs 500, 400, 500.
fn u() -> Tube {
    tube(&[(400.0, 0.0, 90.0), (200.0, 0.0, 90.0)], 400.0)
}

/// Leg 2 = 400 / sin 88, leg 3 = 500 + 400 / tan 88, bend 2 of 92 degrees: plane trigonometry. The arc of a smaller bend starts where it was to start, so that
/// its corner lies nearer; a slip by as much puts it back on its node.
#[test]
fn a_short_first_bend_of_a_u_is_made_up_for_by_the_second() {
    let angle = Angle::deg(88.0).to_rad();
    let nearer = 100.0 - 100.0 * libm::tan(angle / 2.0);
    for slip in [0.0, nearer] {
        let saved = saved(&u(), "1A 2A", &format!("1A angle=88 slip={slip}")).unwrap();
        assert!(saved.held && saved.met.is_empty());
        let legs: Vec<f64> = saved.centreline.legs().into_iter().map(|leg| leg.unwrap().to_mm()).collect();
        let first = 500.0 - nearer + slip;
        let wanted = [first, 400.0 / libm::sin(angle), first + 400.0 / libm::tan(angle)];
        assert!(legs.iter().zip(wanted).all(|(got, wanted)| (got - wanted).abs() < 1e-9), "{legs:?} {wanted:?}");
        assert!((saved.centreline.rows.bends[1].angle.to_deg() - 92.0).abs() < 1e-10);
        assert_eq!(saved.reference, Angle::ZERO);
        let missing = saved.centreline.developed().to_mm() - u().centreline.developed().to_mm();
        assert!((saved.extra_b.to_mm() + missing).abs() < 1e-9);
    }
}

#[test]
fn what_came_out_as_planned_leaves_the_rest_as_planned() {
    let rows = [(300.0, 0.0, 80.0), (250.0, 40.0, 60.0), (280.0, -100.0, 95.0), (260.0, 170.0, 40.0)];
    let tube = tube(&rows, 350.0);
    for done in ["1A", "1A, 2A", "1A, 2A, 3A", "1A, 2A, 3A, 4A"] {
        let saved = saved(&tube, "1A 2A 3A 4A", done).unwrap();
        assert!(saved.held && saved.met.is_empty(), "{done}");
        for (got, wanted) in saved.centreline.rows.bends.iter().zip(&tube.centreline.rows.bends) {
            assert!((got.length - wanted.length).to_mm().abs() < 1e-9, "{done}");
            assert!((got.rotation - wanted.rotation).to_deg().abs() < 1e-9, "{done}");
            assert!((got.angle - wanted.angle).to_deg().abs() < 1e-9, "{done}");
        }
        assert!(saved.extra_b.to_mm().abs() < 1e-9, "{done}");
    }
}

#[test]
fn two_bends_in_space_hold_end_b_and_one_cannot() {
    let rows = [(300.0, 0.0, 80.0), (350.0, 40.0, 60.0), (380.0, -100.0, 95.0), (360.0, 70.0, 40.0)];
    let tube = tube(&rows, 350.0);
    let two = saved(&tube, "1A 2A 3A 4A", "1A angle=78 roll=3, 2A angle=61 slip=-2 roll=1").unwrap();
    assert!(two.held, "{two:?}");
    let (wanted, got) = (tube.centreline.end(), two.centreline.end());
    assert!((wanted.0 - got.0).norm() < 1e-9 && (wanted.1.into_inner() - got.1.into_inner()).norm() < 1e-11);
    // The line that is drawn is off by what bend 1 was rolled.
    assert!((two.reference.to_deg() - 3.0).abs() < 1e-9);
    let one = saved(&tube, "1A 2A 3A 4A", "1A angle=78 roll=3, 2A angle=61 slip=-2 roll=1, 3A").unwrap();
    assert!(!one.held && one.last_leg_off.to_deg() > 0.1, "{one:?}");
}

/// Of the U only the second bend is made, from end B: bend 1 makes up for it on the blank that there is, and end B is trimmed.
#[test]
fn the_blank_between_end_a_and_a_made_bend_stays_as_long_as_it_is() {
    let saved = saved(&u(), "2B 1B", "2B angle=88").unwrap();
    assert!(saved.held);
    let rows = &saved.centreline.rows;
    assert!((rows.bends[0].angle.to_deg() - 92.0).abs() < 1e-9);
    let arc = |degrees: f64| 100.0 * Angle::deg(degrees).to_rad();
    let before = rows.bends[0].length + rows.bends[1].length;
    // With lead B the end of the arc stays where it was to be.
    assert!((before.to_mm() + arc(92.0) + arc(88.0) - (600.0 + 2.0 * arc(90.0))).abs() < 1e-9);
    // Leg 1 by what is left of that blank, leg 3 back over it: leg 1 + 400 / tan 92.
    let tan = |degrees: f64| libm::tan(Angle::deg(degrees).to_rad());
    let second = 400.0 / libm::sin(Angle::deg(92.0).to_rad());
    let first = 600.0 - (second - 100.0 * (tan(46.0) + tan(44.0))) + 100.0 * tan(46.0);
    let last = first + 400.0 / tan(92.0) - 100.0 * tan(44.0);
    assert!((saved.extra_b.to_mm() - (400.0 - last)).abs() < 1e-9, "{}", saved.extra_b.to_mm());
}

#[test]
fn a_straight_that_the_clamp_needs_is_kept_and_named() {
    // Bend 2 needs 60 mm ahead of it, and that is what there is: a bend 1 that slipped toward end B takes of it.
    let tube = tube(&[(300.0, 0.0, 60.0), (60.0, 90.0, 60.0), (300.0, 0.0, 60.0)], 400.0);
    let saved = saved(&tube, "1A 2A 3A", "1A slip=5").unwrap();
    assert!(saved.centreline.rows.bends[1].length.to_mm() >= 60.0 - 1e-6);
    assert_eq!(saved.met, [Limit::Straight { leg: 2, least: Length::mm(60.0) }]);
}

#[test]
fn made_bends_over_each_other_are_refused() {
    let refused = saved(&u(), "1A 2A", "1A, 2A slip=-250").unwrap_err();
    assert_eq!(
        refused.words(&People::mm()),
        "bend 2 as it came out would lie 50.0 mm over bend 1: look at its angle and slip again"
    );
    assert!(matches!(saved(&u(), "1A 2A", "1A slip=-450"), Err(NoShape::Overlap { before: None, .. })));
}
