//! How far bends strain the weld seam of a tube, and where it is strained least.
//!
//! ```text
//!        top line of bend i, psi from the reference line        seen from end A along the tube, angles clockwise
//!               .-"|"-.
//!             /    |  s \ seam                                  s = at - psi
//!            |     +-----|  bend's inside or outside
//!             \         /                                       the seam lies OD / 2 x |sin s| from the neutral plane
//!               `-...-'
//! ```
//!
//! So the bend strains it by OD / (2 x CLR) x |sin s|: not at all on a top line and opposite of it, most on the outside and on the inside. What is looked
//! for is the place where the most that any bend does is least. Between two places where a bend does nothing its strain is an arch, with no least inside of it; so the
//! least of the most lies where a bend does nothing, or where two bends do the same. These are few and are all tried: the answer is exact.
//!
//! Source: plane geometry, with the neutral axis on the centreline, as for [`BentWall`](super::BentWall). Not for saying that a weld holds.

use core::f64::consts::PI;

use crate::centreline::BendId;
use crate::units::Angle;

/// Strains closer than this are the same: what rounding leaves of them is a thousand times less.
const SAME: f64 = 1e-9;

/// Places closer than this are one, radians. Strains that are the same may lie a hundred times [`SAME`] apart around the tube.
const ONE_PLACE: f64 = 1e-6;

/// A weld seam in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Seam {
    /// Where it lies, clockwise from the reference line looking from end A.
    pub at: Angle,
    /// The most that a bend strains it there, longer or shorter, as a part of its length.
    pub strain: f64,
    /// The bends that do, from end A.
    pub bends: Vec<BendId>,
    /// The same where it is least.
    pub least: f64,
    /// All places where it is, counted as `at`, rising, in [0, 360) degrees: always pairs, each opposite of the other.
    pub least_at: Vec<Angle>,
}

impl Seam {
    /// A seam at a place. For each bend from end A: the roll of its top line from the reference line with either end in the lead, and the strain on its outside. `None`
    /// without a bend.
    ///
    /// ```
    /// use tubewright::{forming::Seam, units::Angle};
    /// // Two bends in planes square to each other: between them it has sin 45 of the 15 % of either.
    /// let bends = [(Angle::ZERO, 0.15), (Angle::deg(90.0), 0.15)];
    /// let seam = Seam::new(Angle::deg(90.0), &bends).expect("two bends");
    /// assert!((seam.strain - 0.15).abs() < 1e-12 && (seam.least - 0.106_066).abs() < 1e-6);
    /// let least_at: Vec<f64> = seam.least_at.iter().map(|at| at.to_deg().round()).collect();
    /// assert_eq!(least_at, [45.0, 135.0, 225.0, 315.0]);
    /// ```
    #[must_use]
    pub fn new(at: Angle, bends: &[(Angle, f64)]) -> Option<Self> {
        if bends.is_empty() {
            return None;
        }
        let strain = most(at.to_rad(), bends);
        let does =
            |(place, bend): (usize, &(Angle, f64))| (one(at.to_rad(), bend) >= strain - SAME).then_some(BendId(place));
        let (least, least_at) = least(bends);
        Some(Self { at, strain, bends: bends.iter().enumerate().filter_map(does).collect(), least, least_at })
    }
}

/// What a bend does to a seam at a place, radians.
fn one(at: f64, (psi, strain): &(Angle, f64)) -> f64 {
    strain * libm::sin(at - psi.to_rad()).abs()
}

/// The most that a bend does to it.
fn most(at: f64, bends: &[(Angle, f64)]) -> f64 {
    bends.iter().map(|bend| one(at, bend)).fold(0.0, f64::max)
}

/// The least of that, and all places where it is.
fn least(bends: &[(Angle, f64)]) -> (f64, Vec<Angle>) {
    let across = |(psi, strain): &(Angle, f64)| {
        let (sin, cos) = libm::sincos(psi.to_rad());
        [strain * cos, strain * sin]
    };
    let mut places: Vec<f64> = bends.iter().map(|(psi, _)| psi.to_rad()).collect();
    for (place, bend) in bends.iter().enumerate() {
        let [x, y] = across(bend);
        for other in bends.iter().skip(place + 1).map(across) {
            // Where the two do the same, to the same side and to opposite ones.
            places.push(libm::atan2(y - other[1], x - other[0]));
            places.push(libm::atan2(y + other[1], x + other[0]));
        }
    }
    let tried: Vec<(f64, f64)> = places.iter().map(|at| (half_turn(*at), most(*at, bends))).collect();
    let least = tried.iter().map(|(_, strain)| *strain).fold(f64::INFINITY, f64::min);
    let mut best: Vec<f64> = tried.iter().filter(|(_, strain)| *strain <= least + SAME).map(|(at, _)| *at).collect();
    best.sort_by(f64::total_cmp);
    best.dedup_by(|next, kept| *next - *kept < ONE_PLACE);
    let opposite: Vec<f64> = best.iter().map(|at| at + PI).collect();
    (least, best.into_iter().chain(opposite).map(Angle::rad).collect())
}

/// The same place or its opposite, in [0, half a turn).
fn half_turn(at: f64) -> f64 {
    let at = at.rem_euclid(PI);
    if PI - at < ONE_PLACE { 0.0 } else { at }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seam(at: f64, bends: &[(f64, f64)]) -> Seam {
        let bends: Vec<_> = bends.iter().map(|(psi, strain)| (Angle::deg(*psi), *strain)).collect();
        Seam::new(Angle::deg(at), &bends).expect("bends")
    }

    fn least_at(seam: &Seam) -> Vec<f64> {
        seam.least_at.iter().map(|at| (at.to_deg() * 1e6).round() / 1e6).collect()
    }

    #[test]
    fn without_a_bend_there_is_nothing_to_say() {
        assert_eq!(Seam::new(Angle::ZERO, &[]), None);
    }

    #[test]
    fn in_one_plane_it_lies_on_the_top_line_or_opposite() {
        let seam = seam(90.0, &[(0.0, 0.15), (180.0, 0.1), (-180.0, 0.12), (0.0, 0.15)]);
        assert!((seam.strain - 0.15).abs() < 1e-12 && seam.least < 1e-12);
        assert_eq!(seam.bends, [BendId(0), BendId(3)]);
        assert_eq!(least_at(&seam), [0.0, 180.0]);
        let top = Seam::new(Angle::deg(-180.0), &[(Angle::ZERO, 0.15)]).expect("a bend");
        assert!(top.strain < 1e-12);
    }

    #[test]
    fn the_harder_bend_draws_it_to_its_own_top_line() {
        // Square planes: a sin s = b cos s, so tan s = b / a, and both come to a b / sqrt(a2 + b2).
        let seam = seam(0.0, &[(0.0, 0.15), (90.0, 0.08)]);
        assert!((seam.least - 0.15 * 0.08 / 0.17).abs() < 1e-12);
        let nearer = libm::atan(0.08 / 0.15).to_degrees();
        let wanted = [nearer, 180.0 - nearer, 180.0 + nearer, 360.0 - nearer].map(|at| (at * 1e6).round() / 1e6);
        assert_eq!(least_at(&seam), wanted);
        assert!((seam.strain - 0.08).abs() < 1e-12 && seam.bends == [BendId(1)]);
    }

    #[test]
    fn no_place_is_better_and_all_that_are_as_good_are_told() {
        for case in 0_usize..150 {
            let bends: Vec<(f64, f64)> = (0..1 + case % 9)
                .map(|bend| {
                    let psi = ((case * 37 + bend * bend * 53) % 360) as f64 - 179.0;
                    (psi, 0.1 + ((case * 7 + bend * 13) % 10) as f64 / 100.0)
                })
                .collect();
            let seam = seam(0.0, &bends);
            let turned: Vec<(Angle, f64)> = bends.iter().map(|(psi, strain)| (Angle::deg(*psi), *strain)).collect();
            for at in &seam.least_at {
                assert!((most(at.to_rad(), &turned) - seam.least).abs() <= 2.0 * SAME, "{bends:?}");
            }
            for step in 0..7200 {
                let at = Angle::deg(f64::from(step) / 20.0);
                let here = most(at.to_rad(), &turned);
                assert!(here >= seam.least - 1e-12, "{bends:?}: {here} at {} degrees", at.to_deg());
                // Strain changes by 0.19 a radian at most.
                if here <= seam.least + 1e-6 {
                    assert!(
                        seam.least_at.iter().any(|best| (*best - at).wrapped().to_deg().abs() < 0.1),
                        "{bends:?}: as good at {} degrees",
                        at.to_deg()
                    );
                }
            }
        }
    }
}
