//! What all ways to a centreline share: mistakes in the path's order, straights that may be 0, closed paths.

use nalgebra::{Point3, Unit, Vector3};

use super::segment::{Frame, Segment, walk};
use super::{
    BendId, Centreline, NodeId, Row, Rows, SAME_NODE, ShapeMistake, TOO_LARGE, Tangent, has_corner, passes_straight,
    setback,
};
use crate::units::{Angle, Length};

/// A straight this little below 0, as a part of the lengths that it comes from, is 0 but for rounding.
const STRAIGHT_SLACK: f64 = 1e-9;

/// Whether a figure can be computed with.
pub(super) fn is_figure(value: f64) -> bool {
    value.abs() <= TOO_LARGE
}

/// The straight, 0 where it is below 0 by rounding only; `None` where it is below 0 by more.
pub(super) fn straight(length: Length, of: Length) -> Option<Length> {
    if length < of.abs() * -STRAIGHT_SLACK { None } else { Some(length.max(Length::ZERO)) }
}

/// Mistakes, to be told from end A on.
#[derive(Default)]
pub(super) struct Mistakes(Vec<ShapeMistake>);

impl Mistakes {
    pub(super) fn add(&mut self, mistake: ShapeMistake) {
        self.0.push(mistake);
    }

    pub(super) fn any(&self) -> bool {
        !self.0.is_empty()
    }

    pub(super) fn told(mut self) -> Vec<ShapeMistake> {
        self.0.sort_by_key(ShapeMistake::node);
        self.0
    }
}

/// The formed radius of a bend, which must be a figure above 0.
pub(super) fn radius_at(
    bend: BendId,
    node: NodeId,
    radius: &dyn Fn(BendId) -> Length,
    mistakes: &mut Mistakes,
) -> Option<Length> {
    let radius = radius(bend);
    let good = radius > Length::ZERO && is_figure(radius.to_mm());
    if !good {
        mistakes.add(ShapeMistake::RadiusNotPositive { bend, node, radius });
    }
    good.then_some(radius)
}

/// A leg between two corners or ends; a tangent that is not known, for a mistake told already, hides the leg's own.
pub(super) struct Span {
    pub(super) leg: usize,
    pub(super) from: NodeId,
    pub(super) to: NodeId,
    pub(super) length: Length,
}

impl Span {
    /// The straight that is left of it.
    pub(super) fn straight(&self, a: Option<Tangent>, b: Option<Tangent>, mistakes: &mut Mistakes) -> Length {
        let taken = [a, b].into_iter().flatten().map(|tangent| tangent.setback).sum();
        let left = self.length - taken;
        straight(left, self.length.abs().max(taken)).unwrap_or_else(|| {
            let Self { leg, from, to, length, .. } = *self;
            mistakes.add(ShapeMistake::LegTooShort { leg, from, to, length, a, b, missing: -left });
            Length::ZERO
        })
    }
}

/// What a bend takes of its legs; `None` where it has no corner.
pub(super) fn tangent(bend: BendId, node: NodeId, radius: Length, angle: Angle) -> Option<Tangent> {
    Some(Tangent { bend, node, angle, radius, setback: setback(radius, angle)? })
}

/// Rows as given with the bends that are passed straight through taken out.
pub(super) struct Merged {
    pub(super) rows: Rows,
    /// For each bend the row that it was given by.
    pub(super) given: Vec<usize>,
    /// For each row passed through: the row, the straight that it lies on, and how far along.
    pub(super) passed: Vec<(usize, usize, Length)>,
}

/// Takes out bends under 0.05 degree: the straights around them become one, and the rotations before and after add up.
pub(super) fn merge(given: &Rows) -> Merged {
    let mut merged =
        Merged { rows: Rows { bends: Vec::new(), last: Length::ZERO }, given: Vec::new(), passed: Vec::new() };
    let (mut length, mut rotation) = (Length::ZERO, Angle::ZERO);
    for (i, row) in given.bends.iter().enumerate() {
        length += row.length;
        rotation += row.rotation;
        if passes_straight(row.angle) {
            merged.passed.push((i, merged.rows.bends.len(), length));
            continue;
        }
        // With no bend before it, a turn of the tube about its own axis changes nothing.
        let rotation_before = if merged.rows.bends.is_empty() { Angle::ZERO } else { rotation.wrapped() };
        merged.rows.bends.push(Row { length, rotation: rotation_before, angle: row.angle });
        merged.given.push(i);
        (length, rotation) = (Length::ZERO, Angle::ZERO);
    }
    merged.rows.last = length + given.last;
    merged
}

/// Lays merged rows down with end A at the origin, the first leg along +x and the first bend toward +y.
pub(super) fn lay(merged: Merged, radii: Vec<Length>, mut mistakes: Mistakes) -> Result<Centreline, Vec<ShapeMistake>> {
    let home = Frame::home();
    let (segments, end) = walk(&merged.rows, &radii, home);
    let count = merged.given.len() + merged.passed.len() + 2;
    let mut nodes: Vec<Option<Point3<f64>>> = vec![None; count];
    nodes[0] = Some(home.at);
    nodes[count - 1] = Some(end.at);
    for (bend, row) in merged.given.iter().enumerate() {
        let angle = merged.rows.bends[bend].angle;
        nodes[row + 1] = setback(radii[bend], angle).map(|ahead| segments[2 * bend].at_end(ahead));
    }
    for (row, straight, along) in &merged.passed {
        nodes[row + 1] = Some(segments[2 * straight].at(*along).0);
    }
    let bend_nodes: Vec<usize> = merged.given.iter().map(|row| row + 1).collect();
    if let Some(mistake) = closed(&segments, &bend_nodes, count - 1, home.at, end.at) {
        mistakes.add(mistake);
    }
    if mistakes.any() {
        return Err(mistakes.told());
    }
    Ok(Centreline {
        rows: merged.rows,
        radii,
        nodes,
        bend_nodes,
        passed: merged.passed.iter().map(|(row, ..)| row + 1).collect(),
        start: home.at,
        direction: home.direction,
        normal: home.normal,
    })
}

impl Segment {
    /// So far beyond the end of a straight.
    fn at_end(&self, ahead: Length) -> Point3<f64> {
        self.at(self.length() + ahead).0
    }
}

/// A tube whose end B lies on its end A: where to split it.
fn closed(
    segments: &[Segment],
    bend_nodes: &[usize],
    last: usize,
    a: Point3<f64>,
    b: Point3<f64>,
) -> Option<ShapeMistake> {
    let meets = (b - a).norm() < SAME_NODE.to_mm() && segments.len() > 1;
    if !meets {
        return None;
    }
    let straights = segments.iter().step_by(2).enumerate();
    // The first of several that are equally long.
    let (i, longest) = straights.reduce(|best, one| if one.1.length() > best.1.length() { one } else { best })?;
    let from = i.checked_sub(1).map_or(0, |before| bend_nodes[before]);
    let to = bend_nodes.get(i).copied().unwrap_or(last);
    let middle = longest.at(longest.length() / 2.0).0;
    Some(ShapeMistake::ClosedPath { last: NodeId(last), from: NodeId(from), to: NodeId(to), middle })
}

impl Centreline {
    /// The centreline that rows describe, with end A at the origin, the first leg along +x and the first bend toward +y.
    ///
    /// Bends go up to 360 degrees; over 175 they have no corner (`None` in `nodes`). Bends under 0.05 degree are passed
    /// straight through: the straights around them become one, the rotations around them one sum. `nodes` has end A, a
    /// place for each row given, and end B. `radius` gives the formed radius of each bend that is left.
    ///
    /// # Errors
    ///
    /// All mistakes, from end A on: a figure that is not finite, a straight below 0, a bend angle below 0 or of 360 degrees and
    /// more, a rotation other than 0 before the first row, a radius not above 0, a tube that closes on itself or has
    /// no length.
    ///
    /// ```
    /// use tubewright::centreline::{Centreline, Row, Rows};
    /// use tubewright::units::{Angle, Length};
    /// let square = Row { length: Length::mm(100.0), rotation: Angle::ZERO, angle: Angle::deg(90.0) };
    /// let rows = Rows { bends: vec![square], last: Length::mm(200.0) };
    /// let hook = Centreline::from_rows(&rows, &|_| Length::mm(50.0))?;
    /// let (end, _) = hook.end();
    /// assert!((end.x - 150.0).abs() < 1e-9 && (end.y - 250.0).abs() < 1e-9);
    /// # Ok::<(), Vec<tubewright::centreline::ShapeMistake>>(())
    /// ```
    pub fn from_rows(rows: &Rows, radius: &dyn Fn(BendId) -> Length) -> Result<Self, Vec<ShapeMistake>> {
        let mut mistakes = Mistakes::default();
        check_rows(rows, &mut mistakes);
        if mistakes.any() {
            return Err(mistakes.told());
        }
        let mut merged = merge(rows);
        for row in &mut merged.rows.bends {
            row.length = row.length.max(Length::ZERO);
        }
        merged.rows.last = merged.rows.last.max(Length::ZERO);
        if merged.rows.bends.is_empty() && merged.rows.last < SAME_NODE {
            let apart = merged.rows.last;
            let second = NodeId(rows.bends.len() + 1);
            mistakes.add(ShapeMistake::NodesCoincide { first: NodeId(0), second, apart });
        }
        let radii: Vec<Length> = (merged.given.iter().enumerate())
            .filter_map(|(bend, row)| radius_at(BendId(bend), NodeId(row + 1), radius, &mut mistakes))
            .collect();
        if mistakes.any() { Err(mistakes.told()) } else { lay(merged, radii, mistakes) }
    }
}

/// Everything that can be wrong with rows by themselves.
fn check_rows(rows: &Rows, mistakes: &mut Mistakes) {
    use super::Place;
    let lengths = rows.bends.iter().map(|row| row.length).chain([rows.last]);
    let scale = lengths.clone().map(Length::abs).filter(|length| is_figure(length.to_mm())).sum();
    for (i, length) in lengths.enumerate() {
        let row = rows.bends.get(i);
        let (rotation, angle) = row.map_or((Angle::ZERO, Angle::ZERO), |row| (row.rotation, row.angle));
        if ![length.to_mm(), rotation.to_rad(), angle.to_rad()].into_iter().all(is_figure) {
            mistakes.add(ShapeMistake::NotFinite { place: Place::Row(i) });
            continue;
        }
        if straight(length, scale).is_none() {
            mistakes.add(ShapeMistake::StraightBelowZero { row: i, length });
        }
        if angle < Angle::ZERO || angle >= Angle::deg(360.0) {
            mistakes.add(ShapeMistake::BendOutOfRange { bend: i, angle });
        }
        if i == 0 && rotation != Angle::ZERO {
            mistakes.add(ShapeMistake::RotationBeforeFirstBend { rotation });
        }
    }
}

/// Any direction square to another.
pub(super) fn square_to(direction: Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
    let all = [Vector3::z(), Vector3::y(), Vector3::x()];
    // The least aligned axis, z before y before x: a level straight tube then has z for its normal.
    let axis = all
        .into_iter()
        .reduce(|best, one| if direction.dot(&one).abs() + 1e-9 < direction.dot(&best).abs() { one } else { best });
    let axis = axis.unwrap_or_else(Vector3::z);
    Unit::new_normalize(axis - direction.into_inner() * direction.dot(&axis))
}

/// Whether a bend made from corners can have its corner.
pub(super) fn is_reversal(angle: Angle) -> bool {
    !has_corner(angle)
}
