//! Certificates of random steps, gone over by a checker that shares no code with the search; and certificates that were tampered with.

#[expect(unreachable_pub, reason = "a module of this test alone")]
mod checker;
#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;
#[expect(unreachable_pub, reason = "a module of this test alone")]
mod sampler;

use nalgebra::{Point3, Unit, Vector3};
use tubewright::bender::{
    Accuracy, BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer,
    PointerSet, Seconds, Shape, Solid, TriangleMesh,
};
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::{Certificate, Decision, Leaf, Machine, Part, Step};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

use checker::Checker;
use random::Random;

/// How many clear steps are gone over: 20, or 500 where `TUBEWRIGHT_COUNT` is `full`.
fn count() -> usize {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 500 } else { 20 }
}

/// Above or below the tube where it lies in the bender.
fn shape(random: &mut Random) -> Shape {
    let side = if random.chance(2) { 1.0 } else { -1.0 };
    let at = Point3::new(random.within(-500.0, 400.0), random.within(-400.0, 400.0), side * random.within(26.0, 140.0));
    let size =
        Vector3::new(random.within(-150.0, 150.0), random.within(-150.0, 150.0), side * random.within(10.0, 80.0));
    let radius = Length::mm(random.within(4.0, 14.0));
    match random.next() % 5 {
        0 => Shape::Cylinder { from: at, to: at + size, radius },
        1 => Shape::Cylinder { from: at, to: at + Vector3::z() * size.z, radius },
        2 => Shape::Capsule { from: at, to: at + size, radius },
        3 => {
            // A pyramid.
            let corner = |x: f64, y: f64| at + Vector3::new(x * size.x, y * size.y, size.z);
            let points = vec![at, corner(1.0, 0.2), corner(0.3, 1.0), corner(-0.6, -0.4)];
            let up = vec![[1, 2, 3], [0, 2, 1], [0, 3, 2], [0, 1, 3]];
            Shape::Mesh(TriangleMesh { points, triangles: up })
        }
        _ => {
            let (a, b) = (at.coords, at.coords + size);
            Shape::Box { min: Point3::from(a.inf(&b)), max: Point3::from(a.sup(&b)) }
        }
    }
}

fn bender(random: &mut Random) -> Bender {
    let mm = Length::mm;
    let die = Die {
        name: "die".to_owned(),
        od: mm(38.0),
        clr: mm(random.within(80.0, 150.0)),
        max_angle: Angle::deg(200.0),
        clamp_length: mm(random.within(40.0, 80.0)),
        follower_length: mm(random.within(80.0, 160.0)),
        mark_offset: mm(0.0),
        fit: mm(0.3),
        runout: mm(0.0),
        grip_min: mm(40.0),
        tail_min: mm(40.0),
        follower: if random.chance(3) { Follower::Travels } else { Follower::Stands },
        shapes: DieShapes::default(),
        materials: Vec::new(),
    };
    let solids = (0..4 + random.next() % 5)
        .map(|place| Solid {
            name: format!("solid {place}"),
            on: [Carrier::Frame, Carrier::Frame, Carrier::Die, Carrier::Follower][(random.next() % 4) as usize],
            shape: shape(random),
        })
        .collect();
    let up = random.within(0.0, core::f64::consts::TAU);
    Bender {
        name: None,
        motion: if random.chance(2) { BendMotion::DieStands } else { BendMotion::DieTurns },
        hand: if random.chance(2) { Hand::Clockwise } else { Hand::Anticlockwise },
        bend_plane: if random.chance(3) {
            BendPlane::Vertical { up: Unit::new_normalize(Vector3::new(libm::cos(up), libm::sin(up), 0.0)) }
        } else {
            BendPlane::Horizontal
        },
        centre_height: mm(random.within(500.0, 1100.0)),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: mm(5.0), comfortable: mm(300.0) },
        accuracy: random.chance(3).then(|| Accuracy {
            mark: mm(random.within(0.2, 1.0)),
            bend: Angle::deg(random.within(0.0, 0.4)),
            rotation: Angle::deg(random.within(0.0, 0.8)),
        }),
        level: None,
        seconds: Seconds::default(),
        lift: tubewright::bender::USUAL_LIFT,
        motions: Motions::default(),
        dies: vec![die],
        solids,
    }
}

fn blank(random: &mut Random, bender: &Bender) -> Blank {
    let law = Law {
        constant: Angle::deg(random.within(0.0, 2.0)),
        proportional: random.within(0.0, 0.04),
        stretch: if random.chance(3) { random.within(0.0, 0.03) } else { 0.0 },
        ..Law::new(0, bender.dies[0].clr, Length::ZERO, None)
    };
    let count = 2 + random.next() % 4;
    let bends: Vec<Row> = (0..count)
        .map(|place| Row {
            length: Length::mm(random.within(150.0, 260.0) + if random.chance(3) { 500.0 } else { 0.0 }),
            rotation: Angle::deg(match (place, random.next() % 3) {
                (0, _) | (_, 0) => 0.0,
                (_, 1) => 180.0,
                _ => random.within(-180.0, 180.0),
            }),
            angle: Angle::deg(if random.chance(3) { 170.0 } else { random.within(15.0, 100.0) }),
        })
        .collect();
    let centreline = Centreline {
        radii: vec![law.formed_radius(); bends.len()],
        bend_nodes: (1..=bends.len()).collect(),
        nodes: vec![None; bends.len() + 2],
        rows: Rows { bends, last: Length::mm(random.within(150.0, 400.0)) },
        passed: Vec::new(),
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    };
    Blank::new(&centreline, bender.dies[0].od, Length::ZERO, Length::ZERO, &|_| law)
}

/// Hands on random steps that are clear, with their certificates, until there are so many.
fn with_clear_steps(wanted: usize, mut check: impl FnMut(u64, &Step<'_>, &Machine, &Certificate)) {
    let (mut found, mut seed) = (0, 0);
    while found < wanted {
        seed += 1;
        let mut random = Random(seed);
        let bender = bender(&mut random);
        let blank = blank(&mut random, &bender);
        let bend = (random.next() % blank.bends.len() as u64) as usize;
        let lead = if random.chance(2) { LeadEnd::A } else { LeadEnd::B };
        let made: Vec<bool> = (0..blank.bends.len()).map(|place| place != bend && !random.chance(3)).collect();
        let step = Step { bender: &bender, blank: &blank, bend: BendId(bend), lead, made: &made };
        let machine = Machine::new(&bender);
        let certificate = machine.certificate(&step);
        assert_eq!(certificate.is_some(), machine.decide(&step) == Decision::Clear, "seed {seed}");
        if let Some(certificate) = certificate {
            found += 1;
            check(seed, &step, &machine, &certificate);
        }
    }
}

#[test]
fn every_leaf_of_a_clear_step_holds_and_nothing_is_left_out() {
    let mut leaves = 0;
    with_clear_steps(count(), |seed, step, _, certificate| {
        if let Err(why) = Checker::new(step).check(certificate) {
            panic!("seed {seed}: {why}");
        }
        leaves += certificate.proofs.iter().map(|proof| proof.leaves.len()).sum::<usize>();
    });
    assert!(leaves > 20 * count(), "too few to tell: {leaves} leaves");
}

/// Changes one leaf after the other of some certificates; the checker has to refuse each changed one.
fn all_refused(change: impl Fn(&mut Vec<Leaf>, usize) -> bool) {
    let mut refused = 0;
    with_clear_steps(4, |seed, step, _, certificate| {
        let checker = Checker::new(step);
        for proof in 0..certificate.proofs.len() {
            for leaf in 0..certificate.proofs[proof].leaves.len() {
                let mut other = certificate.clone();
                if change(&mut other.proofs[proof].leaves, leaf) {
                    assert!(
                        checker.check(&other).is_err(),
                        "seed {seed}: {:?}",
                        certificate.proofs[proof].leaves[leaf]
                    );
                    refused += 1;
                }
            }
        }
    });
    assert!(refused > 100, "too few to tell: {refused}");
}

#[test]
fn a_leaf_left_out_is_missed() {
    all_refused(|leaves, leaf| {
        // Where what holds the tube ends with a piece, all that is left of it is its end, which the next piece has too. The arc that is
        // being wrapped may be where another part was.
        let Leaf { along, part, .. } = leaves.remove(leaf);
        along[1] > along[0] && part != Part::Wrapped
    });
}

#[test]
fn a_bound_raised_by_ten_metres_is_refused() {
    all_refused(|leaves, leaf| {
        leaves[leaf].at_least += Length::mm(10_000.0);
        true
    });
}

#[test]
fn a_shorter_range_leaves_a_gap() {
    let by = 1e-6;
    all_refused(|leaves, leaf| {
        let Leaf { along, die_angle, part, other, .. } = &mut leaves[leaf];
        // Where the follower's end passes a piece of the trailing part, the last die angles say nothing.
        let turns = *part == Part::Lead && other.is_none() && die_angle[1] - die_angle[0] > Angle::rad(0.01);
        match leaf % 3 {
            0 => along[0] += Length::mm(by),
            1 => along[1] -= Length::mm(by),
            _ if turns => die_angle[1] -= Angle::rad(by),
            _ => return false,
        }
        along[1] > along[0] && *part != Part::Wrapped
    });
}

#[test]
fn bounds_above_the_smallest_gap_are_refused_and_so_is_a_leaf_widened_over_its_place() {
    let (mut raised, mut widened) = (0, 0);
    with_clear_steps(count(), |seed, step, machine, certificate| {
        let checker = Checker::new(step);
        let tangent = step.active().tangent(step.lead);
        for (number, clearance) in machine.report(step).clearances.iter().enumerate() {
            let Some(nearest) = clearance.nearest.filter(|_| step.bender.accuracy.is_none()) else { continue };
            let above = nearest.gap - nearest.keep + Length::mm(0.05);
            let mut other = certificate.clone();
            for leaf in &mut other.proofs[number].leaves {
                leaf.at_least = leaf.at_least.max(above);
            }
            assert!(checker.check(&other).is_err(), "seed {seed}: raised to {above:?} at {nearest:?}");
            raised += 1;
            // Ahead of the die the place along the part is the distance on the blank.
            let place = if step.lead == LeadEnd::A { tangent - nearest.blank } else { nearest.blank - tangent };
            let mut other = certificate.clone();
            let leaves = &mut other.proofs[number].leaves;
            let holds = |leaf: &Leaf| {
                leaf.part == Part::Lead
                    && (leaf.along[0]..=leaf.along[1]).contains(&place)
                    && leaf.die_angle[1] >= nearest.die_angle
            };
            let there: Vec<Leaf> = leaves.iter().filter(|leaf| holds(leaf)).cloned().collect();
            leaves.retain(|leaf| !holds(leaf));
            let best =
                leaves.iter_mut().find(|leaf| leaf.part == Part::Lead && leaf.other.is_none() && leaf.at_least > above);
            if let Some(best) = best.filter(|_| !there.is_empty()) {
                for leaf in &there {
                    best.along = [best.along[0].min(leaf.along[0]), best.along[1].max(leaf.along[1])];
                    best.die_angle = [Angle::ZERO, best.die_angle[1].max(leaf.die_angle[1])];
                }
                best.triangles = None;
                assert!(checker.check(&other).is_err(), "seed {seed}: widened over {there:?}");
                widened += 1;
            }
        }
    });
    assert!(raised >= count() / 2 && widened >= count() / 4, "too few to tell: {raised}, {widened}");
}
