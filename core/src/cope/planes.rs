//! A cope made by two plane cuts, as a saw makes them.

use crate::units::{Angle, Length};

/// Both cuts hold the two tips (t = 90 and 270 degrees from the toe), one holds the crown of the toe (t = 0), the other that of the heel (t = 180). They are moved back along the tube
/// until the outside edge overlaps the other tube nowhere. Lengths are counted from the node into the tube, without any gap.
///
/// ```text
///            .toe crown          s = m + d sin t + k cos t on the toe's side, k1 for k
///          .'  |                 s = m + d sin t - k cos t on the heel's, k2 for k
///    tip  <    |  tube
///          '.  |                 mitre of a cut from square = atan(sqrt(d^2 + k^2) / r)
///            'heel crown
/// ```
///
/// The outside edge, and only that, is exact where both tubes are equal, their axes meet and the other is straight; a mitre of two equal pipes is the same construction. Through the wall the cuts stay
/// planes, so the inside edge overlaps the other tube: least at the crowns, most near the tips (9.3 mm along the tube for 38.1 on 38.1 square, wall 2.4). It is ground back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planes {
    radius: f64,
    middle: f64,
    tilt: f64,
    rise: [f64; 2],
    /// Mitre of the cut at the toe and of the one at the heel: from a square cut, 0 to 90 degrees.
    pub mitre: [Angle; 2],
    /// Where each cut goes furthest into the tube, around it from the toe.
    pub deepest_at: [Angle; 2],
    /// How far both are moved back.
    pub back: Length,
    /// The long point.
    pub long: Length,
    /// The short point.
    pub short: Length,
    /// The widest gap that is left, along the tube.
    pub gap: Length,
    /// Where around the tube, from the toe.
    pub gap_at: Angle,
}

impl Planes {
    /// The two cuts for the outside edge of a cope: `edge` is its place by the angle in radians.
    pub(super) fn new(radius: f64, edge: &dyn Fn(f64) -> f64) -> Self {
        use core::f64::consts::{FRAC_PI_2, PI, TAU};
        const LOOKS: usize = 720;
        let [toe, tip, heel, other_tip] = [0.0, FRAC_PI_2, PI, 3.0 * FRAC_PI_2].map(edge);
        let (middle, tilt) = (0.5 * (tip + other_tip), 0.5 * (tip - other_tip));
        let rise = [toe - middle, heel - middle];
        let steepest = |along: f64| libm::hypot(tilt, along);
        let mut planes = Self {
            radius,
            middle,
            tilt,
            rise,
            mitre: rise.map(|rise| Angle::rad(libm::atan2(steepest(rise), radius))),
            deepest_at: [libm::atan2(tilt, rise[0]), libm::atan2(tilt, -rise[1])].map(Angle::rad),
            back: Length::ZERO,
            long: Length::ZERO,
            short: Length::ZERO,
            gap: Length::ZERO,
            gap_at: Angle::ZERO,
        };
        let looks = || (0..LOOKS).map(|look| TAU * look as f64 / LOOKS as f64);
        let open = |t: f64| planes.at(t) - edge(t);
        // What rounding leaves of a cut that is exact is none.
        let least = looks().map(open).fold(f64::INFINITY, f64::min);
        let back = if least > -1e-9 { 0.0 } else { -least };
        let widest = looks()
            .map(|t| (t, open(t) + back))
            .fold((0.0, 0.0), |most: (f64, f64), one| if one.1 > most.1 + 1e-9 { one } else { most });
        let places: Vec<f64> = looks().map(|t| planes.at(t) + back).collect();
        planes.long = Length::mm(places.iter().copied().fold(f64::INFINITY, f64::min));
        planes.short = Length::mm(places.iter().copied().fold(f64::NEG_INFINITY, f64::max));
        planes.back = Length::mm(back);
        planes.gap = Length::mm(widest.1);
        planes.gap_at = Angle::rad(widest.0);
        planes
    }

    /// The edge that both cuts leave, before they are moved back: of the two the one further into the tube.
    fn at(&self, t: f64) -> f64 {
        let (sin, cos) = libm::sincos(t);
        let sides = [self.rise[0] * cos, -self.rise[1] * cos];
        self.middle + self.tilt * sin + sides[0].max(sides[1])
    }

    /// The edge that both cuts leave, at an angle from the toe; from the node into the tube.
    #[must_use]
    pub fn edge(&self, t: Angle) -> Length {
        Length::mm(self.at(t.to_rad())) + self.back
    }
}
