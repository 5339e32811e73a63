//! From taped distances, plumb drops and heights to the places of points, how sure they are, and which tape was misread.
//!
//! ```text
//!            up o            v   adjusted - observed
//!              /|\           r   redundancy: the part of an error of this reading that shows in its own v
//!             / | \          w   v / (standard deviation sqrt r): standardised
//!    origin  o--+--o  x
//!             \ | /          frame: origin at zero, x on +x, xy at z = 0 and y > 0, up at z > 0
//!              \|/
//!            xy o
//! ```
//!
//! Least squares weighted by the standard deviations (see `network` for the equations, [`crate::fit`] for the way), from first guesses that it finds itself
//! (see `start`). A network is checked as a whole by the sum of its squares, and reading by reading by w (W. Baarda, A testing procedure for use
//! in geodetic networks, Neth. Geod. Comm. 2 (5), 1968, from memory):
//!
//! - something is wrong where the sum of squares is larger than 95 of 100 networks have;
//! - then any reading with |w| over 3.29 (1 in 1,000) may be the misread one;
//! - it is surely the one where the network without it agrees at 5 %, and without any other single one disagrees at 0.1 %. Then it is left out.
//!
//! With one redundant reading all |w| are equal, and nothing can be told apart: that is said, not guessed over.
//!
//! No tape tells left from right: the frame's `up` point fixes the hand.
//!
//! Not for: tapes that sag or stretch, points that moved between two readings, angles.

mod chance;
pub mod document;
mod network;
mod notes;
mod record;
mod settle;
mod start;
mod suggest;

use nalgebra::{DMatrix, Matrix3, Point3, Vector3};

pub use self::network::What;
use self::network::{Network, Reading};
pub use self::record::{Drop, Flush, Frame, Height, Record, Symmetry, Tape};
use self::settle::Settled;
use self::start::{Place, in_frame};
pub use self::suggest::{Suggestion, Why};
use crate::fit::{NoFit, descend};
use crate::units::{Angle, Length};

/// A reading that is standardised to more than this may be the misread one: 1 good reading in 1,000 is.
pub const SUSPECT: f64 = 3.29;

/// A network agrees with itself where its sum of squares is exceeded with at least this chance.
const AGREES: f64 = 0.05;

/// It disagrees for sure where that chance is below this.
const DISAGREES: f64 = 0.001;

/// A reading that keeps less than this part of its variance in the fit can show no mistake.
const NO_CHECK: f64 = 1e-6;

/// A sum of squares that is this much above the least may still be the right place: 1 right one in 1,000 is further (one figure).
const AS_GOOD: f64 = 10.83;

/// Two places of a point are two where they are further apart than so many standard deviations.
const APART: f64 = 6.0;

/// Places that are looked at again once a reading is left out.
const RIVALS: usize = 40;

/// The hand is told by a point that lies so many standard deviations off the plane of the frame.
const OFF_PLANE: f64 = 3.0;

/// Why there are no points.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSurvey {
    /// The three points of the frame come to lie on one line, or on each other.
    #[error(
        "`{origin}`, `{x}` and `{xy}` of the frame lie on one line as taped, or are not joined by tapes: they tell no plane"
    )]
    FrameOnLine {
        /// The origin's name.
        origin: String,
        /// That of the point on x.
        x: String,
        /// That of the point in the plane.
        xy: String,
    },
    /// No places of the points come to rest.
    #[error("{0}")]
    NoFit(#[from] NoFit),
}

/// A point as found.
#[derive(Clone, Debug, PartialEq)]
pub struct PointFound {
    /// Its coordinates, mm in the frame; `None` where they are not told.
    pub at: [Option<f64>; 3],
    /// Their standard deviations, mm; 0 where the frame has them at 0.
    pub sd: [Option<f64>; 3],
}

impl PointFound {
    /// Where it is; `None` where a coordinate is not told.
    #[must_use]
    pub fn point(&self) -> Option<Point3<f64>> {
        let [x, y, z] = self.at;
        Some(Point3::new(x?, y?, z?))
    }
}

/// One reading against the others, all readings taken together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Checked {
    /// What was measured.
    pub what: What,
    /// From which point, or of which.
    pub from: usize,
    /// To which; `None` for what is measured of one point.
    pub to: Option<usize>,
    /// Adjusted less observed; how far off it is where it has no sign, as beside a line.
    pub residual: Length,
    /// How much of an error of this reading shows in its residual: 0 is none, 1 is all of it. Of a reading with two or three directions the mean.
    pub redundancy: f64,
    /// The residual over its standard deviation; `None` where nothing checks it. Of a reading with two or three directions the size of the one figure that is as unlikely, without sign.
    pub standardised: Option<f64>,
}

impl Checked {
    /// What the others say less what is observed, to first order.
    fn first_order(&self) -> Length {
        self.residual / self.redundancy.max(NO_CHECK)
    }
}

/// A reading that may be misread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misread {
    /// Its place among [`Survey::readings`].
    pub reading: usize,
    /// Observed less what the others say; how far off it is where it has no sign, as beside a line.
    pub by: Length,
    /// Whether it can be no other.
    pub sure: bool,
}

/// What a survey tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// The points, in the order of the record; without the misread reading where one is sure.
    pub points: Vec<PointFound>,
    /// All readings against each other, none left out: tapes, drops, heights, lines, planes, pairs, in the order of the record.
    pub readings: Vec<Checked>,
    /// The same once the surely misread one is left out, whose residual is then what it is off the others; as `readings` where none is sure.
    pub without: Vec<Checked>,
    /// Readings that may be misread, the largest standardised first.
    pub misread: Vec<Misread>,
    /// Points of which a coordinate is not told.
    pub undetermined: Vec<usize>,
    /// Points that can lie in two places: the point, and the place that is not among `points`.
    pub two_places: Vec<(usize, Point3<f64>)>,
    /// Whether the point that fixes the hand lies off the plane of the frame.
    pub hand_told: bool,
    /// Whether no guess but one led to this place.
    pub found_once: bool,
    /// What to measure next, the most useful first.
    pub suggest: Vec<Suggestion>,
    /// Readings less unknowns, without the misread one where one is sure: how often the network checks itself.
    pub freedom: usize,
    /// Sum of the squares of the residuals over their standard deviations, all readings taken together.
    pub squares: f64,
    /// The chance of a sum of squares above that.
    pub chance: f64,
    /// The way up, where what hangs or is level tells it.
    pub up: Option<Vector3<f64>>,
    /// The standard deviation of that where it is told worst.
    pub up_sd: Option<Angle>,
    covariance: DMatrix<f64>,
    places: Vec<[Option<usize>; 3]>,
}

impl Survey {
    /// Covariance of two points, mm2: by one its rows, by the other its columns. 0 where the frame fixes a coordinate; of what is not told it says nothing.
    #[must_use]
    pub fn covariance(&self, one: usize, other: usize) -> Matrix3<f64> {
        let place = |point: usize, axis: usize| self.places[point][axis];
        Matrix3::from_fn(|row, column| match (place(one, row), place(other, column)) {
            (Some(row), Some(column)) => self.covariance[(row, column)],
            _ => 0.0,
        })
    }

    /// The reading that is surely misread.
    #[must_use]
    pub fn sure(&self) -> Option<&Misread> {
        self.misread.iter().find(|misread| misread.sure)
    }

    /// Whether the readings agree with each other.
    #[must_use]
    pub fn agrees(&self) -> bool {
        self.chance >= AGREES
    }

    /// Whether all points are told, and no reading may be misread.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.undetermined.is_empty() && self.misread.is_empty()
    }
}

/// What a record tells.
///
/// Standard deviations are to first order: good where they are small against the distances.
///
/// # Errors
/// [`NoSurvey`], where the frame tells no axes, and where nothing comes to rest.
pub fn survey(record: &Record) -> Result<Survey, NoSurvey> {
    let freedom = {
        let network = Network::new(record, &vec![Vector3::zeros(); record.points.len()]);
        network.rows.saturating_sub(network.guess.len()).max(1)
    };
    let places = start::places(record, &|squares| chance::above(freedom, squares) >= AGREES);
    let Some(best) = chosen(record, &places) else {
        let name = |point: usize| record.points[point].clone();
        let frame = &record.frame;
        return Err(NoSurvey::FrameOnLine { origin: name(frame.origin), x: name(frame.x), xy: name(frame.xy) });
    };
    let network = Network::new(record, &best.points);
    let all = Settled::new(&network, &network.guess, None)?;
    let judged = Judged::new(&network, &all);
    let sure = judged.misread.iter().find(|misread| misread.sure).map(|misread| misread.reading);
    let kept = match sure {
        Some(reading) => Settled::new(&network, &all.whole, Some(reading))?,
        None => all.clone(),
    };
    let rivals = rivals(record, &places, sure, kept.squares() + AS_GOOD);
    Ok(told(&network, &all, &kept, judged, &Others { best, rivals: &rivals, places: &places }))
}

/// The place that is taken: of several within [`AS_GOOD`] of the lowest the one nearest to where the points were said to be.
fn chosen<'p>(record: &Record, places: &'p [Place]) -> Option<&'p Place> {
    let lowest = places.first()?;
    let as_good = places.iter().filter(|place| place.cost <= lowest.cost + AS_GOOD);
    let off = |place: &Place| -> f64 {
        record.about.iter().map(|(point, about)| (place.points[*point] - about.coords).norm_squared()).sum()
    };
    as_good.reduce(|best, other| if off(other) < off(best) { other } else { best })
}

/// The places that the network may be in without one reading: all whose sum of squares is not above `most`.
fn rivals(record: &Record, places: &[Place], without: Option<usize>, most: f64) -> Vec<Vec<Vector3<f64>>> {
    let settled = |place: &Place| {
        if without.is_none() {
            return (place.cost <= most).then(|| place.points.clone());
        }
        let network = Network::new(record, &place.points);
        let part = network::Part::new(&network, network.guess.clone(), without);
        let (at, cost) = descend(&part, part.at(), 100, 1e-9);
        (cost <= most).then(|| in_frame(&network.points(&at), &record.frame))?
    };
    places.iter().take(RIVALS).filter_map(settled).collect()
}

/// The other places that the network may be in.
struct Others<'p> {
    best: &'p Place,
    rivals: &'p [Vec<Vector3<f64>>],
    places: &'p [Place],
}

/// The readings against each other.
struct Judged {
    readings: Vec<Checked>,
    misread: Vec<Misread>,
    chance: f64,
}

impl Judged {
    fn new(network: &Network<'_>, all: &Settled) -> Self {
        let readings: Vec<Checked> = network.readings.iter().map(|reading| checked(reading, all)).collect();
        // What is just enough fits exactly, unless no places fit at all, such as those of a triangle with a side longer than the others together.
        let chance = chance::above(all.freedom.max(1), all.squares());
        let mut judged = Self { readings, misread: Vec::new(), chance };
        if chance < AGREES {
            judged.suspect(network, all);
        }
        judged
    }

    /// Lists the readings that may be misread.
    fn suspect(&mut self, network: &Network<'_>, all: &Settled) {
        let size = |reading: usize| self.readings[reading].standardised.map_or(0.0, f64::abs);
        let mut suspects: Vec<usize> = (0..self.readings.len()).filter(|reading| size(*reading) > SUSPECT).collect();
        suspects.sort_by(|one, other| size(*other).total_cmp(&size(*one)));
        // What each is off, and the chance of the rest without it.
        let mut tried = Vec::with_capacity(suspects.len());
        for reading in suspects {
            let rest = Settled::new(network, &all.whole, Some(reading)).ok();
            // Without it the points that it was measured of may swing: then what is redundant of it says how far off it is, to first order.
            let holds = |rest: &&Settled| rest.freedom + network.readings[reading].rows.len() == all.freedom;
            let off = match rest.as_ref().filter(holds) {
                Some(rest) => off(network, reading, rest),
                None => self.readings[reading].first_order(),
            };
            let by = if network.readings[reading].rows.len() == 1 { -off } else { off };
            tried.push((reading, by, rest.map(|rest| chance::above(rest.freedom, rest.squares()))));
        }
        // First order tells nothing of a gross mistake that was tried itself.
        let fails = |other: usize| match tried.iter().find(|(reading, ..)| *reading == other) {
            Some((_, _, chance)) => chance.is_some_and(|chance| chance < DISAGREES),
            None => self.disagrees_without(network, all, other),
        };
        let misread = tried.iter().map(|(reading, by, chance)| {
            let agrees = chance.is_some_and(|chance| chance >= AGREES);
            let sure = agrees && (0..self.readings.len()).all(|other| other == *reading || fails(other));
            Misread { reading: *reading, by: *by, sure }
        });
        self.misread = misread.collect();
    }

    /// Whether the network disagrees for sure without one reading.
    fn disagrees_without(&self, network: &Network<'_>, all: &Settled, reading: usize) -> bool {
        let Checked { standardised, redundancy, .. } = self.readings[reading];
        let rows = network.readings[reading].rows.len();
        if standardised.is_none() {
            // Nothing checks it, so the rest is as good or bad without it.
            return chance::above(all.freedom, all.squares()) < DISAGREES;
        }
        let freedom = all.freedom.saturating_sub(rows);
        // To first order the sum of squares falls by the square of what is standardised; where that decides, no more is needed.
        let falls = all.squares() - drop_of(network, all, reading);
        let surely = chance::above(freedom, falls * 0.5) < DISAGREES;
        let never = chance::above(freedom, falls * 2.0) >= DISAGREES;
        if surely || never || redundancy < NO_CHECK {
            return surely;
        }
        Settled::new(network, &all.whole, Some(reading))
            .is_ok_and(|rest| chance::above(rest.freedom, rest.squares()) < DISAGREES)
    }
}

/// By how much the sum of squares falls to first order where a reading is left out.
fn drop_of(network: &Network<'_>, all: &Settled, reading: usize) -> f64 {
    let rows = &network.readings[reading].rows;
    let left = all.residuals.rows(rows.start, rows.len()).into_owned();
    let spread = all.spread.view((rows.start, rows.start), (rows.len(), rows.len())).into_owned();
    let inverse = spread.pseudo_inverse(NO_CHECK).unwrap_or_else(|_| DMatrix::zeros(rows.len(), rows.len()));
    (left.transpose() * inverse * &left)[0]
}

fn checked(reading: &Reading, all: &Settled) -> Checked {
    let Reading { what, from, to, ref rows, sd } = *reading;
    let left = all.residuals.rows(rows.start, rows.len()).into_owned();
    let spread = all.spread.view((rows.start, rows.start), (rows.len(), rows.len())).into_owned();
    let redundancy = spread.trace().max(0.0) / rows.len() as f64;
    if rows.len() == 1 {
        let standardised = (redundancy > NO_CHECK).then(|| left[0] / redundancy.sqrt());
        let residual = Length::mm(left[0] * sd);
        return Checked { what, from, to, residual, redundancy, standardised };
    }
    let eigen = spread.symmetric_eigen();
    let parts = eigen.eigenvalues.iter().enumerate().filter(|(_, value)| **value > NO_CHECK);
    let squares: Vec<f64> =
        parts.map(|(place, value)| eigen.eigenvectors.column(place).dot(&left).powi(2) / value).collect();
    let standardised = (!squares.is_empty()).then(|| chance::as_one(squares.len(), squares.iter().sum()));
    let residual = Length::mm(left.norm() * sd);
    Checked { what, from, to, residual, redundancy, standardised }
}

/// Adjusted less observed of a reading, where the others alone say what is adjusted.
fn off(network: &Network<'_>, reading: usize, rest: &Settled) -> Length {
    let Reading { ref rows, sd, .. } = network.readings[reading];
    let (left, _) = network.all_rows(&rest.whole);
    let own = left.rows(rows.start, rows.len());
    Length::mm(sd * if rows.len() == 1 { own[0] } else { own.norm() })
}

/// The readings against each other with one of them left out.
fn without(network: &Network<'_>, kept: &Settled, left_out: usize, all: &[Checked]) -> Vec<Checked> {
    let gone = network.readings[left_out].rows.clone();
    let readings = network.readings.iter().zip(all).enumerate();
    let told = readings.map(|(place, (reading, among_all))| {
        if place == left_out {
            return Checked { residual: off(network, place, kept), ..*among_all };
        }
        let by = if reading.rows.start < gone.start { 0 } else { gone.len() };
        let rows = reading.rows.start - by..reading.rows.end - by;
        checked(&Reading { rows, ..reading.clone() }, kept)
    });
    told.collect()
}

/// Puts all of it together.
fn told(network: &Network<'_>, all: &Settled, kept: &Settled, judged: Judged, others: &Others<'_>) -> Survey {
    let record = network.record;
    let Judged { readings, misread, chance } = judged;
    let without = match misread.iter().find(|misread| misread.sure) {
        Some(sure) => without(network, kept, sure.reading, &readings),
        None => readings.clone(),
    };
    let at = network.points(&kept.whole);
    let untold = |point: usize, axis: usize| network.places[point][axis].is_some_and(|place| kept.untold[place]);
    let sd = |point: usize, axis: usize| {
        network.places[point][axis].map_or(0.0, |place| kept.covariance[(place, place)].max(0.0).sqrt())
    };
    // The hand hangs on one point off the plane.
    let off_plane = |up: usize| !untold(up, 2) && at[up].z > OFF_PLANE * sd(up, 2) && at[up].z > 0.0;
    let hand_told = record.frame.up.is_none_or(off_plane);
    let two_places = two_places(network, others, &at, &|point, axis| !untold(point, axis), &sd);
    let mut points = Vec::with_capacity(at.len());
    for (point, found) in at.iter().enumerate() {
        let two = two_places.iter().any(|(twice, _)| *twice == point);
        let hand = |axis: usize| axis == 2 && !hand_told && network.places[point][2].is_some();
        let told = |axis: usize| !two && !untold(point, axis) && !hand(axis);
        let axes = [0, 1, 2];
        points.push(PointFound {
            at: axes.map(|axis| told(axis).then_some(found[axis])),
            sd: axes.map(|axis| told(axis).then_some(sd(point, axis))),
        });
    }
    let undetermined =
        points.iter().enumerate().filter(|(_, found)| found.point().is_none()).map(|(point, _)| point).collect();
    let lowest = others.best.cost;
    let hits = others.places.iter().filter(|place| (place.cost - lowest).abs() <= 1e-3 * (1.0 + lowest)).count();
    let up_sd = network.up_sd(&kept.covariance, &kept.untold);
    let mut survey = Survey {
        points,
        readings,
        without,
        misread,
        undetermined,
        two_places,
        hand_told,
        found_once: hits < 2,
        suggest: Vec::new(),
        freedom: kept.freedom,
        squares: all.squares(),
        chance,
        up: up_sd.and_then(|_| network.up(&kept.whole)),
        up_sd,
        covariance: kept.covariance.clone(),
        places: network.places.clone(),
    };
    survey.suggest = suggest::suggest(network, kept, &survey);
    survey
}

/// Points that lie elsewhere in a place of the network that is as good.
fn two_places(
    network: &Network<'_>,
    others: &Others<'_>,
    at: &[Vector3<f64>],
    told: &dyn Fn(usize, usize) -> bool,
    sd: &dyn Fn(usize, usize) -> f64,
) -> Vec<(usize, Point3<f64>)> {
    let record = network.record;
    let size = at.iter().map(Vector3::norm).fold(1.0, f64::max);
    let differs = |other: &[Vector3<f64>], point: usize| {
        (0..3).any(|axis| {
            told(point, axis) && (other[point][axis] - at[point][axis]).abs() > APART * sd(point, axis) + 1e-4 * size
        })
    };
    let mut found: Vec<(usize, Point3<f64>)> = Vec::new();
    for other in others.rivals {
        // Where a point was said to be, the other place is ruled out with all that goes with it.
        if record.about.iter().any(|(point, _)| differs(other, *point)) {
            continue;
        }
        for point in 0..at.len() {
            if differs(other, point) && found.iter().all(|(known, _)| *known != point) {
                found.push((point, Point3::from(other[point])));
            }
        }
    }
    found.sort_by_key(|(point, _)| *point);
    found
}

#[cfg(test)]
mod tests;
