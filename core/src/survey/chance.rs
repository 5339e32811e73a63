//! How likely a sum of squares is.
//!
//! Closed forms of the chi-square distribution: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.4.4 and 26.4.5, from memory.

/// The chance that the sum of the squares of so many standard normal figures is above `squares`: 1 where there is none.
///
/// Good to 1e-12; what is below 1e-300 is 0.
#[must_use]
pub(super) fn above(freedom: usize, squares: f64) -> f64 {
    if freedom == 0 || squares <= 0.0 {
        return 1.0;
    }
    let root = squares.sqrt();
    // exp(-x2 / 2) times 1 + x2 / 2 + x4 / (2 4) + ..., or times x + x3 / 3 + x5 / (3 5) + ...; by logarithms, since the one is smaller and the other larger than any number.
    let even = freedom.is_multiple_of(2);
    let (mut log, mut next) = if even { (0.0, 2) } else { (libm::log(root), 3) };
    let mut sum = 0.0;
    while next <= freedom {
        sum += libm::exp(log - squares / 2.0);
        log += libm::log(squares / next as f64);
        next += 2;
    }
    if even {
        return sum.min(1.0);
    }
    let density = sum / (2.0 * core::f64::consts::PI).sqrt();
    (libm::erfc(root / core::f64::consts::SQRT_2) + 2.0 * density).min(1.0)
}

/// The size of the one standard normal figure that is as unlikely as so many with this sum of squares.
#[must_use]
pub(super) fn as_one(freedom: usize, squares: f64) -> f64 {
    // Beyond this the chance is no number any more, and the root is as good.
    const FAR: f64 = 600.0;
    if freedom == 1 || squares > FAR {
        return squares.max(0.0).sqrt();
    }
    let wanted = above(freedom, squares);
    let (mut low, mut high) = (0.0_f64, squares.max(0.0).sqrt());
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if above(1, middle * middle) > wanted { low = middle } else { high = middle }
    }
    high
}

/// The half axis of a 95 % ellipsoid over the standard deviation along it, in so many dimensions: the root of the 95 % point of chi-square.
#[must_use]
pub(super) fn within_95(dims: usize) -> f64 {
    let (mut low, mut high) = (0.0_f64, 10.0_f64);
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if above(dims, middle * middle) > 0.05 { low = middle } else { high = middle }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Upper percentage points of chi-square: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, three decimals, from memory.
    #[test]
    fn the_printed_percentage_points_have_their_chance() {
        for (freedom, at_5, at_01) in
            [(1, 3.841, 10.828), (2, 5.991, 13.816), (3, 7.815, 16.266), (9, 16.919, 27.877), (10, 18.307, 29.588)]
        {
            assert!((above(freedom, at_5) - 0.05).abs() < 2e-5, "{freedom}: {}", above(freedom, at_5));
            assert!((above(freedom, at_01) - 0.001).abs() < 1e-6, "{freedom}: {}", above(freedom, at_01));
        }
        assert!((above(1, 3.29 * 3.29) - 0.001).abs() < 3e-6);
        assert!((above(0, 9.0) - 1.0).abs() < 1e-15 && (above(7, 0.0) - 1.0).abs() < 1e-15);
        for (freedom, squares) in [(40, 1e5), (351, 1e4), (330, 1e4), (150, 1e6), (600, 1e12)] {
            assert!(above(freedom, squares) <= 0.0, "{freedom}: {}", above(freedom, squares));
        }
        // 400 and three of its standard deviations of sqrt 800 more, by the cube root of Wilson and Hilferty (Proc. Nat. Acad. Sci. 17 (1931) 684, from memory): 2.74 normal ones.
        let root = ((484.853_f64 / 400.0).cbrt() - (1.0 - 2.0 / 3600.0)) / (2.0_f64 / 3600.0).sqrt();
        let normal = 0.5 * libm::erfc(root / core::f64::consts::SQRT_2);
        assert!((above(400, 484.853) / normal - 1.0).abs() < 0.01, "{} {normal}", above(400, 484.853));
        assert!((above(401, 485.9) / above(400, 484.853) - 1.0).abs() < 0.02);
        assert!((within_95(2).powi(2) - 5.991).abs() < 5e-4 && (within_95(3).powi(2) - 7.815).abs() < 5e-4);
    }

    #[test]
    fn several_figures_count_as_the_one_that_is_as_unlikely() {
        assert!((as_one(1, 9.0) - 3.0).abs() < 1e-12);
        assert!((as_one(2, 5.991_465) - 1.959_964).abs() < 1e-6);
        assert!((as_one(3, 16.266_24) - 3.290_527).abs() < 1e-5);
        assert!(as_one(2, 0.0).abs() < 1e-12 && (as_one(2, 1e4) - 100.0).abs() < 1e-9);
    }
}
