//! How far from its mean a normal distribution in space reaches.

use nalgebra::{Matrix3, SymmetricEigen};

use crate::units::Length;

/// Radius of the ball around the mean that holds this part of a normal distribution in space.
///
/// With eigenvalues l of the covariance and a direction u in the space of independent unit errors, a point at distance s along u lies
/// s sqrt(sum l u^2) from the mean. So the part inside radius r is the mean over all directions of the chi distribution with three
/// degrees of freedom at r / sqrt(sum l u^2): `erf(x / sqrt 2) - sqrt(2 / pi) x exp(-x^2 / 2)`. The mean is taken by the midpoint rule over one eighth of
/// the sphere, the radius by bisection. Closed forms to hold it against: 1.95996 for one dimension, 2.44775 for two equal ones, 2.79548 for
/// three (quantiles of chi at 0.95).
pub(super) fn ball(covariance: &Matrix3<f64>, part: f64) -> Length {
    const HEIGHTS: u32 = 200;
    const TURNS: u32 = 64;
    let spread = SymmetricEigen::new(*covariance).eigenvalues.map(|value| value.max(0.0));
    let largest = spread.max();
    if largest <= 0.0 {
        return Length::ZERO;
    }
    let mut scales = Vec::with_capacity((HEIGHTS * TURNS) as usize);
    for height in 0..HEIGHTS {
        let z = (f64::from(height) + 0.5) / f64::from(HEIGHTS);
        for turn in 0..TURNS {
            let (sin, cos) = libm::sincos((f64::from(turn) + 0.5) / f64::from(TURNS) * core::f64::consts::FRAC_PI_2);
            let flat = 1.0 - z * z;
            scales.push((spread[0] * flat * cos * cos + spread[1] * flat * sin * sin + spread[2] * z * z).sqrt());
        }
    }
    let inside = |radius: f64| {
        let sum: f64 = scales
            .iter()
            .map(|scale| {
                let x = (radius / scale.max(f64::MIN_POSITIVE)).min(40.0);
                libm::erf(x * core::f64::consts::FRAC_1_SQRT_2)
                    - (2.0 / core::f64::consts::PI).sqrt() * x * libm::exp(-0.5 * x * x)
            })
            .sum();
        sum / f64::from(HEIGHTS * TURNS)
    };
    let (mut low, mut high) = (0.0, 4.0 * largest.sqrt());
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if inside(middle) < part {
            low = middle;
        } else {
            high = middle;
        }
    }
    Length::mm(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::*;

    #[test]
    fn the_ball_has_the_quantiles_of_chi() {
        // chi at 0.95 for one, two and three degrees of freedom, from memory of the usual tables of chi square: 3.841, 5.991, 7.815.
        for (diagonal, wanted) in [([4.0, 0.0, 0.0], 3.841), ([0.0, 4.0, 4.0], 5.991), ([4.0, 4.0, 4.0], 7.815)] {
            let radius = ball(&Matrix3::from_diagonal(&Vector3::from(diagonal)), 0.95).to_mm();
            let exact = 2.0 * f64::sqrt(wanted);
            assert!((radius / exact - 1.0).abs() < 1e-3, "{diagonal:?}: {radius} against {exact}");
        }
        assert_eq!(ball(&Matrix3::zeros(), 0.95), Length::ZERO);
    }
}
