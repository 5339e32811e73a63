//! The tube's cross section in a bend: its wall by closed form, its diameters as measured.
//!
//! ```text
//!        outside: longer, thinner        with the neutral axis on the centreline and the volume of every fibre kept
//!        .-""-.                          a fibre at y from it is longer by y / R and its wall thinner by 1 / (1 + y / R)
//!   ----(------)---- centreline, R
//!        `-..-'                          outside y = OD / 2, inside y = -OD / 2
//!        inside: shorter, thicker
//! ```
//!
//! Source: common practice, no source, gives the wall outside as t 2R / (2R + OD); the strain OD / 2R is plane geometry. A real bend differs: a
//! wiper, a mandrel and the pull of the follower move the neutral axis. Not for saying that a part is strong enough.

use crate::units::Length;

/// What a bend does to the wall, each as a part: of the wall before, or of a length along the tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BentWall {
    /// Wall on the outside of the bend over the wall before: R / (R + OD / 2), below 1.
    pub outside: f64,
    /// Wall on the inside over the wall before: R / (R - OD / 2), above 1.
    pub inside: f64,
    /// Strain on the outside: OD / 2R.
    pub strain: f64,
}

impl BentWall {
    /// What this stands on, in words.
    pub const SOURCE: &'static str = "closed form: volume kept, neutral axis on the centreline";

    /// The wall in a bend of centreline radius `clr`, which is above half of `od`: a bender's file with another is refused.
    ///
    /// ```
    /// use tubewright::{forming::BentWall, units::Length};
    /// let wall = BentWall::new(Length::mm(127.0), Length::mm(38.1));
    /// // 127 / 146.05 and 19.05 / 127
    /// assert!((wall.outside - 0.869_565).abs() < 1e-6 && (wall.strain - 0.15).abs() < 1e-12);
    /// assert!((wall.thinning() - 0.130_435).abs() < 1e-6);
    /// ```
    #[must_use]
    pub fn new(clr: Length, od: Length) -> Self {
        let half = od / 2.0;
        Self { outside: clr / (clr + half), inside: clr / (clr - half), strain: half / clr }
    }

    /// The part of the wall that the outside loses.
    #[must_use]
    pub fn thinning(&self) -> f64 {
        1.0 - self.outside
    }
}

/// The two diameters of one cross section of a finished bend, where it is flattest, as measured.
///
/// Rules are written by three different measures of them, and none stands in for another: see the functions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diameters {
    /// The largest.
    pub largest: Length,
    /// The smallest, at most that.
    pub smallest: Length,
}

impl Diameters {
    /// Smallest over largest: 1 is round.
    #[must_use]
    pub fn minor_over_major(&self) -> f64 {
        self.smallest / self.largest
    }

    /// Largest less smallest, over the OD before bending: 0 is round.
    #[must_use]
    pub fn major_minus_minor_over(&self, od: Length) -> f64 {
        (self.largest - self.smallest) / od
    }

    /// Smallest over the OD before bending.
    #[must_use]
    pub fn minor_over(&self, od: Length) -> f64 {
        self.smallest / od
    }
}
