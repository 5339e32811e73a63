//! Laying one set of points on another: the rigid motion that leaves least between them.
//!
//! ```text
//! H = sum w (to - mean of to)(from - mean of from)' = U S V'
//! R = U diag(1, 1, det(U V')) V'        t = mean of to - R mean of from
//! ```
//!
//! After Kabsch (Acta Cryst. A32 (1976) 922), with the sign by which the motion is never a mirror (Umeyama, PAMI 13 (1991) 376). With one point
//! held the sums are taken from that point instead of from the means.
//!
//! Not for: telling which point is wrong. Least squares spreads one error over all points.

use nalgebra::{DMatrix, DVector, Matrix3, Point3, Vector3};

/// Spread of the points across, as a part of their spread along, below which they lie on one line: rounding leaves 1e-16, and what a tape leaves of three
/// points in a row is far more than nothing to hold on to.
const ON_A_LINE: f64 = 1e-9;

/// A turn and a shift in any number of dimensions: `to = rotation from + translation`.
#[derive(Clone, Debug, PartialEq)]
pub struct Alignment {
    /// A proper rotation: its determinant is 1.
    pub rotation: DMatrix<f64>,
    /// The shift after it.
    pub translation: DVector<f64>,
}

/// The rigid motion from the columns of `from` to those of `to`, with least sum of weights times squared distances; with `held`, that point is laid
/// exactly on its place.
///
/// `None` where points on one line leave a turn about it open, where there are too few, and where all weights are 0.
#[must_use]
pub fn align(from: &DMatrix<f64>, to: &DMatrix<f64>, weights: &[f64], held: Option<usize>) -> Option<Alignment> {
    let whole: f64 = weights.iter().sum();
    if from.ncols() == 0 || whole <= 0.0 {
        return None;
    }
    let centre = |points: &DMatrix<f64>| match held {
        Some(held) => points.column(held).into_owned(),
        None => points
            .column_iter()
            .zip(weights)
            .fold(DVector::zeros(points.nrows()), |sum, (point, weight)| sum + point * (*weight / whole)),
    };
    let (from_centre, to_centre) = (centre(from), centre(to));
    let size = from.nrows();
    let mut spread = DMatrix::zeros(size, size);
    for ((from, to), weight) in from.column_iter().zip(to.column_iter()).zip(weights) {
        spread += (to - &to_centre) * (from - &from_centre).transpose() * *weight;
    }
    let svd = spread.svd(true, true);
    let (u, v) = (svd.u?, svd.v_t?);
    let sign = if (&u * &v).determinant() < 0.0 { -1.0 } else { 1.0 };
    let values = svd.singular_values;
    // The two smallest have to tell a turn apart from the one next to it.
    let told = if size < 2 { values[0] } else { values[size - 2] + sign * values[size - 1] };
    if told.is_nan() || told <= ON_A_LINE * values[0] {
        return None;
    }
    let mut flips = DVector::from_element(size, 1.0);
    flips[size - 1] = sign;
    let rotation = u * DMatrix::from_diagonal(&flips) * v;
    let translation = to_centre - &rotation * from_centre;
    Some(Alignment { rotation, translation })
}

/// A point and the point that it is to be laid on, mm.
pub type Pair = (Point3<f64>, Point3<f64>);

/// A rigid motion in space, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Registration {
    /// A proper rotation.
    pub rotation: Matrix3<f64>,
    /// The shift after it.
    pub translation: Vector3<f64>,
}

impl Registration {
    /// The motion that lays points on others, each pair with its weight; with `held`, that pair exactly. See [`align`].
    #[must_use]
    pub fn new(pairs: &[Pair], weights: &[f64], held: Option<usize>) -> Option<Self> {
        let columns =
            |of: &dyn Fn(&Pair) -> Point3<f64>| DMatrix::from_fn(3, pairs.len(), |row, column| of(&pairs[column])[row]);
        let found = align(&columns(&|pair| pair.0), &columns(&|pair| pair.1), weights, held)?;
        Some(Self {
            rotation: Matrix3::from_fn(|row, column| found.rotation[(row, column)]),
            translation: Vector3::from_fn(|row, _| found.translation[row]),
        })
    }

    /// Where a point comes to lie.
    #[must_use]
    pub fn place(&self, point: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.rotation * point.coords + self.translation)
    }
}
