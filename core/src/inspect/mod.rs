//! The bent part against what was wanted, and what to do otherwise on the next piece.
//!
//! ```text
//! measurements --fit--> shape as bent (straights, rotations, bend angles)
//!                 |----> against the wanted rows: what each leg, bend and rotation is off
//!                 |----> laid on the wanted nodes: how far each corner is off, and whether all are within the tolerance
//!                 '----> taken back: marks, top lines and readings of the next piece
//! ```
//!
//! What was measured can be of any sort, so the shape is found by least squares: every straight, bend angle and rotation is an unknown (`shape`), every
//! measurement one or three equations weighted by its standard deviation (`model`). Formed radii are those of the plan. What the measurements do
//! not tell is `None`, never 0 (`told`).
//!
//! A part without a job, to be copied, is fitted alike and compared with nothing.
//!
//! # The next piece
//!
//! Measure, rebuild the shape, compare row with row, add the differences to what was commanded: common practice in tube bending since parts are measured.
//! With each deviation taken off the wanted rows, marks, top lines and die angles follow as in any plan (`correction`). The arc that a
//! mark has to leave room for follows too: the bend that comes out longer on the next piece takes more of the blank. A deviation that is within twice the scatter of
//! one tube is left alone, each by itself: taking back noise adds as much of it.
//!
//! Not for: a tube that is not round or not straight between its bends, and for saying which of several measurements is wrong where nothing else checks them.

mod correction;
pub mod document;
mod model;
mod notes;
mod record;
pub mod registration;
mod shape;
mod start;
#[cfg(test)]
mod tests;
mod told;

use nalgebra::{DMatrix, DVector, Matrix3, Point3, Vector3};

pub use self::correction::Next;
use self::model::{Held, deviations, equations};
pub use self::record::{AsBent, Measurement, Part, PartAccuracy, Passed, Wanted};
use self::registration::Registration;
use self::shape::{Laid, Number, Slots};
use self::told::Untold;
pub use crate::calibrate::Figure;
use crate::calibrate::OUTLIER;
use crate::centreline::BendId;
use crate::fit::solve;
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// A tube none of whose rotations is further than this from 0 or from half a turn has no hand that a measurement could tell: a top line by eye is
/// off by 1 to 2 degrees (common practice, no source).
pub const FLAT: Angle = Angle::deg(5.0);

/// The mirror image is meant where it lies nearer by this factor.
const MUCH_NEARER: f64 = 2.0;

/// A deviation within so many of its own standard deviations is left alone.
const LEFT_ALONE: f64 = 2.0;

/// A bend angle below 0 by more than this, in radians, is a bend the other way. Less is a straight that rounding or a tape makes of it.
const LEAST_BEND: f64 = 1e-3;

/// Squares that are so many times what chance makes of them are a slip, or a search that went astray.
const UNLIKELY: f64 = 9.0;

/// Sums of squares this near are alike: what the search leaves of them.
const ALIKE: f64 = 1e-6;

/// A measured row: the straight before a bend, the rotation before it, its angle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeasuredRow {
    /// The straight before it.
    pub length: Option<Figure<Length>>,
    /// The rotation before it; `None` for the first bend too, which has none.
    pub rotation: Option<Figure<Angle>>,
    /// Its bend angle.
    pub angle: Option<Figure<Angle>>,
}

/// What a row is off: measured less wanted; `None` for what is not told, and for all of a part without a job.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Deviation {
    /// Of the straight.
    pub length: Option<Length>,
    /// Of the rotation; 0 for the first bend, whose rotation is no part of the shape.
    pub rotation: Option<Angle>,
    /// Of the bend angle.
    pub angle: Option<Angle>,
}

/// A measurement that the rest does not agree with.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// Its place in the record's list.
    pub measurement: usize,
    /// How far it is off what the rest makes of it: mm, or radians for bends and rotations; for a node without a sign.
    pub by: f64,
    /// What the fit leaves of that over its standard deviation, for a node the length of all three: beyond 3.
    pub over: f64,
    /// The same over the standard deviation that is left to it in the fit: the largest is the likeliest to be the wrong one.
    pub standardised: f64,
}

/// What is known of a measured part.
#[derive(Clone, Debug, PartialEq)]
pub struct Inspection {
    /// The rows as measured, from end A.
    pub rows: Vec<MeasuredRow>,
    /// The last straight.
    pub last: Option<Figure<Length>>,
    /// The legs from corner to corner.
    pub legs: Vec<Option<Figure<Length>>>,
    /// Measured less wanted, from end A; with the last straight as the length of an entry of its own.
    pub deviations: Vec<Deviation>,
    /// Measured less wanted of each leg from corner to corner.
    pub leg_deviations: Vec<Option<Length>>,
    /// Nodes as measured, mm: in the job's axes where the part could be laid on the wanted shape, else in the record's, else with end A at the origin.
    pub nodes: Vec<Option<Point3<f64>>>,
    /// How far each is off its place, mm in the job's axes.
    pub off: Vec<Option<Vector3<f64>>>,
    /// Root mean square of those.
    pub rms: Option<Length>,
    /// Whether every node is within the tube's tolerance; `None` where either is not known.
    pub within_tolerance: Option<bool>,
    /// Whether it is the mirror part.
    pub wrong_hand: bool,
    /// Whether the mirror image agrees with the measurements as well.
    pub hand_unknown: bool,
    /// Measurements that the fit leaves off by more than three of their standard deviations, the surest first.
    pub slips: Vec<Slip>,
    /// Places in the record's list of measurements that nothing checks.
    pub unchecked: Vec<usize>,
    /// Sum of squares over standard deviations, and by how many it could be off.
    pub squares: (f64, usize),
    /// What to do on the next piece, by bend; empty without a job.
    pub next: Vec<Next>,
    /// The blank of the next piece.
    pub next_cut: Option<Length>,
    /// Of the deviations those that are taken back: beyond what scatters from tube to tube, and for a part of the wrong hand the rotations as for the mirror image.
    pub worth: Vec<Deviation>,
    /// Whether there is any, or the wrong hand to be mended; `None` where nothing was compared.
    pub worth_changing: Option<bool>,
    /// Why there is no next piece, where the plan has no order of its own.
    pub no_order: bool,
}

/// Why nothing can be said of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoShape {
    /// No guess came to rest.
    #[error("no shape was found that agrees with what was measured")]
    Restless,
}

/// What fits best.
struct Found {
    at: DVector<f64>,
    turn: Matrix3<f64>,
    untold: Untold,
    free: Vec<usize>,
    covariance: DMatrix<f64>,
    cost: f64,
    /// By how many the equations are more than the unknowns.
    freedom: usize,
}

/// What a record tells of a part.
///
/// # Errors
/// [`NoShape`], where no guess at the shape leads anywhere: figures that contradict each other altogether.
pub fn inspect(part: &Part) -> Result<Inspection, NoShape> {
    let slots = Slots::new(part);
    let (found, hand_unknown) = best(part, &slots)?;
    let laid = Laid::new(part, &slots, &found.at, &found.turn);
    let stated = part.accuracy;
    // With deviations made up for the weights, none is claimed.
    let claims = match (stated.length, stated.angle) {
        (Some(_), Some(_)) => true,
        (length, angle) => part.measured.iter().all(|m| if of_angle(m) { angle.is_some() } else { length.is_some() }),
    };
    let sd = |slopes: &DVector<f64>| {
        let free = DVector::from_iterator(found.free.len(), found.free.iter().map(|place| slopes[*place]));
        claims.then(|| free.dot(&(&found.covariance * &free)).max(0.0).sqrt())
    };
    let told = |figure: Number| found.untold.tells(&figure.by).then(|| (figure.value, sd(&figure.by)));
    let length =
        |figure: Number| told(figure).map(|(value, sd)| Figure { value: Length::mm(value), sd: sd.map(Length::mm) });
    let angle = |figure: Number| {
        told(figure).map(|(value, sd)| Figure { value: Angle::rad(value).wrapped(), sd: sd.map(Angle::rad) })
    };
    let rows: Vec<MeasuredRow> = (0..slots.bends)
        .map(|bend| MeasuredRow {
            length: length(laid.unknown(slots.straight(bend))),
            rotation: slots.rotation(bend).and_then(|place| angle(laid.unknown(place))),
            angle: angle_of_bend(told(laid.unknown(slots.angle(bend)))),
        })
        .collect();
    let last = length(laid.unknown(slots.straight(slots.bends)));
    let legs: Vec<Option<Figure<Length>>> = (0..=slots.bends).map(|leg| laid.leg(leg).and_then(&length)).collect();
    let mut known = known_nodes(part, &slots, &laid, &found.untold);
    let on = lay(part, &known);
    let mut off = vec![None; part.nodes.len()];
    if let (Some(on), Some(wanted)) = (&on, &part.wanted) {
        let nodes = &wanted.tube().centreline.nodes;
        for ((known, off), wanted) in known.iter_mut().zip(&mut off).zip(nodes) {
            *known = known.map(|known| on.place(&known));
            *off = known.zip(*wanted).map(|(known, wanted)| known - wanted);
        }
    }
    let offs: Vec<&Vector3<f64>> = off.iter().flatten().collect();
    let rms = (!offs.is_empty())
        .then(|| Length::mm((offs.iter().map(|off| off.norm_squared()).sum::<f64>() / offs.len() as f64).sqrt()));
    let within_tolerance = within_tolerance(part, &off);
    let checked = checked(part, &slots, &found, claims);
    let mut told = Inspection {
        deviations: Vec::new(),
        leg_deviations: vec![None; legs.len()],
        rows,
        last,
        legs,
        nodes: known,
        off,
        rms,
        within_tolerance,
        wrong_hand: false,
        hand_unknown,
        slips: checked.slips,
        unchecked: checked.unchecked,
        squares: (found.cost, found.freedom),
        next: Vec::new(),
        next_cut: None,
        worth: Vec::new(),
        worth_changing: None,
        no_order: false,
    };
    let turns: Vec<Angle> = (0..slots.bends)
        .map(|bend| slots.rotation(bend).map_or(Angle::ZERO, |place| Angle::rad(found.at[place])))
        .collect();
    told.compare(part, &turns);
    correction::correct(part, &mut told);
    Ok(told)
}

/// A bend angle is counted on from 0, past half a turn too.
fn angle_of_bend(told: Option<(f64, Option<f64>)>) -> Option<Figure<Angle>> {
    told.map(|(value, sd)| Figure { value: Angle::rad(value), sd: sd.map(Angle::rad) })
}

fn of_angle(measurement: &Measurement) -> bool {
    matches!(measurement, Measurement::Bend { .. } | Measurement::Rotation { .. })
}

/// The best fit from all starts, and whether its mirror image is as good.
fn best(part: &Part, slots: &Slots) -> Result<(Found, bool), NoShape> {
    let mut best: Option<Found> = None;
    let mut all: Vec<(f64, DVector<f64>)> = Vec::new();
    let mut look = |starts: Vec<start::Start>, best: &mut Option<Found>| {
        for found in starts.into_iter().filter_map(|start| from(part, slots, start, true)) {
            all.push((found.cost, found.at.clone()));
            let nearer = |best: &Found| found.cost < best.cost - ALIKE * (best.cost + ALIKE);
            if best.as_ref().is_none_or(nearer) {
                *best = Some(found);
            }
        }
    };
    look(start::starts(part, slots), &mut best);
    if best.as_ref().is_none_or(|best| best.cost > UNLIKELY * (1 + best.freedom) as f64) {
        look(start::more_starts(part, slots), &mut best);
    }
    let best = best.ok_or(NoShape::Restless)?;
    let rotations: Vec<usize> = (0..slots.bends).filter_map(|bend| slots.rotation(bend)).collect();
    let has_hand = rotations.iter().any(|place| out_of_plane(Angle::rad(best.at[*place])) > FLAT);
    let is_image = |at: &DVector<f64>| {
        rotations.iter().all(|place| Angle::rad(at[*place] + best.at[*place]).wrapped().abs() < Angle::deg(1e-3))
    };
    let as_good = |cost: f64| cost <= best.cost + ALIKE * (best.cost + 1.0);
    let unknown = has_hand && all.iter().any(|(cost, at)| as_good(*cost) && is_image(at));
    Ok((best, unknown))
}

/// How far a rotation is from leaving the tube in one plane.
fn out_of_plane(rotation: Angle) -> Angle {
    let turn = rotation.wrapped().abs();
    turn.min(Angle::deg(180.0) - turn)
}

/// The fit from one start. `first`: it may have to be begun again with its bends the right way.
fn from(part: &Part, slots: &Slots, start: start::Start, first: bool) -> Option<Found> {
    let start::Start { at, turn } = start;
    let untold = Untold::new(&equations(part, slots, &at, &turn).slopes);
    let free: Vec<usize> = (0..slots.count).filter(|place| !untold.held.contains(place)).collect();
    let begin = DVector::from_iterator(free.len(), free.iter().map(|place| at[*place]));
    let held = Held { part, slots, turn, at, free };
    let fit = solve(&held, begin).ok()?;
    let at = held.whole(&fit.at);
    if first && (0..slots.bends).any(|bend| at[slots.angle(bend)] < -LEAST_BEND) {
        return from(part, slots, start::bent_forward(part, slots, at, turn), false);
    }
    // What is told is told where the shape was found: a guess may lie where two things happen to look alike, and the other way round.
    let there = Untold::new(&equations(part, slots, &at, &turn).slopes);
    let untold = if there.held.len() == untold.held.len() { there } else { untold };
    let freedom = fit.residuals.len().saturating_sub(held.free.len());
    Some(Found {
        cost: fit.residuals.norm_squared(),
        freedom,
        at,
        turn,
        untold,
        free: held.free,
        covariance: fit.covariance,
    })
}

/// Nodes that lie fixed to each other, whatever is not told: of all frames along the part, those that hold to the one that most of them hold to.
fn known_nodes(part: &Part, slots: &Slots, laid: &Laid<'_>, untold: &Untold) -> Vec<Option<Point3<f64>>> {
    let directions = untold.directions();
    let nodes: Vec<_> = (0..part.nodes.len()).map(|node| laid.node(node)).collect();
    let size = nodes.iter().flatten().map(|node| node.at.norm()).fold(1.0, f64::max);
    let held_to = |leg: usize| -> Vec<bool> {
        let (frame, turning) = (laid.begin(leg), laid.turning(leg));
        let stands = |node: &shape::Moving| {
            directions.column_iter().all(|direction| {
                let turn = &turning * direction;
                let moved = &node.by * direction - &frame.by * direction - turn.cross(&(node.at - frame.at));
                // The largest that anything moves along this direction, as a length.
                let most = (0..slots.count)
                    .map(|place| direction[place].abs() * if place <= slots.bends { 1.0 } else { size })
                    .fold(0.0, f64::max);
                moved.norm() <= 1e-5 * most
            })
        };
        nodes.iter().map(|node| node.as_ref().is_some_and(stands)).collect()
    };
    let count = |held: &Vec<bool>| held.iter().filter(|held| **held).count();
    let frames = (0..=slots.bends).map(held_to);
    let most = frames.reduce(|best, one| if count(&one) > count(&best) { one } else { best }).unwrap_or_default();
    nodes
        .iter()
        .zip(most)
        .map(|(node, held)| node.as_ref().filter(|_| held).map(|node| Point3::from(node.at)))
        .collect()
}

/// The motion that lays what is known on the wanted nodes.
fn lay(part: &Part, known: &[Option<Point3<f64>>]) -> Option<Registration> {
    let nodes = &part.wanted.as_ref()?.tube().centreline.nodes;
    let mut pairs = Vec::new();
    let mut weights = Vec::new();
    let mut held = None;
    let end = part.hold.map(|end| if end == LeadEnd::A { 0 } else { nodes.len() - 1 });
    for (place, (known, wanted)) in known.iter().zip(nodes).enumerate() {
        if let Some(pair) = known.zip(*wanted) {
            if end == Some(place) {
                held = Some(pairs.len());
            }
            pairs.push(pair);
            weights.push(part.weights[place]);
        }
    }
    if end.is_some() && held.is_none() {
        return None;
    }
    Registration::new(&pairs, &weights, held)
}

fn within_tolerance(part: &Part, off: &[Option<Vector3<f64>>]) -> Option<bool> {
    let tolerance = part.wanted.as_ref()?.tube().tolerance?.to_mm();
    // What rounding leaves of a node that is off by just the tolerance.
    let most = tolerance * (1.0 + 1e-9) + 1e-9;
    if off.iter().flatten().any(|off| off.norm() > most) {
        return Some(false);
    }
    let corners = &part.wanted.as_ref()?.tube().centreline.nodes;
    off.iter().zip(corners).all(|(off, wanted)| off.is_some() || wanted.is_none()).then_some(true)
}

struct Checked {
    slips: Vec<Slip>,
    unchecked: Vec<usize>,
}

/// A measurement that keeps less than this part of its variance in the fit is checked by nothing.
const NO_CHECK: f64 = 1e-6;

fn checked(part: &Part, slots: &Slots, found: &Found, claims: bool) -> Checked {
    let all = equations(part, slots, &found.at, &found.turn);
    let slopes =
        DMatrix::from_fn(all.residuals.len(), found.free.len(), |row, column| all.slopes[(row, found.free[column])]);
    let through = &slopes * &found.covariance;
    let (length, angle) = deviations(part);
    let mut slips = Vec::new();
    let mut unchecked = Vec::new();
    for (place, measurement) in part.measured.iter().enumerate() {
        let rows: Vec<usize> = (0..all.of.len()).filter(|row| all.of[*row] == place).collect();
        let left = |row: &usize| 1.0 - through.row(*row).dot(&slopes.row(*row));
        if rows.iter().all(|row| left(row) <= NO_CHECK) {
            unchecked.push(place);
            continue;
        }
        let over = rows.iter().map(|row| all.residuals[*row] * all.residuals[*row]).sum::<f64>().sqrt();
        let worst = rows.iter().filter(|row| left(row) > NO_CHECK);
        let standardised = worst.map(|row| all.residuals[*row].abs() / left(row).sqrt()).fold(0.0, f64::max);
        if claims && over > OUTLIER {
            let unit = if of_angle(measurement) { angle.to_rad() } else { length.to_mm() };
            // Measured less what the rest makes of it: the fit itself is pulled along by what it leaves. Of a point, how far.
            let rest = |row: &usize| if left(row) > NO_CHECK { -all.residuals[*row] / left(row) } else { 0.0 };
            let by = match rows[..] {
                [row] => rest(&row),
                _ => rows.iter().map(|row| rest(row) * rest(row)).sum::<f64>().sqrt(),
            } * unit;
            slips.push(Slip { measurement: place, by, over, standardised });
        }
    }
    slips.sort_by(|one, other| other.standardised.total_cmp(&one.standardised));
    Checked { slips, unchecked }
}

impl Inspection {
    /// Measured less wanted, and the hand.
    fn compare(&mut self, part: &Part, turns: &[Angle]) {
        let Some(wanted) = &part.wanted else { return };
        let line = &wanted.tube().centreline;
        let less = |found: Option<Figure<Length>>, wanted: Length| found.map(|found| found.value - wanted);
        for (bend, (row, wanted)) in self.rows.iter().zip(&line.rows.bends).enumerate() {
            let rotation = match bend {
                0 => Some(Angle::ZERO),
                _ => row.rotation.map(|found| (found.value - wanted.rotation).wrapped()),
            };
            self.deviations.push(Deviation {
                length: less(row.length, wanted.length),
                rotation,
                angle: row.angle.map(|found| found.value - wanted.angle),
            });
        }
        self.deviations.push(Deviation { length: less(self.last, line.rows.last), rotation: None, angle: None });
        self.leg_deviations =
            self.legs.iter().zip(line.legs()).map(|(found, wanted)| Some((*found)?.value - wanted?)).collect();
        self.wrong_hand = !self.hand_unknown && is_mirror(wanted, turns);
    }

    /// The bend angle that was measured.
    #[must_use]
    pub fn bend(&self, bend: BendId) -> Option<Angle> {
        self.rows.get(bend.0)?.angle.map(|angle| angle.value)
    }
}

/// Whether the rotations of the shape that agrees best are those of the mirror image, far enough out of plane to have a hand. The wanted shape is tried first and the
/// mirror image kept only where it agrees better, so these rotations tell the hand even where their size is not told: as by a height where it is greatest.
fn is_mirror(wanted: &Wanted, turns: &[Angle]) -> bool {
    let rows = &wanted.tube().centreline.rows.bends;
    if rows.iter().skip(1).all(|row| out_of_plane(row.rotation) <= FLAT) {
        return false;
    }
    let squares = |sign: f64| -> f64 {
        let off = turns.iter().zip(rows).skip(1).map(|(found, row)| (*found * sign - row.rotation).wrapped().to_rad());
        off.map(|off| off * off).sum()
    };
    squares(-1.0) * MUCH_NEARER * MUCH_NEARER < squares(1.0)
}
