//! What each measurement would read for a guess at the shape, less what it read, over its standard deviation.

use nalgebra::{DMatrix, DVector, Matrix3};

use super::record::{Measurement, Part};
use super::shape::{Laid, Moving, Number, Slots};
use crate::centreline::Taken;
use crate::fit::Model;
use crate::units::{Angle, Length};

/// Nothing counts as measured better than this, whatever the record claims: finer, rounding would be fitted. Far below any tape and any gauge.
const FINEST: (Length, Angle) = (Length::mm(1e-4), Angle::deg(1e-6));

/// What counts alike where the record states no accuracy: a millimetre, a degree.
const ALIKE: (Length, Angle) = (Length::mm(1.0), Angle::deg(1.0));

/// Roundings of the largest coordinate that may add up in one equation: some for each bend on the way to it.
const ROUNDINGS: f64 = 16.0;

/// Standard deviations of the record, or what counts alike where it states none.
pub(super) fn deviations(part: &Part) -> (Length, Angle) {
    let accuracy = part.accuracy;
    (
        accuracy.length.map_or(ALIKE.0, |length| length.max(FINEST.0)),
        accuracy.angle.map_or(ALIKE.1, |angle| angle.max(FINEST.1)),
    )
}

/// All equations of a record: computed less measured over the standard deviation, each with the measurement that it is of.
pub(super) struct Equations {
    pub(super) of: Vec<usize>,
    pub(super) residuals: DVector<f64>,
    pub(super) slopes: DMatrix<f64>,
}

pub(super) fn equations(part: &Part, slots: &Slots, at: &DVector<f64>, turn: &Matrix3<f64>) -> Equations {
    let laid = Laid::new(part, slots, at, turn);
    let (length, angle) = deviations(part);
    let (length, angle) = (length.to_mm(), angle.to_rad());
    let half = part.od.to_mm() / 2.0;
    let mut of = Vec::new();
    let mut rows: Vec<(f64, DVector<f64>)> = Vec::new();
    for (place, measurement) in part.measured.iter().enumerate() {
        let mut add = |computed: Number, read: f64, sd: f64| {
            of.push(place);
            rows.push(((computed.value - read) / sd, computed.by / sd));
        };
        match measurement {
            Measurement::Node { node, at } => {
                let Some(point) = laid.node(*node) else { continue };
                for axis in 0..3 {
                    let by = point.by.row(axis).transpose();
                    add(Number { value: point.at[axis], by }, at[axis], length);
                }
            }
            Measurement::Leg { leg, length: read, taken } => {
                let Some(mut computed) = laid.leg(*leg) else { continue };
                for bend in [leg.checked_sub(1), (*leg < slots.bends).then_some(*leg)].into_iter().flatten() {
                    let heel = laid.heel(bend);
                    computed = computed.plus(heel.value, &heel.by, outward(*taken));
                }
                add(computed, read.to_mm(), length);
            }
            Measurement::Bend { bend, angle: read } => {
                add(laid.unknown(slots.angle(bend.0)), read.to_rad(), angle);
            }
            Measurement::Rotation { bend, angle: read } => {
                let Some(place) = slots.rotation(bend.0) else { continue };
                let mut computed = laid.unknown(place);
                // The same turn, whichever way round it is counted.
                computed.value = (Angle::rad(computed.value) - *read).wrapped().to_rad();
                add(computed, 0.0, angle);
            }
            Measurement::Distance { from, to, length: read, taken } => {
                let (Some(from), Some(to)) = (laid.node(*from), laid.node(*to)) else { continue };
                let mut computed = to.minus(&from).norm();
                computed.value += outward(*taken) * 2.0 * half;
                add(computed, read.to_mm(), length);
            }
            Measurement::Touched { leg, at } => {
                add(from_axis(&laid, *leg, &at.coords, slots.count), half, length);
            }
            Measurement::Lying { flat, node, up } => {
                let Some(point) = laid.node(*node) else { continue };
                let flat: Vec<usize> = flat.iter().map(|bend| bend.0).collect();
                add(height(&laid, &flat, &point), up.to_mm(), length);
            }
        }
    }
    let mut residuals = DVector::zeros(rows.len());
    let mut slopes = DMatrix::zeros(rows.len(), slots.count);
    for (row, (value, by)) in rows.into_iter().enumerate() {
        residuals[row] = value;
        slopes.set_row(row, &by.transpose());
    }
    Equations { of, residuals, slopes }
}

/// +1 on the outside, -1 on the inside, 0 on the centreline.
pub(super) const fn outward(taken: Taken) -> f64 {
    match taken {
        Taken::Centre => 0.0,
        Taken::Outside => 1.0,
        Taken::Inside => -1.0,
    }
}

/// Distance of a point that stands still from the line of a leg.
fn from_axis(laid: &Laid<'_>, leg: usize, point: &nalgebra::Vector3<f64>, count: usize) -> Number {
    let (begin, travel) = (laid.begin(leg), laid.direction(leg));
    let to = point - begin.at;
    let along = to.dot(&travel.at);
    let across = to - travel.at * along;
    let value = across.norm();
    if value <= 0.0 {
        return Number { value, by: DVector::zeros(count) };
    }
    let away = across / value;
    Number { value, by: -(begin.along(&away) + travel.along(&away) * along) }
}

/// Height of a point over the plane of bends that lie flat: with end A left and the opening of the first of them toward a person, up is against its normal.
fn height(laid: &Laid<'_>, flat: &[usize], point: &Moving) -> Number {
    let mut up = laid.normal(flat[0]);
    let mut middle = laid.start(flat[0]);
    for bend in &flat[1..] {
        let normal = laid.normal(*bend);
        let sign = if normal.at.dot(&laid.normal(flat[0]).at) < 0.0 { -1.0 } else { 1.0 };
        up = Moving { at: up.at + normal.at * sign, by: up.by + normal.by * sign };
        let start = laid.start(*bend);
        middle = Moving { at: middle.at + start.at, by: middle.by + start.by };
    }
    let share = 1.0 / flat.len() as f64;
    let middle = Moving { at: middle.at * share, by: middle.by * share };
    let over = point.minus(&middle).dot(&up);
    let size = up.norm();
    let value = -over.value / size.value;
    Number { value, by: (-over.by - size.by * value) / size.value }
}

/// The equations with some unknowns held where they are.
pub(super) struct Held<'p> {
    pub(super) part: &'p Part,
    pub(super) slots: &'p Slots,
    pub(super) turn: Matrix3<f64>,
    /// All unknowns; those not in `free` stay.
    pub(super) at: DVector<f64>,
    pub(super) free: Vec<usize>,
}

impl Held<'_> {
    pub(super) fn whole(&self, free: &DVector<f64>) -> DVector<f64> {
        let mut at = self.at.clone();
        for (value, place) in free.iter().zip(&self.free) {
            at[*place] = *value;
        }
        at
    }
}

impl Model for Held<'_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let found = equations(self.part, self.slots, &self.whole(at), &self.turn);
        let slopes = DMatrix::from_fn(found.residuals.len(), self.free.len(), |row, column| {
            found.slopes[(row, self.free[column])]
        });
        (found.residuals, slopes)
    }

    fn rounding(&self) -> f64 {
        let (length, _) = deviations(self.part);
        let coordinates = self.part.measured.iter().flat_map(|measurement| match measurement {
            Measurement::Node { at, .. } | Measurement::Touched { at, .. } => [at.x, at.y, at.z],
            Measurement::Leg { length, .. } | Measurement::Distance { length, .. } => [length.to_mm(), 0.0, 0.0],
            _ => [0.0; 3],
        });
        let largest = coordinates.map(f64::abs).fold(0.0, f64::max);
        ROUNDINGS * f64::EPSILON * largest / length.to_mm() * (self.part.measured.len() as f64).sqrt()
    }
}
