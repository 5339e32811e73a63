//! A first guess at springback, from the tube's section and its metal alone: elastic and perfectly plastic bending of a round tube.
//!
//! Plane sections, no mandrel, no ovality, no hardening. A disc of radius a is elastic within y = yield x R / E of its middle and yields beyond:
//!
//! ```text
//! M(a) = 4 yield / y [ a^4 / 8 asin(y / a) - y / 8 (a^2 - 2 y^2) sqrt(a^2 - y^2) ] + 4 / 3 yield (a^2 - y^2)^(3/2)
//! M = M(outside) - M(inside),   q = M R / (E I)
//! ```
//!
//! Letting off is elastic, so the curvature 1 / R loses M / (E I): R' = R / (1 - q), and the arc is kept, so the angle is left (1 - q) times what the die turned.
//! That is the proportional part k with 1 + k = 1 / (1 - q). The give of the bender, the constant part, is in no theory of the tube.
//!
//! Standard plasticity; so in F. J. Gardiner, The spring back of metals, Trans. ASME 79 (1957) 1, from memory. Theory of this kind misses experiment: three such models
//! were off by 14.2, 14.4 and 38.9 % in mean for tube of 6060-T6 (Zhou et al., Science Progress 2021, abstract). So it is a guess to stop short by, and
//! never a substitute for a test bend.

use super::Springback;
use crate::units::{Angle, Length};

/// By how much theories of this kind were off in published tests, the least and the most of their mean errors.
pub const THEORY_OFF: (f64, f64) = (0.14, 0.39);

/// The largest proportional part that a bender's file may say: what is above is no springback but a spring.
const MOST: f64 = 0.5;

/// A round tube bent about a die, with its metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bending {
    /// Outside diameter.
    pub od: Length,
    /// Wall.
    pub wall: Length,
    /// Centreline radius that it is bent to.
    pub clr: Length,
    /// Yield strength, MPa.
    pub yield_strength: f64,
    /// Modulus of elasticity, MPa.
    pub e_modulus: f64,
}

impl Bending {
    /// Radii of the outside and of the inside, mm.
    fn radii(&self) -> (f64, f64) {
        let outside = self.od.to_mm() / 2.0;
        (outside, (outside - self.wall.to_mm()).max(0.0))
    }

    /// Second moment of area about a diameter, mm4: pi (ro^4 - ri^4) / 4.
    #[must_use]
    pub fn second_moment_mm4(&self) -> f64 {
        let (outside, inside) = self.radii();
        core::f64::consts::PI / 4.0 * (outside.powi(4) - inside.powi(4))
    }

    /// Half height of the core that stays elastic: yield x CLR / E.
    #[must_use]
    pub fn core(&self) -> Length {
        self.clr * (self.yield_strength / self.e_modulus)
    }

    /// Moment with all of the section yielding, N mm: 4 / 3 yield (ro^3 - ri^3).
    #[must_use]
    pub fn plastic_moment(&self) -> f64 {
        let (outside, inside) = self.radii();
        4.0 / 3.0 * self.yield_strength * (outside.powi(3) - inside.powi(3))
    }

    /// Moment that bends it to the CLR, N mm.
    #[must_use]
    pub fn moment(&self) -> f64 {
        let (outside, inside) = self.radii();
        self.of_disc(outside) - self.of_disc(inside)
    }

    /// Moment of a full disc, N mm; elastic as a whole where its core reaches its edge.
    fn of_disc(&self, radius: f64) -> f64 {
        let core = self.core().to_mm();
        if radius <= core {
            return self.yield_strength / core * core::f64::consts::PI / 4.0 * radius.powi(4);
        }
        let beyond = (radius * radius - core * core).sqrt();
        let inner = radius.powi(4) / 8.0 * libm::asin(core / radius)
            - core / 8.0 * (radius * radius - 2.0 * core * core) * beyond;
        4.0 * self.yield_strength / core * inner + 4.0 / 3.0 * self.yield_strength * beyond.powi(3)
    }

    /// The part of the curvature that comes back, M R / (E I).
    #[must_use]
    pub fn part_lost(&self) -> f64 {
        self.moment() * self.clr.to_mm() / (self.e_modulus * self.second_moment_mm4())
    }

    /// The springback that theory expects, without a constant part; `None` for a tube that hardly yields at this radius, of which theory says nothing of use.
    ///
    /// ```
    /// use tubewright::{forming::theory::Bending, units::Length};
    /// // Seamless 45 x 2.5 on a CLR of 135: 0.01345 of the curvature comes back, 1.2 degrees at 90.
    /// let bending = Bending {
    ///     od: Length::mm(45.0), wall: Length::mm(2.5), clr: Length::mm(135.0), yield_strength: 350.0, e_modulus: 210_000.0,
    /// };
    /// let guess = bending.springback().expect("it yields");
    /// assert!((guess.proportional - 0.01363).abs() < 5e-6);
    /// ```
    #[must_use]
    pub fn springback(&self) -> Option<Springback> {
        let lost = self.part_lost();
        let proportional = lost / (1.0 - lost);
        (lost < 1.0 && proportional <= MOST).then_some(Springback { constant: Angle::ZERO, proportional })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(yield_strength: f64) -> Bending {
        Bending {
            od: Length::mm(20.0),
            wall: Length::mm(2.0),
            clr: Length::mm(100.0),
            yield_strength,
            e_modulus: 200_000.0,
        }
    }

    #[test]
    fn a_tube_that_stays_elastic_comes_back_as_a_whole() {
        // Its edge is strained to 10 %: it would have to yield at 20,000 MPa.
        assert!((bar(30_000.0).part_lost() - 1.0).abs() < 1e-12);
        assert_eq!(bar(30_000.0).springback(), None);
    }

    #[test]
    fn the_moment_goes_on_smoothly_where_the_inside_begins_to_yield() {
        // The inside, 8 mm, is strained to 8 %: it begins to yield at 16,000 MPa.
        let (below, above) = (bar(15_999.99).moment(), bar(16_000.01).moment());
        assert!((below / above - 1.0).abs() < 1e-5, "{below} {above}");
    }

    #[test]
    fn a_weak_metal_has_its_plastic_moment() {
        let bending = bar(100.0);
        assert!((bending.moment() / bending.plastic_moment() - 1.0).abs() < 1e-4);
        assert!(bending.moment() < bending.plastic_moment());
    }
}
