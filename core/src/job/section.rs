//! The cross section of a tube: what a metre of it weighs and how stiff it is.
//!
//! Closed forms of the annulus with outside diameter D and inside diameter d = D - 2 wall. A wall of half the OD or more
//! is a solid bar's.

use core::f64::consts::PI;

use super::Stock;
use crate::round::People;
use crate::units::Length;

impl Stock {
    /// Outside and inside diameter, mm; `None` without a wall.
    fn diameters(&self) -> Option<(f64, f64)> {
        let outside = self.od.to_mm();
        Some((outside, (outside - 2.0 * self.wall?.to_mm()).max(0.0)))
    }

    /// OD, wall and material, as far as they are given: `OD 38.1 mm, wall 2.4 mm, mild-steel`.
    #[must_use]
    pub fn words(&self, people: &People) -> String {
        let wall = self.wall.map(|wall| format!(", wall {}", people.figure(wall))).unwrap_or_default();
        let material = self.material.as_ref().map(|material| format!(", {material}")).unwrap_or_default();
        format!("OD {}{wall}{material}", people.figure(self.od))
    }

    /// Girth: the way around the outside.
    #[must_use]
    pub fn girth(&self) -> Length {
        self.od * PI
    }

    /// Area of the cross section, mm2: pi (D2 - d2) / 4. `None` without a wall.
    ///
    /// A 45 mm tube with a wall of 2.5 has 333.794.
    #[must_use]
    pub fn area_mm2(&self) -> Option<f64> {
        let (outside, inside) = self.diameters()?;
        Some(PI / 4.0 * (outside * outside - inside * inside))
    }

    /// Second moment of area about a diameter, mm4: pi (D4 - d4) / 64. `None` without a wall.
    #[must_use]
    pub fn second_moment_mm4(&self) -> Option<f64> {
        let (outside, inside) = self.diameters()?;
        Some(PI / 64.0 * (outside.powi(4) - inside.powi(4)))
    }

    /// Mass of a metre, kg: area times density. `None` without a wall or a density: neither is guessed.
    #[must_use]
    pub fn kg_per_m(&self) -> Option<f64> {
        Some(self.area_mm2()? * 1e-6 * self.density?)
    }

    /// Mass of a length, kg. `None` without a wall or a density.
    #[must_use]
    pub fn mass_kg(&self, length: Length) -> Option<f64> {
        Some(self.kg_per_m()? * length.to_mm() * 1e-3)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    fn stock(od: f64, wall: Option<f64>, density: Option<f64>) -> Stock {
        Stock {
            od: Length::mm(od),
            wall: wall.map(Length::mm),
            material: None,
            density,
            yield_strength: None,
            e_modulus: None,
        }
    }

    #[test]
    fn a_tube_weighs_what_its_outside_weighs_less_its_inside() {
        let tube = stock(20.0, Some(5.0), Some(1e6 / PI));
        assert_relative_eq!(tube.area_mm2().unwrap(), 75.0 * PI);
        assert_relative_eq!(tube.second_moment_mm4().unwrap(), 2343.75 * PI);
        assert_relative_eq!(tube.kg_per_m().unwrap(), 75.0);
        assert_relative_eq!(tube.mass_kg(Length::mm(100.0)).unwrap(), 7.5);
        assert_relative_eq!(tube.girth().to_mm(), 20.0 * PI);
    }

    #[test]
    fn a_wall_beyond_the_middle_is_a_bar() {
        assert_relative_eq!(stock(20.0, Some(11.0), None).area_mm2().unwrap(), 100.0 * PI);
    }

    #[test]
    fn what_is_not_given_is_not_known() {
        assert_eq!(stock(20.0, None, Some(7850.0)).kg_per_m(), None);
        assert_eq!(stock(20.0, Some(2.0), None).mass_kg(Length::mm(1.0)), None);
    }
}
