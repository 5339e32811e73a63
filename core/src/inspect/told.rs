//! What the measurements tell: the directions in which the unknowns can move together without any equation taking notice.
//!
//! A figure whose slopes have a part along such a direction is not told. As many unknowns are held as there are directions, chosen so that
//! holding them holds just these: what is told comes out the same whatever they are held at.

use nalgebra::{DMatrix, DVector};

/// A singular value of the equations with their columns scaled to 1 below which it is 0. Rounding leaves 1e-15; a rotation that
/// a taped distance tells a little of leaves far more, and a standard deviation that says how little.
const NULL: f64 = 1e-7;

/// A part along a direction that is more than rounding.
const PART: f64 = 1e-6;

/// The directions that nothing tells.
#[derive(Clone, Debug)]
pub(super) struct Untold {
    /// Length of each column of the equations; 1 for one of zeros.
    scale: DVector<f64>,
    /// One column a direction, in the scaled unknowns.
    directions: DMatrix<f64>,
    /// Unknowns that are held, as many as directions.
    pub(super) held: Vec<usize>,
}

impl Untold {
    pub(super) fn new(slopes: &DMatrix<f64>) -> Self {
        let count = slopes.ncols();
        let longest = slopes.column_iter().map(|column| column.norm()).fold(0.0, f64::max);
        let norm = |norm: f64| if norm > 1e-12 * longest { norm } else { 1.0 };
        let scale = DVector::from_iterator(count, slopes.column_iter().map(|column| norm(column.norm())));
        let mut scaled = DMatrix::zeros(slopes.nrows().max(count), count);
        for (place, column) in slopes.column_iter().enumerate() {
            scaled.view_mut((0, place), (slopes.nrows(), 1)).copy_from(&(column / scale[place]));
        }
        let svd = scaled.svd(false, true);
        let rows = svd.v_t.unwrap_or_else(|| DMatrix::zeros(0, count));
        let most = svd.singular_values.max();
        let null: Vec<_> = (0..svd.singular_values.len())
            .filter(|place| svd.singular_values[*place] <= NULL * most.max(f64::MIN_POSITIVE))
            .map(|place| rows.row(place).transpose())
            .collect();
        let directions = if null.is_empty() { DMatrix::zeros(count, 0) } else { DMatrix::from_columns(&null) };
        let held = pivots(&directions);
        Self { scale, directions, held }
    }

    /// Whether a figure with these slopes is told.
    pub(super) fn tells(&self, slopes: &DVector<f64>) -> bool {
        let scaled = slopes.component_div(&self.scale);
        let size = scaled.norm();
        size <= 0.0 || self.directions.tr_mul(&scaled).amax() <= PART * size
    }

    /// The directions in the unknowns themselves.
    pub(super) fn directions(&self) -> DMatrix<f64> {
        let mut all = self.directions.clone();
        for (place, scale) in self.scale.iter().enumerate() {
            all.row_mut(place).unscale_mut(*scale);
        }
        all
    }
}

/// For each direction an unknown that it moves and the ones before, with theirs held, do not.
fn pivots(directions: &DMatrix<f64>) -> Vec<usize> {
    let mut left = directions.clone();
    let mut held = Vec::with_capacity(left.ncols());
    for column in 0..left.ncols() {
        let size = |row: usize| left.view((row, column), (1, left.ncols() - column)).norm();
        // Of equals the last: a later rotation is held before an earlier length.
        let Some(row) =
            (0..left.nrows()).reduce(|best, row| if size(row) >= size(best) * (1.0 - 1e-9) { row } else { best })
        else {
            break;
        };
        held.push(row);
        // Its row is turned onto this column, and the rest is cleared of it.
        let pivot = (column..left.ncols())
            .reduce(|best, one| if left[(row, one)].abs() > left[(row, best)].abs() { one } else { best })
            .unwrap_or(column);
        left.swap_columns(column, pivot);
        for other in column + 1..left.ncols() {
            let factor = left[(row, other)] / left[(row, column)];
            let cleared = left.column(other) - left.column(column) * factor;
            left.set_column(other, &cleared);
        }
    }
    held
}
