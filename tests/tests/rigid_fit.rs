//! Laying points on points, against worked figures.
//!
//! - Umeyama, "Least-squares estimation of transformation parameters between two point patterns", PAMI 13 (1991) 376: the example of three points in the plane, in
//!   which the best orthogonal matrix is a mirror and must not be taken. The rotation, the shift and the scale are the paper's; the mean squared errors are worked
//!   out from them.
//! - Figures worked out from the definitions for four nodes turned about z, one of them wrong, a twisted square, a mirror image, and points on a line.
//!
//! Millimetres; the tolerance is half of the last digit.

use nalgebra::{DMatrix, DVector, Point3};
use tubewright::inspect::registration::{Alignment, Registration, align};

/// Half of the sixth decimal.
const HALF: f64 = 0.5e-6;

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted}");
}

/// The mean squared distance with a scale before the rotation.
fn mean_square(
    from: &DMatrix<f64>,
    to: &DMatrix<f64>,
    rotation: &DMatrix<f64>,
    shift: &DVector<f64>,
    scale: f64,
) -> f64 {
    let count = from.ncols() as f64;
    let pairs = from.column_iter().zip(to.column_iter());
    pairs.map(|(from, to)| (to - (rotation * from * scale + shift)).norm_squared()).sum::<f64>() / count
}

#[test]
fn the_example_of_three_points_is_never_mirrored() {
    let from = DMatrix::from_columns(&[[0.0, 0.0], [1.0, 0.0], [0.0, 2.0]].map(|p| DVector::from_row_slice(&p)));
    let to = DMatrix::from_columns(&[[0.0, 0.0], [-1.0, 0.0], [0.0, 2.0]].map(|p| DVector::from_row_slice(&p)));
    let Alignment { rotation, translation } = align(&from, &to, &[1.0; 3], None).expect("they do not lie on a line");
    for ((row, column), wanted) in [((0, 0), 0.832050), ((0, 1), 0.554700), ((1, 0), -0.554700), ((1, 1), 0.832050)] {
        near(rotation[(row, column)], wanted, HALF);
    }
    near(translation[0], -0.980484, HALF);
    near(translation[1], 0.296867, HALF);
    near(mean_square(&from, &to, &rotation, &translation, 1.0), 0.619755, HALF);
    // The scale belongs to the example and to no tube: the part of the turned points that lies along the others, over their spread.
    let mean = |points: &DMatrix<f64>| points.column_mean();
    let (from_mean, to_mean) = (mean(&from), mean(&to));
    let spread: f64 = from.column_iter().map(|p| (p - &from_mean).norm_squared()).sum();
    let along: f64 = from
        .column_iter()
        .zip(to.column_iter())
        .map(|(from, to)| (to - &to_mean).dot(&(&rotation * (from - &from_mean))))
        .sum();
    let scale = along / spread;
    near(scale, 0.721110, HALF);
    let shift = &to_mean - &rotation * &from_mean * scale;
    near(shift[0], -0.8, HALF);
    near(shift[1], 0.4, HALF);
    near(mean_square(&from, &to, &rotation, &shift, scale), 0.533333, HALF);
}

const NOMINAL: [[f64; 3]; 4] = [[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [1000.0, 500.0, 0.0], [1000.0, 500.0, 300.0]];
/// Turned by 30 degrees about z and shifted by (10, 20, 30), to six decimals.
const MEASURED: [[f64; 3]; 4] = [
    [10.0, 20.0, 30.0],
    [876.025_404, 520.0, 30.0],
    [626.025_404, 953.012_702, 30.0],
    [626.025_404, 953.012_702, 330.0],
];

fn pairs(from: &[[f64; 3]], to: &[[f64; 3]]) -> Vec<(Point3<f64>, Point3<f64>)> {
    from.iter().zip(to).map(|(from, to)| (Point3::from(*from), Point3::from(*to))).collect()
}

fn left(on: &Registration, pairs: &[(Point3<f64>, Point3<f64>)]) -> Vec<f64> {
    pairs.iter().map(|(from, to)| (to - on.place(from)).norm()).collect()
}

fn rms(left: &[f64]) -> f64 {
    (left.iter().map(|by| by * by).sum::<f64>() / left.len() as f64).sqrt()
}

fn laid(pairs: &[(Point3<f64>, Point3<f64>)]) -> (Registration, Vec<f64>) {
    let on = Registration::new(pairs, &vec![1.0; pairs.len()], None).expect("they do not lie on a line");
    near(on.rotation.determinant(), 1.0, 1e-12);
    let left = left(&on, pairs);
    (on, left)
}

#[test]
fn a_turned_part_lies_on_the_wanted_one() {
    let (sin, cos) = (0.5, 0.75_f64.sqrt());
    let exact = NOMINAL.map(|[x, y, z]| [10.0 + cos * x - sin * y, 20.0 + sin * x + cos * y, 30.0 + z]);
    for (exact, printed) in exact.iter().flatten().zip(MEASURED.iter().flatten()) {
        near(*exact, *printed, HALF);
    }
    let (on, left) = laid(&pairs(&NOMINAL, &exact));
    assert!(rms(&left) < 1e-9);
    near(on.rotation[(1, 0)], 0.5, 1e-12);
    near(on.translation.z, 30.0, 1e-9);
}

/// The best fit spreads one error over all nodes, and the largest that is left is not the whole of it.
#[test]
fn one_bad_node_is_smeared_over_all() {
    let mut bad = MEASURED;
    bad[3][2] += 8.0;
    let (_, left) = laid(&pairs(&NOMINAL, &bad));
    // Measured coordinates are rounded to six decimals.
    for (found, wanted) in left.iter().zip([0.219526, 0.886375, 3.664282, 4.555957]) {
        near(*found, wanted, 2.0 * HALF);
    }
    near(rms(&left), 2.958782, 2.0 * HALF);
}

#[test]
fn a_twisted_square_is_off_by_all_of_its_twist() {
    let flat = [[100.0, 100.0, 0.0], [-100.0, 100.0, 0.0], [-100.0, -100.0, 0.0], [100.0, -100.0, 0.0]];
    let mut twisted = flat;
    (0..4).for_each(|corner| twisted[corner][2] = if corner % 2 == 0 { 2.0 } else { -2.0 });
    let (on, left) = laid(&pairs(&flat, &twisted));
    near(rms(&left), 2.0, 1e-12);
    assert!((on.rotation - nalgebra::Matrix3::identity()).amax() < 1e-12 && on.translation.norm() < 1e-12);
}

#[test]
fn a_mirror_image_is_laid_as_it_can_be_turned_and_no_better() {
    let right = [[0.0, 0.0, 0.0], [300.0, 0.0, 0.0], [0.0, 200.0, 0.0], [0.0, 0.0, 100.0]];
    let (_, left) = laid(&pairs(&right, &right.map(|[x, y, z]| [-x, y, z])));
    near(rms(&left), 67.130239, HALF);
}

#[test]
fn points_on_a_line_leave_the_turn_about_it_open() {
    let line = [[0.0, 0.0, 0.0], [100.0, 200.0, 50.0], [300.0, 600.0, 150.0]];
    assert_eq!(Registration::new(&pairs(&line, &line), &[1.0; 3], None), None);
    assert_eq!(Registration::new(&pairs(&line, &line), &[1.0; 3], Some(0)), None);
    assert_eq!(Registration::new(&[], &[], None), None);
    assert_eq!(Registration::new(&pairs(&NOMINAL, &NOMINAL), &[0.0; 4], None), None);
}
