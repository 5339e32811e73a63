//! The least squares of a network, and what it cannot tell.
//!
//! A direction of the unknowns that no row takes notice of is a null direction: two tapes leave a point to swing, a floating part moves as a whole.
//! One unknown of each such direction is held where it is, so that the others have one best figure; the residuals and their redundancies do not depend on
//! which. A direction is *barely told* where the sum of squares over two standard deviations either way is nothing like the parabola that
//! standard deviations mean: a point in the plane of all that it is taped to has them, on paper.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::network::{Network, Part};
use crate::fit::{Fit, Model, NoFit, descend, newton, polished, solve};

/// An eigenvalue of the design, its columns scaled to 1, below which it is 0: a point off its plane by a millionth of what it is taped to leaves 1e-12.
const NULL: f64 = 1e-11;

/// A part in a null direction, over the largest, below which there is none.
const NO_PART: f64 = 1e-5;

/// A part in a barely told direction, over the largest, from which it is not told itself.
const ITS_OWN: f64 = 0.1;

/// Over two standard deviations the sum of squares grows by 4. Where it grows by less than the first the deviation is larger than it says; where by more than the other it is
/// smaller by far, and a figure of the arithmetic.
const PARABOLA: (f64, f64) = (1.5, 100.0);

/// Directions that are looked at, the least well told first.
const LOOKED_AT: usize = 8;

/// The best figures of a network.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    /// All unknowns.
    pub(super) whole: DVector<f64>,
    /// What is left over of each row that counts, over its standard deviation.
    pub(super) residuals: DVector<f64>,
    /// Variances of those: the redundancy of a row is its own.
    pub(super) spread: DMatrix<f64>,
    /// Covariance of all unknowns; 0 for those that are held.
    pub(super) covariance: DMatrix<f64>,
    /// Rows less free unknowns.
    pub(super) freedom: usize,
    /// Null directions in all unknowns, square to each other, one in a column.
    pub(super) nulls: DMatrix<f64>,
    /// Which unknowns are not told.
    pub(super) untold: Vec<bool>,
}

impl Settled {
    /// The best figures of a network from where it nearly is, all rows but those of one reading.
    ///
    /// # Errors
    /// [`NoFit`], where no figures come to rest.
    pub(super) fn new(network: &Network<'_>, start: &DVector<f64>, without: Option<usize>) -> Result<Self, NoFit> {
        let mut whole = start.clone();
        let mut null = NULL;
        let mut refused = NoFit::Restless;
        // Unknowns that are held because they are barely told: others hang on them to second order only.
        let mut barely = vec![false; whole.len()];
        let mut tries = 0;
        while tries < 5 {
            let mut part = Part::new(network, whole.clone(), without);
            part.free.retain(|place| !barely[*place]);
            let nulls = nulls(&part, null);
            let mut left = nulls.clone();
            while left.ncols() > 0 && !part.free.is_empty() {
                let moves = |place: usize| left.row(place).norm();
                let most = (0..part.free.len()).max_by(|one, other| moves(*one).total_cmp(&moves(*other)));
                part.free.remove(most.unwrap_or(0));
                left = self::nulls(&part, null);
            }
            let fit = match solve(&part, part.at()) {
                Ok(fit) => Some(polished(&part, fit)),
                // A point in the plane of all that it is taped to has no slopes, and one place all the same.
                Err(fault) => {
                    refused = fault;
                    let (at, _) = descend(&part, part.at(), 200, 1e-12);
                    whole = part.whole(&at);
                    newton(&part, &at)
                }
            };
            let Some(fit) = fit else {
                // A network that folds flat comes to rest slowly: what is as good as flat is then held.
                null *= 100.0;
                tries += 1;
                continue;
            };
            let found = barely_told(&part, &fit);
            if found.is_empty() {
                let mut nulls_of_all = DMatrix::zeros(whole.len(), nulls.ncols());
                let kept: Vec<usize> = (0..whole.len()).filter(|place| !barely[*place]).collect();
                for (row, place) in kept.iter().enumerate() {
                    nulls_of_all.row_mut(*place).copy_from(&nulls.row(row));
                }
                return Ok(Self::of(&part, &fit, nulls_of_all, &barely));
            }
            whole = part.whole(&fit.at);
            found.into_iter().for_each(|place| barely[place] = true);
        }
        Err(refused)
    }

    fn of(part: &Part<'_, '_>, fit: &Fit, nulls: DMatrix<f64>, barely: &[bool]) -> Self {
        let whole = part.whole(&fit.at);
        let count = whole.len();
        let mut covariance = DMatrix::zeros(count, count);
        for (row, to_row) in part.free.iter().enumerate() {
            for (column, to_column) in part.free.iter().enumerate() {
                covariance[(*to_row, *to_column)] = fit.covariance[(row, column)];
            }
        }
        let rows = fit.residuals.len();
        let spread = DMatrix::identity(rows, rows) - &fit.jacobian * &fit.covariance * fit.jacobian.transpose();
        let most = nulls.amax();
        let swings = |place: usize| most > 0.0 && nulls.row(place).norm() > NO_PART * most;
        let untold = (0..count).map(|place| barely[place] || swings(place)).collect();
        Self {
            whole,
            residuals: fit.residuals.clone(),
            spread,
            covariance,
            // What is barely told was fitted before it was held.
            freedom: rows.saturating_sub(part.free.len() + barely.iter().filter(|barely| **barely).count()),
            nulls,
            untold,
        }
    }

    /// The sum of squares.
    pub(super) fn squares(&self) -> f64 {
        self.residuals.norm_squared()
    }
}

/// Directions of the free unknowns of which no row takes notice, of length 1 and square to each other.
fn nulls(part: &Part<'_, '_>, null: f64) -> DMatrix<f64> {
    let (_, mut design) = part.residuals(&part.at());
    let norms: Vec<f64> = design.column_iter().map(|column| column.norm()).collect();
    let most = norms.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let scale: Vec<f64> = norms.iter().map(|norm| if *norm > 1e-12 * most { *norm } else { most }).collect();
    for (mut column, norm) in design.column_iter_mut().zip(&scale) {
        column.unscale_mut(*norm);
    }
    let SymmetricEigen { eigenvectors, eigenvalues } = SymmetricEigen::new(design.tr_mul(&design));
    let places: Vec<usize> = (0..scale.len()).filter(|place| eigenvalues[*place] < null).collect();
    let mut directions = eigenvectors.select_columns(&places);
    for (mut row, norm) in directions.row_iter_mut().zip(&scale) {
        row.unscale_mut(*norm / most);
    }
    if places.is_empty() { directions } else { directions.qr().q() }
}

/// Unknowns of the first direction that is barely told; none where all are told well.
fn barely_told(part: &Part<'_, '_>, fit: &Fit) -> Vec<usize> {
    if part.free.is_empty() {
        return Vec::new();
    }
    let SymmetricEigen { eigenvectors, eigenvalues } = SymmetricEigen::new(fit.covariance.clone());
    let mut order: Vec<usize> = (0..part.free.len()).collect();
    order.sort_by(|one, other| eigenvalues[*other].total_cmp(&eigenvalues[*one]));
    let least = fit.residuals.norm_squared();
    for direction in order.into_iter().take(LOOKED_AT) {
        let own = eigenvectors.column(direction);
        let step = own * (2.0 * eigenvalues[direction].max(0.0).sqrt());
        let grown = [1.0, -1.0].map(|sign| part.residuals(&(&fit.at + &step * sign)).0.norm_squared() - least);
        if grown.iter().all(|grown| (PARABOLA.0..=PARABOLA.1).contains(grown)) {
            continue;
        }
        let most = own.amax();
        return (0..part.free.len())
            .filter(|place| own[*place].abs() >= ITS_OWN * most)
            .map(|place| part.free[place])
            .collect();
    }
    Vec::new()
}
