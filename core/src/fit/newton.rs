//! Second derivatives: the last digits of a fit, and minima that first derivatives swing about.
//!
//! Where large residuals bend with the unknowns, a search by first derivatives comes to rest as soon as the sum of squares is flat, a thousandth of a standard
//! deviation away; or it overshoots at every step, and with enough damping not to, hardly moves. Newton's method, with differences of the slopes for second derivatives, finds
//! such a minimum to within rounding.

use nalgebra::{DMatrix, DVector};

use super::{CLOSE, Fit, Model, covariance};

/// How far apart slopes are taken for their change, in what moves the residuals by one standard deviation: the change is good to about 1e-8 of itself, by either of
/// rounding and of bends of higher order.
const APART: f64 = 1e-2;

/// Of the slopes of the unknown that moves the residuals most, the part that counts for one that moves them less: an unknown may bend them and no more.
const FLOOR: f64 = 1e-3;

/// Steps that are tried. Two are enough where the search came to rest; with one set of second derivatives, each step leaves a small part of the one before.
const MOST_STEPS: usize = 20;

/// The fit with what the search left over taken away. A fit that is not at a minimum stays as it is.
#[must_use]
pub fn polished(model: &dyn Model, fit: Fit) -> Fit {
    newton(model, &fit.at).unwrap_or(fit)
}

/// The minimum next to a guess, by the second derivatives there; `None` where none is found with a sum of squares that is not larger, within 1 and the size of the residuals of
/// it, in what moves these by one standard deviation.
#[must_use]
pub fn newton(model: &dyn Model, start: &DVector<f64>) -> Option<Fit> {
    let (residuals, jacobian) = model.residuals(start);
    let norms: Vec<f64> = jacobian.column_iter().map(|column| column.norm()).collect();
    let count = norms.len();
    let least = norms.iter().copied().fold(0.0, f64::max) * FLOOR;
    if least <= 0.0 {
        return None;
    }
    let scale: Vec<f64> = norms.into_iter().map(|norm| norm.max(least)).collect();
    let gradient = |at: &DVector<f64>| {
        let (residuals, jacobian) = model.residuals(at);
        let slope = jacobian.tr_mul(&residuals);
        DVector::from_fn(count, |place, _| slope[place] / scale[place])
    };
    let mut bends = DMatrix::zeros(count, count);
    for place in 0..count {
        let beside = |sign: f64| {
            let mut at = start.clone();
            at[place] += sign * APART / scale[place];
            gradient(&at)
        };
        bends.set_column(place, &((beside(1.0) - beside(-1.0)) / (2.0 * APART)));
    }
    let bends = ((&bends + bends.transpose()) / 2.0).cholesky()?;
    let size = 1.0 + residuals.norm();
    let cost = residuals.norm_squared();
    let mut at = start.clone();
    let (mut before, mut way) = (size, 0.0);
    for _ in 0..MOST_STEPS {
        let step = -bends.solve(&gradient(&at));
        let far = step.amax();
        if far.is_nan() || far >= before || way + far > size {
            break;
        }
        before = far;
        way += far;
        at += DVector::from_fn(count, |place, _| step[place] / scale[place]);
    }
    if before > CLOSE * size {
        return None;
    }
    let (residuals, jacobian) = model.residuals(&at);
    if residuals.norm_squared() > cost * (1.0 + 1e-9) + 1e-9 {
        return None;
    }
    let covariance = covariance(&jacobian).ok()?;
    Some(Fit { at, residuals, jacobian, covariance })
}
