//! What a certified decision about one bend costs, beside sampling the same motions every half degree.
//!
//! `cargo bench -p tubewright --bench clearance` prints a table of means over the steps and their ratios first, then divan's figures.
//!
//! Plausible tubes of 4, 8, 12 and 16 bends: 15 to 60 degrees, one or two planes, legs of 150 to 260 mm; a floor bender with 20 solids
//! (both invented). Of each tube the steps of both natural orders that are clear are asked about, since those are what a search
//! spends its time on and what sampling has to go through to the end. Sampling looks at the solids of the file's own alone: not at
//! the floor, the die, the clamp, the follower and the tube against itself, which a decision looks at too.

use std::hint::black_box;
use std::time::Instant;

use divan::Bencher;
use divan::counter::ItemsCount;
use nalgebra::{Point3, Vector3};
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Rotation, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::{Capsule, Cuboid, Cylinder, Segment, Shape as General};
use tubewright::bender::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid,
};
use tubewright::body::{Bow, Role, pieces_at};
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::{Decision, Machine, Step};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

const SIZES: [usize; 4] = [4, 8, 12, 16];
const TUBES: u64 = 40;
const CLR: f64 = 127.0;
const OD: f64 = 38.1;
const KEEP: f64 = 6.0;

#[expect(clippy::print_stdout, reason = "a benchmark is there to be read")]
fn main() {
    println!("| bends | clear steps | decide, us | sampled with parry, us | ratio |");
    println!("| --- | --- | --- | --- | --- |");
    let bender = bender();
    let machine = Machine::new(&bender);
    for size in SIZES {
        let steps = steps(&machine, &bender, size);
        let count = steps.len() as f64;
        // The fastest of several rounds: what else the machine does comes on top.
        let each = |rounds: usize, ask: &dyn Fn(&Owned) -> bool| {
            let round = || {
                let start = Instant::now();
                for step in &steps {
                    assert!(black_box(ask(black_box(step))), "a clear step");
                }
                start.elapsed().as_secs_f64() * 1e6 / count
            };
            (0..rounds).map(|_| round()).fold(f64::INFINITY, f64::min)
        };
        let decide = each(50, &|step| machine.decide(&step.step(&bender)) == Decision::Clear);
        let sampled = each(3, &|step| sampled(&step.step(&bender)));
        println!("| {size} | {count} | {decide:.2} | {sampled:.0} | {:.0} |", sampled / decide);
    }
    divan::main();
}

#[divan::bench(args = SIZES)]
fn decide(bencher: Bencher<'_, '_>, size: usize) {
    let bender = bender();
    let machine = Machine::new(&bender);
    let steps = steps(&machine, &bender, size);
    bencher.counter(ItemsCount::new(steps.len())).bench_local(|| {
        for step in &steps {
            black_box(machine.decide(&step.step(&bender)));
        }
    });
}

#[divan::bench(args = SIZES)]
fn report(bencher: Bencher<'_, '_>, size: usize) {
    let bender = bender();
    let machine = Machine::new(&bender);
    let steps = steps(&machine, &bender, size);
    bencher.counter(ItemsCount::new(steps.len())).bench_local(|| {
        for step in &steps {
            black_box(machine.report(&step.step(&bender)));
        }
    });
}

/// A step with what it refers to.
struct Owned {
    blank: Blank,
    made: Vec<bool>,
    bend: usize,
    lead: LeadEnd,
}

impl Owned {
    fn step<'a>(&'a self, bender: &'a Bender) -> Step<'a> {
        Step { bender, blank: &self.blank, bend: BendId(self.bend), lead: self.lead, made: &self.made }
    }
}

/// The clear steps of both natural orders of some tubes.
fn steps(machine: &Machine, bender: &Bender, size: usize) -> Vec<Owned> {
    let mut clear = Vec::new();
    for seed in 0..TUBES {
        let blank = blank(seed, size);
        for lead in [LeadEnd::A, LeadEnd::B] {
            for count in 0..size {
                let number = |at: usize| if lead == LeadEnd::A { at } else { size - 1 - at };
                let made = (0..size).map(|bend| (0..count).any(|at| number(at) == bend)).collect();
                let step = Owned { blank: blank.clone(), made, bend: number(count), lead };
                if machine.decide(&step.step(bender)) == Decision::Clear {
                    clear.push(step);
                }
            }
        }
    }
    clear
}

/// Every half degree, every straight and every chord of an arc (to 0.25 mm) against every solid whose box is near.
fn sampled(step: &Step<'_>) -> bool {
    let reach = KEEP + 0.5 * OD;
    let chords = |die_angle: f64| -> Vec<(Role, Vector, Vector)> {
        let mut all = Vec::new();
        for piece in pieces_at(step, Angle::deg(die_angle)) {
            let point = |p: Point3<f64>| Vector::new(p.x, p.y, p.z);
            match piece.bow {
                Bow::Straight => all.push((piece.role, point(piece.from), point(piece.to))),
                Bow::Arc { centre, axis, radius, angle } => {
                    let parts = (angle.to_rad() / (2.0 * (2.0 * 0.25 / radius.to_mm()).sqrt())).ceil().max(1.0);
                    let at = |part: f64| {
                        let turn = nalgebra::Rotation3::from_axis_angle(&axis, angle.to_rad() * part / parts);
                        point(centre + turn * (piece.from - centre))
                    };
                    all.extend((0..parts as usize).map(|part| (piece.role, at(part as f64), at(part as f64 + 1.0))));
                }
            }
        }
        all
    };
    let shapes: Vec<(Carrier, Pose, Box<dyn General>, Aabb)> = step
        .bender
        .solids
        .iter()
        .map(|solid| {
            let (pose, shape) = general(&solid.shape);
            let around = shape.compute_aabb(&pose);
            (solid.on, pose, shape, around)
        })
        .collect();
    let target = step.blank.bends[step.bend.0].die_angle.to_deg();
    // Both parts are rigid: only what is wrapped grows, and it lies where the lead part began at an earlier angle.
    let rest = chords(0.0);
    let samples = (target / 0.5).ceil() as usize;
    for sample in 0..=samples {
        let angle = (sample as f64 * 0.5).min(target);
        let turned = Pose::from_parts(Vector::ZERO, Rotation::from_rotation_z(angle.to_radians()));
        let pushed = Pose::from_translation(CLR * angle.to_radians() * Vector::X);
        let back = Rotation::from_rotation_z(-angle.to_radians());
        for (role, from, to) in &rest {
            let pose = if *role == Role::Lead { turned } else { pushed };
            let (from, to) = (pose.transform_point(*from), pose.transform_point(*to));
            for (on, place, shape, around) in &shapes {
                let (from, to) = if *on == Carrier::Die { (back * from, back * to) } else { (from, to) };
                let line = Aabb::new(from.min(to), from.max(to));
                let apart = (line.mins - around.maxs).max(around.mins - line.maxs).max(Vector::ZERO);
                if apart.length_squared() > reach * reach {
                    continue;
                }
                let found = query::distance(&Pose::IDENTITY, &Segment::new(from, to), place, shape.as_ref());
                if found.is_ok_and(|found| found.distance < reach) {
                    // A sample may be off by the rise of a chord: near misses are let pass.
                    if found.is_ok_and(|found| found.distance < reach - 0.5) {
                        return false;
                    }
                }
            }
        }
    }
    true
}

fn general(shape: &Shape) -> (Pose, Box<dyn General>) {
    let vector = |p: &Point3<f64>| Vector::new(p.x, p.y, p.z);
    match shape {
        Shape::Box { min, max } => {
            let (min, max) = (vector(min), vector(max));
            (Pose::from_translation(0.5 * (min + max)), Box::new(Cuboid::new(0.5 * (max - min))))
        }
        Shape::Cylinder { from, to, radius } => {
            let (from, to) = (vector(from), vector(to));
            let rotation = Rotation::from_rotation_arc(Vector::Y, (to - from).normalize());
            let cylinder = Cylinder::new(0.5 * (to - from).length(), radius.to_mm());
            (Pose::from_parts(0.5 * (from + to), rotation), Box::new(cylinder))
        }
        Shape::Capsule { from, to, radius } => {
            (Pose::IDENTITY, Box::new(Capsule::new(vector(from), vector(to), radius.to_mm())))
        }
        Shape::Mesh(_) => unreachable!("this bender has no meshes"),
    }
}

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014, from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

fn blank(seed: u64, size: usize) -> Blank {
    let mut random = Random(seed.wrapping_mul(0x1234_5678_9abc_def1) ^ size as u64);
    let planes = random.next() % 2;
    let second = random.within(-90.0, 90.0);
    let mut straights = (0..=size).map(|_| random.within(150.0, 260.0)).collect::<Vec<_>>().into_iter();
    let mut straight = || Length::mm(straights.next().unwrap_or(200.0));
    let mut choice = Random(seed ^ 0xb0b);
    let bends: Vec<Row> = (0..size)
        .map(|place| Row {
            length: straight(),
            rotation: Angle::deg(match (place, choice.next() % 3) {
                (0, _) | (_, 0) => 0.0,
                (_, 1) => 180.0,
                _ if planes == 1 => second,
                _ => 180.0,
            }),
            angle: Angle::deg(choice.within(15.0, 60.0)),
        })
        .collect();
    let law = Law { constant: Angle::deg(1.1), proportional: 0.02, ..Law::new(0, Length::mm(CLR), Length::ZERO, None) };
    let centreline = Centreline {
        radii: vec![law.formed_radius(); size],
        nodes: vec![None; size + 2],
        bend_nodes: (1..=size).collect(),
        rows: Rows { bends, last: straight() },
        passed: Vec::new(),
        start: Point3::origin(),
        direction: Vector3::x_axis(),
        normal: Vector3::z_axis(),
    };
    Blank::new(&centreline, Length::mm(OD), Length::mm(100.0), Length::mm(250.0), &|_| law)
}

/// An invented floor bender: arms above and below the tube, a ram, a pump, posts, a wall and a bench further off.
fn bender() -> Bender {
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
        seconds: Seconds {
            step: 60.0,
            swap_ends: 45.0,
            change_die: 240.0,
            set_turn: 20.0,
            turn_per_degree: 0.1,
            pin_move: 20.0,
            near: 60.0,
        },
        motions: Motions::default(),
        dies: vec![die],
        solids,
    }
}
