use super::*;
use crate::bender::{BendMotion, Hand};
use crate::body::{Bow, Role, pieces_at};
use crate::centreline::BendId;
use crate::clearance::testing::{bender, blank};
use crate::forming::Blank;

fn rail() -> Blank {
    blank(&[(200.0, 0.0, 40.0), (180.0, 70.0, 60.0), (260.0, -110.0, 90.0)], 300.0, 100.0, 40.0)
}

fn near(one: Point3<f64>, other: [f64; 3]) -> bool {
    (one - Point3::from(other)).norm() < 1e-9
}

#[test]
fn a_straight_tube_lies_along_x_with_its_lead_end_ahead() {
    let (bender, blank) = (bender(), rail());
    let start = blank.bends[1].start;
    let step = Step { bender: &bender, blank: &blank, bend: BendId(1), lead: LeadEnd::A, made: &[false; 3] };
    assert!(near(place(&step, Length::ZERO, Angle::ZERO), [start.to_mm(), -100.0, 0.0]));
    assert!(near(place(&step, start, Angle::ZERO), [0.0, -100.0, 0.0]));
    let step = Step { lead: LeadEnd::B, ..step };
    let end = blank.bends[1].end;
    assert!(near(place(&step, Length::ZERO, Angle::ZERO), [-end.to_mm(), -100.0, 0.0]));
    assert!(near(place(&step, blank.cut_length, Angle::ZERO), [(blank.cut_length - end).to_mm(), -100.0, 0.0]));
}

#[test]
fn a_quarter_turn_of_the_die_carries_the_lead_end_round_and_draws_the_tail_in() {
    let (mut bender, blank) = (bender(), rail());
    let made = [false; 3];
    let start = blank.bends[1].start.to_mm();
    let quarter = Angle::deg(90.0);
    let feed = 50.0 * core::f64::consts::PI;
    let tail = feed - (blank.cut_length.to_mm() - start);
    let at = |bender: &crate::bender::Bender, u: Length| {
        place(&Step { bender, blank: &blank, bend: BendId(1), lead: LeadEnd::A, made: &made }, u, quarter)
    };
    // (x, -100) turned by 90 degrees anticlockwise is (100, x).
    assert!(near(at(&bender, Length::ZERO), [100.0, start, 0.0]));
    assert!(near(at(&bender, blank.cut_length), [tail, -100.0, 0.0]));
    // What was half a quarter on lies at 45 degrees.
    let half = 100.0 * 0.5_f64.sqrt();
    assert!(near(at(&bender, Length::mm(start + 0.5 * feed)), [half, -half, 0.0]));
    // Where the die stands the lead part stays and the tail swings.
    bender.motion = BendMotion::DieStands;
    assert!(near(at(&bender, Length::ZERO), [start, -100.0, 0.0]));
    assert!(near(at(&bender, blank.cut_length), [-100.0, -tail, 0.0]));
    bender.motion = BendMotion::DieTurns;
    bender.hand = Hand::Clockwise;
    assert!(near(at(&bender, Length::ZERO), [100.0, -start, 0.0]));
}

#[test]
fn stretch_draws_in_less_tube() {
    let (bender, mut blank) = (bender(), rail());
    blank.bends[1].stretch = 0.25;
    let step = Step { bender: &bender, blank: &blank, bend: BendId(1), lead: LeadEnd::A, made: &[false; 3] };
    let before = place(&step, blank.cut_length, Angle::ZERO);
    let after = place(&step, blank.cut_length, Angle::deg(90.0));
    assert!((after.x - before.x - 40.0 * core::f64::consts::PI).abs() < 1e-9);
}

/// The finished tube has its own chirality: whichever end leads, whatever is made already, the shape at the end of the
/// last bend is the finished centreline up to a rigid motion.
#[test]
fn the_last_bend_leaves_the_finished_shape() {
    let mut bender = bender();
    let blank = rail();
    let finished = [0.0, 150.0, 420.0, 600.0, 900.0, blank.cut_length.to_mm()];
    let mut shapes = Vec::new();
    for hand in [Hand::Anticlockwise, Hand::Clockwise] {
        bender.hand = hand;
        for lead in [LeadEnd::A, LeadEnd::B] {
            for bend in 0..3 {
                let made: Vec<bool> = (0..3).map(|one| one != bend).collect();
                let step = Step { bender: &bender, blank: &blank, bend: BendId(bend), lead, made: &made };
                let points = finished.map(|u| place(&step, Length::mm(u), blank.bends[bend].die_angle));
                let sides: Vec<f64> = (0..6)
                    .flat_map(|i| (0..i).map(move |j| (i, j)))
                    .map(|(i, j)| (points[i] - points[j]).norm())
                    .collect();
                let from = points[0];
                let volume = Vector3::dot(&(points[1] - from), &(points[3] - from).cross(&(points[5] - from)));
                shapes.push((sides, volume));
            }
        }
    }
    for (sides, volume) in &shapes[1..] {
        assert!(sides.iter().zip(&shapes[0].0).all(|(a, b)| (a - b).abs() < 1e-6), "{sides:?} {:?}", shapes[0].0);
        assert!((volume - shapes[0].1).abs() < 1e-3 * volume.abs(), "{volume} {}", shapes[0].1);
    }
}

/// With lead A and bend 1 to come, bend 2 with rotation 90 ahead... is behind: the tail's far leg rises or falls by the
/// hand. Rotation is clockwise seen from end A along the tube, so on an anticlockwise bender, seen from end A, the normal
/// of bend 1 points down and that of bend 2 is that turned clockwise.
#[test]
fn a_rotation_turns_the_next_bend_clockwise_as_seen_from_end_a() {
    let bender = bender();
    let blank = blank(&[(200.0, 0.0, 90.0), (200.0, 90.0, 90.0)], 300.0, 100.0, 40.0);
    let step = Step { bender: &bender, blank: &blank, bend: BendId(0), lead: LeadEnd::A, made: &[false, true] };
    // The tube runs along -x from end A. The normal of bend 1 is -z. About -x a right-handed quarter turn takes -z to
    // -y, since (-x) x (-z) = -y; bend 2 turns the direction -x about -y: (-y) x (-x) = -z, so end B points down.
    let end = place(&step, blank.cut_length, Angle::ZERO);
    assert!((end.z + 400.0).abs() < 1e-9, "{end}");
}

#[test]
fn the_pieces_join_from_end_to_end_and_agree_with_the_places() {
    let mut bender = bender();
    let blank = rail();
    for hand in [Hand::Anticlockwise, Hand::Clockwise] {
        for motion in [BendMotion::DieTurns, BendMotion::DieStands] {
            (bender.hand, bender.motion) = (hand, motion);
            for lead in [LeadEnd::A, LeadEnd::B] {
                let step = Step { bender: &bender, blank: &blank, bend: BendId(1), lead, made: &[true, false, true] };
                for degrees in [0.0, 25.0, 60.0] {
                    let angle = Angle::deg(degrees);
                    let pieces = pieces_at(&step, angle);
                    assert!(pieces[0].blank_from.abs() < Length::mm(1e-9));
                    assert!((pieces[pieces.len() - 1].blank_to - blank.cut_length).abs() < Length::mm(1e-9));
                    for pair in pieces.windows(2) {
                        assert!((pair[0].to - pair[1].from).norm() < 1e-9);
                        assert!((pair[0].blank_to - pair[1].blank_from).abs() < Length::mm(1e-9));
                    }
                    for piece in &pieces {
                        assert!((place(&step, piece.blank_from, angle) - piece.from).norm() < 1e-6);
                        if let Bow::Arc { centre, axis, radius, angle } = piece.bow {
                            assert!(((piece.from - centre).norm() - radius.to_mm()).abs() < 1e-9);
                            let turn = nalgebra::Rotation3::from_axis_angle(&axis, angle.to_rad());
                            assert!((centre + turn * (piece.from - centre) - piece.to).norm() < 1e-9);
                        }
                    }
                    let wrapped = pieces.iter().filter(|piece| piece.role == Role::Wrapped).count();
                    assert_eq!(wrapped, usize::from(degrees > 0.0));
                    assert!(
                        pieces
                            .iter()
                            .filter(|piece| matches!(piece.bow, Bow::Arc { .. }))
                            .all(|arc| arc.bend.is_some())
                    );
                }
            }
        }
    }
}

/// What is on the die goes with the lead end, what travels goes with the trailing end.
#[test]
fn what_is_carried_keeps_its_place_to_the_tube() {
    let (mut bender, blank) = (bender(), rail());
    bender.dies[0].follower = Follower::Travels;
    let (quarter, ahead, behind) = (Angle::deg(90.0), blank.bends[1].start - Length::mm(30.0), blank.cut_length);
    for hand in [Hand::Anticlockwise, Hand::Clockwise] {
        for motion in [BendMotion::DieTurns, BendMotion::DieStands] {
            (bender.hand, bender.motion) = (hand, motion);
            let step = Step { bender: &bender, blank: &blank, bend: BendId(1), lead: LeadEnd::A, made: &[false; 3] };
            for (on, blank) in [(Carrier::Die, ahead), (Carrier::Follower, behind)] {
                let carried = carried(&step, on, quarter) * place(&step, blank, Angle::ZERO);
                let wanted = place(&step, blank, quarter);
                // The tube slides through a follower that wipes.
                let slid = if (on, motion) == (Carrier::Follower, BendMotion::DieStands) {
                    50.0 * core::f64::consts::PI
                } else {
                    0.0
                };
                assert!(
                    ((carried - wanted).norm() - slid).abs() < 1e-9,
                    "{hand:?} {motion:?} {on:?}: {carried} {wanted}"
                );
            }
        }
    }
}
