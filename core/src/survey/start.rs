//! Where the points may lie, to begin with: found from the distances alone, with nobody's help.
//!
//! The distances that were not measured are guessed between what the measured ones allow, and the points laid out by classical scaling (Torgerson,
//! Psychometrika 17 (1952) 401, from memory) in two dimensions more than they have. There a point can pass by the plane of its neighbours, which it cannot in
//! space, so that few places are left to get stuck at. Then the dimensions too many are pressed flat, and the network with all that was measured
//! goes downhill in its frame. From several guesses, and from each best place with one point after the other thrown to the other side of its
//! neighbours: a place that is never left for a better one is the best that is known.

use nalgebra::{DMatrix, DVector, Vector3};

use super::network::{Network, Part, What};
use super::record::{Frame, Record};
use crate::fit::{Model, descend};

/// Guesses that are always tried, so that a second place as good as the first is seen.
const FEWEST: usize = 4;

/// Guesses after which the best is taken.
const MOST: usize = 24;

/// Points that are put somewhere else, one after the other, where no place is good enough: a misread tape leaves none that is.
const SHAKES: usize = 40;

/// Steps downhill from one guess.
const STEPS: usize = 120;

/// Where the steps end while the points are laid out roughly, and in their frame: see [`descend`].
const ROUGH: f64 = 1e-2;
const FINE: f64 = 1e-9;

/// The points of a frame that are nearer to one line than this part of their distance do not tell a plane.
const ON_LINE: f64 = 1e-3;

/// A place that the network may be in.
#[derive(Clone, Debug)]
pub(super) struct Place {
    /// The points in the frame, mm.
    pub(super) points: Vec<Vector3<f64>>,
    /// Sum of squares over all that was measured.
    pub(super) cost: f64,
}

/// Places at the bottom of valleys, the lowest first. Empty where the three points of the frame come to lie on one line in all of them.
///
/// `enough` says whether a sum of squares is as small as it should be.
pub(super) fn places(record: &Record, enough: &dyn Fn(f64) -> bool) -> Vec<Place> {
    let search = Search::new(record);
    let mut found: Vec<Place> = Vec::new();
    for seed in 0..MOST {
        found.extend(search.guessed(seed as u64));
        let least = found.iter().map(|place| place.cost).fold(f64::INFINITY, f64::min);
        let hits = found.iter().filter(|place| place.cost <= least * 1.000_1 + 1e-6).count();
        if seed + 1 >= FEWEST && hits >= 2 && enough(least) {
            break;
        }
    }
    found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    search.shake(&mut found, enough);
    search.throw_over(&mut found);
    // A string goes from the first point over the others to the last: a place in which it does not is none, where there is another.
    if found.iter().any(|place| in_order(record, &place.points)) {
        found.retain(|place| in_order(record, &place.points));
    }
    found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    found
}

/// Whether the points of every line follow each other from its first to its last.
fn in_order(record: &Record, points: &[Vector3<f64>]) -> bool {
    record.lines.iter().all(|line| {
        let at = |point: &usize| points[*point];
        let way =
            line.points.last().map_or_else(Vector3::zeros, at) - line.points.first().map_or_else(Vector3::zeros, at);
        line.points.windows(2).all(|pair| way.dot(&(at(&pair[1]) - at(&pair[0]))) > 0.0)
    })
}

/// A distance between two points, mm, with its standard deviation.
type Span = (usize, usize, f64, f64);

struct Search<'a> {
    record: &'a Record,
    dims: usize,
    spans: Vec<Span>,
    /// The longest that each pair can be apart by the others; as long as the longest of all where nothing tells.
    most: DMatrix<f64>,
}

impl<'a> Search<'a> {
    fn new(record: &'a Record) -> Self {
        let tapes = record.tapes.iter().map(|tape| (tape.from, tape.to, tape.centres().to_mm(), tape.sd.to_mm()));
        let drops = record.drops.iter().map(|drop| (drop.from, drop.to, drop.length.to_mm(), drop.sd.to_mm()));
        let spans: Vec<Span> = tapes.chain(drops).collect();
        let count = record.points.len();
        let mut most = DMatrix::from_element(count, count, f64::INFINITY);
        most.fill_diagonal(0.0);
        for (from, to, length, _) in &spans {
            let shorter = length.min(most[(*from, *to)]);
            most[(*from, *to)] = shorter;
            most[(*to, *from)] = shorter;
        }
        for over in 0..count {
            for from in 0..count {
                for to in 0..count {
                    let around = most[(from, over)] + most[(over, to)];
                    if around < most[(from, to)] {
                        most[(from, to)] = around;
                    }
                }
            }
        }
        let longest = most.iter().copied().filter(|length| length.is_finite()).fold(1.0, f64::max);
        most.apply(|length| *length = length.min(longest));
        Self { record, dims: if record.is_flat() { 2 } else { 3 }, spans, most }
    }

    /// A place downhill from one guess; `None` where its frame cannot be laid.
    fn guessed(&self, seed: u64) -> Option<Place> {
        let mut chance = Chance(seed);
        let count = self.record.points.len();
        let mut squares = DMatrix::zeros(count, count);
        for from in 0..count {
            for to in 0..from {
                // The first guess is the longest of all; the others lie anywhere below.
                let part = if seed == 0 { 1.0 } else { 0.3 + 0.7 * chance.next() };
                let length = self.most[(from, to)] * part;
                squares[(from, to)] = length * length;
                squares[(to, from)] = length * length;
            }
        }
        for (from, to, length, _) in &self.spans {
            squares[(*from, *to)] = length * length;
            squares[(*to, *from)] = length * length;
        }
        let wide = (self.dims + 2).min(count);
        let mut laid = scaled(&squares, wide);
        let size = laid.amax().max(1.0);
        // Nothing may lie exactly in a plane that it has to leave.
        laid.apply(|coordinate| *coordinate += (chance.next() - 0.5) * 1e-3 * size);
        let typical = self.spans.iter().map(|span| span.3).fold(f64::INFINITY, f64::min);
        for press in [0.0, 0.1, 3.0, 100.0, 3000.0] {
            laid = turned_to_axes(&laid);
            let model =
                Wide { spans: &self.spans, count, wide, dims: self.dims, press: press * typical / size, typical };
            let flat = DVector::from_column_slice(laid.as_slice());
            let (at, _) = descend(&model, flat, if press > 0.0 { STEPS / 4 } else { STEPS }, ROUGH);
            laid = DMatrix::from_column_slice(wide, count, at.as_slice());
        }
        let laid = turned_to_axes(&laid);
        let points: Vec<Vector3<f64>> = laid
            .column_iter()
            .map(|point| Vector3::from_fn(|axis, _| if axis < self.dims.min(wide) { point[axis] } else { 0.0 }))
            .collect();
        self.downhill(&points)
    }

    /// The bottom of the valley that a guess at the points lies in.
    fn downhill(&self, points: &[Vector3<f64>]) -> Option<Place> {
        let framed = in_frame(points, &self.record.frame)?;
        let network = Network::new(self.record, &framed);
        let part = Part::new(&network, network.guess.clone(), None);
        let mut at = part.at();
        // What is no distance pulls gently at first: it must not bend what the tapes hold before it has found its place.
        let hard = |what: What| matches!(what, What::Distance | What::Drop);
        if network.readings.iter().any(|reading| !hard(reading.what)) {
            for soft in [100.0, 10.0] {
                (at, _) = descend(&Softened { part: &part, soft }, at, STEPS / 4, ROUGH);
            }
        }
        let (at, cost) = descend(&part, at, STEPS, FINE);
        let points = in_frame(&network.points(&at), &self.record.frame)?;
        cost.is_finite().then_some(Place { points, cost })
    }

    /// Puts one point after the other somewhere else, as long as the best place is not as good as it should be.
    fn shake(&self, found: &mut Vec<Place>, enough: &dyn Fn(f64) -> bool) {
        let mut chance = Chance(MOST as u64);
        for trial in 0..SHAKES {
            let Some(best) = found.first().filter(|best| !enough(best.cost)) else { return };
            let size = best.points.iter().map(|point| point.amax()).fold(1.0, f64::max);
            let mut points = best.points.clone();
            let flat = self.dims == 2;
            let count = points.len();
            points[trial % count] =
                Vector3::from_fn(|axis, _| if flat && axis == 2 { 0.0 } else { (2.0 * chance.next() - 1.0) * size });
            let Some(place) = self.downhill(&points) else { continue };
            let at = found.partition_point(|other| other.cost <= place.cost);
            found.insert(at, place);
        }
    }

    /// Throws one point after the other to the other side of its neighbours, from the best place on, as long as that finds a better one; adds what it finds.
    fn throw_over(&self, found: &mut Vec<Place>) {
        for _ in 0..self.record.points.len() {
            let Some(best) = found.first().cloned() else { return };
            let thrown = (0..best.points.len()).filter_map(|point| self.downhill(&self.thrown(&best.points, point)?));
            found.extend(thrown.collect::<Vec<_>>());
            found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
            if found[0].cost >= best.cost * (1.0 - 1e-6) - 1e-9 {
                return;
            }
        }
    }

    /// The points with one of them as seen in the mirror that lies through its neighbours; `None` where it has none.
    fn thrown(&self, points: &[Vector3<f64>], point: usize) -> Option<Vec<Vector3<f64>>> {
        let beside = self.spans.iter().filter_map(|(from, to, ..)| match point {
            _ if point == *from => Some(points[*to]),
            _ if point == *to => Some(points[*from]),
            _ => None,
        });
        let beside: Vec<Vector3<f64>> = beside.collect();
        let middle = beside.iter().sum::<Vector3<f64>>() / beside.len().max(1) as f64;
        let spread: nalgebra::Matrix3<f64> =
            beside.iter().map(|at| (at - middle) * (at - middle).transpose()).sum::<nalgebra::Matrix3<f64>>();
        let eigen = spread.symmetric_eigen();
        // The direction in which they spread least; of a flat network within its plane.
        let mut order = [0, 1, 2];
        order.sort_by(|one, other| eigen.eigenvalues[*one].total_cmp(&eigen.eigenvalues[*other]));
        let least =
            order.into_iter().find(|place| self.dims == 3 || eigen.eigenvectors.column(*place).z.abs() < 0.5)?;
        let normal: Vector3<f64> = eigen.eigenvectors.column(least).into_owned();
        let off = normal.dot(&(points[point] - middle));
        let mut thrown = points.to_vec();
        thrown[point] -= normal * (2.0 * off);
        (!beside.is_empty()).then_some(thrown)
    }
}

/// Points from the squares of their distances, one in a column: classical scaling.
fn scaled(squares: &DMatrix<f64>, wide: usize) -> DMatrix<f64> {
    let count = squares.nrows();
    let means: Vec<f64> = squares.row_iter().map(|row| row.mean()).collect();
    let mean = means.iter().sum::<f64>() / count as f64;
    let inner = DMatrix::from_fn(count, count, |row, column| {
        -0.5 * (squares[(row, column)] - means[row] - means[column] + mean)
    });
    let eigen = inner.symmetric_eigen();
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|one, other| eigen.eigenvalues[*other].total_cmp(&eigen.eigenvalues[*one]));
    DMatrix::from_fn(wide, count, |axis, point| {
        let place = order[axis];
        eigen.eigenvectors[(point, place)] * eigen.eigenvalues[place].max(0.0).sqrt()
    })
}

/// The same points about their middle, turned so that they spread most along the first axis and least along the last.
fn turned_to_axes(points: &DMatrix<f64>) -> DMatrix<f64> {
    let middle = points.column_mean();
    let mut about = points.clone();
    for mut point in about.column_iter_mut() {
        point -= &middle;
    }
    let eigen = (&about * about.transpose()).symmetric_eigen();
    let mut order: Vec<usize> = (0..points.nrows()).collect();
    order.sort_by(|one, other| eigen.eigenvalues[*other].total_cmp(&eigen.eigenvalues[*one]));
    eigen.eigenvectors.select_columns(&order).tr_mul(&about)
}

/// The points moved and turned into their frame, and mirrored where its hand says so; `None` where its first three lie on one line.
pub(super) fn in_frame(points: &[Vector3<f64>], frame: &Frame) -> Option<Vec<Vector3<f64>>> {
    let origin = points[frame.origin];
    let (to_x, to_xy) = (points[frame.x] - origin, points[frame.xy] - origin);
    let x = to_x.try_normalize(1e-9)?;
    let beside = to_xy - x * x.dot(&to_xy);
    let y = beside.try_normalize(ON_LINE * to_xy.norm().max(to_x.norm()))?;
    let z = x.cross(&y);
    let side = match frame.up {
        Some(up) if z.dot(&(points[up] - origin)) < 0.0 => -1.0,
        Some(_) => 1.0,
        None => 0.0,
    };
    let laid = |point: &Vector3<f64>| {
        let from = point - origin;
        Vector3::new(x.dot(&from), y.dot(&from), side * z.dot(&from))
    };
    Some(points.iter().map(laid).collect())
}

/// A network in which what is no distance counts less.
struct Softened<'p, 'n, 'a> {
    part: &'p Part<'n, 'a>,
    soft: f64,
}

impl Model for Softened<'_, '_, '_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let (mut left, mut slopes) = self.part.residuals(at);
        for reading in &self.part.network.readings {
            if matches!(reading.what, What::Distance | What::Drop) {
                continue;
            }
            for row in reading.rows.clone() {
                left[row] /= self.soft;
                slopes.row_mut(row).unscale_mut(self.soft);
            }
        }
        (left, slopes)
    }
}

/// Points in more dimensions than they have, those too many pressed flat.
struct Wide<'a> {
    spans: &'a [Span],
    count: usize,
    wide: usize,
    dims: usize,
    press: f64,
    typical: f64,
}

impl Model for Wide<'_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let pressed = if self.press > 0.0 { self.wide.saturating_sub(self.dims) } else { 0 };
        let rows = self.spans.len() + pressed * self.count;
        let mut left = DVector::zeros(rows);
        let mut slopes = DMatrix::zeros(rows, at.len());
        for (row, (from, to, length, sd)) in self.spans.iter().enumerate() {
            let (from, to) = (from * self.wide, to * self.wide);
            let apart = at.rows(to, self.wide) - at.rows(from, self.wide);
            let far = apart.norm();
            // All count much alike: a short span with a small deviation must not hold up the rest.
            let weight = 1.0 / sd.min(10.0 * self.typical);
            left[row] = (far - length) * weight;
            for axis in 0..self.wide {
                let along = if far > 0.0 { apart[axis] / far } else { 0.0 } * weight;
                slopes[(row, from + axis)] -= along;
                slopes[(row, to + axis)] += along;
            }
        }
        let weight = self.press / self.typical;
        for point in 0..self.count {
            for axis in 0..pressed {
                let (row, place) = (self.spans.len() + point * pressed + axis, point * self.wide + self.dims + axis);
                left[row] = at[place] * weight;
                slopes[(row, place)] = weight;
            }
        }
        (left, slopes)
    }
}

/// Figures from 0 to 1 that are the same on every system: SplitMix64 (Steele, Lea and Flood, OOPSLA 2014, from memory).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}
