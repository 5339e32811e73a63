//! What a certified decision about one bend costs, beside sampling the same motions every half degree.
//!
//! `cargo bench -p tubewright --bench clearance` prints a table of means over the steps and their ratios first, then divan's figures.
//!
//! Plausible tubes of 4, 8, 12 and 16 bends: 15 to 60 degrees, one or two planes, legs of 150 to 260 mm; a floor bender with 20 solids
//! (both invented). Of each tube the steps of both natural orders that are clear are asked about, since those are what a search
//! spends its time on and what sampling has to go through to the end. Sampling with our own kernels looks at all that a decision looks
//! at; sampling with parry at the solids of the file's own alone, not at the floor, the die, the clamp, the follower and the tube
//! against itself.

#[expect(unreachable_pub, dead_code, reason = "shared with tests, which use more of it")]
#[path = "../tests/shop/mod.rs"]
mod shop;

use std::hint::black_box;
use std::time::Instant;

use divan::Bencher;
use divan::counter::ItemsCount;
use nalgebra::Point3;
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::{Pose, Rotation, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::{Capsule, Cuboid, Cylinder, Segment, Shape as General};
use tubewright::bender::{Bender, Carrier, Shape};
use tubewright::body::{Bow, Role, pieces_at};
use tubewright::centreline::BendId;
use tubewright::clearance::{Decision, Machine, Step};
use tubewright::forming::{Blank, LeadEnd};
use tubewright::units::Angle;

use shop::{CLR, KEEP, OD, bender, plausible};

const SIZES: [usize; 4] = [4, 8, 12, 16];
const TUBES: u64 = 40;

#[expect(clippy::print_stdout, reason = "a benchmark is there to be read")]
fn main() {
    println!(
        "| bends | clear steps | decide, us | sampled with our kernels, us | ratio | sampled with parry, us | ratio |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    let bender = bender();
    let machine = Machine::new(&bender);
    let sampling = Machine::sampling(&bender, Angle::deg(0.5));
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
        // A step that is clear by the narrowest margin is clear on samples too: they see less.
        let own = each(3, &|step| sampling.decide(&step.step(&bender)) == Decision::Clear);
        println!(
            "| {size} | {count} | {decide:.2} | {own:.0} | {:.0} | {sampled:.0} | {:.0} |",
            own / decide,
            sampled / decide
        );
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
        let blank = plausible(seed, size);
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
