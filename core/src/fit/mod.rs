//! Damped least squares: the figures that agree best with what was measured, and how sure they are.
//!
//! A [`Model`] says what is left over for any guess: each residual is (computed - measured) / standard deviation of the measurement, so
//! that all count alike and have no unit. [`solve`] makes the sum of their squares as small as it can be.
//!
//! ```text
//! step = - (J' J + damping diag(J' J))^-1 J' r        J: derivatives of the residuals r by the unknowns
//! ```
//!
//! Levenberg's damping (Quart. Appl. Math. 2 (1944) 164) with Marquardt's scaling (J. SIAM 11 (1963) 431), both from memory. Each step is
//! solved by a QR decomposition of J with the damping below it, which never squares the condition of J. Undamped, the last step finds the
//! minimum to within what the arithmetic leaves: [`CLOSE`] of a standard deviation.
//!
//! With residuals of unit standard deviation the covariance of the unknowns is (J' J)^-1: to first order, so it is good where the
//! model is nearly straight over a few standard deviations.

mod descend;
mod newton;

use nalgebra::{DMatrix, DVector};

pub use self::descend::descend;
pub use self::newton::{newton, polished};

/// What is left over for a guess at the unknowns.
pub trait Model {
    /// The residuals and their derivatives by the unknowns: as many rows as measurements, as many columns as unknowns.
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>);

    /// How far rounding may put the residuals off, as the root of the sum of the squares. Of large coordinates that were measured well it leaves more than of the sum of
    /// squares itself, and a search that takes that for a step uphill never comes to rest.
    fn rounding(&self) -> f64 {
        0.0
    }
}

/// The best figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The unknowns.
    pub at: DVector<f64>,
    /// What is left over there.
    pub residuals: DVector<f64>,
    /// Derivatives of the residuals there.
    pub jacobian: DMatrix<f64>,
    /// Covariance of the unknowns, where the residuals have unit standard deviation.
    pub covariance: DMatrix<f64>,
}

/// Why there is no best guess.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// Some unknown, or a sum of some, changes nothing that was measured.
    #[error("what was measured does not tell all unknowns")]
    Undetermined,
    /// No guess came to rest.
    #[error("no figures were found that agree with what was measured")]
    Restless,
}

/// A step is the last one where it moves no unknown by more than this, in what moves the residuals by one standard deviation: far below any
/// figure that is shown, and above what rounding does to the step itself.
pub const CLOSE: f64 = 1e-10;

/// A sum of squares that changes by less than this part of itself, and this more, does not change: rounding is what is left.
const FLAT: (f64, f64) = (1e-14, 1e-12);

/// As [`CLOSE`], where the sum of squares does not change any more. A step that is more than rounding and that large would change it by its square; what
/// claims nine digits leaves rounding of this size where the unknowns nearly make up for each other.
const ROUNDED: f64 = 1e-3;

/// Steps that come nearer are each shorter than this part of the one before; rounding makes them any length. Where large residuals bend with the unknowns each may
/// be only a little shorter, long after the sum of squares has ceased to change.
const SHORTER: f64 = 0.9;

/// Columns of J that are this near to depending on each other leave nothing of their difference but rounding.
const DEPENDENT: f64 = 1e-11;

/// Steps that are tried. A model that is nearly straight needs five.
const MOST_STEPS: usize = 200;

/// The unknowns that make the sum of squares smallest, from a first guess.
///
/// # Errors
/// [`NoFit`], where the measurements do not tell all unknowns, and where no minimum is found within 200 steps, nor by Newton's method from there.
pub fn solve(model: &dyn Model, start: DVector<f64>) -> Result<Fit, NoFit> {
    let mut at = start;
    let (mut residuals, mut jacobian) = model.residuals(&at);
    let mut cost = residuals.norm_squared();
    let mut damping = 1e-4;
    let mut before = f64::INFINITY;
    let rounding = model.rounding();
    for _ in 0..MOST_STEPS {
        if !cost.is_finite() {
            return Err(NoFit::Restless);
        }
        let scale = DVector::from_iterator(at.len(), jacobian.column_iter().map(|column| column.norm()));
        if scale.iter().any(|norm| *norm <= 0.0) {
            return Err(NoFit::Undetermined);
        }
        let step = step(&jacobian, &residuals, &scale, damping)?;
        let far = step.component_mul(&scale).amax();
        let next = &at + &step;
        let (left, slopes) = model.residuals(&next);
        let found = left.norm_squared();
        // Near the minimum the sum of squares is flat: what rounding adds to it is no reason to turn back.
        let flat = FLAT.0 * cost + FLAT.1 + 2.0 * rounding * cost.sqrt() + rounding * rounding;
        let size = 1.0 + residuals.norm();
        let rounded = (found - cost).abs() <= flat && far <= ROUNDED * size && far >= SHORTER * before;
        let last = (far <= CLOSE * size || rounded) && damping <= 1e-8;
        if found <= cost + flat {
            before = far;
            (at, residuals, jacobian, cost) = (next, left, slopes, found);
            damping = if damping < 1e-14 { 0.0 } else { damping * 0.01 };
        } else {
            damping = if damping <= 0.0 { 1e-6 } else { damping * 10.0 };
        }
        if last {
            let covariance = covariance(&jacobian)?;
            return Ok(Fit { at, residuals, jacobian, covariance });
        }
    }
    newton(model, &at).ok_or(NoFit::Restless)
}

/// The step with columns scaled to unit length and the damping below them.
fn step(
    jacobian: &DMatrix<f64>,
    residuals: &DVector<f64>,
    scale: &DVector<f64>,
    damping: f64,
) -> Result<DVector<f64>, NoFit> {
    let (rows, count) = jacobian.shape();
    let mut stacked = DMatrix::zeros(rows + count, count);
    let mut right = DVector::zeros(rows + count);
    for (place, column) in jacobian.column_iter().enumerate() {
        stacked.view_mut((0, place), (rows, 1)).copy_from(&(column / scale[place]));
        stacked[(rows + place, place)] = damping.sqrt();
    }
    right.rows_mut(0, rows).copy_from(&(-residuals));
    let scaled = least_squares(stacked, right)?;
    Ok(scaled.component_div(scale))
}

fn least_squares(matrix: DMatrix<f64>, mut right: DVector<f64>) -> Result<DVector<f64>, NoFit> {
    let count = matrix.ncols();
    let qr = matrix.qr();
    qr.q_tr_mul(&mut right);
    let triangle = qr.r();
    if dependent(&triangle) {
        return Err(NoFit::Undetermined);
    }
    let top = right.rows(0, count).into_owned();
    triangle.solve_upper_triangular(&top).ok_or(NoFit::Undetermined)
}

fn dependent(triangle: &DMatrix<f64>) -> bool {
    let diagonal = triangle.diagonal().abs();
    diagonal.is_empty() || diagonal.min() <= DEPENDENT * diagonal.max()
}

/// (J' J)^-1, by the QR decomposition of J with its columns scaled.
fn covariance(jacobian: &DMatrix<f64>) -> Result<DMatrix<f64>, NoFit> {
    let (rows, count) = jacobian.shape();
    if rows < count {
        return Err(NoFit::Undetermined);
    }
    let scale: Vec<f64> = jacobian.column_iter().map(|column| column.norm()).collect();
    let mut scaled = jacobian.clone();
    for (place, norm) in scale.iter().enumerate() {
        scaled.column_mut(place).unscale_mut(*norm);
    }
    let triangle = scaled.qr().r();
    if dependent(&triangle) {
        return Err(NoFit::Undetermined);
    }
    let inverse = triangle.solve_upper_triangular(&DMatrix::identity(count, count)).ok_or(NoFit::Undetermined)?;
    let mut covariance = &inverse * inverse.transpose();
    for row in 0..count {
        for column in 0..count {
            covariance[(row, column)] /= scale[row] * scale[column];
        }
    }
    Ok(covariance)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = a exp(b x), each y with the same standard deviation.
    struct Growth {
        points: Vec<[f64; 2]>,
        sd: f64,
    }

    impl Model for Growth {
        fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            let count = self.points.len();
            let value = |x: f64| libm::exp(at[1] * x);
            let left = self.points.iter().map(|[x, y]| (at[0] * value(*x) - y) / self.sd);
            let slopes = DMatrix::from_fn(count, at.len(), |row, column| {
                let x = self.points[row][0];
                value(x) * if column == 0 { 1.0 } else { at[0] * x } / self.sd
            });
            (DVector::from_iterator(count, left), slopes)
        }
    }

    /// Two straight columns of a design: residual = design x unknowns - measured.
    struct Straight(DMatrix<f64>, DVector<f64>);

    impl Model for Straight {
        fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            (&self.0 * at - &self.1, self.0.clone())
        }
    }

    #[test]
    fn exact_figures_are_found_from_afar() {
        let points = (0..6).map(|x| [f64::from(x), 2.5 * libm::exp(-0.4 * f64::from(x))]).collect();
        let fit = solve(&Growth { points, sd: 0.1 }, DVector::from_vec(vec![0.3, 0.5])).unwrap();
        assert!((fit.at[0] - 2.5).abs() < 1e-12 && (fit.at[1] + 0.4).abs() < 1e-12, "{}", fit.at);
        assert!(fit.residuals.norm() < 1e-10);
    }

    /// The mean of 1, 2, 4, 5 is 3 with a standard deviation of 1 / 2; the slope against -1, 0, 0, 1 is 2, its 1 / sqrt 2.
    #[test]
    fn a_mean_and_a_slope_have_the_deviations_of_the_textbook() {
        let design = DMatrix::from_row_slice(4, 2, &[1.0, -1.0, 1.0, 0.0, 1.0, 0.0, 1.0, 1.0]);
        let fit = solve(&Straight(design, DVector::from_vec(vec![1.0, 2.0, 4.0, 5.0])), DVector::zeros(2)).unwrap();
        assert!((fit.at[0] - 3.0).abs() < 1e-13 && (fit.at[1] - 2.0).abs() < 1e-13);
        assert!((fit.covariance[(0, 0)] - 0.25).abs() < 1e-13 && (fit.covariance[(1, 1)] - 0.5).abs() < 1e-13);
        assert!(fit.covariance[(0, 1)].abs() < 1e-13);
    }

    /// The point of a circle about 0 that is nearest to a point.
    struct Circle {
        radius: f64,
        point: [f64; 2],
    }

    impl Model for Circle {
        fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            let (sin, cos) = libm::sincos(at[0]);
            let left = DVector::from_vec(vec![self.radius * cos - self.point[0], self.radius * sin - self.point[1]]);
            (left, DMatrix::from_row_slice(2, 1, &[-self.radius * sin, self.radius * cos]))
        }
    }

    /// 6 out of 10 from the centre, each step leaves 4 tenths of the way, and the sum of squares shows nothing of the last 1e-7 radians.
    #[test]
    fn a_search_goes_on_while_its_steps_become_shorter() {
        let (sin, cos) = libm::sincos(0.8);
        let fit =
            solve(&Circle { radius: 10.0, point: [6.0 * cos, 6.0 * sin] }, DVector::from_element(1, 0.1)).unwrap();
        assert!((fit.at[0] - 0.8).abs() < 1e-10, "{}", fit.at[0] - 0.8);
    }

    /// The foot on a circle of radius 10 of a point 17 beyond it: first derivatives go 27 tenths of the way at each step, and away from it.
    #[test]
    fn newton_finds_what_first_derivatives_swing_about() {
        let (sin, cos) = libm::sincos(0.8);
        let model = Circle { radius: 10.0, point: [27.0 * cos, 27.0 * sin] };
        let near = DVector::from_element(1, 0.8 + 1e-4);
        let (residuals, jacobian) = model.residuals(&near);
        let covariance = DMatrix::from_element(1, 1, 0.01);
        let fit = polished(&model, Fit { at: near, residuals, jacobian, covariance });
        assert!((fit.at[0] - 0.8).abs() < 1e-14, "{}", fit.at[0] - 0.8);
        // On the side away from the point the distance is largest: no minimum, and no step.
        let far = DVector::from_element(1, 0.8 + 1e-4 + std::f64::consts::PI);
        let (residuals, jacobian) = model.residuals(&far);
        let fit = Fit { at: far, residuals, jacobian, covariance: DMatrix::from_element(1, 1, 0.01) };
        assert_eq!(polished(&model, fit.clone()), fit);
        // And from afar the search gets there.
        let fit = solve(&model, DVector::from_element(1, 0.3)).unwrap();
        assert!((fit.at[0] - 0.8).abs() < 1e-12, "{}", fit.at[0] - 0.8);
    }

    /// Figures read far from 0 and well: of a million, rounding leaves 1e-10, of which 1e-5 is a standard deviation.
    struct Far<'r>(&'r [f64]);

    impl Far<'_> {
        const ORIGIN: f64 = 1e6;
        const SD: f64 = 1e-5;
    }

    impl Model for Far<'_> {
        fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            let left = self.0.iter().map(|read| ((Self::ORIGIN + at[0]) - (Self::ORIGIN + read)) / Self::SD);
            (DVector::from_iterator(self.0.len(), left), DMatrix::from_element(self.0.len(), 1, 1.0 / Self::SD))
        }

        fn rounding(&self) -> f64 {
            2.0 * f64::EPSILON * Self::ORIGIN / Self::SD * (self.0.len() as f64).sqrt()
        }
    }

    #[test]
    fn what_rounding_adds_is_no_step_uphill() {
        let read = [0.3e-5, 1.7e-5, 2.9e-5, -0.4e-5, 1.1e-5, 0.6e-5, 2.2e-5];
        let fit = solve(&Far(&read), DVector::from_element(1, 0.0)).unwrap();
        assert!((fit.at[0] - 1.2e-5).abs() < 1e-4 * Far::SD, "{}", fit.at[0]);
    }

    #[test]
    fn downhill_works_where_some_unknowns_change_nothing() {
        let twins = DMatrix::from_row_slice(3, 3, &[1.0, 1.0, 0.0, 2.0, 2.0, 0.0, 3.0, 3.0, 0.0]);
        let model = Straight(twins, DVector::from_vec(vec![1.0, 2.0, 3.5]));
        let (at, cost) = descend(&model, DVector::from_vec(vec![4.0, -9.0, 7.0]), 50, 1e-9);
        // The mean of 1, 2 and 3.5 / 3, weighted by 1, 4 and 9: 15.5 / 14.
        assert!((at[0] + at[1] - 15.5 / 14.0).abs() < 1e-6 && (at[2] - 7.0).abs() < 1e-12, "{at}");
        assert!((cost - (17.25 - 15.5 * 15.5 / 14.0)).abs() < 1e-9, "{cost}");
    }

    #[test]
    fn what_is_not_told_is_said() {
        let twins = DMatrix::from_row_slice(3, 2, &[1.0, 2.0, 2.0, 4.0, 3.0, 6.0]);
        let refused = solve(&Straight(twins, DVector::from_vec(vec![1.0, 2.0, 3.0])), DVector::zeros(2));
        assert_eq!(refused, Err(NoFit::Undetermined));
        let none = DMatrix::from_row_slice(2, 2, &[1.0, 0.0, 2.0, 0.0]);
        let refused = solve(&Straight(none, DVector::from_vec(vec![1.0, 2.0])), DVector::zeros(2));
        assert_eq!(refused, Err(NoFit::Undetermined));
    }
}
