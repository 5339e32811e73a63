//! The certified clearances of random steps, held against a naive judge that looks at single points only.

mod handling;
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
use tubewright::clearance::{self, Clearance, Step, Verdict};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

use random::Random;
use sampler::{Found, Judge, Obstacle};

/// How many steps are tried: 2,000, or 10,000 where `TUBEWRIGHT_COUNT` is `full`.
fn count() -> u64 {
    if std::env::var("TUBEWRIGHT_COUNT").is_ok_and(|value| value == "full") { 10_000 } else { 2_000 }
}

impl Random {
    fn point(&mut self, reach: f64) -> Point3<f64> {
        Point3::new(self.within(-reach, reach), self.within(-reach, reach), self.within(-reach * 0.5, reach * 0.5))
    }
}

/// A closed mesh: a box, or a pyramid on a triangle.
fn mesh(random: &mut Random, at: Point3<f64>, size: f64) -> TriangleMesh {
    let mut corner =
        |scale: f64| Vector3::new(random.within(0.3, 1.0), random.within(0.3, 1.0), random.within(0.3, 1.0)) * scale;
    let (a, b) = (corner(size), corner(size));
    if a.x > b.x {
        let points =
            vec![at, at + Vector3::x() * a.x, at + Vector3::y() * a.y, at + Vector3::new(b.x * 0.3, b.y * 0.3, a.z)];
        return TriangleMesh { points, triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]] };
    }
    let points = (0..8)
        .map(|bits| {
            let pick = |bit: u32, length: f64| if bits & (1 << bit) == 0 { 0.0 } else { length };
            at + Vector3::new(pick(0, a.x), pick(1, a.y), pick(2, a.z))
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

fn shape(random: &mut Random, reach: f64) -> Shape {
    let at = random.point(reach);
    let size = random.within(20.0, 0.5 * reach);
    match random.below(5) {
        0 => {
            let size = Vector3::new(random.within(5.0, size), random.within(5.0, size), random.within(5.0, size));
            Shape::Box { min: at, max: at + size }
        }
        1 => Shape::Cylinder { from: at, to: at + Vector3::z() * size, radius: Length::mm(random.within(5.0, 80.0)) },
        2 => Shape::Cylinder {
            from: at,
            to: at + (random.point(size) - Point3::origin()) + Vector3::x(),
            radius: Length::mm(random.within(5.0, 60.0)),
        },
        3 => Shape::Capsule {
            from: at,
            to: at + (random.point(size) - Point3::origin()) + Vector3::y(),
            radius: Length::mm(random.within(5.0, 60.0)),
        },
        _ => Shape::Mesh(mesh(random, at, size)),
    }
}

fn carrier(random: &mut Random) -> Carrier {
    match random.below(4) {
        0 => Carrier::Die,
        1 => Carrier::Follower,
        _ => Carrier::Frame,
    }
}

fn bender(random: &mut Random) -> Bender {
    let od = random.within(20.0, 50.0);
    let clr = od * random.within(2.0, 5.0);
    let given = random.chance(6);
    let own = |random: &mut Random| if given { vec![shape(random, 300.0)] } else { Vec::new() };
    let die = Die {
        name: "die".to_owned(),
        od: Length::mm(od),
        clr: Length::mm(clr),
        max_angle: Angle::deg(200.0),
        clamp_length: Length::mm(random.within(0.5, 3.0) * od),
        follower_length: Length::mm(random.within(1.0, 5.0) * od),
        mark_offset: Length::ZERO,
        fit: Length::mm(0.3),
        runout: Length::ZERO,
        grip_min: Length::mm(od),
        tail_min: Length::mm(od),
        follower: if random.chance(3) { Follower::Travels } else { Follower::Stands },
        shapes: DieShapes { die: own(random), clamp: own(random), follower: own(random) },
        materials: Vec::new(),
    };
    let solids = (0..random.below(6))
        .map(|place| Solid { name: format!("solid {place}"), on: carrier(random), shape: shape(random, 900.0) })
        .collect();
    Bender {
        name: None,
        motion: if random.chance(3) { BendMotion::DieStands } else { BendMotion::DieTurns },
        hand: if random.chance(3) { Hand::Clockwise } else { Hand::Anticlockwise },
        bend_plane: if random.chance(3) {
            let angle = random.within(0.0, core::f64::consts::TAU);
            let (sin, cos) = libm::sincos(angle);
            BendPlane::Vertical { up: Unit::new_normalize(Vector3::new(cos, sin, 0.0)) }
        } else {
            BendPlane::Horizontal
        },
        centre_height: Length::mm(random.within(300.0, 1100.0)),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: Length::mm(5.0), comfortable: Length::mm(random.within(20.0, 200.0)) },
        accuracy: random.chance(4).then(|| Accuracy {
            mark: Length::mm(1.0),
            bend: Angle::deg(random.within(0.0, 0.6)),
            rotation: Angle::deg(random.within(0.0, 1.2)),
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
    let die = &bender.dies[0];
    let law = Law {
        constant: Angle::deg(random.within(0.0, 3.0)),
        proportional: random.within(0.0, 0.05),
        radius_growth: !random.chance(4),
        stretch: if random.chance(3) { random.within(0.0, 0.04) } else { 0.0 },
        ..Law::new(0, die.clr, Length::ZERO, None)
    };
    let plausible = random.chance(2);
    let bends: Vec<Row> = (0..=random.below(12))
        .map(|place| Row {
            length: Length::mm(if plausible { random.within(150.0, 260.0) } else { random.within(0.0, 600.0) }),
            rotation: Angle::deg(match (place, random.below(3)) {
                (0, _) | (_, 0) => 0.0,
                (_, 1) => 180.0,
                _ => random.within(-180.0, 180.0),
            }),
            angle: Angle::deg(if plausible { random.within(15.0, 60.0) } else { random.within(1.0, 185.0) }),
        })
        .collect();
    let centreline = Centreline {
        radii: vec![law.formed_radius(); bends.len()],
        bend_nodes: (1..=bends.len()).collect(),
        nodes: vec![None; bends.len() + 2],
        rows: Rows { bends, last: Length::mm(random.within(0.0, 400.0)) },
        passed: Vec::new(),
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    };
    let extra = Length::mm(if random.chance(4) { 60.0 } else { 0.0 });
    Blank::new(&centreline, die.od, extra, Length::ZERO, &|_| law)
}

/// A random step: bender, blank, bend, lead end, bends already made.
fn with_step(seed: u64, check: impl FnOnce(&Step<'_>)) {
    let mut random = Random(seed.wrapping_mul(0x1234_5678_9abc_def1) ^ 0x5eed);
    let bender = bender(&mut random);
    let blank = blank(&mut random, &bender);
    let bend = random.below(blank.bends.len() as u64) as usize;
    let lead = if random.chance(2) { LeadEnd::A } else { LeadEnd::B };
    let made: Vec<bool> = (0..blank.bends.len()).map(|place| place != bend && !random.chance(3)).collect();
    check(&Step { bender: &bender, blank: &blank, bend: BendId(bend), lead, made: &made });
}

/// The shapes of one obstacle of the report, in the words of the description.
fn obstacles<'a>(step: &Step<'a>, name: &str, derived: &'a [(String, Shape, Carrier)]) -> Vec<Obstacle<'a>> {
    let bender = step.bender;
    if name == "floor" {
        return vec![Obstacle::Floor];
    }
    if let Some(solid) = bender.solids.iter().find(|solid| solid.name == name) {
        return vec![Obstacle::Solid { shape: &solid.shape, on: solid.on, holds: false }];
    }
    derived
        .iter()
        .filter(|(part, ..)| part == name)
        .map(|(_, shape, on)| Obstacle::Solid { shape, on: *on, holds: true })
        .collect()
}

fn die_parts(step: &Step<'_>) -> Vec<(String, Shape, Carrier)> {
    let die = &step.bender.dies[0];
    let sign = step.bender.hand.sign();
    let (clr, od) = (die.clr.to_mm(), die.od.to_mm());
    let (inner, outer) = (-sign * clr, -sign * (clr + 1.25 * od));
    let beside = |from: f64, to: f64| Shape::Box {
        min: Point3::new(from, inner.min(outer), -0.75 * od),
        max: Point3::new(to, inner.max(outer), 0.75 * od),
    };
    let disc = Shape::Cylinder {
        from: Point3::new(0.0, 0.0, -0.75 * od),
        to: Point3::new(0.0, 0.0, 0.75 * od),
        radius: die.clr,
    };
    let or = |given: &[Shape], derived: Shape| if given.is_empty() { vec![derived] } else { given.to_vec() };
    let mut parts = Vec::new();
    for (name, shapes, on) in [
        ("die", or(&die.shapes.die, disc), Carrier::Die),
        ("clamp", or(&die.shapes.clamp, beside(0.0, die.clamp_length.to_mm())), Carrier::Die),
        ("follower", or(&die.shapes.follower, beside(-die.follower_length.to_mm(), 0.0)), Carrier::Follower),
    ] {
        parts.extend(shapes.into_iter().map(|shape| (name.to_owned(), shape, on)));
    }
    parts
}

/// What the judge is allowed to be off by, mm.
const SAMPLED: f64 = 0.2;

fn hold_against_the_judge(seed: u64, step: &Step<'_>, judge: &Judge<'_>, clearance: &Clearance) {
    let comfortable = step.bender.clearance.comfortable.to_mm();
    let name = clearance.obstacle.as_str();
    let parts = die_parts(step);
    let said = || format!("seed {seed}, {name}: {clearance:?}");
    let over_parts = |to: f64, limit: f64, need: bool| {
        if name == "tube" {
            return judge.smallest_self(to, SAMPLED, limit);
        }
        let mut all: (Option<Found>, f64) = (None, SAMPLED);
        for obstacle in obstacles(step, name, &parts) {
            let (found, within) = judge.smallest(&obstacle, to, SAMPLED, limit, need);
            all.1 = all.1.max(within);
            if all.0.is_none_or(|known| found.is_some_and(|found| found.gap < known.gap)) {
                all.0 = found.or(all.0);
            }
        }
        all
    };
    let (sampled, within) = over_parts(judge.target, comfortable, false);
    match (clearance.nearest, sampled) {
        (None, None) => {}
        (None, Some(found)) => {
            assert!(
                found.gap > comfortable - 0.1,
                "missed a gap: {found:?} at blank {} {}",
                judge.blank(found.s),
                said()
            );
        }
        (Some(nearest), None) => {
            assert!(nearest.gap.to_mm() > comfortable - within - 0.1, "no such gap was sampled: {}", said());
        }
        (Some(nearest), Some(found)) => {
            let truth = found.gap.max(0.0);
            assert!(nearest.gap.to_mm() <= truth + 0.1, "above the sample {found:?}: {}", said());
            assert!(nearest.gap.to_mm() >= truth - within - 0.1, "below the sample {found:?}: {}", said());
        }
    }
    if let Some(nearest) = clearance.nearest {
        // The witness: the place on the blank lies where it is said to lie, and is as near as it is said to be.
        let a = nearest.die_angle.to_rad();
        let at = judge.point(judge.along(nearest.blank.to_mm()), a);
        assert!((at - nearest.point).norm() < 0.05, "the place is at {at}: {}", said());
        assert!((0.0..=judge.target + 1e-9).contains(&a), "die angle: {}", said());
    }
    if clearance.verdict == Verdict::Contact {
        let nearest = clearance.nearest.expect("a contact has a place");
        assert!(nearest.gap == Length::ZERO, "{}", said());
        // Nothing touches before.
        let before = (nearest.die_angle - Angle::deg(0.05)).to_rad();
        if before > 0.0
            && let (Some(found), within) = over_parts(before, 0.0, false)
        {
            assert!(found.gap > -within, "touched before, {found:?}: {}", said());
        }
    }
    if let Some(found) = sampled
        && found.gap < -0.01
    {
        assert_eq!(clearance.verdict, Verdict::Contact, "{found:?} {}", said());
    }
    if name != "tube" && clearance.verdict != Verdict::Contact {
        // What must be kept, place by place: far from a limit the verdict is that of the judge.
        let (sampled, within) = over_parts(judge.target, 1.0, true);
        match sampled {
            Some(found) if found.gap < -0.15 => assert_eq!(clearance.verdict, Verdict::Tight, "{found:?} {}", said()),
            Some(found) if found.gap > within + 0.15 => {
                assert_eq!(clearance.verdict, Verdict::Clear, "{found:?} {}", said());
            }
            None => assert_eq!(clearance.verdict, Verdict::Clear, "{}", said()),
            Some(_) => assert!(clearance.verdict <= Verdict::Tight, "{}", said()),
        }
    }
    if let Some(nearest) = clearance.nearest
        && name != "tube"
    {
        let s = judge.along(nearest.blank.to_mm());
        let a = nearest.die_angle.to_rad();
        let need = judge.need(s, a, judge.point(s, a));
        assert!((need - nearest.keep.to_mm()).abs() < 0.1, "must keep {need}: {}", said());
    }
}

/// Checks one seed: how many gaps and contacts it showed.
fn check(seed: u64) -> (usize, usize) {
    let mut seen = (0, 0);
    with_step(seed, |step| {
        let report = clearance::report(step);
        let judge = Judge::new(*step);
        for clearance in &report.clearances {
            hold_against_the_judge(seed, step, &judge, clearance);
            seen.0 += usize::from(clearance.nearest.is_some());
            seen.1 += usize::from(clearance.verdict == Verdict::Contact);
        }
        let worst = report.clearances.iter().map(|clearance| clearance.verdict).max();
        assert_eq!(worst, Some(report.verdict), "seed {seed}");
        let wanted = match report.verdict {
            Verdict::Clear => clearance::Decision::Clear,
            Verdict::Tight | Verdict::Contact => clearance::Decision::NotClear,
            Verdict::Unproven => clearance::Decision::Unproven,
        };
        assert_eq!(clearance::decide(step), wanted, "seed {seed}");
    });
    seen
}

/// Sums up a check of gaps and contacts over all seeds below a count, or makes that of `TUBEWRIGHT_SEED` alone. Two halves side by side: half the
/// time on two cores.
fn over_seeds(count: u64, check: fn(u64) -> (usize, usize)) -> Option<(usize, usize)> {
    if let Some(seed) = std::env::var("TUBEWRIGHT_SEED").ok().and_then(|seed| seed.parse().ok()) {
        check(seed);
        return None;
    }
    let half = |rest: u64| (rest..count).step_by(2).map(check).fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    let (even, odd) = std::thread::scope(|scope| {
        let even = scope.spawn(|| half(0));
        let odd = half(1);
        (even.join().expect("a failed check is shown by its own message"), odd)
    });
    Some((even.0 + odd.0, even.1 + odd.1))
}

#[test]
fn certified_gaps_agree_with_single_points() {
    let Some((gaps, contacts)) = over_seeds(count(), check) else { return };
    assert!(gaps > 2000 && contacts > 600, "too few to tell: {gaps} gaps, {contacts} contacts");
}

#[test]
fn the_swing_holds_every_point_and_is_reached() {
    for seed in 0..count() / 4 {
        with_step(seed, |step| {
            let swing = clearance::report(step).swing;
            let judge = Judge::new(*step);
            let up = step.bender.bend_plane.up();
            let half = step.blank.od.to_mm() / 2.0;
            let (mut reach, mut high, mut low) = (0.0_f64, f64::NEG_INFINITY, f64::INFINITY);
            let cut = step.blank.cut_length.to_mm();
            for i in 0..=400 {
                for j in 0..=120 {
                    let a = judge.target * f64::from(j) / 120.0;
                    let p = judge.point(judge.along(cut * f64::from(i) / 400.0), a);
                    let height = p.coords.dot(&up) + step.bender.centre_height.to_mm();
                    reach = reach.max(libm::hypot(p.x, p.y) + half);
                    high = high.max(height + half);
                    low = low.min(height - half);
                }
            }
            let room = swing.reach.to_mm() * 0.02 + 3.0;
            let said = format!("seed {seed}: {swing:?} against {reach} {high} {low}");
            assert!((reach - 0.02..reach + room).contains(&swing.reach.to_mm()), "{said}");
            assert!((high - 0.02..high + room).contains(&swing.high.to_mm()), "{said}");
            assert!((low - room..low + 0.02).contains(&swing.low.to_mm()), "{said}");
        });
    }
}

/// Two answers may each be under the truth by 0.01 mm.
const SAME: f64 = 0.0101;

/// The gaps of one report and another, obstacle by obstacle; a gap that is not shown is at least `comfortable`.
fn gaps(step: &Step<'_>) -> Vec<(String, f64, Verdict)> {
    let beyond = step.bender.clearance.comfortable.to_mm();
    let gap = |clearance: &Clearance| clearance.nearest.map_or(beyond, |nearest| nearest.gap.to_mm());
    clearance::report(step).clearances.iter().map(|one| (one.obstacle.clone(), gap(one), one.verdict)).collect()
}

fn mirrored(point: Point3<f64>) -> Point3<f64> {
    Point3::new(point.x, -point.y, point.z)
}

fn mirrored_shape(shape: &Shape) -> Shape {
    match shape {
        Shape::Box { min, max } => {
            Shape::Box { min: Point3::new(min.x, -max.y, min.z), max: Point3::new(max.x, -min.y, max.z) }
        }
        Shape::Cylinder { from, to, radius } => {
            Shape::Cylinder { from: mirrored(*from), to: mirrored(*to), radius: *radius }
        }
        Shape::Capsule { from, to, radius } => {
            Shape::Capsule { from: mirrored(*from), to: mirrored(*to), radius: *radius }
        }
        Shape::Mesh(mesh) => Shape::Mesh(TriangleMesh {
            points: mesh.points.iter().copied().map(mirrored).collect(),
            triangles: mesh.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect(),
        }),
    }
}

#[test]
fn a_mirrored_tube_on_the_mirrored_bender_of_the_other_hand_has_the_same_gaps() {
    for seed in 0..count() / 2 {
        with_step(seed, |step| {
            let mut bender = step.bender.clone();
            bender.hand = match bender.hand {
                Hand::Anticlockwise => Hand::Clockwise,
                Hand::Clockwise => Hand::Anticlockwise,
            };
            if let BendPlane::Vertical { up } = &mut bender.bend_plane {
                *up = Unit::new_normalize(Vector3::new(up.x, -up.y, up.z));
            }
            for solid in &mut bender.solids {
                solid.shape = mirrored_shape(&solid.shape);
            }
            let shapes = &mut bender.dies[0].shapes;
            for list in [&mut shapes.die, &mut shapes.clamp, &mut shapes.follower] {
                *list = list.iter().map(mirrored_shape).collect();
            }
            let mut blank = step.blank.clone();
            for bend in &mut blank.bends {
                bend.rotation = -bend.rotation;
                bend.psi = -bend.psi;
            }
            let other = gaps(&Step { bender: &bender, blank: &blank, ..*step });
            for ((name, gap, verdict), (_, other_gap, other_verdict)) in gaps(step).into_iter().zip(other) {
                assert!((gap - other_gap).abs() < SAME, "seed {seed}, {name}: {gap} and {other_gap}");
                assert_eq!(verdict, other_verdict, "seed {seed}, {name}");
            }
        });
    }
}

#[test]
fn what_is_on_the_die_does_not_care_whether_the_die_turns_or_stands() {
    let mut compared = 0;
    for seed in 0..count() / 2 {
        with_step(seed, |step| {
            let mut bender = step.bender.clone();
            bender.motion = match bender.motion {
                BendMotion::DieTurns => BendMotion::DieStands,
                BendMotion::DieStands => BendMotion::DieTurns,
            };
            let on_die = |name: &str| {
                let own = step.bender.solids.iter().find(|solid| solid.name == name);
                own.map_or(name == "die" || name == "clamp" || name == "tube", |solid| solid.on == Carrier::Die)
            };
            let other = gaps(&Step { bender: &bender, ..*step });
            for ((name, gap, verdict), (_, other_gap, other_verdict)) in gaps(step).into_iter().zip(other) {
                if on_die(&name) {
                    assert!((gap - other_gap).abs() < SAME, "seed {seed}, {name}: {gap} and {other_gap}");
                    assert_eq!(verdict, other_verdict, "seed {seed}, {name}");
                    compared += usize::from(gap < step.bender.clearance.comfortable.to_mm());
                }
            }
        });
    }
    assert!(compared > 100, "too few to tell: {compared}");
}

#[test]
fn one_solid_more_never_helps_and_changes_no_other_gap() {
    let mut worse = 0;
    for seed in 0..count() {
        with_step(seed, |step| {
            let mut random = Random(seed ^ 0xadd);
            let mut bender = step.bender.clone();
            let solid = Solid { name: "more".to_owned(), on: carrier(&mut random), shape: shape(&mut random, 900.0) };
            bender.solids.push(solid);
            let more = Step { bender: &bender, ..*step };
            let (before, after) = (clearance::decide(step), clearance::decide(&more));
            assert!(before == clearance::Decision::Clear || after != clearance::Decision::Clear, "seed {seed}");
            worse += usize::from(before != after);
            let mut with: Vec<_> = clearance::report(&more).clearances;
            with.retain(|one| one.obstacle != "more");
            assert_eq!(with, clearance::report(step).clearances, "seed {seed}");
        });
    }
    assert!(worse > 50, "too few to tell: {worse}");
}

#[test]
fn a_thicker_tube_never_comes_less_near() {
    for seed in 0..count() / 2 {
        with_step(seed, |step| {
            let mut blank = step.blank.clone();
            blank.od += Length::mm(1.0);
            let thicker = gaps(&Step { blank: &blank, ..*step });
            for ((name, gap, _), (_, thick, _)) in gaps(step).into_iter().zip(thicker) {
                assert!(thick <= gap + SAME, "seed {seed}, {name}: {gap}, and {thick} with a thicker tube");
                // Half a millimetre on the tube's side, a whole one between the tube and itself.
                let most = if name == "tube" { 1.0 } else { 0.5 };
                assert!(thick >= (gap - most - SAME).max(0.0), "seed {seed}, {name}: {gap}, {thick}");
            }
        });
    }
}

/// The rigid parts asked one by one are what a decision about the step says, and each depends on its own side's bends only.
#[test]
fn the_parts_of_a_decision_depend_on_their_own_side_only() {
    use clearance::{Decision, LeadPart, Machine, TrailPart};
    for seed in 0..count() / 2 {
        with_step(seed, |step| {
            let machine = Machine::new(step.bender);
            let side = |ahead: bool| -> Vec<bool> {
                let keeps = |place: usize| (place < step.bend.0) == (ahead == (step.lead == LeadEnd::A));
                step.made.iter().enumerate().map(|(place, made)| *made && keeps(place)).collect()
            };
            let (ahead, behind) = (side(true), side(false));
            let lead = LeadPart::new(&Step { made: &ahead, ..*step });
            let trail = TrailPart::new(&Step { made: &behind, ..*step });
            let answers =
                [machine.decide_lead(&lead), machine.decide_trail(&trail), machine.decide_between(&lead, &trail)];
            let whole = if answers.contains(&Decision::NotClear) {
                Decision::NotClear
            } else if answers.contains(&Decision::Unproven) {
                Decision::Unproven
            } else {
                Decision::Clear
            };
            assert_eq!(whole, machine.decide(step), "seed {seed}");
        });
    }
}
