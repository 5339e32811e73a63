//! Least squares with equations that are held and limits that are kept.
//!
//! ```text
//!   least |r(x)|^2   with   c(x) = 0   and   A x >= b
//! ```
//!
//! Gauss and Newton's way: each step solves the same with r and c made straight at x. The equations and the limits that are met say a part of the step,
//! the least squares the rest; a limit that a step would break is met, and one that only holds the step back is let go (an active set, as in Nocedal and Wright,
//! Numerical Optimization, 2nd edition, chapters 16 and 18, from memory). A singular value decomposition leaves alone what nothing speaks of, such as a
//! rotation in a flat tube.

use nalgebra::{DMatrix, DVector};

/// What is looked for. The unknowns should be of a like size, so that a step of 1 in each is about as large as in any other.
pub(super) trait Problem {
    /// What is made least, with its derivatives by the unknowns.
    fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>);

    /// What is held at 0, with its derivatives.
    fn held(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>);
}

/// Limits `slopes x >= least`, one a row.
#[derive(Clone, Debug)]
pub(super) struct Limits {
    pub(super) slopes: DMatrix<f64>,
    pub(super) least: DVector<f64>,
}

/// Where it came to rest.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) at: DVector<f64>,
    /// Limits that are met and hold it back.
    pub(super) met: Vec<usize>,
    /// Whether it came to rest at all.
    pub(super) rests: bool,
}

/// Steps that are tried; ten are usual.
const MOST_STEPS: usize = 400;

/// A step is the last one where it moves no unknown by more: rounding is what is left.
const CLOSE: f64 = 1e-10;

/// No step moves an unknown by more: beyond that nothing is straight.
const FAR: f64 = 30.0;

/// Singular values below this part of the largest are none.
const RANK: f64 = 1e-9;

/// A limit is broken from here on.
const BROKEN: f64 = 1e-9;

/// Changes of the set of limits that are met within one step.
const MOST_CHANGES: usize = 100;

/// Looks for it from a first guess.
pub(super) fn solve(problem: &dyn Problem, limits: &Limits, start: DVector<f64>) -> Found {
    let mut at = start;
    let mut met = Vec::new();
    for count in 0..MOST_STEPS {
        let step = step(&problem.residuals(&at), &problem.held(&at), limits, &at, &mut met);
        let far = step.amax();
        if !far.is_finite() {
            break;
        }
        // Where full steps go to and fro, shorter ones come to rest.
        let short = if count < 60 {
            1.0
        } else if count < 150 {
            0.5
        } else {
            0.2
        };
        at += step * (FAR / far.max(FAR)).min(short);
        if far <= CLOSE {
            return Found { at, met, rests: true };
        }
    }
    Found { at, met, rests: false }
}

/// The step that is right where everything is straight. `met` holds the limits that are met, from one step to the next.
fn step(
    (residuals, slopes): &(DVector<f64>, DMatrix<f64>),
    (held, of_held): &(DVector<f64>, DMatrix<f64>),
    limits: &Limits,
    at: &DVector<f64>,
    met: &mut Vec<usize>,
) -> DVector<f64> {
    let room = &limits.slopes * at - &limits.least;
    let equations = held.len();
    let mut step = DVector::zeros(at.len());
    for _ in 0..MOST_CHANGES {
        let rows = equations + met.len();
        let mut matrix = DMatrix::zeros(rows.max(at.len()), at.len());
        let mut right = DVector::zeros(rows.max(at.len()));
        matrix.rows_mut(0, equations).copy_from(of_held);
        right.rows_mut(0, equations).copy_from(&-held);
        for (place, limit) in met.iter().enumerate() {
            matrix.row_mut(equations + place).copy_from(&limits.slopes.row(*limit));
            right[equations + place] = -room[*limit];
        }
        let Some((fixed, free)) = split(&matrix, &right) else { return step };
        step = fixed;
        if free.ncols() > 0 {
            let within = slopes * &free;
            let Some(rest) = least_squares(&within, &-(residuals + slopes * &step)) else { return step };
            step += free * rest;
        }
        let broken = (&limits.slopes * &step + &room)
            .iter()
            .enumerate()
            .filter(|(limit, left)| **left < -BROKEN && !met.contains(limit))
            .map(|(limit, left)| (limit, *left))
            .reduce(|worst, one| if one.1 < worst.1 { one } else { worst });
        if let Some((limit, _)) = broken {
            met.push(limit);
            continue;
        }
        // What each limit that is met pushes with: one that pulls is let go.
        let gradient = slopes.transpose() * (residuals + slopes * &step);
        let Some(push) = least_squares(&matrix.transpose(), &gradient) else { return step };
        let pulls = (0..met.len()).min_by(|one, other| push[equations + one].total_cmp(&push[equations + other]));
        match pulls.filter(|place| push[equations + place] < -BROKEN) {
            Some(place) => {
                met.remove(place);
            }
            None => return step,
        }
    }
    step
}

/// The smallest solution of a system, in the least squares' sense where it has none, and a basis of all that it leaves free. The matrix has at least as
/// many rows as columns.
fn split(matrix: &DMatrix<f64>, right: &DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)> {
    let svd = matrix.clone().try_svd(true, true, f64::EPSILON, 0)?;
    let (u, v) = (svd.u?, svd.v_t?.transpose());
    let most = svd.singular_values.amax();
    let mut fixed = DVector::zeros(matrix.ncols());
    let mut free = Vec::new();
    for (place, value) in svd.singular_values.iter().enumerate() {
        if most > 0.0 && *value > RANK * most {
            fixed += v.column(place) * (u.column(place).dot(right) / value);
        } else {
            free.push(v.column(place).into_owned());
        }
    }
    let free = if free.is_empty() { DMatrix::zeros(matrix.ncols(), 0) } else { DMatrix::from_columns(&free) };
    Some((fixed, free))
}

/// The smallest solution in the least squares' sense.
fn least_squares(matrix: &DMatrix<f64>, right: &DVector<f64>) -> Option<DVector<f64>> {
    let svd = matrix.clone().try_svd(true, true, f64::EPSILON, 0)?;
    let most = svd.singular_values.amax();
    svd.solve(right, (RANK * most).max(f64::MIN_POSITIVE)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The point of a circle of radius 1 that is nearest to another, right of a line.
    struct Circle([f64; 2]);

    impl Problem for Circle {
        fn residuals(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            (DVector::from_vec(vec![at[0] - self.0[0], at[1] - self.0[1]]), DMatrix::identity(2, 2))
        }

        fn held(&self, at: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
            let out = at.norm_squared() - 1.0;
            (DVector::from_vec(vec![out]), DMatrix::from_row_slice(1, 2, &[2.0 * at[0], 2.0 * at[1]]))
        }
    }

    fn right_of(x: f64) -> Limits {
        Limits { slopes: DMatrix::from_row_slice(1, 2, &[1.0, 0.0]), least: DVector::from_vec(vec![x]) }
    }

    #[test]
    fn the_nearest_point_of_a_circle_lies_toward_the_other() {
        let found = solve(&Circle([0.6, 0.8]), &right_of(-5.0), DVector::from_vec(vec![0.9, 0.1]));
        assert!(found.rests && found.met.is_empty());
        assert!((found.at - DVector::from_vec(vec![0.6, 0.8])).norm() < 1e-9);
    }

    #[test]
    fn a_limit_in_the_way_is_met_and_one_that_is_not_is_let_go() {
        let found = solve(&Circle([0.6, 0.8]), &right_of(0.8), DVector::from_vec(vec![0.9, 0.1]));
        assert!(found.rests && found.met == [0]);
        assert!((found.at - DVector::from_vec(vec![0.8, 0.6])).norm() < 1e-9);
        let found = solve(&Circle([1.2, 1.6]), &right_of(0.5), DVector::from_vec(vec![0.5, 0.7]));
        assert!(found.rests && found.met.is_empty());
        assert!((found.at - DVector::from_vec(vec![0.6, 0.8])).norm() < 1e-9);
    }
}
