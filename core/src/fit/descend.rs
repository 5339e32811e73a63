//! Downhill from a guess that may be far off, where some unknowns may change nothing at all: for first guesses, not for results.

use nalgebra::DVector;

use super::Model;

/// Where a column changes less than this part of what the largest does, it counts as if it did: what changes nothing stays where it is.
const FLOOR: f64 = 1e-6;

/// A guess with a smaller sum of squares, and that sum: near the bottom of the valley it lies in. It ends where a step takes less than the part `rest` of the sum away, or
/// after so many steps.
///
/// As [`super::solve`], by normal equations: they take any rank, and lose half of the digits.
#[must_use]
pub fn descend(model: &dyn Model, start: DVector<f64>, steps: usize, rest: f64) -> (DVector<f64>, f64) {
    let mut at = start;
    let (mut left, mut slopes) = model.residuals(&at);
    let mut cost = left.norm_squared();
    let mut damping = 1e-3;
    for _ in 0..steps {
        let normal = slopes.tr_mul(&slopes);
        let right = -slopes.tr_mul(&left);
        let least = normal.diagonal().max() * FLOOR;
        if least.is_nan() || least <= 0.0 {
            break;
        }
        let mut damped = normal;
        for place in 0..at.len() {
            damped[(place, place)] += damping * damped[(place, place)].max(least);
        }
        let Some(triangle) = damped.cholesky() else { break };
        let next = &at + triangle.solve(&right);
        let (next_left, next_slopes) = model.residuals(&next);
        let found = next_left.norm_squared();
        if found < cost {
            let rests = cost - found <= rest * cost;
            (at, left, slopes, cost) = (next, next_left, next_slopes, found);
            damping = (damping * 0.1).max(1e-8);
            if rests {
                break;
            }
        } else {
            damping *= 5.0;
            if damping > 1e10 {
                break;
            }
        }
    }
    (at, cost)
}
