//! The tube in the bender, in the middle of a step.
//!
//! Bender frame. The tube is shown at one die angle; where it lay before the bend and where it goes are seen through it. A tube that cannot be bent is
//! shown at the step that stops it.

use nalgebra::{Isometry3, Point3, Unit, UnitQuaternion, Vector3};
use tubewright::bender::{Bender, Shape, Step};
use tubewright::body::{Placed, pieces_at};
use tubewright::clearance::{Motion, Verdict, obstacle_point};
use tubewright::forming::LeadEnd;
use tubewright::job::Job;
use tubewright::motion::carried;
use tubewright::plan::{PlanStep, TubePlan};
use tubewright::round::People;
use tubewright::units::{Angle, Length};
use tubewright_paper::words::obstacle;

use super::mesh::{self, Mesh, Station};
use super::{Look, Scene, Stand, Trace};

/// One step of a tube of a plan.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The job, for its bender.
    pub job: &'a Job,
    /// The tube.
    pub tube: &'a TubePlan,
    /// The step, counted from 0.
    pub step: usize,
    /// How figures are printed.
    pub people: &'a People,
}

impl<'a> Shown<'a> {
    fn plan_step(&self) -> Option<&'a PlanStep> {
        self.tube.steps.get(self.step)
    }

    /// The centreline at a die angle, from end A to end B; `None` where the tube has no such step.
    #[must_use]
    pub fn pieces(&self, die_angle: Angle) -> Option<Vec<Placed>> {
        let made = self.tube.made_before(self.step + 1);
        Some(pieces_at(&self.question(&made)?, die_angle))
    }

    fn question<'b>(&self, made: &'b [bool]) -> Option<Step<'b>>
    where
        'a: 'b,
    {
        let step = self.plan_step()?;
        Some(Step { bender: &self.job.bender, blank: &self.tube.blank, bend: step.bend, lead: step.lead, made })
    }
}

/// The scene at a die angle; only the bender stands there where the tube has no such step.
#[must_use]
pub fn bench(shown: &Shown<'_>, die_angle: Angle) -> Scene {
    let bender = &shown.job.bender;
    let mut scene = Scene::new(bender.bend_plane.up());
    let made = shown.tube.made_before(shown.step + 1);
    let question = shown.question(&made);
    solids(&mut scene, bender, question.as_ref(), die_angle);
    if let (Some(step), Some(question)) = (shown.plan_step(), question) {
        tube(&mut scene, shown, step, &question, die_angle);
    }
    floor(&mut scene, bender);
    scene.stand = stand(&scene, bender);
    scene.sorted()
}

fn solids(scene: &mut Scene, bender: &Bender, question: Option<&Step<'_>>, die_angle: Angle) {
    let moved = |on| question.map_or_else(Isometry3::identity, |step| carried(step, on, die_angle));
    for solid in &bender.solids {
        let mesh = Mesh::of_shape(&solid.shape).moved(&moved(solid.on));
        let Some(middle) = middle(&mesh) else { continue };
        if solid.is_operator() {
            let (foot, ring) = place_on_floor(bender, &mesh, middle);
            scene.tag(foot, solid.name.clone(), 5);
            scene.line(ring, Trace::Place);
        } else if let Some(edges) = wall(&solid.shape) {
            let turned = moved(solid.on);
            for edge in edges {
                scene.line(edge.map(|point| turned * point).to_vec(), Trace::Edge);
            }
            scene.tag(middle, solid.name.clone(), 6);
        } else {
            scene.tag(middle, solid.name.clone(), 5);
            scene.body(solid.name.clone(), mesh, Look::Solid);
        }
    }
    let Some(die) = question.map(Step::die).or(bender.dies.first()) else { return };
    for tool in bender.tools(die) {
        let mut mesh = Mesh::default();
        tool.shapes.iter().for_each(|shape| mesh.add(&Mesh::of_shape(shape)));
        let mesh = mesh.moved(&moved(tool.on));
        if let Some(middle) = middle(&mesh) {
            let up = bender.bend_plane.up().into_inner();
            scene.tag(middle + up * (0.9 * die.od.to_mm()), tool.name, 4);
        }
        scene.body(tool.name, mesh, if tool.name == "die" { Look::Die } else { Look::Tool });
    }
}

/// Where somebody stands: a ring on the floor as wide as the room that is kept for them. Drawn whole they would stand in the way of the picture.
fn place_on_floor(bender: &Bender, mesh: &Mesh, middle: Point3<f64>) -> (Point3<f64>, Vec<Point3<f64>>) {
    const PARTS: u32 = 48;
    let up = bender.bend_plane.up();
    let level = |point: Point3<f64>| point - up.into_inner() * (up.dot(&point.coords) + bender.centre_height.to_mm());
    let foot = level(middle);
    let radius = mesh.points.iter().map(|point| (level(*point) - foot).norm()).fold(0.0, f64::max);
    let across = mesh::square_to(&up) * radius;
    let turned = |part| {
        let angle = f64::from(part) / f64::from(PARTS) * core::f64::consts::TAU;
        foot + UnitQuaternion::from_axis_angle(&up, angle) * across
    };
    (foot, (0..=PARTS).map(turned).collect())
}

/// The edges of a box that is a wall or a ceiling, too large to be drawn whole: it would hide what it stands before.
fn wall(shape: &Shape) -> Option<[[Point3<f64>; 2]; 12]> {
    const LARGE: f64 = 1500.0;
    let Shape::Box { min, max } = shape else { return None };
    let size = max - min;
    if size.iter().filter(|side| **side > LARGE).count() < 2 {
        return None;
    }
    let corner = |place: usize| {
        let pick = |axis: usize| if place >> axis & 1 == 1 { max[axis] } else { min[axis] };
        Point3::new(pick(0), pick(1), pick(2))
    };
    // Along each axis the four edges between corners that differ in that axis alone.
    let ends: [(usize, usize); 12] = std::array::from_fn(|edge| {
        let (axis, place) = (edge / 4, edge % 4);
        let low = (0..8).filter(|corner| corner >> axis & 1 == 0).nth(place).unwrap_or(0);
        (low, low | 1 << axis)
    });
    Some(ends.map(|(from, to)| [corner(from), corner(to)]))
}

fn middle(mesh: &Mesh) -> Option<Point3<f64>> {
    let first = *mesh.points.first()?;
    let (low, high) = mesh.points.iter().fold((first, first), |(low, high), point| (low.inf(point), high.sup(point)));
    Some(nalgebra::center(&low, &high))
}

fn tube(scene: &mut Scene, shown: &Shown<'_>, step: &PlanStep, question: &Step<'_>, die_angle: Angle) {
    let od = shown.tube.stock.od;
    let pieces = pieces_at(question, die_angle);
    let stations = mesh::stations(&pieces);
    scene.body("tube", Mesh::of_tube(&stations, od), Look::Tube);
    for (look, angle) in [(Look::Was, Angle::ZERO), (Look::Next, step.die_angle)] {
        if (angle - die_angle).abs() > Angle::deg(0.5) {
            let there = mesh::stations(&pieces_at(question, angle));
            scene.line(there.iter().map(|station| station.at).collect(), Trace::Outline);
            scene.body(if look == Look::Was { "before" } else { "after" }, Mesh::of_tube(&there, od), look);
        }
    }
    ends(scene, shown, step, &stations);
    lines(scene, shown, step, &pieces);
    for clearance in &step.clearances {
        if clearance.motion == Motion::Bend && clearance.verdict != Verdict::Clear {
            near(scene, shown, question, clearance, &pieces);
        }
    }
    if let Some(tightest) = step.tightest().filter(|clearance| clearance.verdict == Verdict::Clear) {
        near(scene, shown, question, tightest, &pieces);
    }
}

fn ends(scene: &mut Scene, shown: &Shown<'_>, step: &PlanStep, stations: &[Station]) {
    let od = shown.tube.stock.od.to_mm();
    let (Some(first), Some(last)) = (stations.first(), stations.last()) else { return };
    let word = |end: LeadEnd, letter: &str| {
        let place = if step.lead == end { "in the clamp" } else { "behind" };
        format!("{letter} ({place})")
    };
    scene.tag(first.at - first.ahead.into_inner() * od, word(LeadEnd::A, "A"), 0);
    scene.tag(last.at + last.ahead.into_inner() * od, word(LeadEnd::B, "B"), 0);
}

/// Reference line, marks and top lines, on the surface of the tube.
fn lines(scene: &mut Scene, shown: &Shown<'_>, step: &PlanStep, pieces: &[Placed]) {
    let radius = shown.tube.stock.od.to_mm() / 2.0;
    let frames = Frames::new(shown, step, pieces);
    let raised = 1.01 * radius;
    let reference = frames.all.iter().map(|(station, out)| station.at + out * raised).collect();
    scene.line(reference, Trace::Reference);
    for other in &shown.tube.steps {
        let mark = other.mark.to_mm();
        let half = 1.5 * radius;
        let top = |blank: f64| {
            let (station, out) = frames.at(pieces, blank)?;
            let turned = UnitQuaternion::from_axis_angle(&station.ahead, other.top.to_rad()) * out;
            Some(station.at + turned * raised)
        };
        let cut = shown.tube.blank.cut_length.to_mm();
        let (from, to) = ((mark - 2.0 * half).max(0.0), (mark + 2.0 * half).min(cut));
        scene.line((0..=8).filter_map(|part| top(from + (to - from) * f64::from(part) / 8.0)).collect(), Trace::Top);
        let ring = mesh::between(pieces, mark - 0.8, mark + 0.8);
        scene.body("mark", Mesh::of_tube(&ring, shown.tube.stock.od * 1.03), Look::Mark);
        if let Some(at) = top(mark) {
            scene.tag(at, format!("mark {}", other.bend.number()), if other.bend == step.bend { 1 } else { 3 });
        }
    }
}

/// The tube's own up and down along its length: the direction of the reference line at each station.
struct Frames {
    all: Vec<(Station, Vector3<f64>)>,
}

impl Frames {
    /// Carried from the tangent point, where the top line of this step points along +z, outward to both ends without turning about the tube.
    fn new(shown: &Shown<'_>, step: &PlanStep, pieces: &[Placed]) -> Self {
        let stations = mesh::stations(pieces);
        let clr = shown.tube.blank.bends[step.bend.0].clr.to_mm();
        let tangent = Point3::new(0.0, -shown.job.bender.hand.sign() * clr, 0.0);
        let stands = shown.job.bender.motion == tubewright::bender::BendMotion::DieStands;
        // Where the die stands the trailing part has left the tangent point; then the lead part is still there.
        let blank = if stands { shown.tube.blank.bends[step.bend.0].tangent(step.lead).to_mm() } else { f64::NAN };
        let nearest = |station: &Station| {
            if stands { (station.blank - blank).abs() } else { (station.at - tangent).norm() }
        };
        let home = (0..stations.len())
            .min_by(|one, other| nearest(&stations[*one]).total_cmp(&nearest(&stations[*other])))
            .unwrap_or(0);
        let mut all: Vec<(Station, Vector3<f64>)> =
            stations.into_iter().map(|station| (station, Vector3::zeros())).collect();
        if let Some((station, out)) = all.get_mut(home) {
            *out = UnitQuaternion::from_axis_angle(&station.ahead, -step.top.to_rad()) * Vector3::z();
        }
        for place in home + 1..all.len() {
            all[place].1 = carry(&all[place - 1], &all[place].0.ahead);
        }
        for place in (0..home).rev() {
            all[place].1 = carry(&all[place + 1], &all[place].0.ahead);
        }
        Self { all }
    }

    fn at(&self, pieces: &[Placed], blank: f64) -> Option<(Station, Vector3<f64>)> {
        let station = mesh::at_blank(pieces, blank)?;
        let near = self
            .all
            .iter()
            .min_by(|one, other| (one.0.blank - blank).abs().total_cmp(&(other.0.blank - blank).abs()))?;
        Some((station, carry(near, &station.ahead)))
    }
}

fn carry((station, out): &(Station, Vector3<f64>), ahead: &Unit<Vector3<f64>>) -> Vector3<f64> {
    match UnitQuaternion::rotation_between_axis(&station.ahead, ahead) {
        Some(turn) => turn * out,
        None => *out,
    }
}

/// Bands around the place that is near something, and the gap as a dimension.
fn near(
    scene: &mut Scene,
    shown: &Shown<'_>,
    question: &Step<'_>,
    clearance: &tubewright::clearance::Clearance,
    pieces: &[Placed],
) {
    let Some(nearest) = clearance.nearest else { return };
    let od = shown.tube.stock.od;
    let blank = nearest.blank.to_mm();
    // Wide bands where it is tight, narrow ones close together where it touches; as far apart as they are wide.
    let bands = match clearance.verdict {
        Verdict::Contact => Some((Look::Contact, 0.12, 4)),
        Verdict::Tight | Verdict::Unproven => Some((Look::Tight, 0.3, 2)),
        Verdict::Clear => None,
    };
    if let Some((look, wide, count)) = bands {
        let wide = wide * od.to_mm();
        for band in -count..=count {
            let at = blank + f64::from(band) * 2.0 * wide;
            let around = mesh::between(pieces, at - 0.5 * wide, at + 0.5 * wide);
            scene.body(clearance.obstacle.clone(), Mesh::of_tube(&around, od * 1.04), look);
        }
    }
    let reading = shown.people.near(shown.job.bender.pointer.reading(nearest.die_angle));
    let what = obstacle(&clearance.obstacle);
    let words = match clearance.verdict {
        Verdict::Contact => format!("TOUCHES {what} near {reading}"),
        Verdict::Unproven => format!("NOT PROVED clear of {what}"),
        Verdict::Tight => format!("TIGHT: {} from {what} near {reading}", shown.people.gap(nearest.gap)),
        Verdict::Clear => format!("{} from {what} near {reading}", shown.people.gap(nearest.gap)),
    };
    let surface = obstacle_point(question, &clearance.obstacle, nearest.point, nearest.die_angle);
    if let Some(there) = surface
        && let Some(out) = (there - nearest.point).try_normalize(1e-9)
    {
        let here = nearest.point + out * (od.to_mm() / 2.0);
        scene.line(vec![here, there], Trace::Dimension);
        scene.tag(nalgebra::center(&here, &there), words, 0);
        return;
    }
    scene.tag(nearest.point, words, 0);
}

/// A grid on the floor under all that is shown, its lines 500 mm apart.
fn floor(scene: &mut Scene, bender: &Bender) {
    const APART: f64 = 500.0;
    let up = bender.bend_plane.up();
    let across = Unit::new_normalize(mesh::square_to(&up));
    let along = up.cross(&across);
    let Some([low, high]) = scene.bounds(&|_| true) else { return };
    let middle = nalgebra::center(&low, &high).coords;
    let size = (high - low).norm() / 2.0 + APART;
    let count = (size / APART).ceil().min(12.0) as i32;
    let level = up.into_inner() * -bender.centre_height.to_mm();
    let foot = |one: f64, other: f64| {
        let centre = |axis: Vector3<f64>| axis * ((axis.dot(&middle) / APART).round() * APART);
        Point3::from(level + centre(across.into_inner()) + centre(along) + across.into_inner() * one + along * other)
    };
    let reach = f64::from(count) * APART;
    for place in -count..=count {
        let at = f64::from(place) * APART;
        scene.line(vec![foot(at, -reach), foot(at, reach)], Trace::Floor);
        scene.line(vec![foot(-reach, at), foot(reach, at)], Trace::Floor);
    }
}

/// The operator stands where the bender's file has a solid called operator; else beside the die on the follower's side, at eye height.
fn stand(scene: &Scene, bender: &Bender) -> Stand {
    let up = bender.bend_plane.up().into_inner();
    let [low, high] = scene.subject();
    let at = nalgebra::center(&low, &high);
    let eyes = up * (Length::mm(1600.0) - bender.centre_height).to_mm();
    let flat = |point: Vector3<f64>| point - up * up.dot(&point);
    if let Some(operator) = bender.solids.iter().find(|solid| solid.is_operator())
        && let Some(middle) = middle(&Mesh::of_shape(&operator.shape))
    {
        return Stand { eye: Point3::from(flat(middle.coords) + eyes), at };
    }
    let far = (high - low).norm().max(800.0);
    let back = match bender.bend_plane {
        tubewright::bender::BendPlane::Horizontal => {
            Vector3::new(-0.55, -bender.hand.sign(), 0.0).normalize() * (1.1 * far) + up * (0.75 * far)
        }
        tubewright::bender::BendPlane::Vertical { .. } => {
            Vector3::new(-0.35, 0.0, 1.0).normalize() * (1.3 * far) + up * (0.35 * far)
        }
    };
    Stand { eye: at + back, at }
}
