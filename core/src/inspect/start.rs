//! First guesses at a measured part: the wanted shape, its mirror image, the path through measured nodes, the lines through touched points.
//!
//! A bent part is near what it was to become, or near the mirror image of that. Where it was not to become anything, what was measured has to show the
//! shape. Each guess is tried, and the one that agrees best is kept.

use nalgebra::{DMatrix, DVector, Matrix3, Point3, SymmetricEigen, Unit, Vector3};

use super::record::{Measurement, Part};
use super::registration::{Pair, Registration};
use super::shape::{Laid, Slots, cube, frame};
use crate::centreline::{SAME_NODE, angle_about, angle_between, setback};
use crate::fit::{Model, solve};
use crate::units::{Angle, Length};

/// A guess: all unknowns, and the turn before that of the pose.
pub(super) struct Start {
    pub(super) at: DVector<f64>,
    pub(super) turn: Matrix3<f64>,
}

/// Guesses in the order in which they are preferred where they agree alike.
pub(super) fn starts(part: &Part, slots: &Slots) -> Vec<Start> {
    let nodes = measured_nodes(part);
    let lines = lines(part, slots);
    let mut shapes = Vec::new();
    let corners: Vec<Option<Vector3<f64>>> = corner_places(part).map(|place| nodes[place]).collect();
    if let Some(path) = corners.into_iter().collect::<Option<Vec<_>>>() {
        shapes.extend(from_path(part, slots, &path));
    }
    let usual = usual(part, slots);
    if let Some(path) = path_of_lines(part, slots, &lines, &usual) {
        shapes.extend(from_path(part, slots, &path));
    }
    let mirrored = mirrored(slots, &usual);
    if let Some(wanted) = wanted(part, slots) {
        let image = self::mirrored(slots, &wanted);
        shapes.extend([wanted, image]);
    }
    shapes.extend([usual, mirrored]);
    shapes.into_iter().flat_map(|shape| posed(part, slots, &shape, &nodes, &lines, false)).collect()
}

/// More guesses, for where none of those led to what agrees: few points, or a wrong one, make lines that lie anyhow. The likely shape and its mirror image, in all
/// the ways that a cube can lie.
pub(super) fn more_starts(part: &Part, slots: &Slots) -> Vec<Start> {
    if slots.pose.is_none() {
        return Vec::new();
    }
    let nodes = measured_nodes(part);
    let usual = usual(part, slots);
    let no_lines = vec![None; slots.bends + 1];
    let image = mirrored(slots, &usual);
    [usual, image].iter().flat_map(|shape| posed(part, slots, shape, &nodes, &no_lines, true)).collect()
}

/// Nodes of end A, all corners and end B.
fn corner_places(part: &Part) -> impl Iterator<Item = usize> {
    core::iter::once(0).chain(part.corners.iter().copied()).chain([part.nodes.len() - 1])
}

fn measured_nodes(part: &Part) -> Vec<Option<Vector3<f64>>> {
    let mut nodes = vec![None; part.nodes.len()];
    for measurement in &part.measured {
        if let Measurement::Node { node, at } = measurement {
            nodes[*node] = Some(at.coords);
        }
    }
    nodes
}

/// The unknowns of the shape that was wanted.
fn wanted(part: &Part, slots: &Slots) -> Option<DVector<f64>> {
    let rows = &part.wanted.as_ref()?.tube().centreline.rows;
    let mut at = DVector::zeros(slots.count);
    for (bend, row) in rows.bends.iter().enumerate() {
        at[slots.straight(bend)] = row.length.to_mm();
        at[slots.angle(bend)] = row.angle.to_rad();
        if let Some(place) = slots.rotation(bend) {
            at[place] = row.rotation.to_rad();
        }
    }
    at[slots.straight(slots.bends)] = rows.last.to_mm();
    let legs = part.wanted.as_ref()?.tube().centreline.legs();
    for (place, passed) in part.passed.iter().enumerate() {
        if let Some(unknown) = slots.along(place) {
            at[unknown] = legs[passed.leg].unwrap_or_default().to_mm() * passed.share;
        }
    }
    Some(at)
}

/// What was wanted, or a square staircase, with what was measured by itself in its place.
fn usual(part: &Part, slots: &Slots) -> DVector<f64> {
    let mut at = wanted(part, slots).unwrap_or_else(|| {
        let mut at = DVector::zeros(slots.count);
        (0..slots.bends).for_each(|bend| at[slots.angle(bend)] = core::f64::consts::FRAC_PI_2);
        let radius = part.radii.iter().copied().fold(part.od, Length::max);
        (0..=slots.bends).for_each(|leg| at[slots.straight(leg)] = radius.to_mm());
        at
    });
    for measurement in &part.measured {
        match measurement {
            Measurement::Bend { bend, angle } => at[slots.angle(bend.0)] = angle.to_rad(),
            Measurement::Rotation { bend, angle } => {
                if let Some(place) = slots.rotation(bend.0) {
                    at[place] = angle.to_rad();
                }
            }
            _ => {}
        }
    }
    for measurement in &part.measured {
        if let Measurement::Leg { leg, length, .. } = measurement {
            let set = |bend: usize| setback(part.radii[bend], Angle::rad(at[slots.angle(bend)])).unwrap_or_default();
            let before = leg.checked_sub(1).map_or(Length::ZERO, set);
            let after = if *leg < slots.bends { set(*leg) } else { Length::ZERO };
            at[slots.straight(*leg)] = (*length - before - after).to_mm();
        }
    }
    at
}

fn mirrored(slots: &Slots, at: &DVector<f64>) -> DVector<f64> {
    let mut image = at.clone();
    for place in (0..slots.bends).filter_map(|bend| slots.rotation(bend)) {
        image[place] = -image[place];
    }
    image
}

/// The same corners with every bend angle above 0: a bend below 0 is one above with the rotations on both of its sides half a turn further, and its setbacks taken off the
/// straights beside it instead of added.
pub(super) fn bent_forward(part: &Part, slots: &Slots, mut at: DVector<f64>, mut turn: Matrix3<f64>) -> Start {
    for bend in 0..slots.bends {
        let angle = at[slots.angle(bend)];
        if angle >= 0.0 {
            continue;
        }
        at[slots.angle(bend)] = -angle;
        let setback = setback(part.radii[bend], Angle::rad(-angle)).unwrap_or_default().to_mm();
        at[slots.straight(bend)] -= 2.0 * setback;
        at[slots.straight(bend + 1)] -= 2.0 * setback;
        match slots.rotation(bend) {
            Some(place) => at[place] += core::f64::consts::PI,
            // The normal of the first bend is that of the frame.
            None => turn *= Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0)),
        }
        if bend + 1 < slots.bends
            && let Some(place) = slots.rotation(bend + 1)
        {
            at[place] += core::f64::consts::PI;
        }
    }
    Start { at, turn }
}

/// The shape whose ends and corners these are; `None` where two of them lie in one place.
fn from_path(part: &Part, slots: &Slots, path: &[Vector3<f64>]) -> Option<DVector<f64>> {
    let mut at = DVector::zeros(slots.count);
    let legs: Vec<Vector3<f64>> = path.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if legs.iter().any(|leg| leg.norm() < SAME_NODE.to_mm()) {
        return None;
    }
    let travel: Vec<_> = legs.iter().map(|leg| Unit::new_normalize(*leg)).collect();
    let normals: Vec<_> = travel.windows(2).map(|pair| pair[0].cross(&pair[1])).collect();
    for bend in 0..slots.bends {
        at[slots.angle(bend)] = angle_between(&travel[bend], &travel[bend + 1]).to_rad();
        if let Some(place) = slots.rotation(bend) {
            at[place] = angle_about(&travel[bend], &normals[bend - 1], &normals[bend]).to_rad();
        }
    }
    for (leg, vector) in legs.iter().enumerate() {
        let bends = [leg.checked_sub(1), (leg < slots.bends).then_some(leg)];
        let setbacks = bends
            .into_iter()
            .flatten()
            .map(|bend| setback(part.radii[bend], Angle::rad(at[slots.angle(bend)])).unwrap_or_default().to_mm());
        at[slots.straight(leg)] = vector.norm() - setbacks.sum::<f64>();
    }
    for (place, passed) in part.passed.iter().enumerate() {
        if let Some(unknown) = slots.along(place) {
            at[unknown] = legs[passed.leg].norm() * passed.share;
        }
    }
    Some(at)
}

/// The line of a leg through its touched points: a point of it, and its direction, either way.
#[derive(Clone, Copy, Debug)]
struct Line {
    middle: Vector3<f64>,
    along: Vector3<f64>,
}

fn lines(part: &Part, slots: &Slots) -> Vec<Option<Line>> {
    (0..=slots.bends)
        .map(|leg| {
            let touched = part.measured.iter().filter_map(|measurement| match measurement {
                Measurement::Touched { leg: on, at } if *on == leg => Some(at.coords),
                _ => None,
            });
            line(&touched.collect::<Vec<_>>(), part.od.to_mm() / 2.0)
        })
        .collect()
}

/// The axis of a cylinder of known radius through points on its surface: of fits from several sides the best. With fewer than four points, or where those leave it
/// open, the line through their middle along their longest spread.
fn line(points: &[Vector3<f64>], radius: f64) -> Option<Line> {
    if points.len() < 3 {
        return None;
    }
    let middle = points.iter().sum::<Vector3<f64>>() / points.len() as f64;
    let spread: Matrix3<f64> = points.iter().map(|point| (point - middle) * (point - middle).transpose()).sum();
    let eigen = SymmetricEigen::new(spread);
    let longest = eigen.eigenvalues.imax();
    let axis = |place: usize| -> Vector3<f64> { eigen.eigenvectors.column(place % 3).into() };
    let cylinder = Cylinder { points, radius, middle, axes: [axis(longest), axis(longest + 1), axis(longest + 2)] };
    let around = (0..SIDES).map(|side| {
        let (sin, cos) = libm::sincos(core::f64::consts::TAU * f64::from(side) / f64::from(SIDES));
        DVector::from_vec(vec![radius * cos, radius * sin, 0.0, 0.0])
    });
    let fits = around.chain([DVector::zeros(4)]).filter_map(|start| solve(&cylinder, start).ok());
    let best =
        fits.reduce(|best, one| if one.residuals.norm_squared() < best.residuals.norm_squared() { one } else { best });
    Some(cylinder.line(&best.map_or_else(|| DVector::zeros(4), |best| best.at)))
}

/// Sides from which an axis is looked for: points on one half of a tube have a second, worse one beyond them.
const SIDES: u32 = 8;

/// Points on a cylinder. Unknown are two shifts of its axis and two slopes, against axes of which the first runs along the points.
struct Cylinder<'p> {
    points: &'p [Vector3<f64>],
    radius: f64,
    middle: Vector3<f64>,
    axes: [Vector3<f64>; 3],
}

impl Cylinder<'_> {
    fn line(&self, at: &DVector<f64>) -> Line {
        let [along, one, other] = self.axes;
        Line {
            middle: self.middle + one * at[0] + other * at[1],
            along: (along + one * at[2] + other * at[3]).normalize(),
        }
    }
}

impl Model for Cylinder<'_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let line = self.line(at);
        let [_, one, other] = self.axes;
        let tilt = (1.0 + at[2] * at[2] + at[3] * at[3]).sqrt();
        let mut left = DVector::zeros(self.points.len());
        let mut slopes = DMatrix::zeros(self.points.len(), 4);
        for (row, point) in self.points.iter().enumerate() {
            let to = point - line.middle;
            let along = to.dot(&line.along);
            let across = to - line.along * along;
            let far = across.norm();
            let away = if far > 0.0 { across / far } else { one };
            left[row] = far - self.radius;
            let sides = [away.dot(&one), away.dot(&other)];
            for (place, side) in sides.into_iter().enumerate() {
                slopes[(row, place)] = -side;
                slopes[(row, place + 2)] = -side * along / tilt;
            }
        }
        (left, slopes)
    }
}

/// Ends and corners by lines that meet, where there is a line for every leg.
fn path_of_lines(
    part: &Part,
    slots: &Slots,
    lines: &[Option<Line>],
    usual: &DVector<f64>,
) -> Option<Vec<Vector3<f64>>> {
    let lines: Vec<Line> = lines.iter().copied().collect::<Option<_>>()?;
    let corners: Vec<Vector3<f64>> = lines.windows(2).map(|pair| nearest(&pair[0], &pair[1])).collect::<Option<_>>()?;
    let (first, last) = (*corners.first()?, *corners.last()?);
    let beyond = |corner: Vector3<f64>, line: &Line, straight: f64, bend: usize| {
        let out = if (line.middle - corner).dot(&line.along) < 0.0 { -line.along } else { line.along };
        let angle = Angle::rad(usual[slots.angle(bend)]);
        corner + out * (straight.abs() + setback(part.radii[bend], angle).unwrap_or_default().to_mm())
    };
    let a = beyond(first, &lines[0], usual[slots.straight(0)], 0);
    let b = beyond(last, &lines[slots.bends], usual[slots.straight(slots.bends)], slots.bends - 1);
    Some(core::iter::once(a).chain(corners).chain([b]).collect())
}

/// The middle of the common perpendicular of two lines; `None` where they are parallel.
fn nearest(one: &Line, other: &Line) -> Option<Vector3<f64>> {
    let cross = one.along.cross(&other.along);
    let size = cross.norm_squared();
    if size < 1e-12 {
        return None;
    }
    let between = other.middle - one.middle;
    let first = one.middle + one.along * (between.cross(&other.along).dot(&cross) / size);
    let second = other.middle + other.along * (between.cross(&one.along).dot(&cross) / size);
    Some((first + second) / 2.0)
}

/// A shape laid on what was measured: by its nodes and the corners of touched legs, or, where these do not tell and where `anyhow` asks for it, in all the ways
/// that a cube can lie.
fn posed(
    part: &Part,
    slots: &Slots,
    shape: &DVector<f64>,
    nodes: &[Option<Vector3<f64>>],
    lines: &[Option<Line>],
    anyhow: bool,
) -> Vec<Start> {
    let home = frame(Vector3::x(), Vector3::z());
    let Some(pose) = slots.pose else { return vec![Start { at: shape.clone(), turn: home }] };
    let laid = Laid::new(part, slots, shape, &home);
    let place = |node: usize| laid.node(node).map(|point| Point3::from(point.at));
    let mut pairs: Vec<Pair> = Vec::new();
    for (node, at) in nodes.iter().enumerate() {
        pairs.extend(place(node).zip(at.map(Point3::from)));
    }
    for (bend, corner) in part.corners.iter().enumerate() {
        let meet = lines[bend].as_ref().zip(lines[bend + 1].as_ref()).and_then(|(one, other)| nearest(one, other));
        if nodes[*corner].is_none() {
            pairs.extend(place(*corner).zip(meet.map(Point3::from)));
        }
        // Away from the corner along both legs.
        if let (Some(corner), Some(meet)) = (place(*corner), meet) {
            for (line, leg, way) in [(&lines[bend], bend, -1.0), (&lines[bend + 1], bend + 1, 1.0)] {
                if let Some(line) = line {
                    let far = (line.middle - meet).norm();
                    pairs.push((corner + laid.directions[leg] * (way * far), Point3::from(line.middle)));
                }
            }
        }
    }
    let start = |turn: Matrix3<f64>, at: Vector3<f64>| {
        let mut all = shape.clone();
        (0..3).for_each(|axis| all[pose + axis] = at[axis]);
        Start { at: all, turn }
    };
    let laid_on = Registration::new(&pairs, &vec![1.0; pairs.len()], None).filter(|_| !anyhow);
    if let Some(on) = laid_on {
        return vec![start(on.rotation * home, on.place(&Point3::origin()).coords)];
    }
    // Where the points are known only roughly: a touched point as the middle of its leg.
    for measurement in &part.measured {
        if let Measurement::Touched { leg, at } = measurement {
            let middle = laid.begin(*leg).at + laid.directions[*leg] * (shape[slots.straight(*leg)] / 2.0);
            pairs.push((Point3::from(middle), *at));
        }
    }
    let share = 1.0 / pairs.len().max(1) as f64;
    let mean = |of: &dyn Fn(&Pair) -> Vector3<f64>| pairs.iter().map(of).sum::<Vector3<f64>>() * share;
    let (from, to) = (mean(&|pair| pair.0.coords), mean(&|pair| pair.1.coords));
    cube().into_iter().map(|turn| start(turn * home, to - turn * from)).collect()
}
