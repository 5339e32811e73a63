//! What is drawn stands where the library says, to 0.1 mm: the corners of the surfaces themselves, as they go to the graphics card.

#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

mod common;

use std::path::Path;

use common::{Shop, samples};
use nalgebra::{Point3, Unit, Vector3};
use tubewright::body::{Bow, Placed};
use tubewright::job::Tube;
use tubewright::units::Angle;
use tubewright_viewer::convert::{self, MM_PER_UNIT};
use tubewright_viewer::scene::bench::{Shown, bench};
use tubewright_viewer::scene::finished::finished;
use tubewright_viewer::scene::{Body, Look, Scene};

/// How far a drawn point may be off, mm.
const OFF: f64 = 0.1;

/// A straight or an arc, as the distances of the test need it.
enum Course {
    Straight(Point3<f64>, Point3<f64>),
    /// Centre, axis, radius, start, angle.
    Arc(Point3<f64>, Unit<Vector3<f64>>, f64, Point3<f64>, f64),
}

impl Course {
    fn of(piece: &Placed) -> Self {
        match piece.bow {
            Bow::Straight => Self::Straight(piece.from, piece.to),
            Bow::Arc { centre, axis, radius, angle } => {
                Self::Arc(centre, axis, radius.to_mm(), piece.from, angle.to_rad())
            }
        }
    }

    /// From a point to the course; `None` where the nearest place lies beyond its ends.
    fn distance(&self, point: Point3<f64>) -> Option<f64> {
        match self {
            Self::Straight(from, to) => {
                let way = to - from;
                let along = (point - from).dot(&way) / way.norm_squared();
                let slack = OFF / way.norm();
                (-slack..=1.0 + slack).contains(&along).then(|| (point - (from + way * along)).norm())
            }
            Self::Arc(centre, axis, radius, from, angle) => {
                let out = point - centre;
                let high = out.dot(axis);
                let flat = out - axis.into_inner() * high;
                let start = (from - centre).normalize();
                let at = libm::atan2(axis.dot(&start.cross(&flat)), start.dot(&flat)).rem_euclid(std::f64::consts::TAU);
                let slack = OFF / radius;
                let on = at <= angle + slack || at >= std::f64::consts::TAU - slack;
                on.then(|| libm::hypot(flat.norm() - radius, high))
            }
        }
    }

    fn ends(&self) -> [Point3<f64>; 2] {
        match self {
            Self::Straight(from, to) => [*from, *to],
            Self::Arc(centre, axis, _, from, angle) => {
                [*from, centre + nalgebra::Rotation3::from_axis_angle(axis, *angle) * (from - centre)]
            }
        }
    }
}

/// The corners as the graphics card gets them, in mm again.
fn drawn(body: &Body) -> Vec<Point3<f64>> {
    let back = |point: &Point3<f64>| {
        let there = convert::point(point);
        Point3::new(f64::from(there.x), f64::from(there.y), f64::from(there.z)) * MM_PER_UNIT
    };
    body.mesh.points.iter().map(back).collect()
}

/// Every corner lies half the OD from the centreline, but for the middles of the two ends; and there are corners all along it.
fn stands_around(body: &Body, courses: &[Course], od: f64, what: &str) {
    let points = drawn(body);
    let ends = [courses[0].ends()[0], courses[courses.len() - 1].ends()[1]];
    for point in &points {
        let near = courses.iter().filter_map(|course| course.distance(*point)).fold(f64::INFINITY, f64::min);
        let middle = ends.iter().any(|end| (point - end).norm() < OFF);
        assert!(middle || (near - od / 2.0).abs() < OFF, "{what}: {point} is {near} mm from the centreline, OD {od}");
    }
    for end in courses.iter().flat_map(Course::ends) {
        let around = points.iter().filter(|point| ((*point - end).norm() - od / 2.0).abs() < OFF).count();
        assert!(around >= 30, "{what}: {around} corners around {end}");
    }
}

fn body(scene: &Scene, look: Look) -> Option<&Body> {
    scene.bodies.iter().find(|body| body.look == look)
}

#[test]
fn the_tube_in_the_bender_is_drawn_where_it_is() {
    let mut looked = 0;
    for sample in samples() {
        let work = Shop::new(&sample).work();
        let people = work.people();
        let (job, plan) = work.shown().unwrap();
        for tube in &plan.tubes {
            for (place, step) in tube.steps.iter().enumerate() {
                let shown = Shown { job, tube, step: place, people: &people };
                for share in [0.0, 0.37, 1.0] {
                    let angle = step.die_angle * share;
                    let scene = bench(&shown, angle);
                    let od = tube.stock.od.to_mm();
                    let courses =
                        |angle: Angle| -> Vec<Course> { shown.pieces(angle).unwrap().iter().map(Course::of).collect() };
                    let what = format!("{sample}, {}, step {}, {share}", tube.name, place + 1);
                    stands_around(body(&scene, Look::Tube).unwrap(), &courses(angle), od, &what);
                    if let Some(next) = body(&scene, Look::Next) {
                        stands_around(next, &courses(step.die_angle), od, &what);
                    }
                    if let Some(was) = body(&scene, Look::Was) {
                        stands_around(was, &courses(Angle::ZERO), od, &what);
                    }
                    looked += 1;
                }
            }
        }
    }
    assert!(looked > 60, "{looked}");
}

/// The corners rounded by hand: a circle of the formed radius that touches both legs.
fn rounded(tube: &Tube) -> Vec<Course> {
    let line = &tube.centreline;
    let corners: Vec<Point3<f64>> = line.bend_nodes.iter().map(|node| line.nodes[*node].unwrap()).collect();
    let (first, last) = (line.nodes[0].unwrap(), line.nodes[line.nodes.len() - 1].unwrap());
    let mut points = vec![first];
    points.extend(corners);
    points.push(last);
    let way = |from: usize| (points[from + 1] - points[from]).normalize();
    let count = points.len();
    let mut courses = Vec::new();
    let mut from = first - way(0) * tube.beyond()[0].to_mm();
    for (bend, radius) in line.radii.iter().enumerate() {
        let (before, after) = (way(bend), way(bend + 1));
        let half = before.angle(&after) / 2.0;
        let setback = radius.to_mm() * libm::tan(half);
        let corner = points[bend + 1];
        let start = corner - before * setback;
        let centre = corner + (after - before).normalize() * (radius.to_mm() / libm::cos(half));
        courses.push(Course::Straight(from, start));
        let axis = Unit::new_normalize(before.cross(&after));
        courses.push(Course::Arc(centre, axis, radius.to_mm(), start, 2.0 * half));
        from = corner + after * setback;
    }
    courses.push(Course::Straight(from, last + way(count - 2) * tube.beyond()[1].to_mm()));
    courses
}

#[test]
fn finished_tubes_are_drawn_where_their_nodes_are() {
    let mut looked = 0;
    for sample in samples() {
        let work = Shop::new(&sample).work();
        let (job, plan) = work.shown().unwrap();
        let scene = finished(job, plan, 0);
        for tube in &job.tubes {
            if tube.centreline.nodes.iter().any(Option::is_none) {
                continue;
            }
            let body = scene.bodies.iter().find(|body| body.name == tube.name).unwrap();
            stands_around(body, &rounded(tube), tube.stock.od.to_mm(), &format!("{sample}, {}", tube.name));
            looked += 1;
        }
        // Every named node has its label, at its point.
        for (place, tube) in job.tubes.iter().enumerate() {
            for (node, point) in tube.centreline.nodes.iter().enumerate() {
                let Some(point) = point else { continue };
                let tag = scene.tags.iter().find(|tag| tag.node == Some((place, node)));
                assert!(tag.is_some_and(|tag| (tag.at - point).norm() < OFF), "{sample}: node {node} of {}", tube.name);
            }
        }
    }
    assert!(looked >= 10, "{looked}");
}

#[test]
fn a_mirrored_tube_is_shown_on_the_other_side() {
    let job = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/jobs/pair.yaml"));
    assert!(job.exists());
    let work = Shop::new("pair").work();
    let (job, plan) = work.shown().unwrap();
    let scene = finished(job, plan, 0);
    assert_eq!(job.tubes.len(), 2);
    let sides: Vec<[Point3<f64>; 2]> = job
        .tubes
        .iter()
        .map(|tube| {
            let body = scene.bodies.iter().find(|body| body.name == tube.name).unwrap();
            let points = drawn(body);
            points.iter().fold([points[0]; 2], |[low, high], point| [low.inf(point), high.sup(point)])
        })
        .collect();
    // Mirrored in one of the planes of the axes: two coordinates keep their range, the third changes its sign.
    let mirrored = (0..3).filter(|&axis| {
        (sides[0][0][axis] + sides[1][1][axis]).abs() < OFF && (sides[0][1][axis] + sides[1][0][axis]).abs() < OFF
    });
    assert!(mirrored.count() >= 1, "{sides:?}");
}
