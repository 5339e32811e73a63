//! The arc that is being wrapped, against solids on the die: they are as near to each place of it from the moment on at which that is wrapped.

#[expect(unreachable_pub, reason = "shared with another test")]
mod checker;
#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;
#[expect(unreachable_pub, reason = "shared with other tests")]
mod sampler;

use nalgebra::{Point3, Vector3};
use tubewright::bender::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid,
};
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::{Decision, Machine, Step, Verdict};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

use checker::Checker;
use random::Random;
use sampler::{Judge, Obstacle};

/// Where the tangent point is and what the tube is, mm.
const CLR: f64 = 100.0;
const OD: f64 = 30.0;
/// What the judge is allowed to be off by, mm.
const SAMPLED: f64 = 0.1;
/// What a report is allowed to be off by, mm.
const REPORTED: f64 = 0.011;

/// How many random solids are tried for each hand, motion and follower.
fn count() -> u64 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 60 } else { 12 }
}

/// 900 mm over the floor, with solids of its own on one of its carriers.
fn bender(hand: Hand, motion: BendMotion, follower: Follower, on: Carrier, shapes: Vec<Shape>) -> Bender {
    let mm = Length::mm;
    let die = Die {
        name: "die".to_owned(),
        od: mm(OD),
        clr: mm(CLR),
        max_angle: Angle::deg(185.0),
        clamp_length: mm(60.0),
        follower_length: mm(120.0),
        mark_offset: Length::ZERO,
        fit: mm(0.3),
        runout: Length::ZERO,
        grip_min: mm(60.0),
        tail_min: mm(120.0),
        follower,
        shapes: DieShapes::default(),
        materials: Vec::new(),
    };
    let named = |(place, shape)| Solid { name: format!("solid {place}"), on, shape };
    Bender {
        name: None,
        motion,
        hand,
        bend_plane: BendPlane::Horizontal,
        centre_height: mm(900.0),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: mm(5.0), comfortable: mm(60.0) },
        accuracy: None,
        level: None,
        seconds: Seconds::default(),
        lift: tubewright::bender::USUAL_LIFT,
        motions: Motions::default(),
        dies: vec![die],
        solids: shapes.into_iter().enumerate().map(named).collect(),
    }
}

/// Two bends that lie so far apart, square to each other, with straights of 400 before and so much after them, and the springback of each.
fn blank(between: f64, degrees: f64, last: f64, springback: f64) -> Blank {
    let row = |length: f64, rotation: f64, angle: f64| Row {
        length: Length::mm(length),
        rotation: Angle::deg(rotation),
        angle: Angle::deg(angle),
    };
    let centreline = Centreline {
        rows: Rows { bends: vec![row(400.0, 0.0, degrees), row(between, 90.0, 60.0)], last: Length::mm(last) },
        radii: vec![Length::mm(CLR); 2],
        nodes: vec![None; 4],
        bend_nodes: vec![1, 2],
        passed: Vec::new(),
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    };
    let law = Law { constant: Angle::deg(springback), ..Law::new(0, Length::mm(CLR), Length::ZERO, None) };
    Blank::new(&centreline, Length::mm(OD), Length::ZERO, Length::ZERO, &|_| law)
}

/// Each hand and motion, with a follower that stands and one that travels.
fn every_way() -> impl Iterator<Item = (Hand, BendMotion, Follower)> {
    [Hand::Anticlockwise, Hand::Clockwise].into_iter().flat_map(|hand| {
        [BendMotion::DieTurns, BendMotion::DieStands]
            .into_iter()
            .flat_map(move |motion| [Follower::Stands, Follower::Travels].map(|follower| (hand, motion, follower)))
    })
}

/// A place beside the arc: so far on against the turn of the die from the tangent point, so far from the axis and over the tube's plane.
fn beside(hand: Hand, degrees: f64, out: f64, high: f64) -> Point3<f64> {
    let sign = if hand == Hand::Clockwise { -1.0 } else { 1.0 };
    let (sin, cos) = libm::sincos(degrees.to_radians());
    Point3::new(-out * sin, -sign * out * cos, high)
}

/// Holds what a report says of the solids against single points, and sees that a decision and its certificate say the same. What is told are the
/// gaps, `comfortable` where there is none.
fn judged(step: &Step<'_>, said: &str) -> Vec<f64> {
    let machine = Machine::new(step.bender);
    let (report, judge) = (machine.report(step), Judge::new(*step));
    let comfortable = step.bender.clearance.comfortable.to_mm();
    let gaps = step.bender.solids.iter().zip(&report.clearances).map(|(solid, found)| {
        let obstacle = Obstacle::Solid { shape: &solid.shape, on: solid.on, holds: false };
        let (sampled, within) = judge.smallest(&obstacle, judge.target, SAMPLED, comfortable, false);
        let truth = sampled.map_or(comfortable, |found| found.gap.max(0.0));
        let gap = found.nearest.map_or(comfortable, |nearest| nearest.gap.to_mm());
        let said = format!("{said}: {gap}, sampled {truth}, {found:?}");
        assert!(gap <= truth + REPORTED && gap >= truth - within - REPORTED, "{said}");
        if let Some(nearest) = found.nearest {
            // A bend that is drawn onto the die jumps there: just before, or just after.
            let along = judge.along(nearest.blank.to_mm());
            let there = [along + 1e-6, along - 1e-6].map(|along| judge.point(along, nearest.die_angle.to_rad()));
            assert!(there.iter().any(|there| (there - nearest.point).norm() < 0.05), "{said}");
        }
        assert_ne!(found.verdict, Verdict::Unproven, "{said}");
        gap
    });
    let gaps = gaps.collect();
    let wanted = if report.verdict == Verdict::Clear { Decision::Clear } else { Decision::NotClear };
    assert_ne!(report.verdict, Verdict::Unproven, "{said}");
    assert_eq!(machine.decide(step), wanted, "{said}");
    let certificate = machine.certificate(step);
    assert_eq!(certificate.is_some(), wanted == Decision::Clear, "{said}");
    if let Some(certificate) = certificate {
        Checker::new(step).check(&certificate).unwrap_or_else(|why| panic!("{said}: {why}"));
    }
    gaps
}

#[test]
fn bug_a_solid_on_the_die_that_the_whole_arc_is_as_near_to_was_unproven_where_the_follower_travels() {
    let blank = blank(400.0, 89.0, 400.0, 0.0);
    for (hand, motion, follower) in every_way() {
        // Ahead of the tangent point and over it, so that the arc is as near to it at every die angle, just where it ends; and a plate over
        // all of the arc.
        let (low, high) = (beside(hand, 0.0, 85.0, 50.0), beside(hand, 0.0, 30.0, 140.0));
        let stop = Shape::Box {
            min: Point3::new(5.0, low.y.min(high.y), 50.0),
            max: Point3::new(70.0, low.y.max(high.y), 140.0),
        };
        let plate = Shape::Box { min: Point3::new(-140.0, -140.0, 65.0), max: Point3::new(140.0, 140.0, 80.0) };
        let bender = bender(hand, motion, follower, Carrier::Die, vec![stop, plate]);
        for bend in [0, 1] {
            let step = Step {
                bender: &bender,
                blank: &blank,
                bend: BendId(bend),
                lead: LeadEnd::A,
                made: &[bend == 1, false],
            };
            let gaps = judged(&step, &format!("{hand:?} {motion:?} {follower:?}, bend {bend}"));
            // From where the arc begins to the nearest corner, less half the tube; the straight ahead lies under the box as near.
            assert!((gaps[0] - (libm::hypot(15.0, 50.0) - 15.0)).abs() < REPORTED, "{gaps:?}");
            assert!((gaps[1] - 50.0).abs() < REPORTED, "{gaps:?}");
        }
    }
}

/// A solid on this carrier beside the arc.
fn shape(random: &mut Random, hand: Hand) -> Shape {
    let mut place = |high: f64| beside(hand, random.within(-20.0, 120.0), random.within(20.0, 170.0), high);
    let (from, to) = (place(0.0), place(0.0));
    let side = if random.chance(2) { 1.0 } else { -1.0 };
    let (near, far) = (side * random.within(22.0, 60.0), side * random.within(60.0, 110.0));
    let radius = Length::mm(random.within(2.0, 12.0));
    let at = |point: Point3<f64>, z: f64| Point3::new(point.x, point.y, z);
    match random.below(3) {
        0 => Shape::Capsule { from: at(from, near + 12.0 * side), to: at(to, far + 12.0 * side), radius },
        1 => Shape::Cylinder { from: at(from, near), to: at(from, far), radius },
        _ => {
            let (a, b) = (at(from, near).coords, at(to, far).coords);
            Shape::Box { min: Point3::from(a.inf(&b)), max: Point3::from(a.sup(&b)) }
        }
    }
}

/// Random solids on a carrier, with the whole tube, a tube that ends on the die, and a bend made so near behind that it is drawn onto the
/// die: how many were near.
fn near(on: Carrier) -> usize {
    let mut near = 0;
    for (way, (hand, motion, follower)) in every_way().enumerate() {
        for seed in 0..count() {
            let mut random = Random(seed.wrapping_mul(0x1234_5678_9abc_def1) ^ way as u64);
            let bender = bender(hand, motion, follower, on, vec![shape(&mut random, hand)]);
            let degrees = random.within(20.0, 130.0);
            // So much springback that up to 70 mm are drawn in that are none of the bend's own.
            let (blank, bend, made) = match random.below(3) {
                0 => (blank(400.0, degrees, 400.0, 3.0), 0, [false, false]),
                1 => (blank(400.0, degrees, random.within(0.0, 40.0), 40.0), 1, [true, false]),
                _ => (blank(random.within(0.0, 40.0), degrees, 400.0, 40.0), 0, [false, true]),
            };
            let step = Step { bender: &bender, blank: &blank, bend: BendId(bend), lead: LeadEnd::A, made: &made };
            let gaps = judged(&step, &format!("{on:?} {hand:?} {motion:?} {follower:?}, seed {seed}"));
            near += usize::from(gaps[0] < 60.0);
        }
    }
    near
}

#[test]
fn random_solids_on_the_die_are_resolved() {
    assert!(near(Carrier::Die) > 6 * usize::try_from(count()).expect("small"), "too few to tell");
}

#[test]
fn random_solids_on_the_frame_are_resolved() {
    assert!(near(Carrier::Frame) > 6 * usize::try_from(count()).expect("small"), "too few to tell");
}

#[test]
fn random_solids_on_the_follower_are_resolved() {
    assert!(near(Carrier::Follower) > 2 * usize::try_from(count()).expect("small"), "too few to tell");
}
