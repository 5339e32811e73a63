//! A rule set of the user's own: limits that a tube is held against, each by its own definition.
//!
//! The three ratios are three different measures of the same worry and none stands in for another. What no plan can tell, the roundness of a
//! finished bend, is kept here as the size that is measured.

use crate::units::Length;

/// The part of a limit by which a ratio may be off and still be at it: far below what a caliper shows, far above what arithmetic leaves of
/// sizes that were typed in inches.
const AT_THE_LIMIT: f64 = 1e-9;

/// The user's notes of the rules that a part has to keep. What is `None` is not asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rules {
    /// What the user calls it.
    pub name: String,
    /// Least centreline radius of the die over the tube's OD; above 0.
    pub clr_over_od: Option<f64>,
    /// Greatest OD over wall; above 2.
    pub od_over_wall: Option<f64>,
    /// Least smallest diameter over largest, of one cross section of a finished bend; above 0, at most 1.
    pub minor_over_major: Option<f64>,
    /// Least wall of the tube before it is bent.
    pub wall_min: Option<Length>,
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
        clr >= self.least_clr(od) * (1.0 - AT_THE_LIMIT)
    }

    /// Whether OD over wall is not too great.
    #[must_use]
    pub fn allow_od_over_wall(&self, od: Length, wall: Length) -> bool {
        self.od_over_wall.is_none_or(|most| od <= wall * most * (1.0 + AT_THE_LIMIT))
    }

    /// Whether the wall is thick enough.
    #[must_use]
    pub fn allow_wall(&self, wall: Length) -> bool {
        self.wall_min.is_none_or(|least| wall >= least * (1.0 - AT_THE_LIMIT))
    }

    /// The smallest diameter that a finished bend must have where its largest is `largest`; `None` where nothing is asked.
    #[must_use]
    pub fn least_diameter(&self, largest: Length) -> Option<Length> {
        self.minor_over_major.map(|ratio| largest * ratio)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_asked_allows_everything() {
        let rules = Rules::default();
        let (small, large) = (Length::mm(0.1), Length::mm(1000.0));
        assert!(rules.allow_clr(small, large) && rules.allow_od_over_wall(large, small) && rules.allow_wall(small));
        assert_eq!(rules.least_diameter(large), None);
    }

    /// Sizes in inches are no exact figures in mm: 4.5 / 1.5 is at 3 all the same.
    #[test]
    fn each_limit_allows_what_is_at_it_and_nothing_beyond() {
        let rules = Rules {
            clr_over_od: Some(3.0),
            od_over_wall: Some(16.0),
            minor_over_major: Some(0.9),
            wall_min: Some(Length::inch(0.095)),
            ..Rules::default()
        };
        let more = 1.0 + 1e-6;
        for sixteenths in 8..64 {
            let od = Length::inch(f64::from(sixteenths) / 16.0);
            let clr = Length::inch(f64::from(sixteenths) * 3.0 / 16.0);
            assert!(rules.allow_clr(clr, od) && !rules.allow_clr(clr / more, od), "{od:?}");
            let wall = od / 16.0;
            assert!(rules.allow_od_over_wall(od, wall) && !rules.allow_od_over_wall(od, wall / more), "{od:?}");
        }
        assert!(rules.allow_wall(Length::inch(0.095)) && !rules.allow_wall(Length::inch(0.0949)));
        let least = rules.least_diameter(Length::mm(40.0)).map(Length::to_mm);
        assert!(least.is_some_and(|least| (least - 36.0).abs() < 1e-12));
    }
}
