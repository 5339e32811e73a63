//! The equations of a survey: what each measurement leaves over for a guess at the points, and how that changes with each unknown.
//!
//! Unknown are the coordinates that the frame leaves open, the direction of the plumb line where anything hangs or is level, the height of each level line,
//! and each plane of symmetry that is not given. A direction is written as its first guess, leaning by two lengths square to it over the size of the
//! network, so that every unknown is a length.
//!
//! Rows of what is square to a line (plumb, string) are taken along two directions square to it and to each other. Which two is of no matter
//! to their sum of squares, so how they turn about the line is left out of the slopes.

use core::ops::Range;

use nalgebra::{DMatrix, DVector, Vector3};

use super::record::Record;
use crate::fit::Model;
use crate::units::Angle;

/// What sort of measurement a reading is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// A taped distance.
    Distance,
    /// The length of a plumb drop.
    Drop,
    /// How well the lower point lies under the upper one.
    Plumb,
    /// A height over a level line.
    Height,
    /// A point beside a line.
    Line,
    /// A point beside a plane.
    Plane,
    /// A point beside the image of another.
    Symmetric,
}

impl What {
    /// The word in documents.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Distance => "distance",
            Self::Drop => "drop",
            Self::Plumb => "plumb",
            Self::Height => "height",
            Self::Line => "line",
            Self::Plane => "plane",
            Self::Symmetric => "symmetric",
        }
    }
}

/// Below this, mm and mm2, the points of a line or a plane are one: it has no slopes that could be followed, only such as stay finite.
const TOUCH: f64 = 1e-9;

/// One measurement, right or wrong as a whole.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reading {
    pub(super) what: What,
    pub(super) from: usize,
    pub(super) to: Option<usize>,
    pub(super) rows: Range<usize>,
    /// One standard deviation of each row, mm.
    pub(super) sd: f64,
}

/// A direction that leans from a first guess.
#[derive(Clone, Debug)]
struct Leaning {
    guess: Vector3<f64>,
    sides: Vec<Vector3<f64>>,
    /// Place of the first lean among the unknowns.
    place: usize,
    size: f64,
}

impl Leaning {
    /// The direction, and how it changes with each lean.
    fn at(&self, unknowns: &DVector<f64>) -> (Vector3<f64>, Vec<(usize, Vector3<f64>)>) {
        let leaning = |(lean, side): (usize, &Vector3<f64>)| side * (unknowns[self.place + lean] / self.size);
        let long: Vector3<f64> = self.guess + self.sides.iter().enumerate().map(leaning).sum::<Vector3<f64>>();
        let direction = long.normalize();
        let slope = |(lean, side): (usize, &Vector3<f64>)| {
            (self.place + lean, (side - direction * direction.dot(side)) / (long.norm() * self.size))
        };
        (direction, self.sides.iter().enumerate().map(slope).collect())
    }
}

/// A plane of symmetry.
#[derive(Clone, Debug)]
enum Mirror {
    Given(Vector3<f64>, f64),
    /// Its normal, and the place of its distance from the origin among the unknowns.
    Open(Leaning, usize),
}

/// The points with all else that a survey finds.
#[derive(Clone, Debug)]
pub(super) struct Network<'a> {
    pub(super) record: &'a Record,
    /// 3, or 2 for a flat one.
    pub(super) dims: usize,
    /// Places of x, y, z of each point among the unknowns; `None` where the frame has them at 0.
    pub(super) places: Vec<[Option<usize>; 3]>,
    plumb: Option<Leaning>,
    /// Place of the height of each level line.
    levels: Vec<usize>,
    mirrors: Vec<Mirror>,
    pub(super) readings: Vec<Reading>,
    /// The first guess at all unknowns.
    pub(super) guess: DVector<f64>,
    pub(super) rows: usize,
}

/// Two directions square to another and to each other; in a flat network the one in its plane.
fn square_to(direction: &Vector3<f64>, dims: usize) -> Vec<Vector3<f64>> {
    if dims == 2 {
        return vec![Vector3::new(-direction.y, direction.x, 0.0)];
    }
    let axis = Vector3::ith(direction.iamin(), 1.0);
    let one = direction.cross(&axis).normalize();
    vec![one, direction.cross(&one)]
}

impl<'a> Network<'a> {
    /// The network with a first guess at its points, in its frame.
    pub(super) fn new(record: &'a Record, points: &[Vector3<f64>]) -> Self {
        let dims = if record.is_flat() { 2 } else { 3 };
        let mut guess: Vec<f64> = Vec::new();
        let mut places = vec![[None; 3]; points.len()];
        for (point, at) in points.iter().enumerate() {
            let open = match point {
                _ if point == record.frame.origin => 0,
                _ if point == record.frame.x => 1,
                _ if point == record.frame.xy => 2,
                _ => dims,
            };
            for axis in 0..open {
                places[point][axis] = Some(guess.len());
                guess.push(at[axis]);
            }
        }
        let size = points.iter().map(Vector3::norm).fold(1.0, f64::max);
        let mut network = Self {
            record,
            dims,
            places,
            plumb: None,
            levels: Vec::new(),
            mirrors: Vec::new(),
            readings: Vec::new(),
            guess: DVector::zeros(0),
            rows: 0,
        };
        if !record.drops.is_empty() || !record.heights.is_empty() {
            let up = network.guess_up(points);
            network.plumb = Some(network.leaning(up, size, &mut guess));
            for line in 0..record.level_lines {
                let of = record.heights.iter().filter(|height| height.line == line);
                let zeros: Vec<f64> = of.map(|height| height.height.to_mm() - up.dot(&points[height.point])).collect();
                network.levels.push(guess.len());
                guess.push(zeros.iter().sum::<f64>() / zeros.len().max(1) as f64);
            }
        }
        for symmetry in &record.symmetries {
            let mirror = match symmetry.plane {
                Some(plane) => Mirror::Given(plane.normal.into_inner(), plane.normal.dot(&plane.point.coords)),
                None => {
                    let (normal, distance) = network.guess_mirror(points, &symmetry.pairs);
                    let leaning = network.leaning(normal, size, &mut guess);
                    guess.push(distance);
                    Mirror::Open(leaning, guess.len() - 1)
                }
            };
            network.mirrors.push(mirror);
        }
        network.guess = DVector::from_vec(guess);
        network.list();
        network
    }

    fn leaning(&self, guess: Vector3<f64>, size: f64, unknowns: &mut Vec<f64>) -> Leaning {
        let sides = square_to(&guess, self.dims);
        let place = unknowns.len();
        unknowns.extend(sides.iter().map(|_| 0.0));
        Leaning { guess, sides, place, size }
    }

    /// The way up, by the drops, else by the heights as they grow over the points.
    fn guess_up(&self, points: &[Vector3<f64>]) -> Vector3<f64> {
        let drops = self.record.drops.iter().map(|drop| points[drop.from] - points[drop.to]);
        let hanging: Vector3<f64> = drops.sum();
        let usual = Vector3::ith(self.dims - 1, 1.0);
        if hanging.norm() > 1e-6 {
            return hanging.normalize();
        }
        let count = self.record.heights.len();
        if count == 0 {
            return usual;
        }
        let lines = self.record.level_lines;
        let design = DMatrix::from_fn(count, self.dims + lines, |row, column| {
            let height = &self.record.heights[row];
            if column < self.dims {
                points[height.point][column]
            } else {
                f64::from(u8::from(height.line == column - self.dims))
            }
        });
        let heights = DVector::from_iterator(count, self.record.heights.iter().map(|height| height.height.to_mm()));
        // What the heights leave open is filled from the usual direction.
        let mut start = DVector::zeros(self.dims + lines);
        start[self.dims - 1] = 1.0;
        let left = &heights - &design * &start;
        let Ok(step) = design.svd(true, true).solve(&left, 1e-6) else { return usual };
        let up = start + step;
        let up = Vector3::from_fn(|axis, _| if axis < self.dims { up[axis] } else { 0.0 });
        if up.norm() > 1e-9 { up.normalize() } else { usual }
    }

    /// Normal and distance of the plane that lies between the pairs.
    fn guess_mirror(&self, points: &[Vector3<f64>], pairs: &[[usize; 2]]) -> (Vector3<f64>, f64) {
        let spread: nalgebra::Matrix3<f64> = pairs
            .iter()
            .map(|[one, other]| {
                let apart = points[*other] - points[*one];
                apart * apart.transpose()
            })
            .sum();
        let eigen = spread.symmetric_eigen();
        let normal: Vector3<f64> = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
        let middles = pairs.iter().map(|[one, other]| normal.dot(&(points[*one] + points[*other])) / 2.0);
        let distance = middles.sum::<f64>() / pairs.len().max(1) as f64;
        (normal, distance)
    }

    /// Lists the readings with their rows.
    fn list(&mut self) {
        let record = self.record;
        let across = self.dims - 1;
        let add = |what, from, to, count: usize, sd: f64, network: &mut Self| {
            let rows = network.rows..network.rows + count;
            network.rows = rows.end;
            network.readings.push(Reading { what, from, to, rows, sd });
        };
        for tape in &record.tapes {
            add(What::Distance, tape.from, Some(tape.to), 1, tape.sd.to_mm(), self);
        }
        for drop in &record.drops {
            add(What::Drop, drop.from, Some(drop.to), 1, drop.sd.to_mm(), self);
            add(What::Plumb, drop.from, Some(drop.to), across, drop.plumb.to_mm(), self);
        }
        for height in &record.heights {
            add(What::Height, height.point, None, 1, height.sd.to_mm(), self);
        }
        for line in &record.lines {
            for point in &line.points[1..line.points.len() - 1] {
                add(What::Line, *point, None, across, line.sd.to_mm(), self);
            }
        }
        for plane in &record.planes {
            for point in &plane.points[3..] {
                add(What::Plane, *point, None, 1, plane.sd.to_mm(), self);
            }
        }
        for symmetry in &record.symmetries {
            for [one, other] in &symmetry.pairs {
                add(What::Symmetric, *one, Some(*other), self.dims, symmetry.sd.to_mm(), self);
            }
        }
    }

    /// The points for a guess at the unknowns.
    pub(super) fn points(&self, unknowns: &DVector<f64>) -> Vec<Vector3<f64>> {
        let coordinate = |place: &Option<usize>| place.map_or(0.0, |place| unknowns[place]);
        self.places.iter().map(|axes| Vector3::from_fn(|axis, _| coordinate(&axes[axis]))).collect()
    }

    /// The way up, where anything hangs or is level.
    pub(super) fn up(&self, unknowns: &DVector<f64>) -> Option<Vector3<f64>> {
        self.plumb.as_ref().map(|plumb| plumb.at(unknowns).0)
    }

    /// The standard deviation of the way up where it is told worst, by the covariance of all unknowns; `None` where nothing hangs or is level, or does not tell it.
    pub(super) fn up_sd(&self, covariance: &DMatrix<f64>, untold: &[bool]) -> Option<Angle> {
        let plumb = self.plumb.as_ref()?;
        let places = plumb.place..plumb.place + plumb.sides.len();
        let told = !places.clone().any(|place| untold[place]);
        let own = covariance.view((places.start, places.start), (places.len(), places.len())).into_owned();
        told.then(|| Angle::rad(own.symmetric_eigenvalues().max().max(0.0).sqrt() / plumb.size))
    }

    /// The row of one more taped distance, with its standard deviation; `None` for points in one place.
    pub(super) fn tape_row(&self, points: &[Vector3<f64>], from: usize, to: usize, sd: f64) -> Option<DVector<f64>> {
        let apart = points[to] - points[from];
        let along = apart.try_normalize(1e-9)?;
        let mut row = DVector::zeros(self.guess.len());
        for (point, sign) in [(from, -1.0), (to, 1.0)] {
            for axis in 0..3 {
                if let Some(place) = self.places[point][axis] {
                    row[place] += sign * along[axis] / sd;
                }
            }
        }
        Some(row)
    }

    /// What is left over of every row, over its standard deviation, with its slopes by all unknowns.
    pub(super) fn all_rows(&self, unknowns: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let points = self.points(unknowns);
        let mut out = Rows {
            network: self,
            next: 0,
            left: DVector::zeros(self.rows),
            slopes: DMatrix::zeros(self.rows, unknowns.len()),
        };
        let record = self.record;
        for tape in &record.tapes {
            let apart = points[tape.to] - points[tape.from];
            let length = apart.norm();
            let along = if length > 0.0 { apart / length } else { Vector3::x() };
            let by = [(tape.from, -along), (tape.to, along)];
            out.row(length - tape.centres().to_mm(), tape.sd.to_mm(), &by, &[]);
        }
        let plumb = self.plumb.as_ref().map(|plumb| plumb.at(unknowns));
        if let Some((up, leans)) = &plumb {
            for drop in &record.drops {
                let over = points[drop.from] - points[drop.to];
                let by = [(drop.from, *up), (drop.to, -up)];
                let turned: Vec<_> = leans.iter().map(|(place, lean)| (*place, lean.dot(&over))).collect();
                out.row(up.dot(&over) - drop.length.to_mm(), drop.sd.to_mm(), &by, &turned);
                for side in square_to(up, self.dims) {
                    let by = [(drop.from, side), (drop.to, -side)];
                    let turned: Vec<_> =
                        leans.iter().map(|(place, lean)| (*place, -side.dot(lean) * up.dot(&over))).collect();
                    out.row(side.dot(&over), drop.plumb.to_mm(), &by, &turned);
                }
            }
            for height in &record.heights {
                let at = points[height.point];
                let line = self.levels[height.line];
                let mut turned: Vec<_> = leans.iter().map(|(place, lean)| (*place, lean.dot(&at))).collect();
                turned.push((line, 1.0));
                let found = up.dot(&at) + unknowns[line];
                out.row(found - height.height.to_mm(), height.sd.to_mm(), &[(height.point, *up)], &turned);
            }
        }
        for line in &record.lines {
            let (first, last) = (line.points[0], line.points[line.points.len() - 1]);
            let apart = points[last] - points[first];
            let along = apart.try_normalize(0.0).unwrap_or_else(Vector3::x);
            for point in &line.points[1..line.points.len() - 1] {
                let from = points[*point] - points[first];
                let part = along.dot(&from) / apart.norm().max(TOUCH);
                for side in square_to(&along, self.dims) {
                    let by = [(*point, side), (first, side * (part - 1.0)), (last, side * -part)];
                    out.row(side.dot(&from), line.sd.to_mm(), &by, &[]);
                }
            }
        }
        for plane in &record.planes {
            let [a, b, c] = [plane.points[0], plane.points[1], plane.points[2]];
            let (one, other) = (points[b] - points[a], points[c] - points[a]);
            let normal = one.cross(&other).try_normalize(0.0).unwrap_or_else(Vector3::z);
            let area = one.cross(&other).norm().max(TOUCH);
            for point in &plane.points[3..] {
                let from = points[*point] - points[a];
                // from = one beta + other gamma + what is square to both
                let beta = from.cross(&other).dot(&normal) / area;
                let gamma = one.cross(&from).dot(&normal) / area;
                let by =
                    [(*point, normal), (a, normal * (beta + gamma - 1.0)), (b, normal * -beta), (c, normal * -gamma)];
                out.row(normal.dot(&from), plane.sd.to_mm(), &by, &[]);
            }
        }
        for (symmetry, mirror) in record.symmetries.iter().zip(&self.mirrors) {
            let (normal, leans, distance, place) = match mirror {
                Mirror::Given(normal, distance) => (*normal, Vec::new(), *distance, None),
                Mirror::Open(leaning, place) => {
                    let (normal, leans) = leaning.at(unknowns);
                    (normal, leans, unknowns[*place], Some(*place))
                }
            };
            for [one, other] in &symmetry.pairs {
                let (a, b) = (points[*one], points[*other]);
                let off = normal.dot(&a) - distance;
                let left = b - a + normal * (2.0 * off);
                for axis in 0..self.dims {
                    let unit = Vector3::ith(axis, 1.0);
                    let by = [(*other, unit), (*one, normal * (2.0 * normal[axis]) - unit)];
                    let mut turned: Vec<_> = leans
                        .iter()
                        .map(|(place, lean)| (*place, 2.0 * (lean.dot(&a) * normal[axis] + off * lean[axis])))
                        .collect();
                    turned.extend(place.map(|place| (place, -2.0 * normal[axis])));
                    out.row(left[axis], symmetry.sd.to_mm(), &by, &turned);
                }
            }
        }
        (out.left, out.slopes)
    }
}

/// Rows being written.
struct Rows<'n, 'a> {
    network: &'n Network<'a>,
    next: usize,
    left: DVector<f64>,
    slopes: DMatrix<f64>,
}

impl Rows<'_, '_> {
    /// One row, mm: by how much it changes with each point and with other unknowns.
    fn row(&mut self, left: f64, sd: f64, points: &[(usize, Vector3<f64>)], others: &[(usize, f64)]) {
        let row = self.next;
        self.next += 1;
        self.left[row] = left / sd;
        for (point, by) in points {
            for axis in 0..3 {
                if let Some(place) = self.network.places[*point][axis] {
                    self.slopes[(row, place)] += by[axis] / sd;
                }
            }
        }
        for (place, by) in others {
            self.slopes[(row, *place)] += by / sd;
        }
    }
}

/// A network of which some unknowns stay as they are and some readings are left out.
#[derive(Clone, Debug)]
pub(super) struct Part<'n, 'a> {
    pub(super) network: &'n Network<'a>,
    /// All unknowns, those that stay at their figures.
    pub(super) whole: DVector<f64>,
    /// The unknowns that are fitted.
    pub(super) free: Vec<usize>,
    /// Rows that count.
    pub(super) rows: Vec<usize>,
}

impl<'n, 'a> Part<'n, 'a> {
    /// All of a network but one reading.
    pub(super) fn new(network: &'n Network<'a>, whole: DVector<f64>, without: Option<usize>) -> Self {
        let left_out = without.map(|reading| network.readings[reading].rows.clone()).unwrap_or_default();
        let rows = (0..network.rows).filter(|row| !left_out.contains(row)).collect();
        let free = (0..whole.len()).collect();
        Self { network, whole, free, rows }
    }

    /// All unknowns for a guess at the free ones.
    pub(super) fn whole(&self, at: &DVector<f64>) -> DVector<f64> {
        let mut whole = self.whole.clone();
        for (value, place) in at.iter().zip(&self.free) {
            whole[*place] = *value;
        }
        whole
    }

    /// The free ones of all unknowns.
    pub(super) fn at(&self) -> DVector<f64> {
        DVector::from_iterator(self.free.len(), self.free.iter().map(|place| self.whole[*place]))
    }
}

impl Model for Part<'_, '_> {
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let (left, slopes) = self.network.all_rows(&self.whole(at));
        (left.select_rows(&self.rows), slopes.select_rows(&self.rows).select_columns(&self.free))
    }

    fn rounding(&self) -> f64 {
        let size = self.network.points(&self.whole).iter().map(Vector3::amax).fold(1.0, f64::max);
        let of_one = |reading: &Reading| reading.rows.len() as f64 / (reading.sd * reading.sd);
        2.0 * f64::EPSILON * size * self.network.readings.iter().map(of_one).sum::<f64>().sqrt()
    }
}
