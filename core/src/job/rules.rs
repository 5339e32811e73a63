//! A rule set of the user's own: limits that a tube is held against, each by its own definition.
//!
//! The ratios are different measures of the same worries and none stands in for another: how tight a bend is, how thin its wall, how round it
//! stays. What no plan can tell, the roundness of a finished bend, is kept here as the size that is measured.

use crate::units::Length;

/// By so much a figure may be off its limit and still be at it, by so much of the limit where that is above 1: far below what a caliper shows, far
/// above what arithmetic leaves of sizes that were typed in inches.
const AT_THE_LIMIT: f64 = 1e-9;

/// Which side of a limit is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The limit and all above it.
    AtLeast,
    /// The limit and all below it.
    AtMost,
}

impl Bound {
    /// Whether a figure keeps a limit; one that is at it to 1e-9 does.
    ///
    /// ```
    /// use tubewright::job::Bound;
    /// assert!(Bound::AtLeast.holds(42.3 / 47.0, 0.9) && !Bound::AtLeast.holds(0.8999, 0.9));
    /// ```
    #[must_use]
    pub fn holds(self, figure: f64, limit: f64) -> bool {
        let slack = AT_THE_LIMIT * limit.max(1.0);
        match self {
            Self::AtLeast => figure >= limit - slack,
            Self::AtMost => figure <= limit + slack,
        }
    }
}

/// The user's notes of the rules that a part has to keep. What is `None` is not asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rules {
    /// What the user calls it.
    pub name: String,
    /// Least centreline radius of the die over the tube's OD; above 0.
    pub clr_over_od: Option<f64>,
    /// Greatest OD over wall; above 2.
    pub od_over_wall: Option<f64>,
    /// Least wall of the tube before it is bent.
    pub wall_min: Option<Length>,
    /// Least wall on the outside of a bend, by the closed form.
    pub outer_wall_min: Option<Length>,
    /// Greatest part of the wall that the outside of a bend loses, by the closed form; above 0, at most 1.
    pub thinning: Option<f64>,
    /// Greatest strain on the outside of a bend, by the closed form; above 0, at most 1.
    pub outer_strain: Option<f64>,
    /// Least straight between two bends.
    pub straight_min: Option<Length>,
    /// Least smallest diameter over largest, of one cross section of a finished bend; above 0, at most 1.
    pub minor_over_major: Option<f64>,
    /// Greatest difference of largest and smallest diameter, over the OD; above 0, at most 1.
    pub major_minus_minor_over_od: Option<f64>,
    /// Least smallest diameter over the OD; above 0, at most 1.
    pub minor_over_od: Option<f64>,
    /// More that the user wants to be told, as written.
    pub notes: Vec<String>,
}

impl Rules {
    /// The smallest CLR that a tube of this OD may be bent with; 0 where nothing is asked.
    #[must_use]
    pub fn least_clr(&self, od: Length) -> Length {
        od * self.clr_over_od.unwrap_or(0.0)
    }

    /// Whether a tube of this OD may be bent with a die of this CLR.
    #[must_use]
    pub fn allow_clr(&self, clr: Length, od: Length) -> bool {
        self.clr_over_od.is_none_or(|least| Bound::AtLeast.holds(clr / od, least))
    }

    /// The smallest diameter that a finished bend must have where its largest is the OD still, by all that is asked of its roundness; `None` where nothing is.
    #[must_use]
    pub fn least_diameter(&self, od: Length) -> Option<Length> {
        let parts = [self.minor_over_major, self.major_minus_minor_over_od.map(|most| 1.0 - most), self.minor_over_od];
        parts.into_iter().flatten().reduce(f64::max).map(|part| od * part)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_asked_allows_everything() {
        let rules = Rules::default();
        assert!(rules.allow_clr(Length::mm(0.1), Length::mm(1000.0)));
        assert_eq!(rules.least_diameter(Length::mm(40.0)), None);
    }

    /// Sizes in inches are no exact figures in mm: 4.5 / 1.5 is at 3 all the same.
    #[test]
    fn a_limit_allows_what_is_at_it_and_nothing_beyond() {
        let rules = Rules { clr_over_od: Some(3.0), ..Rules::default() };
        let more = 1.0 + 1e-6;
        for sixteenths in 8..64 {
            let od = Length::inch(f64::from(sixteenths) / 16.0);
            let clr = Length::inch(f64::from(sixteenths) * 3.0 / 16.0);
            assert!(rules.allow_clr(clr, od) && !rules.allow_clr(clr / more, od), "{od:?}");
            let wall = od / 16.0;
            assert!(Bound::AtMost.holds(od / wall, 16.0) && !Bound::AtMost.holds(od / (wall / more), 16.0), "{od:?}");
        }
        let least = Length::inch(0.095).to_mm();
        assert!(Bound::AtLeast.holds(Length::inch(0.095).to_mm(), least));
        assert!(!Bound::AtLeast.holds(Length::inch(0.0949).to_mm(), least));
    }

    #[test]
    fn the_least_diameter_is_the_greatest_that_any_of_the_three_asks_for() {
        let least =
            |rules: Rules| rules.least_diameter(Length::mm(40.0)).map(|least| (least.to_mm() * 1e6).round() / 1e6);
        assert_eq!(least(Rules { minor_over_major: Some(0.9), ..Rules::default() }), Some(36.0));
        assert_eq!(least(Rules { major_minus_minor_over_od: Some(0.08), ..Rules::default() }), Some(36.8));
        assert_eq!(least(Rules { minor_over_od: Some(0.75), ..Rules::default() }), Some(30.0));
        let all = Rules {
            minor_over_major: Some(0.9),
            major_minus_minor_over_od: Some(0.08),
            minor_over_od: Some(0.75),
            ..Rules::default()
        };
        assert_eq!(least(all), Some(36.8));
    }
}
