//! How far gaps are off where the truth is known: the table in DEVELOPERS.md.
//!
//! At rest: a direction n that points out of a convex solid at a point q of its surface (a face, an edge, a corner, a rim) makes q the
//! nearest point to everything beyond the plane through q + d n square to n. A straight in that plane, or an arc that touches it and
//! curves away, is d off, whatever the solid is like elsewhere.
//!
//! Bending: the end of the lead part goes round a circle about the die's axis; what stands outside it comes as near as its distance from
//! the axis less the circle's radius.
//!
//! `TUBEWRIGHT_UPDATE=1 cargo test -p tubewright --test characterise` writes the table anew.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

#[expect(unreachable_pub, reason = "shared with other tests")]
mod random;

use nalgebra::{Point3, Unit, Vector3};
use tubewright::bender::{
    BendMotion, BendPlane, Bender, Carrier, Die, DieShapes, Follower, Hand, Keep, Motions, Pointer, PointerSet,
    Seconds, Shape, Solid, TriangleMesh,
};
use tubewright::centreline::{BendId, Centreline, Row, Rows};
use tubewright::clearance::{self, Step};
use tubewright::forming::{Blank, Law, LeadEnd};
use tubewright::units::{Angle, Length};

use random::Random;

const OD: f64 = 40.0;
const CLR: f64 = 120.0;

impl Random {
    fn point(&mut self, reach: f64) -> Vector3<f64> {
        Vector3::new(self.within(-reach, reach), self.within(-reach, reach), self.within(-reach, reach))
    }

    fn direction(&mut self) -> Vector3<f64> {
        loop {
            let v = self.point(1.0);
            if (0.1..1.0).contains(&v.norm()) {
                return v.normalize();
            }
        }
    }

    /// A direction square to another.
    fn across(&mut self, n: &Vector3<f64>) -> Vector3<f64> {
        loop {
            let v = self.direction().cross(n);
            if v.norm() > 0.1 {
                return v.normalize();
            }
        }
    }
}

/// A solid with a point of its surface and a direction out of it there.
type Known = (Shape, Vector3<f64>, Vector3<f64>);

fn block(random: &mut Random) -> Known {
    let (at, size) = (random.point(500.0), random.point(100.0).map(|side| side.abs() + 20.0));
    // Each axis is pointed along, against, or not at all: a corner, an edge or a face.
    let mut n = Vector3::zeros();
    while n.norm() < 0.1 {
        n = random.direction().map(|part| if part.abs() < 0.4 { 0.0 } else { part });
    }
    let n = n.normalize();
    let within = random.point(1.0);
    let q = Vector3::from_fn(|i, _| {
        let share = if n[i] > 0.0 {
            1.0
        } else if n[i] < 0.0 {
            0.0
        } else {
            0.5 + 0.5 * within[i]
        };
        at[i] + size[i] * share
    });
    (Shape::Box { min: Point3::from(at), max: Point3::from(at + size) }, q, n)
}

fn cylinder(random: &mut Random, axis: Vector3<f64>) -> Known {
    let (middle, half, radius) = (random.point(500.0), random.within(20.0, 300.0), random.within(5.0, 90.0));
    let side = random.across(&axis);
    let tilt = random.within(0.0, core::f64::consts::FRAC_PI_2);
    // The wall, the lid, or the rim, where every direction between the two points out.
    let (q, n) = match random.within(0.0, 3.0) as usize {
        0 => (middle + axis * random.within(-half, half) + side * radius, side),
        1 => (middle + axis * half + side * radius * random.within(0.0, 1.0), axis),
        _ => (middle + axis * half + side * radius, axis * libm::sin(tilt) + side * libm::cos(tilt)),
    };
    let (from, to) = (Point3::from(middle - axis * half), Point3::from(middle + axis * half));
    (Shape::Cylinder { from, to, radius: Length::mm(radius) }, q, n)
}

fn capsule(random: &mut Random) -> Known {
    let (from, along, radius) = (random.point(500.0), random.point(300.0), random.within(5.0, 90.0));
    let (q, n) = if random.within(0.0, 2.0) < 1.0 {
        let n = random.across(&along.normalize());
        (from + along * random.within(0.0, 1.0), n)
    } else {
        let n = random.direction();
        (from + along, if n.dot(&along) < 0.0 { -n } else { n })
    };
    let shape = Shape::Capsule { from: Point3::from(from), to: Point3::from(from + along), radius: Length::mm(radius) };
    (shape, q + n * radius, n)
}

fn meshed(shape: &Shape) -> Shape {
    let Shape::Box { min, max } = shape else { return shape.clone() };
    let points = (0..8)
        .map(|bits| {
            let pick = |axis: usize| if bits & (1 << axis) == 0 { min[axis] } else { max[axis] };
            Point3::new(pick(0), pick(1), pick(2))
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
    Shape::Mesh(TriangleMesh { points, triangles })
}

/// A tube that touches the plane through `at` square to `n` and lies beyond it: a straight, or an arc of up to 170 degrees.
fn beyond(random: &mut Random, at: Vector3<f64>, n: &Vector3<f64>, arc: bool) -> Centreline {
    let along = random.across(n);
    let unit = |v: Vector3<f64>| Unit::new_normalize(v);
    if !arc {
        let (before, after) = (random.within(0.0, 800.0), random.within(0.0, 800.0));
        return centreline(at - along * before, unit(along), unit(*n), vec![], before + after, 1.0);
    }
    // The centre lies square to the tube, beyond the plane or in it.
    let aside = along.cross(n);
    let lean = random.within(-1.5, 1.5);
    let inward = n * libm::cos(lean) + aside * libm::sin(lean);
    let (radius, before, after) = (random.within(60.0, 400.0), random.within(0.0, 1.45), random.within(0.05, 1.45));
    let axis = along.cross(&inward);
    let (sin, cos) = libm::sincos(before);
    let start = at + inward * radius * (1.0 - cos) - along * radius * sin;
    let direction = along * cos - inward * sin;
    let row = Row { length: Length::ZERO, rotation: Angle::ZERO, angle: Angle::rad(before + after) };
    centreline(start, unit(direction), unit(axis), vec![row], 0.0, radius)
}

fn centreline(
    start: Vector3<f64>,
    direction: Unit<Vector3<f64>>,
    normal: Unit<Vector3<f64>>,
    bends: Vec<Row>,
    last: f64,
    radius: f64,
) -> Centreline {
    Centreline {
        radii: vec![Length::mm(radius); bends.len()],
        nodes: vec![None; bends.len() + 2],
        bend_nodes: (1..=bends.len()).collect(),
        rows: Rows { bends, last: Length::mm(last) },
        passed: Vec::new(),
        start: Point3::from(start),
        direction,
        normal,
    }
}

/// Most above and most below the truth.
#[derive(Default)]
struct Off {
    above: f64,
    below: f64,
}

impl Off {
    fn take(&mut self, found: f64, known: f64) {
        self.above = self.above.max(found - known);
        self.below = self.below.max(known - found);
    }
}

fn at_rest(random: &mut Random, known: &Known, off: &mut [Off; 2]) {
    let (shape, q, n) = known;
    for (arc, off) in [false, true].into_iter().zip(off) {
        let gap = random.within(0.5, 200.0);
        let tube = beyond(random, q + n * (gap + 0.5 * OD), n, arc);
        off.take(clearance::static_gap(&tube, Length::mm(OD), shape).to_mm(), gap);
    }
}

fn bender(solid: Shape, plane: BendPlane, height: f64) -> Bender {
    let mm = Length::mm;
    let die = Die {
        name: "die".to_owned(),
        od: mm(OD),
        clr: mm(CLR),
        max_angle: Angle::deg(200.0),
        clamp_length: mm(60.0),
        follower_length: mm(100.0),
        mark_offset: mm(0.0),
        fit: mm(0.3),
        runout: mm(0.0),
        grip_min: mm(60.0),
        tail_min: mm(100.0),
        follower: Follower::Stands,
        shapes: DieShapes::default(),
        materials: Vec::new(),
    };
    Bender {
        name: None,
        motion: BendMotion::DieTurns,
        hand: Hand::Anticlockwise,
        bend_plane: plane,
        centre_height: mm(height),
        pin: None,
        pointer: Pointer { set_to: Angle::ZERO, when: PointerSet::SlackOut, step: Angle::deg(0.5) },
        clearance: Keep { keep: mm(5.0), comfortable: mm(1000.0) },
        accuracy: None,
        level: None,
        seconds: Seconds::default(),
        lift: tubewright::bender::USUAL_LIFT,
        motions: Motions::default(),
        dies: vec![die],
        solids: vec![Solid { name: "solid".to_owned(), on: Carrier::Frame, shape: solid }],
    }
}

/// A bend of 150 degrees on a straight blank; `lead` of it ahead of the die.
fn blank(lead: f64) -> Blank {
    let law = Law::new(0, Length::mm(CLR), Length::ZERO, None);
    let row = Row { length: Length::mm(lead), rotation: Angle::ZERO, angle: Angle::deg(150.0) };
    let line = centreline(Vector3::zeros(), Vector3::x_axis(), Vector3::z_axis(), vec![row], 200.0, CLR);
    Blank::new(&line, Length::mm(OD), Length::ZERO, Length::ZERO, &|_| law)
}

fn report(bender: &Bender, blank: &Blank, obstacle: &str) -> f64 {
    let step = Step { bender, blank, bend: BendId(0), lead: LeadEnd::A, made: &[false] };
    let report = clearance::report(&step);
    let found = report.clearances.iter().find(|one| one.obstacle == obstacle).and_then(|one| one.nearest);
    found.map_or(f64::INFINITY, |nearest| nearest.gap.to_mm())
}

/// What stands outside the circle of the lead end, in its way between 10 and 80 degrees from the x axis.
fn bending(random: &mut Random, off: &mut BTreeMap<&'static str, Off>) {
    let lead = random.within(200.0, 900.0);
    let blank = blank(lead);
    let circle = libm::hypot(lead, CLR);
    let gap = random.within(1.0, 150.0);
    let (sin, cos) = libm::sincos(Angle::deg(random.within(10.0, 80.0)).to_rad());
    let foot = |reach: f64, z: f64| Point3::new(cos * (circle + reach), sin * (circle + reach), z);
    let radius = random.within(5.0, 60.0);
    let reach = gap + 0.5 * OD;
    let floor = BendPlane::Horizontal;
    let post = |z: f64| foot(reach + radius, z);
    let corner = foot(reach, -300.0);
    let block = Shape::Box { min: corner, max: corner + Vector3::new(100.0, 150.0, 600.0) };
    let solids = [
        ("box", block.clone()),
        ("cylinder along z", Shape::Cylinder { from: post(-200.0), to: post(300.0), radius: Length::mm(radius) }),
        ("capsule", Shape::Capsule { from: post(-200.0), to: post(300.0), radius: Length::mm(radius) }),
        ("mesh", meshed(&block)),
    ];
    for (name, shape) in solids {
        let found = report(&bender(shape, floor, 900.0), &blank, "solid");
        off.entry(name).or_default().take(found, gap);
    }
    // The lead end starts at (lead, -CLR) and goes round by 150 degrees: past the lowest place, if that is ahead of it.
    let below = random.within(20.0, 140.0);
    let up = Angle::deg(below).to_rad() - libm::atan2(CLR, lead);
    let (sin, cos) = libm::sincos(up);
    let up = Unit::new_normalize(Vector3::new(-cos, -sin, 0.0));
    let off = off.entry("floor").or_default();
    let still = report_floor(&blank, BendPlane::Vertical { up }, circle + reach);
    off.take(still, gap);
    off.take(report_floor(&blank, BendPlane::Horizontal, reach), gap);
}

fn report_floor(blank: &Blank, plane: BendPlane, height: f64) -> f64 {
    let far = Point3::new(9000.0, 9000.0, 9000.0);
    let away = Shape::Capsule { from: far, to: far, radius: Length::mm(1.0) };
    report(&bender(away, plane, height), blank, "floor")
}

/// The power of ten that is not reached: 1e-9 stands for anything below.
fn power(off: f64) -> String {
    let power = (-9..=3).find(|power| off < 10.0_f64.powi(*power)).unwrap_or(4);
    format!("under 1e{power}")
}

fn table() -> String {
    let mut random = Random(0x5eed);
    let names = ["box", "cylinder along z", "cylinder, tilted", "capsule", "mesh"];
    let mut rest: BTreeMap<&str, [Off; 2]> = BTreeMap::new();
    for _ in 0..400 {
        for name in names {
            let known = match name {
                "cylinder along z" => cylinder(&mut random, Vector3::z()),
                "cylinder, tilted" => {
                    let axis = random.direction();
                    cylinder(&mut random, axis)
                }
                "capsule" => capsule(&mut random),
                "mesh" => {
                    let (shape, q, n) = block(&mut random);
                    (meshed(&shape), q, n)
                }
                _ => block(&mut random),
            };
            at_rest(&mut random, &known, rest.entry(name).or_default());
        }
    }
    let mut bend: BTreeMap<&str, Off> = BTreeMap::new();
    for _ in 0..100 {
        bending(&mut random, &mut bend);
    }
    let mut text =
        String::from("| tube | against | above the truth, mm | below the truth, mm |\n| --- | --- | --- | --- |\n");
    let mut row = |tube: &str, name: &str, off: &Off| {
        let written = writeln!(text, "| {tube} | {name} | {} | {} |", power(off.above), power(off.below));
        assert!(written.is_ok(), "a string takes any text");
    };
    for name in names {
        row("straight, at rest", name, &rest[name][0]);
    }
    for name in names {
        row("arc, at rest", name, &rest[name][1]);
    }
    for (name, off) in &bend {
        row("while bending", name, off);
    }
    text
}

#[test]
fn the_table_of_accuracy_is_the_one_that_is_kept() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md");
    let kept = std::fs::read_to_string(&path).unwrap();
    let (begin, end) = ("<!-- accuracy: written by core/tests/characterise.rs -->\n", "<!-- accuracy: end -->\n");
    let from = kept.find(begin).expect("DEVELOPERS.md has the table's first mark") + begin.len();
    let to = kept.find(end).expect("DEVELOPERS.md has the table's last mark");
    let table = table();
    if std::env::var_os("TUBEWRIGHT_UPDATE").is_some() {
        std::fs::write(&path, format!("{}{table}{}", &kept[..from], &kept[to..])).unwrap();
        return;
    }
    assert_eq!(&kept[from..to], table, "TUBEWRIGHT_UPDATE=1 writes it anew");
}
