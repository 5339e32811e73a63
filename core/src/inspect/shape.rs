//! The unknowns of a measured part, and how everything on it moves with each of them.
//!
//! Unknown are all straights, bend angles and rotations, the place along its leg of a node that is passed straight through and was measured, and, where
//! coordinates were measured, where end A lies and how the part is turned in the axes of the record. Radii are known.
//!
//! A point P beyond bend j moves
//!
//! - by `t` for each mm of a straight before it, `t` its direction from A to B;
//! - by `n x (P - M)` for each radian of bend angle at the same radius, `n` the bend's normal and `M` the centre of its arc;
//! - by `t x (P - S)` for each radian of the rotation before it, `S` the start of its arc;
//!
//! and a direction turns by the same cross products. Lengths are in mm, angles in radians.

use nalgebra::{DVector, Matrix3, Matrix3xX, Vector3};

use super::record::{Measurement, Part};
use crate::centreline::setback;
use crate::units::Angle;

/// Where each unknown stands among all.
#[derive(Clone, Debug)]
pub(super) struct Slots {
    pub(super) bends: usize,
    /// For each passed node the place of its unknown, where it was measured.
    along: Vec<Option<usize>>,
    /// Place of the first of the six of the pose, where there are any.
    pub(super) pose: Option<usize>,
    pub(super) count: usize,
}

impl Slots {
    pub(super) fn new(part: &Part) -> Self {
        let bends = part.bends();
        let mut count = 2 * bends + 1 + bends.saturating_sub(1);
        let measured =
            |place: usize| part.measured.iter().any(|m| matches!(m, Measurement::Node { node, .. } if *node == place));
        let along = part.passed.iter().map(|passed| {
            measured(passed.node).then(|| {
                count += 1;
                count - 1
            })
        });
        let along = along.collect();
        let posed = part.measured.iter().any(|m| matches!(m, Measurement::Node { .. } | Measurement::Touched { .. }));
        let pose = posed.then_some(count);
        Self { bends, along, pose, count: count + if posed { 6 } else { 0 } }
    }

    pub(super) const fn straight(&self, leg: usize) -> usize {
        leg
    }

    pub(super) const fn angle(&self, bend: usize) -> usize {
        self.bends + 1 + bend
    }

    /// The first bend has none: its rotation says nothing about the shape.
    pub(super) const fn rotation(&self, bend: usize) -> Option<usize> {
        if bend == 0 { None } else { Some(2 * self.bends + bend) }
    }

    pub(super) fn along(&self, passed: usize) -> Option<usize> {
        self.along[passed]
    }
}

/// A figure with its slopes by all unknowns.
#[derive(Clone, Debug)]
pub(super) struct Number {
    pub(super) value: f64,
    pub(super) by: DVector<f64>,
}

impl Number {
    pub(super) fn plus(mut self, value: f64, by: &DVector<f64>, times: f64) -> Self {
        self.value += value * times;
        self.by += by * times;
        self
    }
}

/// A point or a direction with its slopes.
#[derive(Clone, Debug)]
pub(super) struct Moving {
    pub(super) at: Vector3<f64>,
    pub(super) by: Matrix3xX<f64>,
}

impl Moving {
    pub(super) fn minus(&self, other: &Self) -> Self {
        Self { at: self.at - other.at, by: &self.by - &other.by }
    }

    pub(super) fn along(&self, direction: &Vector3<f64>) -> DVector<f64> {
        self.by.tr_mul(direction)
    }

    /// Its length.
    pub(super) fn norm(&self) -> Number {
        let value = self.at.norm();
        let unit = if value > 0.0 { self.at / value } else { Vector3::zeros() };
        Number { value, by: self.along(&unit) }
    }

    pub(super) fn dot(&self, other: &Self) -> Number {
        Number { value: self.at.dot(&other.at), by: self.along(&other.at) + other.along(&self.at) }
    }
}

/// A part laid out at a guess of all unknowns.
#[derive(Debug)]
pub(super) struct Laid<'p> {
    part: &'p Part,
    slots: &'p Slots,
    unknowns: &'p DVector<f64>,
    /// Where each straight begins, and its direction.
    begins: Vec<Vector3<f64>>,
    pub(super) directions: Vec<Vector3<f64>>,
    /// Of each bend: start of its arc, its centre, its normal.
    starts: Vec<Vector3<f64>>,
    centres: Vec<Vector3<f64>>,
    normals: Vec<Vector3<f64>>,
    /// Axes of the three turns of the pose, as they stand.
    axes: [Vector3<f64>; 3],
}

impl<'p> Laid<'p> {
    /// `turn` is the turn of the part before that of the pose: first leg along its first column, normal of the first bend along its third.
    pub(super) fn new(part: &'p Part, slots: &'p Slots, unknowns: &'p DVector<f64>, turn: &Matrix3<f64>) -> Self {
        let (mut at, mut frame) = (Vector3::zeros(), *turn);
        let mut axes = [Vector3::x(), Vector3::y(), Vector3::z()];
        if let Some(pose) = slots.pose {
            let about = |axis: Vector3<f64>, by: f64| {
                let (sin, cos) = libm::sincos(by);
                let cross = axis.cross_matrix();
                Matrix3::identity() + cross * sin + cross * cross * (1.0 - cos)
            };
            at = Vector3::new(unknowns[pose], unknowns[pose + 1], unknowns[pose + 2]);
            let [x, y, z] = [0, 1, 2].map(|axis| about(axes[axis], unknowns[pose + 3 + axis]));
            axes = [z * y * axes[0], z * axes[1], axes[2]];
            frame = z * y * x * frame;
        }
        let (mut t, mut n): (Vector3<f64>, Vector3<f64>) = (frame.column(0).into(), frame.column(2).into());
        let mut laid = Self {
            part,
            slots,
            unknowns,
            begins: Vec::new(),
            directions: Vec::new(),
            starts: Vec::new(),
            centres: Vec::new(),
            normals: Vec::new(),
            axes,
        };
        let turned =
            |about: &Vector3<f64>, what: &Vector3<f64>, sin: f64, cos: f64| what * cos + about.cross(what) * sin;
        for bend in 0..slots.bends {
            laid.begins.push(at);
            laid.directions.push(t);
            at += t * unknowns[slots.straight(bend)];
            if let Some(place) = slots.rotation(bend) {
                let (sin, cos) = libm::sincos(unknowns[place]);
                n = turned(&t, &n, sin, cos);
            }
            let centre = at + n.cross(&t) * part.radii[bend].to_mm();
            laid.starts.push(at);
            laid.centres.push(centre);
            laid.normals.push(n);
            let (sin, cos) = libm::sincos(unknowns[slots.angle(bend)]);
            at = centre + turned(&n, &(at - centre), sin, cos);
            t = turned(&n, &t, sin, cos).normalize();
            n = (n - t * t.dot(&n)).normalize();
        }
        laid.begins.push(at);
        laid.directions.push(t);
        laid
    }

    /// Slopes of what goes along with a straight and does not move along it.
    fn carried(&self, leg: usize, turns: impl Fn(&Vector3<f64>, &Vector3<f64>) -> Vector3<f64>) -> Matrix3xX<f64> {
        let mut by = Matrix3xX::zeros(self.slots.count);
        for bend in 0..leg {
            by.set_column(self.slots.angle(bend), &turns(&self.normals[bend], &self.centres[bend]));
            if let Some(place) = self.slots.rotation(bend) {
                by.set_column(place, &turns(&self.directions[bend], &self.starts[bend]));
            }
        }
        if let Some(pose) = self.slots.pose {
            for (axis, about) in self.axes.iter().enumerate() {
                by.set_column(pose + 3 + axis, &turns(about, &self.begins[0]));
            }
        }
        by
    }

    /// A point that goes along with a straight, so far from its beginning.
    fn point(&self, leg: usize, at: Vector3<f64>) -> Moving {
        let mut by = self.carried(leg, |axis, through| axis.cross(&(at - through)));
        for before in 0..leg {
            by.set_column(self.slots.straight(before), &self.directions[before]);
        }
        if let Some(pose) = self.slots.pose {
            by.fixed_columns_mut::<3>(pose).copy_from(&Matrix3::identity());
        }
        Moving { at, by }
    }

    /// Where a straight begins.
    pub(super) fn begin(&self, leg: usize) -> Moving {
        self.point(leg, self.begins[leg])
    }

    /// Where the arc of a bend starts.
    pub(super) fn start(&self, bend: usize) -> Moving {
        let mut point = self.point(bend, self.starts[bend]);
        point.by.set_column(self.slots.straight(bend), &self.directions[bend]);
        point
    }

    /// The direction of a straight, from A to B.
    pub(super) fn direction(&self, leg: usize) -> Moving {
        let at = self.directions[leg];
        Moving { at, by: self.carried(leg, |axis, _| axis.cross(&at)) }
    }

    /// The normal of a bend.
    pub(super) fn normal(&self, bend: usize) -> Moving {
        let at = self.normals[bend];
        let mut by = self.carried(bend, |axis, _| axis.cross(&at));
        if let Some(place) = self.slots.rotation(bend) {
            by.set_column(place, &self.directions[bend].cross(&at));
        }
        Moving { at, by }
    }

    /// Setback of a bend with its slope by the bend's angle; `None` where it has no corner.
    fn setback(&self, bend: usize) -> Option<(f64, f64)> {
        let angle = self.unknowns[self.slots.angle(bend)];
        let radius = self.part.radii[bend];
        let own = setback(radius, Angle::rad(angle))?.to_mm();
        let tan = libm::tan(angle / 2.0);
        Some((own, radius.to_mm() * (1.0 + tan * tan) / 2.0))
    }

    /// How much longer a leg reads at a bend for each half OD that it was taken out.
    pub(super) fn heel(&self, bend: usize) -> Number {
        let place = self.slots.angle(bend);
        let tan = libm::tan(self.unknowns[place] / 2.0);
        let mut by = DVector::zeros(self.slots.count);
        by[place] = self.part.od.to_mm() / 4.0 * (1.0 + tan * tan);
        Number { value: self.part.od.to_mm() / 2.0 * tan, by }
    }

    /// An unknown itself.
    pub(super) fn unknown(&self, place: usize) -> Number {
        let mut by = DVector::zeros(self.slots.count);
        by[place] = 1.0;
        Number { value: self.unknowns[place], by }
    }

    /// A leg from corner to corner; `None` where one of them is none.
    pub(super) fn leg(&self, leg: usize) -> Option<Number> {
        let mut length = self.unknown(self.slots.straight(leg));
        for bend in [leg.checked_sub(1), (leg < self.slots.bends).then_some(leg)].into_iter().flatten() {
            let (own, slope) = self.setback(bend)?;
            length.value += own;
            length.by[self.slots.angle(bend)] += slope;
        }
        Some(length)
    }

    /// A node; `None` for a bend without a corner.
    pub(super) fn node(&self, node: usize) -> Option<Moving> {
        let last = self.part.nodes.len() - 1;
        if node == 0 {
            return Some(self.begin(0));
        }
        if node == last {
            let leg = self.slots.bends;
            let mut end =
                self.point(leg, self.begins[leg] + self.directions[leg] * self.unknowns[self.slots.straight(leg)]);
            end.by.set_column(self.slots.straight(leg), &self.directions[leg]);
            return Some(end);
        }
        if let Some(bend) = self.part.corners.iter().position(|corner| *corner == node) {
            let (own, slope) = self.setback(bend)?;
            let travel = self.directions[bend];
            let mut corner = self.point(bend, self.starts[bend] + travel * own);
            corner.by.set_column(self.slots.straight(bend), &travel);
            corner.by.set_column(self.slots.angle(bend), &(travel * slope));
            return Some(corner);
        }
        let place = self.part.passed.iter().position(|passed| passed.node == node)?;
        let passed = self.part.passed[place];
        let along = match self.slots.along(place) {
            Some(unknown) => self.unknown(unknown),
            None => {
                let leg = self.leg(passed.leg)?;
                Number { value: leg.value * passed.share, by: leg.by * passed.share }
            }
        };
        let travel = self.directions[passed.leg];
        let mut from = along.value;
        let before = passed.leg.checked_sub(1);
        let behind = before.map(|bend| self.setback(bend)).map_or(Some(None), |setback| setback.map(Some))?;
        if let Some((own, _)) = behind {
            from -= own;
        }
        let mut point = self.point(passed.leg, self.begins[passed.leg] + travel * from);
        point.by += travel * along.by.transpose();
        if let (Some(bend), Some((_, slope))) = (before, behind) {
            let mut column = point.by.column_mut(self.slots.angle(bend));
            column -= travel * slope;
        }
        Some(point)
    }

    /// How a straight turns about itself for each unknown: the turn of the frame that goes along with it.
    pub(super) fn turning(&self, leg: usize) -> Matrix3xX<f64> {
        self.carried(leg, |axis, _| *axis)
    }
}

/// The turn of a first leg along `direction` and a first bend about `normal`.
pub(super) fn frame(direction: Vector3<f64>, normal: Vector3<f64>) -> Matrix3<f64> {
    let x = direction.normalize();
    let z = (normal - x * x.dot(&normal)).normalize();
    Matrix3::from_columns(&[x, z.cross(&x), z])
}

/// The 24 turns of a cube: no turn is more than 63 degrees from the nearest of them.
pub(super) fn cube() -> Vec<Matrix3<f64>> {
    let axes: [Vector3<f64>; 6] =
        [Vector3::x(), Vector3::y(), Vector3::z(), -Vector3::x(), -Vector3::y(), -Vector3::z()];
    let mut all = Vec::with_capacity(24);
    for x in axes {
        all.extend(axes.iter().filter(|z| z.dot(&x).abs() < 0.5).map(|z| frame(x, *z)));
    }
    debug_assert!(all.iter().all(|turn| turn.determinant() > 0.5));
    all
}
