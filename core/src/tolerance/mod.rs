//! How far end B may be off its place, from the shop's own accuracy.
//!
//! End A, the first leg and the plane of bend 1 are laid on theirs. Each bend then adds three independent errors: its mark along the blank,
//! its bend angle, its rotation. To first order each moves end B by a vector:
//!
//! - a mark too far toward B by d: the straight before grows and the one after shrinks, `d (t_i - t_(i+1))`;
//! - a bend angle too large by a: everything beyond turns about the bend's normal through the tangent point that the mark does not hold, the
//!   end of the arc with lead A and its start with lead B, `a n_i x (B - P)`. The blank has one length, so the longer arc is taken from the
//!   straight beside it, and that is what makes this point the centre;
//! - a rotation too large by r: everything beyond turns about the leg before the bend, `r t_i x (B - P)`; the first bend has none.
//!
//! The sum is a normal distribution in space, whose 95 % ball is found by quadrature (see `ball`).

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};

use crate::bender::Accuracy;
use crate::centreline::{BendId, Centreline, Segment};
use crate::forming::LeadEnd;
use crate::units::{Angle, Length};

/// A bend as it stands in the finished tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Travel from A to B before the bend, a unit vector.
    pub before: Vector3<f64>,
    /// Travel after it.
    pub after: Vector3<f64>,
    /// Start of the arc, mm.
    pub start: Point3<f64>,
    /// End of the arc, mm.
    pub end: Point3<f64>,
    /// Unit normal of the bend.
    pub normal: Vector3<f64>,
    /// The end that leads when it is made.
    pub lead: LeadEnd,
}

/// The corners of a finished tube, from end A, and its end B, mm in the job's axes.
///
/// `lead` says which end leads when a bend is made.
#[must_use]
pub fn corners(centreline: &Centreline, lead: &dyn Fn(BendId) -> LeadEnd) -> (Vec<Corner>, Point3<f64>) {
    let corners = centreline.segments().into_iter().filter_map(|segment| match segment {
        Segment::Straight { .. } => None,
        Segment::Arc { bend, direction, normal, .. } => {
            let (end, after) = segment.at(segment.length());
            Some(Corner {
                before: direction.into_inner(),
                after: after.into_inner(),
                start: segment.start(),
                end,
                normal: normal.into_inner(),
                lead: lead(bend),
            })
        }
    });
    (corners.collect(), centreline.end().0)
}

/// What one bend adds to the error of end B.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Which bend.
    pub bend: BendId,
    /// Its part of the variance, 0 to 1.
    pub share: f64,
    /// How far one degree more at this bend moves end B.
    pub per_degree: Length,
}

/// How far end B may be off.
#[derive(Clone, Debug, PartialEq)]
pub struct EndB {
    /// 95 of 100 parts have end B within this of its place.
    pub within: Length,
    /// What each bend adds, from end A.
    pub by: Vec<Part>,
}

/// How far end B of a tube with these corners may be off its place.
///
/// First order in the errors: good while they are small against a radian. The 95 % ball is right to 0.1 %.
#[must_use]
pub fn end_b(corners: &[Corner], end: Point3<f64>, accuracy: &Accuracy) -> EndB {
    let mut covariance = Matrix3::zeros();
    let mut parts = Vec::with_capacity(corners.len());
    for (place, corner) in corners.iter().enumerate() {
        let fixed = match corner.lead {
            LeadEnd::A => corner.end,
            LeadEnd::B => corner.start,
        };
        let by_angle = corner.normal.cross(&(end - fixed));
        let by_mark = (corner.before - corner.after) * accuracy.mark.to_mm();
        let by_bend = by_angle * accuracy.bend.to_rad();
        let by_rotation = if place == 0 {
            Vector3::zeros()
        } else {
            corner.before.cross(&(end - corner.start)) * accuracy.rotation.to_rad()
        };
        let own = [by_mark, by_bend, by_rotation].iter().map(|by| by * by.transpose()).sum::<Matrix3<f64>>();
        covariance += own;
        parts.push((BendId(place), own.trace(), by_angle.norm() * Angle::deg(1.0).to_rad()));
    }
    let variance = covariance.trace();
    let by = parts
        .into_iter()
        .map(|(bend, own, per_degree)| Part {
            bend,
            share: if variance > 0.0 { own / variance } else { 0.0 },
            per_degree: Length::mm(per_degree),
        })
        .collect();
    EndB { within: ball(&covariance, 0.95), by }
}

/// Radius of the ball around the mean that holds this part of a normal distribution in space.
///
/// With eigenvalues l of the covariance and a direction u in the space of independent unit errors, a point at distance s along u lies
/// s sqrt(sum l u^2) from the mean. So the part inside radius r is the mean over all directions of the chi distribution with three
/// degrees of freedom at r / sqrt(sum l u^2): `erf(x / sqrt 2) - sqrt(2 / pi) x exp(-x^2 / 2)`. The mean is taken by the midpoint rule over one eighth of
/// the sphere, the radius by bisection. Closed forms to hold it against: 1.95996 for one dimension, 2.44775 for two equal ones, 2.79548 for
/// three (quantiles of chi at 0.95).
fn ball(covariance: &Matrix3<f64>, part: f64) -> Length {
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

    /// Three legs of 1000 along x, y, z with sharp corners: one degree of rotation moves the end by 17.453 mm times its lever.
    #[test]
    fn one_degree_over_a_metre_is_seventeen_and_a_half_millimetres() {
        let corner = |at: [f64; 3], before: Vector3<f64>, after: Vector3<f64>| Corner {
            before,
            after,
            start: Point3::from(at),
            end: Point3::from(at),
            normal: before.cross(&after),
            lead: LeadEnd::A,
        };
        let corners = [
            corner([1000.0, 0.0, 0.0], Vector3::x(), Vector3::y()),
            corner([1000.0, 1000.0, 0.0], Vector3::y(), Vector3::z()),
        ];
        let accuracy = Accuracy { mark: Length::ZERO, bend: Angle::ZERO, rotation: Angle::deg(1.0) };
        let found = end_b(&corners, Point3::new(1000.0, 1000.0, 1000.0), &accuracy);
        assert!((found.by[1].per_degree.to_mm() - 17.453).abs() < 5e-4);
        // Only the rotation before bend 2 counts, in one direction: 1.96 times 17.453 mm.
        assert!((found.within.to_mm() / (1.959_96 * 17.4533) - 1.0).abs() < 1e-3);
        assert!((found.by[1].share - 1.0).abs() < 1e-12);
    }
}
