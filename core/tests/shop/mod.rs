//! An invented floor bender and random tubes, for tests and benchmarks that want what a shop has.

use nalgebra::{Point3, Vector3};
use tubewright::bender::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid,
};
use tubewright::centreline::{Centreline, Row, Rows};
use tubewright::forming::{Blank, Law};
use tubewright::units::{Angle, Length};

#[path = "../random/mod.rs"]
mod random;

pub use random::Random;

/// The die's centreline radius, mm.
pub const CLR: f64 = 127.0;
/// The tube's OD, mm.
pub const OD: f64 = 38.1;
/// The gap to be kept, mm.
pub const KEEP: f64 = 6.0;

/// A tube as shops bend them: 15 to 60 degrees, one or two planes, legs of 150 to 260 mm; 100 mm left at end A and 250 at end B.
pub fn plausible(seed: u64, size: usize) -> Blank {
    let mut random = Random(seed.wrapping_mul(0x1234_5678_9abc_def1) ^ size as u64);
    let planes = random.next() % 2;
    let second = random.within(-90.0, 90.0);
    let mut straights = (0..=size).map(|_| random.within(150.0, 260.0)).collect::<Vec<_>>().into_iter();
    let mut straight = || straights.next().unwrap_or(200.0);
    let mut choice = Random(seed ^ 0xb0b);
    let bends = (0..size)
        .map(|place| {
            let rotation = match (place, choice.next() % 3) {
                (0, _) | (_, 0) => 0.0,
                (_, 1) => 180.0,
                _ if planes == 1 => second,
                _ => 180.0,
            };
            (straight(), rotation, choice.within(15.0, 60.0))
        })
        .collect();
    blank(bends, straight(), [100.0, 250.0])
}

/// A tube of any shape: 10 to 110 degrees, any rotation, straights of 60 to 400 mm.
pub fn any(seed: u64, size: usize) -> Blank {
    let mut random = Random(seed.wrapping_mul(0x9876_5432_10fe_dcb1) ^ size as u64);
    let bends = (0..size)
        .map(|place| {
            let rotation = if place == 0 { 0.0 } else { random.within(-180.0, 180.0) };
            (random.within(60.0, 400.0), rotation, random.within(10.0, 110.0))
        })
        .collect();
    let extra = [random.within(0.0, 200.0), random.within(0.0, 300.0)];
    blank(bends, random.within(60.0, 400.0), extra)
}

/// The blank of straights, rotations and bend angles, a last straight, and what is left at either end.
pub fn blank(bends: Vec<(f64, f64, f64)>, last: f64, extra: [f64; 2]) -> Blank {
    let law = Law { constant: Angle::deg(1.1), proportional: 0.02, ..Law::new(0, Length::mm(CLR), Length::ZERO, None) };
    let row = |(length, rotation, angle)| Row {
        length: Length::mm(length),
        rotation: Angle::deg(rotation),
        angle: Angle::deg(angle),
    };
    let size = bends.len();
    let centreline = Centreline {
        radii: vec![law.formed_radius(); size],
        nodes: vec![None; size + 2],
        bend_nodes: (1..=size).collect(),
        rows: Rows { bends: bends.into_iter().map(row).collect(), last: Length::mm(last) },
        passed: Vec::new(),
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    };
    let [a, b] = extra.map(Length::mm);
    Blank::new(&centreline, Length::mm(OD), a, b, &|_| law)
}

/// An invented floor bender: arms above and below the tube, a ram, a pump, posts, a wall and a bench further off.
pub fn bender() -> Bender {
    let mm = Length::mm;
    let block = |name: &str, on: Carrier, min: [f64; 3], max: [f64; 3]| Solid {
        name: name.to_owned(),
        on,
        shape: Shape::Box { min: Point3::from(min), max: Point3::from(max) },
    };
    let round = |name: &str, on: Carrier, from: [f64; 3], to: [f64; 3], radius: f64| Solid {
        name: name.to_owned(),
        on,
        shape: Shape::Cylinder { from: Point3::from(from), to: Point3::from(to), radius: mm(radius) },
    };
    let rod = |name: &str, on: Carrier, from: [f64; 3], to: [f64; 3], radius: f64| Solid {
        name: name.to_owned(),
        on,
        shape: Shape::Capsule { from: Point3::from(from), to: Point3::from(to), radius: mm(radius) },
    };
    use Carrier::{Die as OnDie, Follower as OnFollower, Frame};
    let solids = vec![
        block("upper arm", Frame, [-420.0, -60.0, 45.0], [40.0, 60.0, 60.0]),
        block("lower arm", Frame, [-420.0, -60.0, -60.0], [40.0, 60.0, -45.0]),
        round("pivot", Frame, [0.0, 0.0, -90.0], [0.0, 0.0, 90.0], 19.0),
        round("ram", Frame, [-620.0, -10.0, -180.0], [-80.0, -10.0, -180.0], 40.0),
        block("pump", Frame, [-760.0, 40.0, -420.0], [-560.0, 200.0, -240.0]),
        round("left post", Frame, [-380.0, 30.0, -860.0], [-380.0, 30.0, -60.0], 38.0),
        round("right post", Frame, [-60.0, 60.0, -860.0], [-60.0, 60.0, -60.0], 38.0),
        block("foot", Frame, [-520.0, -240.0, -860.0], [120.0, 240.0, -820.0]),
        rod("hose", Frame, [-600.0, 120.0, -230.0], [-420.0, 90.0, -120.0], 12.0),
        rod("handle", OnDie, [20.0, 30.0, 75.0], [190.0, 160.0, 110.0], 14.0),
        round("die bolt", OnDie, [60.0, 0.0, 29.0], [60.0, 0.0, 70.0], 10.0),
        block("die strap", OnDie, [-20.0, -60.0, 29.0], [60.0, 40.0, 41.0]),
        round("follower pin", OnFollower, [-100.0, -190.0, -50.0], [-100.0, -190.0, 50.0], 12.0),
        block("follower rail", OnFollower, [-240.0, -230.0, -40.0], [-20.0, -180.0, -29.0]),
        block("wall", Frame, [-3000.0, 2300.0, -860.0], [3000.0, 2400.0, 1600.0]),
        block("bench", Frame, [-2600.0, -1900.0, -860.0], [-1300.0, -1300.0, -40.0]),
        round("column", Frame, [1500.0, 1500.0, -860.0], [1500.0, 1500.0, 2000.0], 90.0),
        rod("pipe run", Frame, [-3000.0, 1900.0, 900.0], [3000.0, 1900.0, 900.0], 40.0),
        block("operator", Frame, [-500.0, 500.0, -860.0], [0.0, 1000.0, 900.0]),
        rod("lamp", Frame, [300.0, 900.0, 1200.0], [0.0, 300.0, 700.0], 30.0),
    ];
    let die = Die {
        name: "five-inch".to_owned(),
        od: mm(OD),
        clr: mm(CLR),
        max_angle: Angle::deg(195.0),
        clamp_length: mm(70.0),
        follower_length: mm(150.0),
        mark_offset: mm(0.0),
        fit: mm(0.3),
        runout: mm(0.0),
        grip_min: mm(45.0),
        tail_min: mm(75.0),
        follower: Follower::Stands,
        shapes: DieShapes::default(),
        materials: Vec::new(),
    };
    Bender {
        name: None,
        motion: BendMotion::DieTurns,
        hand: Hand::Anticlockwise,
        bend_plane: BendPlane::Horizontal,
        centre_height: mm(860.0),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: mm(KEEP), comfortable: mm(40.0) },
        accuracy: None,
        level: None,
        seconds: Seconds::default(),
        lift: tubewright::bender::USUAL_LIFT,
        motions: Motions::default(),
        dies: vec![die],
        solids,
    }
}
