//! What a survey leaves open of the shape of a tube: its nodes are not where they were found, and the tube is bent to where they were found.

use nalgebra::{DMatrix, Matrix3, Point3, Vector3};

use super::ball::ball;
use crate::units::Length;

/// Covariance of end B by that of the nodes, mm2 in the job's axes, end A, the first leg and the plane of bend 1 laid on theirs as for the shop's own errors.
///
/// `nodes` are those of the path from end A, `first_bend` the place of the first bend's among them, `None` for a straight tube; `joint` is their covariance, three
/// rows a node. First order in the errors.
///
/// ```text
///   y              off the first leg the frame turns with node b, about it with node b + 1:
///   |   o b+1        turn square to u   u x (d_b - d_a) / |ab|
///   |  /             turn about u       z . (d_b+1 - d_a - turn x (b+1 - a)) / (y . (b+1 - a))
///   a-----o b   u    end B moves by     d_B - d_a - whole turn x (B - a)
/// ```
#[must_use]
pub fn end_b_of_nodes(nodes: &[Point3<f64>], first_bend: Option<usize>, joint: &DMatrix<f64>) -> Matrix3<f64> {
    let (Some(start), Some(end)) = (nodes.first(), nodes.last()) else { return Matrix3::zeros() };
    let last = nodes.len() - 1;
    let bend = first_bend.unwrap_or(last).min(last);
    let leg = nodes[bend] - start;
    let along = leg.normalize();
    let moved = |of: &dyn Fn(usize) -> Vector3<f64>| {
        let mut turn = along.cross(&(of(bend) - of(0))) / leg.norm();
        if let Some(next) = nodes.get(bend + 1).filter(|_| first_bend.is_some()) {
            let reach = next - start;
            let beside = reach - along * along.dot(&reach);
            let across = along.cross(&beside.normalize());
            turn += along * (across.dot(&(of(bend + 1) - of(0) - turn.cross(&reach))) / beside.norm());
        }
        of(last) - of(0) - turn.cross(&(end - start))
    };
    // How end B moves with each coordinate of each node.
    let mut slopes = DMatrix::zeros(3, joint.ncols());
    for column in 0..joint.ncols() {
        let unit = |node: usize| if column / 3 == node { Vector3::ith(column % 3, 1.0) } else { Vector3::zeros() };
        slopes.column_mut(column).copy_from(&moved(&unit));
    }
    let covariance = &slopes * joint * slopes.transpose();
    Matrix3::from_fn(|row, column| covariance[(row, column)])
}

/// Radius of the ball that end B lies in 95 times in 100 by such a covariance; right to 0.1 %.
#[must_use]
pub fn within(covariance: &Matrix3<f64>) -> Length {
    ball(covariance, 0.95)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Coordinates of end B in the frame of end A, the first leg and the plane of bend 1.
    fn framed(nodes: &[Point3<f64>], bend: usize) -> Vector3<f64> {
        let from = |node: usize| nodes[node] - nodes[0];
        let x = from(bend).normalize();
        let y = (from(bend + 1) - x * x.dot(&from(bend + 1))).normalize();
        let end = from(nodes.len() - 1);
        Vector3::new(x.dot(&end), y.dot(&end), x.cross(&y).dot(&end))
    }

    #[test]
    fn end_b_moves_as_its_coordinates_in_the_frame_of_the_tube_do() {
        let nodes: Vec<Point3<f64>> =
            [[0.0, 0.0, 0.0], [300.0, 40.0, 0.0], [700.0, 20.0, 310.0], [820.0, 500.0, 400.0], [400.0, 900.0, 100.0]]
                .map(Point3::from)
                .to_vec();
        let count = 3 * nodes.len();
        let joint = DMatrix::from_fn(count, count, |row, column| if row == column { 1.0 + row as f64 } else { 0.2 });
        let found = end_b_of_nodes(&nodes, Some(1), &joint);
        let step = 1e-3;
        let mut slopes = DMatrix::zeros(3, count);
        for column in 0..count {
            let moved = |by: f64| {
                let mut nodes = nodes.clone();
                nodes[column / 3][column % 3] += by;
                framed(&nodes, 1)
            };
            slopes.column_mut(column).copy_from(&((moved(step) - moved(-step)) / (2.0 * step)));
        }
        let wanted = &slopes * &joint * slopes.transpose();
        // Turned into the job's axes the numbers differ; what does not is the trace, and how much two of them share.
        assert!((found.trace() - wanted.trace()).abs() < 1e-6 * wanted.trace(), "{found} {wanted}");
        assert!((found.determinant() - wanted.determinant()).abs() < 1e-5 * wanted.determinant().abs());
    }

    /// Of a straight tube only the length is its own: two ends with a deviation of 1 each make one of sqrt 2 along it.
    #[test]
    fn a_straight_tube_is_off_in_its_length_alone() {
        let nodes = [Point3::origin(), Point3::new(0.0, 1000.0, 0.0)];
        let found = end_b_of_nodes(&nodes, None, &DMatrix::identity(6, 6));
        assert!((found[(1, 1)] - 2.0).abs() < 1e-12 && (found.trace() - 2.0).abs() < 1e-12, "{found}");
        assert!((within(&found).to_mm() - 1.959_964 * 2.0_f64.sqrt()).abs() < 0.005);
    }

    #[test]
    fn a_network_that_moves_as_a_whole_leaves_the_tube_as_it_is() {
        let nodes = [[0.0, 0.0, 0.0], [500.0, 0.0, 0.0], [500.0, 600.0, 0.0], [500.0, 600.0, 300.0]].map(Point3::from);
        let joint = DMatrix::from_fn(12, 12, |row, column| if row % 3 == column % 3 { 4.0 } else { 0.0 });
        assert!(end_b_of_nodes(&nodes, Some(1), &joint).amax() < 1e-9);
    }
}
